"""The house rules, held true: names at the top, the map, who may lean on whom, and what never stands in a file."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parent.parent
ROOMS = ("shop", "catalog", "builds")
TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "manage.py", "pyproject.toml", "requirements.txt"}
TOP |= {*ROOMS, "templates", "tests", "fixtures"}

# A package at the left leans on nothing of the house but what stands at its right.
LEAVES = ("shop.units", "shop.money")
MAY_LEAN_ON = {
    "shop": ("shop",),
    "catalog": ("catalog", *LEAVES, "shop"),
    "builds.estimator": ("builds.estimator", *LEAVES),
    "builds.planner": ("builds.planner", *LEAVES),
    "builds.earnings": ("builds.earnings", *LEAVES),
    "builds.learning": ("builds.learning", *LEAVES),
    "builds.drawings": ("builds.drawings", *LEAVES),
    "builds.documents": ("builds.documents", "builds.drawings", "builds.estimator", *LEAVES, "shop.pdf"),
}
PURE = ("builds.estimator", "builds.planner", "builds.drawings", "builds.earnings", "builds.learning")
PURE_LIBRARIES = {*sys.stdlib_module_names, "numpy"}
LONGEST_MODULE, LONGEST_FUNCTION = 500, 60

# The words are put together here, so that this file does not hold them.
NEVER = {
    "a path of one machine": r"(?<![\w.:/])/(?:work|root|home)/\w",
    "work left undone": r"\bTO" r"DO\b|\bFIX" r"ME\b|\bX" r"XX\b|NotImplemented" r"Error|lorem ip" r"sum",
    "a registry's host": r"pythonhos" r"ted\.org|pyp" r"i\.org|npm" r"js\.(?:org|com)|debian" r"\.org/debian",
    "the tools of a workplace": r"\btrans" r"cript\b|\bprom" r"pt engineering\b|language mo" r"del\b",
}


def listed(*patterns):
    """The files that git knows or would take, so that nothing of an editor or a run is looked at."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "--", *patterns]
    names = subprocess.run(command, cwd=HOUSE, capture_output=True, text=True, check=True).stdout.splitlines()
    return [HOUSE / name for name in sorted(set(names)) if (HOUSE / name).is_file()]


def modules(*rooms):
    return [path for room in rooms for path in listed(f"{room}/*.py") if "migrations" not in path.parts]


def dotted(path):
    return ".".join(path.relative_to(HOUSE).with_suffix("").parts).removesuffix(".__init__")


def imports(path):
    """What a module imports, in full names; relative imports resolved."""
    package = dotted(path).split(".") if path.name == "__init__.py" else dotted(path).split(".")[:-1]
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield from (f"{base}.{alias.name}" for alias in node.names)


def parent(name):
    return name.rpartition(".")[0]


def within(name, packages):
    return any(name == package or name.startswith(f"{package}.") for package in packages)


def test_the_top_of_the_house_holds_exactly_what_was_agreed():
    assert {path.relative_to(HOUSE).parts[0] for path in listed()} - TOP == {
        path.relative_to(HOUSE).parts[0] for path in listed() if path.relative_to(HOUSE).parts[0].startswith(".")
    }
    assert {name for name in TOP if not (HOUSE / name).exists()} == set()


# The map.


def mapped():
    """The modules that DEVELOPERS.md's map names: a tree in a block marked `map`, two spaces a level."""
    text = (HOUSE / "DEVELOPERS.md").read_text()
    found, folders = set(), []
    for line in re.search(r"```map\n(.*?)```", text, re.DOTALL)[1].splitlines():
        depth = (len(line) - len(line.lstrip())) // 2
        names = re.split(r"\s{2,}", line.strip())[0].split()
        if names and names[0].endswith("/"):
            folders[depth:] = [names[0].rstrip("/")]
            found.add("/".join(folders) + "/")
        found |= {"/".join([*folders[:depth], name]) for name in names if name.endswith(".py")}
    return found


def present():
    """The modules that the map has to name: those of a room, and those of its packages."""
    for path in modules(*ROOMS):
        parts = path.relative_to(HOUSE).parts
        if path.name != "__init__.py":
            yield "/".join(parts)


def test_the_map_names_every_module_and_none_that_is_gone():
    named = {name for name in mapped() if name.endswith(".py")}
    assert {"missing": set(present()) - named, "gone": named - set(present())} == {"missing": set(), "gone": set()}


def test_the_map_names_every_folder_of_the_house():
    folders = {name for name in mapped() if name.endswith("/")}
    assert {f"{name}/" for name in TOP if (HOUSE / name).is_dir()} <= folders
    assert [name for name in folders if not (HOUSE / name).is_dir()] == []


# Who may lean on whom.


@pytest.mark.parametrize("package", MAY_LEAN_ON)
def test_a_package_leans_only_on_what_the_rule_allows(package):
    ours = [path for path in modules(*ROOMS) if within(dotted(path), [package])]
    wrong = [
        f"{dotted(path)} imports {name}"
        for path in ours
        for name in imports(path)
        if within(name, ROOMS) and not within(name, MAY_LEAN_ON[package])
    ]
    assert wrong == []


def test_the_pure_packages_use_the_standard_library_and_numpy_alone():
    wrong = [
        f"{dotted(path)} imports {name}"
        for path in modules("builds")
        if within(dotted(path), PURE)
        for name in imports(path)
        if name.split(".")[0] not in PURE_LIBRARIES and not within(name, ROOMS)
    ]
    assert wrong == []


def test_a_fresh_process_that_imports_the_estimator_has_not_loaded_django():
    code = "import sys, builds.estimator.estimate; sys.exit('django' in sys.modules or 'pint' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=HOUSE, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(("library", "only"), [("weasyprint", "shop.printer"), ("pint", "shop.units")])
