"""A clock that a test moves by hand, and the steps of coming in."""

import datetime
from unittest import mock

from shop import clock

START = datetime.datetime(2026, 12, 1, 8, 0, tzinfo=datetime.UTC)
RIGHT = "seven-dry-hatches"


class Moved:
    """The shop's clock, standing still until a test moves it."""

    def __init__(self, at=START):
        self.at = at

    def on(self, **time):
        self.at += datetime.timedelta(**time)


def with_password(person, password=RIGHT):
    person.set_password(password)
    person.save()
    return person


def sign_in(client, username, password=RIGHT, **more):
    return client.post("/sign-in/", {"username": username, "password": password}, **more)


def standing_clock():
    moved = Moved()
    return moved, mock.patch.object(clock, "now", lambda: moved.at)
