"""Papers are printed outside the serving process: bounded in time and memory, shut in, and a few at once."""

import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from subprocess import PIPE

import pytest

from shop import printing
from shop.pdf import Refused, Unavailable
from shop.printer import receive, send
from shop.printing import BUSY, MOST_WAITING, NOT_STARTED, PROGRAM, TOO_MUCH, Printers

SHORT = "<p>Depth 12\u202fmm</p>"
LONG = "<p>x" * 100_000
linux = pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="reads what Linux says of a process")


def warm(**limits):
    """Printers with one that is ready, and their end."""
    made = Printers(most=1, **limits)
    made.lay_out(SHORT, "a4")
    yield made
    made.end()


@pytest.fixture(scope="module")
def shared():
    yield from warm()


@pytest.fixture
def ours(shared):
    """Printers whose first one is ready, whatever the test before did to it."""
    shared.lay_out(SHORT, "a4")
    return shared


@pytest.fixture(scope="module")
def narrow():
    yield from warm(most_mb=280)


def test_a_paper_that_takes_too_long_is_ended_in_words_and_the_next_one_is_printed(ours):
    ours.free[0].longest_s = 0.5
    before = time.monotonic()
    with pytest.raises(Unavailable, match=TOO_MUCH):
        ours.lay_out(LONG, "a4")
    assert time.monotonic() - before < 10, "far from what the whole paper takes"
    assert ours.lay_out(SHORT, "a4").startswith(b"%PDF")


def test_a_paper_that_takes_too_much_memory_is_ended_in_words_and_the_next_one_is_printed(narrow):
    with pytest.raises(Unavailable, match=TOO_MUCH):
        narrow.lay_out(LONG, "a4")
    assert narrow.lay_out(SHORT, "a4").startswith(b"%PDF")


@linux
def test_the_system_holds_a_printer_to_its_memory(narrow):
    status = Path(f"/proc/{narrow.free[0].process.pid}/limits").read_text()
    limits = {line[:26].strip(): line[26:].split()[:2] for line in status.splitlines()}
    assert limits["Max address space"] == ["280000000", "280000000"]
    assert limits["Max core file size"] == ["0", "0"]


def test_a_page_nested_too_deeply_is_refused_in_words_by_the_same_printer(ours):
    number = ours.free[0].process.pid
    with pytest.raises(Unavailable, match=TOO_MUCH):
        ours.lay_out("<div>" * 3000, "a4")
    ours.lay_out(SHORT, "a4")
    assert ours.free[0].process.pid == number


def test_a_printer_that_nobody_is_left_to_end_ends_by_its_processor_time(tmp_path):
    with started(tmp_path, longest_s=0) as process:
        receive(process.stdout)
        send(process.stdin, "a4", LONG.encode())
        assert process.wait(60) == -signal.SIGXCPU


@pytest.mark.parametrize("html", ["", SHORT])
def test_a_printer_ends_with_the_process_that_started_it_and_leaves_nothing_behind(html, tmp_path):
    """Idle, or with a paper that nobody is left to take."""
    folder = tmp_path / "own"
    folder.mkdir()
    with started(folder) as process:
        receive(process.stdout)
        process.stdout.close()
        if html:
            send(process.stdin, "a4", html.encode())
        process.stdin.close()
        assert process.wait(60) == 0
    assert not folder.exists()


def started(folder: Path, longest_s: int = 60) -> subprocess.Popen:
    command = [sys.executable, "-m", "shop.printer", "1000", str(longest_s), str(folder)]
    return subprocess.Popen(command, cwd=PROGRAM, stdin=PIPE, stdout=PIPE)


def test_a_printer_that_died_while_it_had_nothing_to_do_is_replaced(ours):
    ours.free[0].process.kill()
    ours.free[0].process.wait()
    assert ours.lay_out(SHORT, "a4").startswith(b"%PDF")


def test_a_printer_whose_answer_nobody_took_is_not_asked_again(ours, monkeypatch):
    """Its next answer would be the paper before."""
    old = ours.free[0]

    def interrupted(pipe):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(printing, "receive", interrupted)
        with pytest.raises(KeyboardInterrupt):
            ours.lay_out(SHORT, "a4")
    assert old.process.poll() is not None
    assert not [thread for thread in threading.enumerate() if isinstance(thread, threading.Timer)], (
        "nobody waits for it"
    )
    assert ours.lay_out(SHORT, "a4") != ours.lay_out("<p>Another</p>", "a4")


def test_the_folder_of_a_printer_goes_with_it(ours):
    folder = Path(ours.free[0].folder)
    assert list(folder.iterdir()), "the packaged fonts, as the library keeps them"
    ours.end()
    assert not folder.exists()


