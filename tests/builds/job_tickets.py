"""The ten job sheets as tickets: opened at the counter line by line, as they are, without the demo's variations."""

import datetime

from django.utils import timezone

from builds.demo.life import Life
from builds.demo.writing import SEED, cast_of_the_shop, hours_of_the_shop
from builds.demo.year import FIXTURES, Story, read, type_named
from builds.models import Ticket
from shop import clock

JOBS = sorted(path.stem for path in (FIXTURES / "jobs").glob("*.json") if not path.name.endswith(".expect.json"))


def open_job(name: str, now: datetime.datetime | None = None) -> Ticket:
    """Return a new draft that says what a job sheet says, on the shipped catalogue."""
    sheet = read(f"jobs/{name}.json")
    story = Story(
        place=1,
        seed=SEED,
        row={"job": name, "end": "draft", "minutes_ago": 60},
        job=sheet,
        hull_type=type_named(sheet["hull"]["name"]),
        title=sheet["ticket"]["title"],
        asked="",
        discount_basis_points=0,
    )
    life = Life(story, cast_of_the_shop(), hours_of_the_shop(), now or timezone.now(), lay_out=None)
    for at, act in life.acts():
        with clock.at(at):
            act()
    return life.ticket
