"""A good build sheet, ways to break it, and the real command to try it on."""

import copy
import json
import re
from pathlib import Path

from django.core.management import execute_from_command_line

from builds.estimator.files import expanded

JOBS = Path(__file__).parents[2] / "fixtures" / "jobs"
STEP = re.compile(r"([^.\[\]]+)|\[(\d+)\]")


def job(name="night_lights"):
    """A job sheet of the fixtures that stands by itself, with the accessory types that it uses and no others."""
    document = copy.deepcopy(dict(expanded(JOBS / f"{name}.json")))
    used = {line["accessory"] for line in document["lines"]}
    document["accessories"] = {key: record for key, record in document["accessories"].items() if key in used}
    return document


def steps_of(path):
    """The keys and places of a JSON path such as lines[2].accessory."""
    return [int(place) if place else key for key, place in STEP.findall(path)]


def found(document, path):
    for step in steps_of(path):
        document = document[step]
    return document


def put(path, value):
    """Break a sheet by giving a field this value."""

    def change(document):
        *way, last = steps_of(path)
        for step in way:
            document = document[step]
        document[last] = copy.deepcopy(value)

    return change


def drop(path):
    """Break a sheet by leaving a field out."""

    def change(document):
        *way, last = steps_of(path)
        for step in way:
            document = document[step]
        del document[last]

    return change


def append(path, value):
    """Break a sheet by adding one more to a list."""
    return lambda document: found(document, path).append(copy.deepcopy(value))


def every(*changes):
    def change(document):
        for one in changes:
            one(document)

    return change


def raw(rewrite):
    """Break a sheet in its text: `rewrite` takes the text and returns text or bytes."""
    rewrite.is_raw = True
    return rewrite


def swap(old, new):
    return raw(lambda text: text.replace(old, new, 1))


def written(document, change) -> bytes:
    """The bytes of a sheet that was broken this way."""
    if getattr(change, "is_raw", False):
        text = change(json.dumps(document))
        return text if isinstance(text, bytes) else text.encode()
    changed = copy.deepcopy(document)
    change(changed)
    return json.dumps(changed).encode()


def run(capsys, *arguments):
    """Run the real command in this process; return exit code, stdout, stderr."""
    capsys.readouterr()
    try:
        execute_from_command_line(["manage.py", "estimate", *map(str, arguments)])
        code = 0
    except SystemExit as left:
        code = left.code
    out, err = capsys.readouterr()
    return code, out, err
