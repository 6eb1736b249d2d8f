"""The shop with no more than the calls to the system that its unit leaves it.

Which call stands in which set is asked of systemd itself; strace refuses the others as the unit does.
"""

import re
import shutil
import subprocess

import pytest
from django.conf import settings

from tests.keeping.shops import needs_strace, sign_in, start

UNIT = settings.BASE_DIR / "shop" / "running" / "service.ini"
needs_systemd = pytest.mark.skipif(not shutil.which("systemd-analyze"), reason="no systemd here")


def sets_of_calls():
    """Systemd's sets by name, each with the calls and the sets in it."""
    said = subprocess.run(["systemd-analyze", "syscall-filter"], capture_output=True, text=True, check=True).stdout
    sets = {}
    for line in said.splitlines():
        word = line.strip()
        if line.startswith("@"):
            inside = sets.setdefault(word, [])
        elif line.startswith("    ") and not word.startswith("#"):
            inside.append(word)
    return sets


def calls_in(name, sets):
    if not name.startswith("@"):
        return {name}
    return set().union(*(calls_in(one, sets) for one in sets[name]))


def calls_left():
    """What the unit's filter lets through: its sets in their order, those with ~ taken away."""
    sets, left = sets_of_calls(), set()
    for taken, names in re.findall(r"^SystemCallFilter=(~?)(.+)$", UNIT.read_text(), re.MULTILINE):
        calls = set().union(*(calls_in(name, sets) for name in names.split()))
        left = left - calls if taken else left | calls
    return left


@needs_strace
@needs_systemd
def test_pages_and_papers_come_with_the_calls_that_the_unit_leaves(made, shop, tmp_path):
    refused, left = tmp_path / "refused", calls_left()
    assert ("chown" in left, "mount" in left, "read" in left) == (False, False, True)
    # strace itself starts the program, and systemd lets the end of a process through everywhere.
    others = "!" + ",".join(f"?{call}" for call in sorted(left | {"execve", "exit_group"}))
    inject = ["-e", f"trace={others}", "-e", f"inject={others}:error=EPERM"]
    server = start(shop, under=["strace", "-f", "-qq", "--seccomp-bpf", "-o", refused, *inject])
    try:
        browser = sign_in(shop, server.port)
        assert browser.get(f"/counter/ticket/{made.tickets['signed']}/").status == 200
        week = browser.get("/bench/week.pdf")
        assert (week.status, week.text[:5]) == (200, "%PDF-")
    finally:
        server.end()
    # Run by root, SQLite gives its journal to the owner of the database; a service is not root.
    assert set(re.findall(r"(\w+)\(.*INJECTED", refused.read_text())) <= {"fchown"}
