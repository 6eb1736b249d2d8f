"""A backup is made while people work; what was acknowledged before it began is in it, and nothing by halves."""

import json
import os
import time

from tests.keeping.load import Load
from tests.keeping.shops import Shop, serving, sign_in

LONG = bool(os.environ.get("HULLBENCH_LONG"))
GOAL = 2000 if LONG else 30
WRITERS = 3


def test_all_that_was_acknowledged_before_a_backup_began_is_restored(either, place, tmp_path, request):
    tickets = either.script("open_tickets", WRITERS)
    with serving(either) as server, Load(server, sign_in(either, server.port), tickets, GOAL) as load:
        while load.count() < GOAL // 3:
            time.sleep(0.02)
        before = load.acknowledged()
        began = load.count()
        done = either.run("backup")
        during = load.count() - began
    assert done.returncode == 0, done.stderr
    assert load.failures() == []
    print(f"{began} before, {during} while the backup was made, {load.count()} in all")
    url = request.getfixturevalue("empty_database") if either.url else ""
    restored = Shop(place / "restored", url)
    done = restored.run("restore", next((either.folder / "backups").glob("hullbench-*Z.zip")))
    assert done.returncode == 0, done.stderr
    told = tmp_path / "acknowledged.json"
    told.write_text(json.dumps(before))
    found = restored.script("compared", told)
    assert (found["lost"], found["twice"], found["halves"], found["findings"]) == ([], [], [], [])
    assert sum(map(len, before.values())) >= GOAL // 3
    assert during > 0