def test_where_no_printer_starts_the_log_is_named(monkeypatch, tmp_path):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    for program in (shutil.which("false"), "/there/is/no/such/program"):
        monkeypatch.setattr(sys, "executable", program)
        with pytest.raises(Unavailable, match=NOT_STARTED):
            Printers().lay_out(SHORT, "a4")
    assert list(tmp_path.iterdir()) == []


def test_a_paper_comes_out_the_same_whatever_was_printed_before(ours):
    first = ours.lay_out(SHORT, "a4")
    others = [ours.lay_out(SHORT, "letter"), ours.lay_out(f"<b style='font-size: 40pt'>{SHORT}</b>", "a4")]
    assert ours.lay_out(SHORT, "a4") == first and first not in others


# Shut in


@linux
def test_a_printer_knows_no_secret_and_has_no_file_of_the_server(monkeypatch, tmp_path):
    for name in ("DATABASE_URL", "HULLBENCH_SECRET_KEY", "HULLBENCH_MAIL_PASSWORD", "HULLBENCH_DATA"):
        monkeypatch.setenv(name, "not for a printer")
    with (tmp_path / "database").open("w") as database:
        os.set_inheritable(database.fileno(), True)
        for printers in warm():
            process = Path(f"/proc/{printers.free[0].process.pid}")
            assert b"not for a printer" not in (process / "environ").read_bytes()
            assert database.name not in [os.readlink(file) for file in (process / "fd").iterdir()]


@pytest.mark.parametrize(
    "act",
    [
        "import socket; socket.socket()",
        "import urllib.request; urllib.request.urlopen('http://127.0.0.1:9')",
        "import subprocess; subprocess.run(['true'])",
        "import os; os.system('true')",
        "import os; os.execv('/bin/true', ['true'])",
        "import os; os.fork()",
    ],
)
def test_a_printer_opens_no_connection_and_starts_no_program(act):
    code = f"from shop import printer; printer.refuse_outside()\ntry:\n    {act}\nexcept printer.Refused: print('no')"
    done = subprocess.run([sys.executable, "-c", code], cwd=PROGRAM, capture_output=True, text=True, check=True)
    assert done.stdout == "no\n"


# A few at once


class Slow(Printers):
    """Printers that hold each paper until they are let go, and know the most that they held."""

    def __init__(self, most: int, **limits):
        super().__init__(most, **limits)
        self.let_go, self.held, self.most_held = threading.Event(), 0, 0
        self.count = threading.Lock()

    def ready_one(self):
        with self.count:
            self.held += 1
            self.most_held = max(self.held, self.most_held)
        self.let_go.wait(10)
        with self.count:
            self.held -= 1
        raise Refused("let go")


def ask_for(printers: Printers, count: int) -> list[threading.Thread]:
    def ask() -> None:
        with pytest.raises(Refused):
            printers.lay_out(SHORT, "a4")

    threads = [threading.Thread(target=ask) for _ in range(count)]
    for thread in threads:
        thread.start()
    return threads


def test_so_many_are_printed_at_once_so_many_wait_and_a_further_one_is_refused_at_once():
    slow = Slow(2)
    threads = ask_for(slow, 2 + MOST_WAITING)
    while slow.held < 2 or slow.room._value:
        time.sleep(0.01)
    with pytest.raises(Unavailable, match=BUSY):
        slow.lay_out(SHORT, "a4")
    slow.let_go.set()
    for thread in threads:
        thread.join()
    assert slow.most_held == 2


def test_who_waits_too_long_for_a_turn_is_told():
    slow = Slow(1, longest_s=0.1)
    (thread,) = ask_for(slow, 1)
    while not slow.held:
        time.sleep(0.01)
    with pytest.raises(Unavailable, match=BUSY):
        slow.lay_out(SHORT, "a4")
    slow.let_go.set()
    thread.join()


def test_a_forked_process_has_printers_of_its_own():
    assert printing.printers_of(1) is not printing.printers_of(2)
    assert printing.printers_of(1) is printing.printers_of(1)


@pytest.mark.parametrize(
    ("system", "module", "words"),
    [
        ("linux", resource, "60 s and 1000 MB each"),
        ("darwin", resource, "bounds no memory"),
        ("win32", None, "no memory"),
    ],
)
def test_what_holds_a_printer_is_said_as_it_is(monkeypatch, system, module, words):
    monkeypatch.setattr(sys, "platform", system)
    monkeypatch.setattr(printing, "resource", module)
    assert words in printing.bounds()


def test_without_the_module_that_bounds_it_a_printer_prints_all_the_same(tmp_path):
    code = "import sys; sys.modules['resource'] = None; from shop import printer; printer.main(1000, 60, sys.argv[1])"
    with subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], cwd=PROGRAM, stdin=PIPE, stdout=PIPE) as process:
        assert receive(process.stdout) == ("ready", b"")
        send(process.stdin, "a4", SHORT.encode())
        assert receive(process.stdout)[1].startswith(b"%PDF")
        process.stdin.close()
