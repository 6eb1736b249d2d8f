"""Fifty people at one ticket at the same moment: each change is kept or its author is told; a form works once.

HULLBENCH_LONG=1: four changes each, and whoever is told saves over the other's, until all two hundred are kept.
"""

import os
import re
import threading

from shop.once import new_token
from tests.keeping.shops import Browser, serving, sign_in

LONG = bool(os.environ.get("HULLBENCH_LONG"))
EDITORS = 50
EDITS = 4 if LONG else 1
PATH = "/counter/ticket/T-0002/about/"
KEPT, TOLD = 302, 409


def all_at_once(acts):
    """Do the acts side by side; return what each returned, or the error it raised."""
    found, ready = [], threading.Barrier(len(acts))

    def do(act):
        ready.wait()
        try:
            found.append(act())
        except Exception as error:
            found.append(error)

    threads = [threading.Thread(target=do, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


class Editor:
    """One person at the ticket's form, with the revision of the page that it stood on."""

    def __init__(self, port, cookies, n):
        self.browser, self.n, self.kept, self.told = Browser(port, cookies), n, [], 0

    def work(self):
        for edit in range(EDITS):
            title = f"editor {self.n} edit {edit}"
            revision = revision_on(self.browser.get(PATH).text)
            while True:
                answer = self.browser.post(PATH, {"title": title, "revision": revision, "once": new_token()})
                if answer.status == KEPT:
                    self.kept.append(title)
                    break
                # Told: both versions are on the page, and the revision of theirs.
                assert answer.status == TOLD, answer.text
                assert (title in answer.text, "changed this ticket" in answer.text) == (True, True)
                self.told += 1
                if not LONG:
                    break
                revision = revision_on(answer.text)
        return self


def revision_on(page):
    return re.search(r'name="revision" value="(\d+)"', page)[1]


def test_fifty_editors_of_one_ticket_lose_nothing_unseen_and_fifty_equal_forms_have_one_effect(either):
    before = either.script("titles", "T-0002")
    with serving(either) as server:
        browsers = [sign_in(either, server.port, name) for name in ("cora", "olga")]
        editors = [Editor(server.port, browsers[n % 2].cookies, n) for n in range(EDITORS)]
        found = all_at_once([editor.work for editor in editors])
        assert [str(error) for error in found if isinstance(error, Exception)] == []
        form = {"title": "pressed fifty times", "once": new_token()}
        equal = all_at_once([lambda: Browser(server.port, browsers[0].cookies).post(PATH, form).status] * EDITORS)
    kept = sorted(title for editor in editors for title in editor.kept)
    told = sum(editor.told for editor in editors)
    print(f"{len(kept)} kept, {told} told; {EDITORS} equal forms: {equal.count(KEPT)} effect")
    *titles, last = either.script("titles", "T-0002")[len(before) :]
    # What the journal has is what its author was told is kept, each once.
    assert sorted(titles) == kept
    assert len(kept) == EDITORS * EDITS if LONG else len(kept) + told == EDITORS
    assert (last, equal.count(KEPT), equal.count(303)) == ("pressed fifty times", 1, EDITORS - 1)
    assert either.script("verified")["findings"] == []
