"""The first command on a machine. pip is stood in for here; the real thing is CI's first step."""

import importlib.metadata
import io
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from shop import environment
from shop.environment import RUN_LOCK, TEST_LOCK

DEMO, TEST = ["manage.py", "demo"], ["manage.py", "test", "-q"]


class House:
    """A project folder with two small locks; `enter` tells what was made, installed and started."""

    def __init__(self, folder, monkeypatch):
        self.folder, self.deeds = folder, []
        (folder / "tests").mkdir()
        (folder / RUN_LOCK).write_text("asgiref==3.13.0 \\\n    --hash=sha256:aa\n")
        (folder / TEST_LOCK).write_text("asgiref==3.13.0\npytest==9.2.0\n")
        venv = folder / ".venv"
        monkeypatch.setattr(environment, "BASE_DIR", folder)
        monkeypatch.setattr(environment, "VENV", venv)
        monkeypatch.setattr(environment, "PYTHON", venv / "bin" / "python")
        monkeypatch.setattr(environment, "STAMP", venv / "locks.json")
        monkeypatch.setattr(environment, "make_venv", self.make_venv)
        monkeypatch.setattr(environment, "install", self.deeds.append)
        monkeypatch.setattr(os, "execv", lambda program, words: self.deeds.append(words[1:]))

    def make_venv(self):
        self.deeds.append("venv")
        environment.PYTHON.parent.mkdir(parents=True, exist_ok=True)
        environment.PYTHON.touch()

    def enter(self, argv):
        self.deeds.clear()
        environment.enter(argv)
        return list(self.deeds)


@pytest.fixture
def house(tmp_path, monkeypatch):
    return House(tmp_path, monkeypatch)


def test_first_the_environment_then_the_packages_then_the_command(house):
    assert house.enter(DEMO) == ["venv", RUN_LOCK, DEMO]


def test_a_second_start_asks_pip_nothing(house):
    house.enter(DEMO)
    assert house.enter(DEMO) == [DEMO]


def test_the_tests_bring_their_own_packages_and_those_of_the_demo_with_them(house):
    house.enter(DEMO)
    assert house.enter(TEST) == [TEST_LOCK, TEST]
    assert house.enter(DEMO) == [DEMO]


def test_a_changed_lock_is_installed_into_what_is_there(house):
    house.enter(DEMO)
    (house.folder / RUN_LOCK).write_text("asgiref==3.14.0\n")
    assert house.enter(DEMO) == [RUN_LOCK, DEMO]


@pytest.mark.parametrize("lock_changed", [False, True])
def test_an_interrupted_installation_is_thrown_away(house, monkeypatch, lock_changed):
    def interrupted(lock):
        raise KeyboardInterrupt

    if lock_changed:
        house.enter(DEMO)
        (house.folder / RUN_LOCK).write_text("asgiref==3.14.0\n")
    with monkeypatch.context() as during:
        during.setattr(environment, "install", interrupted)
        with pytest.raises(SystemExit, match="starts afresh"):
            house.enter(DEMO)
    assert house.enter(DEMO) == ["venv", RUN_LOCK, DEMO]


def test_a_python_that_was_upgraded_away_is_replaced(house):
    house.enter(DEMO)
    environment.PYTHON.unlink()
    assert house.enter(DEMO) == ["venv", RUN_LOCK, DEMO]


def test_inside_the_environment_the_command_just_goes_on(house, monkeypatch):
    monkeypatch.setattr(sys, "prefix", str(environment.VENV))
    assert house.enter(DEMO) == []


def test_an_old_python_is_told_which_one_is_needed(house, monkeypatch):
    monkeypatch.setattr(sys, "version_info", (3, 9, 2))
    with pytest.raises(SystemExit, match=r"needs Python 3\.11 or later; this is 3\.9"):
        house.enter(DEMO)


def test_a_python_without_ensurepip_is_told_the_package(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    monkeypatch.setattr(environment, "VENV", tmp_path / ".venv")
    with pytest.raises(SystemExit, match="apt install python3-venv"):
        environment.make_venv()


@pytest.mark.skipif(Path(sys.prefix).resolve() != environment.VENV.resolve(), reason="not in the program's own .venv")
def test_the_environment_holds_what_the_lock_pins_and_pip_to_install_it_with():
    """Whatever else lies there is looked after by nobody, and may hide that a lock lacks something."""
    pinned = {name.lower() for name in environment.PIN.findall((environment.BASE_DIR / TEST_LOCK).read_text())}
    there = {re.sub("[-_.]+", "-", found.metadata["Name"]).lower() for found in importlib.metadata.distributions()}
    assert there - pinned == {"pip"}


class Pip:
    """What pip prints of three packages: one fetched, one from a folder, one for another system."""

    said = (
        "Ignoring tzdata: markers 'sys_platform == \"win32\"' don't match your environment\n"
        "Collecting asgiref==3.13.0 (from -r requirements.txt (line 1))\n"
        "Processing /somewhere/tinycss2-1.5.1-py3-none-any.whl\n"
        "Installing collected packages: asgiref, tinycss2\n"
    )

    def __init__(self, code):
        self.stdout, self.code = io.StringIO(self.said), code

    def wait(self):
        return self.code


LOCK = "asgiref==3.13.0 \\\n    --hash=sha256:aa\ntinycss2==1.5.1\ntzdata==2026.6 ; sys_platform == 'win32'\n"


@pytest.fixture
def lock_of_three(tmp_path, monkeypatch):
    (tmp_path / RUN_LOCK).write_text(LOCK)
    monkeypatch.setattr(environment, "BASE_DIR", tmp_path)


def test_progress_is_a_line_a_package_with_the_share_done(lock_of_three, monkeypatch, capsys):
    asked = []
    monkeypatch.setattr(subprocess, "Popen", lambda command, **kwargs: asked.append(command) or Pip(0))
    environment.install(RUN_LOCK)
    lines = capsys.readouterr().err.splitlines()[1:]
    assert lines == ["  60 %  asgiref 3.13.0", "  90 %  tinycss2 1.5.1", "  90 %  unpacking", " 100 %  installed"]
    assert "--require-hashes" in asked[0]


def test_a_failed_installation_says_why_and_that_the_same_command_tries_again(lock_of_three, monkeypatch):
    monkeypatch.setattr(subprocess, "Popen", lambda command, **kwargs: Pip(1))
    with pytest.raises(SystemExit, match="tinycss2(.|\n)*The same command tries again"):
        environment.install(RUN_LOCK)


def test_the_module_needs_nothing_but_the_standard_library():
    code = "import sys; from shop import environment; sys.exit('django' in sys.modules)"
    assert subprocess.run([sys.executable, "-S", "-c", code]).returncode == 0
