"""People who change tickets while processes die: each change has a name, and is sent again until it is acknowledged."""

import threading
import time
from http.client import HTTPException

from shop.once import new_token
from tests.keeping.shops import Browser

ACKNOWLEDGED = (302, 303)
GIVE_UP_S = 120


class Writer(threading.Thread):
    """One person at one ticket, changing what it is called, one change after the other."""

    def __init__(self, port, cookies, ticket, name, enough):
        super().__init__(daemon=True)
        self.browser = Browser(port, cookies)
        self.path, self.name_of_all, self.enough = f"/counter/ticket/{ticket}/about/", name, enough
        self.ticket, self.acknowledged, self.sent, self.answers, self.error = ticket, [], [], {}, None

    def run(self):
        try:
            while not self.enough():
                self.change(f"{self.name_of_all} {len(self.sent)}")
        except Exception as error:
            self.error = error

    def change(self, title):
        """Send one change; the same form again, while nobody answers."""
        form = {"title": title, "once": new_token()}
        self.sent.append(title)
        until = time.monotonic() + GIVE_UP_S
        while time.monotonic() < until:
            try:
                status = self.browser.post(self.path, form).status
            except (OSError, HTTPException):
                time.sleep(0.05)
                continue
            self.answers[status] = self.answers.get(status, 0) + 1
            if status in ACKNOWLEDGED:
                self.acknowledged.append(title)
                return
            if status not in (502, 503):
                raise AssertionError(f"{title}: {status}")
            time.sleep(0.05)
        raise AssertionError(f"{title}: nobody answered for {GIVE_UP_S} s")


class Load:
    """Several writers at once, each at a ticket of its own, until enough changes are acknowledged."""

    def __init__(self, server, browser, tickets, goal):
        self.goal = goal
        self.writers = [
            Writer(server.port, browser.cookies, ticket, f"change {n} of", self.enough)
            for n, ticket in enumerate(tickets)
        ]

    def __enter__(self):
        for writer in self.writers:
            writer.start()
        return self

    def __exit__(self, kind, error, trace):
        if kind:
            self.goal = 0
        for writer in self.writers:
            writer.join(GIVE_UP_S + 60)

    def count(self):
        return sum(len(writer.acknowledged) for writer in self.writers)

    def enough(self):
        return self.count() >= self.goal

    def is_over(self):
        return not any(writer.is_alive() for writer in self.writers)

    def acknowledged(self):
        """The changes of each ticket that the shop said were saved, in their order."""
        return {writer.ticket: list(writer.acknowledged) for writer in self.writers}

    def failures(self):
        return [str(writer.error) for writer in self.writers if writer.error]