def test_a_heavy_library_has_one_importer(library, only):
    assert {dotted(path) for path in modules(*ROOMS) if library in {n.split(".")[0] for n in imports(path)}} == {only}


def test_only_the_bridge_makes_a_build_sheet_from_rows():
    """Others may name kinds of the estimator or read a kept sheet; documents are handed one."""
    outside = [path for path in modules("builds") if not within(dotted(path), [*PURE, "builds.documents"])]
    makers = {dotted(path) for path in outside if "builds.estimator.sheet" in map(parent, imports(path))}
    assert makers == {"builds.bridge"}


# Habits.


def functions(path):
    return [node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.FunctionDef)]


def test_modules_and_functions_stay_small():
    long_modules = [
        path.name for path in modules(*ROOMS, "tests") if len(path.read_text().splitlines()) > LONGEST_MODULE
    ]
    long_functions = []
    for path in modules(*ROOMS, "tests"):
        for node in functions(path):
            said = (ast.get_docstring(node, clean=False) or "").count("\n")
            if node.end_lineno - node.lineno - said > LONGEST_FUNCTION:
                long_functions.append(f"{dotted(path)}.{node.name}")
    assert (long_modules, long_functions) == ([], [])


def test_no_drawer_for_odds_and_ends():
    assert [path for path in modules(*ROOMS) if path.stem in ("utils", "util", "helpers", "misc", "common")] == []


def test_no_signal_receivers_on_our_models():
    assert [dotted(path) for path in modules(*ROOMS) for name in imports(path) if "signals" in name] == []


def test_saving_a_row_does_no_arithmetic():
    wrong = [
        dotted(path)
        for path in modules(*ROOMS)
        for node in functions(path)
        if node.name == "save"
        and "models" in dotted(path)
        and any(isinstance(part, ast.BinOp) for part in ast.walk(node))
    ]
    assert wrong == []


def test_every_test_can_fail():
    """A test without an assertion, a refusal expected or a check called is a test that cannot fail."""
    checks = re.compile(r"assert|\braises\(|\bexpect\(|\bcheck_|\brefused\(")
    idle = [
        f"{dotted(path)}.{node.name}"
        for path in modules("tests")
        for node in functions(path)
        if node.name.startswith("test_") and not checks.search(ast.unparse(node))
    ]
    assert idle == []


def test_no_page_carries_a_style_or_a_script_of_its_own():
    inline = re.compile(r"\sstyle=|<style\b|<script(?![^>]*\bsrc=)|\son\w+=\"|javascript:", re.IGNORECASE)
    assert [path.name for path in listed("templates/*.html") if inline.search(path.read_text())] == []


def test_whatever_htmx_fetches_works_without_it():
    """A link that htmx follows has an address, a form that htmx sends has an action (or is sent to its own page)."""
    tags = re.compile(r"<(\w+)\b([^>]*\bhx-(?:get|post)=[^>]*)>", re.DOTALL)
    reachable = {"a": "href=", "form": "action=", "button": "formaction="}
    wrong = [
        f"{path.name}: <{tag}>"
        for path in listed("templates/*.html")
        for tag, attributes in tags.findall(path.read_text())
        if tag in reachable and reachable[tag] not in attributes
    ]
    assert wrong == []


@pytest.mark.parametrize("what", NEVER)
def test_what_never_stands_in_a_file(what):
    word = re.compile(NEVER[what], re.IGNORECASE)
    wrong = []
    for path in listed():
        if path.suffix in {".otf", ".png", ".ico", ".pdf"}:
            continue
        lines = path.read_text(errors="replace").splitlines()
        wrong += [f"{path.relative_to(HOUSE)}:{n}" for n, line in enumerate(lines, 1) if word.search(line)]
    assert wrong == []


# The locks.


def pins(name):
    return set(re.findall(r"^([\w.\[\]-]+==[^\s\\]+(?: ;[^\\\n]*)?)", (HOUSE / name).read_text(), re.MULTILINE))


def test_the_lock_of_the_tests_holds_the_lock_of_the_run_pin_for_pin():
    """What was tested is what runs."""
    plain = {pin.split(" ;")[0].lower() for pin in pins("tests/requirements.txt")}
    assert {pin.split(" ;")[0].lower() for pin in pins("requirements.txt")} <= plain


@pytest.mark.parametrize("name", ["requirements.txt", "tests/requirements.txt"])
def test_every_pin_of_a_lock_has_hashes(name):
    text = (HOUSE / name).read_text()
    blocks = re.split(r"\n(?=[\w\[\].-]+==)", text)
    assert [block.splitlines()[0] for block in blocks if "==" in block and "--hash=sha256:" not in block] == []


def test_every_direct_dependency_is_explained():
    """DEVELOPERS.md says of each what it saves, who keeps it, and its licence."""
    import tomllib

    project = tomllib.loads((HOUSE / "pyproject.toml").read_text())["project"]
    named = [*project["dependencies"], *(name for group in project["optional-dependencies"].values() for name in group)]
    explained = (HOUSE / "DEVELOPERS.md").read_text()
    bare = [re.match(r"[\w.-]+", name)[0] for name in named]
    assert [name for name in bare if not re.search(rf"^\| {re.escape(name)}\b", explained, re.MULTILINE)] == []


def test_the_pure_packages_are_under_strict_types():
    import tomllib

    files = tomllib.loads((HOUSE / "pyproject.toml").read_text())["tool"]["mypy"]["files"]
    wanted = [package.replace(".", "/") for package in PURE if modules(package.replace(".", "/"))]
    assert {*wanted, "shop/units.py", "shop/money.py"} <= set(files)
