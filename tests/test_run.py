"""What `manage.py test` runs, and what it says where the machine lacks something. pytest itself is stood in for."""

from pathlib import Path

import pytest

from tests import machine, run

HERE = Path("/usr/lib/somewhere/bin")


@pytest.fixture
def parts(monkeypatch):
    """A machine with everything, on which every part passes; the parts run are listed."""
    ran = []
    monkeypatch.setattr(run.signal, "signal", lambda *_: None)
    monkeypatch.setattr(machine, "chromium", lambda: "/usr/bin/chromium")
    monkeypatch.setattr(machine, "postgres_programs", lambda: HERE)
    monkeypatch.setattr(machine, "CI", False)
    monkeypatch.setattr(run, "pytest", lambda arguments: ran.append(("sqlite", arguments[-1])) or 0)
    monkeypatch.setattr(run, "pytest_on_postgres", lambda arguments: ran.append(("postgres", arguments[-1])) or 0)
    return ran


def test_everything_runs_in_four_parts(parts):
    assert run.main([]) == 0
    assert parts == [
        ("sqlite", "not (browser or timing)"),
        ("postgres", "database and not (browser or timing)"),
        ("sqlite", "timing"),
        ("sqlite", "browser"),
    ]


@pytest.mark.parametrize("long", [False, True])
def test_a_few_files_run_on_postgresql_only_where_the_run_may_be_long(parts, monkeypatch, long):
    monkeypatch.setenv("HULLBENCH_LONG", "1" if long else "")
    said = []
    monkeypatch.setattr(run, "pytest_on_postgres", lambda arguments: said.extend(arguments) or 0)
    run.main([])
    left_out = [Path(one.removeprefix("--ignore=")) for one in said if one.startswith("--ignore=")]
    assert len(left_out) == (0 if long else len(run.ON_ONE_DATABASE))
    assert [path for path in left_out if not (run.BASE_DIR / path).is_file()] == []


def test_without_browser_and_server_one_line_each_says_how_to_get_them(parts, monkeypatch, capsys):
    monkeypatch.setattr(machine, "chromium", lambda: None)
    monkeypatch.setattr(machine, "postgres_programs", lambda: None)
    assert run.main([]) == 0
    assert [place for place, _ in parts] == ["sqlite", "sqlite"]
    assert parts[-1] == ("sqlite", "timing")
    assert capsys.readouterr().out.splitlines() == [
        "Left out: the browser tests: no Chromium here. On Debian: apt install chromium",
        "Left out: the tests on PostgreSQL: no server here. On Debian: apt install postgresql",
    ]


@pytest.mark.parametrize("lacking", ["chromium", "postgres_programs"])
def test_ci_leaves_nothing_out(parts, monkeypatch, lacking):
    monkeypatch.setattr(machine, lacking, lambda: None)
    monkeypatch.setattr(machine, "CI", True)
    assert (run.main([]), parts) == (1, [])


@pytest.mark.parametrize("code", [1, 2, 5])
def test_the_first_part_that_fails_or_runs_no_test_ends_the_run_with_its_code(parts, monkeypatch, code):
    monkeypatch.setattr(run, "pytest", lambda arguments: parts.append("sqlite") or code)
    assert (run.main([]), parts) == (code, ["sqlite"])


def test_arguments_are_passed_on(parts):
    assert run.main(["-q", "tests/shop"]) == 0
    assert run.main(["--postgres", "-q", "tests/catalog"]) == 0
    assert parts == [("sqlite", "tests/shop"), ("postgres", "tests/catalog")]


def test_a_shop_s_own_database_is_never_tested_on(monkeypatch):
    started = []

    class Process:
        def __init__(self, command, cwd, env):
            started.append(env)

        def wait(self):
            return 0

    monkeypatch.setenv("DATABASE_URL", "postgres://shop@db.example/shop")
    monkeypatch.setenv("DJANGO_SETTINGS_MODULE", "shop.settings")
    monkeypatch.setattr(run.subprocess, "Popen", Process)
    assert run.pytest(["-q"]) == 0
    assert "DATABASE_URL" not in started[0]
    assert started[0]["DJANGO_SETTINGS_MODULE"] == "tests.settings"
