"""Which tickets the year has: rows of fixtures/demo/, the job sheets, what chance makes of them. No database."""

import json
import random
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
LEFT_OUT_CHANCE = 0.3
"""How often a part of a job that customers do without is left out."""
SMALL_JOB_PADDLER_KG, SMALL_JOB_KIT_KG = 84.0, 10.0
DISCOUNTS = (0, 0, 0, 0, 0, 0, 0, 500, 1000)
"""Hundredths of a percent: most tickets have none."""


@dataclass(frozen=True)
class Story:
    """One ticket of the year: its row in fixtures/demo/year.json, and the job as it is for this customer.

    `hull_type` is the code of a hull type. `earlier` is the ticket that the same customer's boat was in with before.
    """

    place: int
    seed: int
    row: dict[str, Any]
    job: dict[str, Any]
    hull_type: str
    title: str
    asked: str
    discount_basis_points: int
    earlier: "Story | None" = None

    @property
    def end(self) -> str:
        return str(self.row["end"])

    @property
    def lines(self) -> list[dict[str, Any]]:
        """The lines of the ticket: what an earlier ticket fitted to the boat, then those of the job."""
        fitted = self.earlier.job["lines"] if self.earlier else []
        brought = [{**line, "id": f"earlier {line['id']}", "supplied_by": "already_fitted"} for line in fitted]
        return [*brought, *self.job["lines"]]

    @property
    def customer(self) -> str:
        return f"Customer {300 + 7 * self.place:04d}"

    @property
    def phone(self) -> str:
        """A number of the range that is kept for fiction, 555-0100 to 555-0199."""
        return f"555-01{self.place:02d}"

    def chance(self, what: str) -> random.Random:
        """Return the chance of one thing about this ticket: the same whatever else was drawn."""
        return random.Random(f"{self.seed} {self.place} {what}")


def stories(seed: int) -> list[Story]:
    """Return the tickets of the year from the oldest to today's; the same seed gives the same ones."""
    told: list[Story] = []
    for place, row in enumerate(read("demo/year.json"), start=1):
        earlier = next((story for story in told if "again" in row and story.row.get("days_ago") == row["again"]), None)
        told.append(story_of(place, row, seed, earlier))
    return told


def story_of(place: int, row: dict[str, Any], seed: int, earlier: Story | None) -> Story:
    chance = random.Random(f"{seed} {place} job")
    about = read("demo/jobs.json")[row["job"]]
    sheet = small_job(about["sheet"]) if "sheet" in about else read(f"jobs/{row['job']}.json")
    job = varied(sheet, about, row, chance)
    if "sheet" not in about:
        hull_type = type_named(sheet["hull"]["name"])
    elif earlier:
        hull_type = earlier.hull_type
    else:
        hull_type = row.get("hull_type") or chance.choice(about["sheet"]["hull_types"])
    return Story(
        place=place,
        seed=seed,
        row=row,
        job=job,
        hull_type=hull_type,
        title=sheet["ticket"]["title"],
        asked=row.get("asked") or chance.choice(about["asked"]),
        discount_basis_points=chance.choice(DISCOUNTS),
        earlier=earlier,
    )


def varied(sheet: dict[str, Any], about: dict[str, Any], row: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """Return a job as another customer has it: other parts in a place, some left out, other people aboard."""
    left_out = {key for keys in about.get("leave_out", ()) if chance.random() < LEFT_OUT_CHANCE for key in keys}
    left_out |= set(row.get("without", ()))
    changed_later = row.get("requote", {}).get("line")
    lines = []
    for line in sheet["lines"]:
        parts = about.get("swap", {}).get(line["id"], [line["accessory"]])
        part = chance.choice(parts)
        if line["id"] not in left_out:
            lines.append({**line, "accessory": line["accessory"] if line["id"] == changed_later else part})
    if mistaken := row.get("mended"):
        lines = [{**line, "battery": mistaken["battery"]} if line["id"] == mistaken["line"] else line for line in lines]
    kept = {line["id"] for line in lines}
    spells = [{**s, "on": {key: part for key, part in s["on"].items() if key in kept}} for s in sheet["day_plan"]]
    people, gear = ([heavier_or_lighter(one, chance) for one in sheet[kind]] for kind in ("people", "gear"))
    return {**sheet, "lines": lines, "day_plan": spells, "people": people, "gear": gear}


def heavier_or_lighter(aboard: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    return {**aboard, "mass_kg": float(round(aboard["mass_kg"] * chance.uniform(0.88, 1.06)))}


def small_job(about: dict[str, Any]) -> dict[str, Any]:
    """Return a small job in the shape of a build sheet."""
    return {
        "ticket": {"title": about["title"]},
        "hull": {},
        "water": "fresh",
        "air_temp_c": 20.0,
        "people": [{"name": "paddler", "mass_kg": SMALL_JOB_PADDLER_KG}],
        "gear": [{"name": "kit", "mass_kg": SMALL_JOB_KIT_KG}],
        "lines": about["lines"],
        "operations": [{"operation": code, "quantity": quantity} for code, quantity in about["operations"].items()],
        "day_plan": [],
    }


def type_named(name: str) -> str:
    """Return the code of the hull type of that name."""
    return next(record["id"] for record in read("catalogue/hull_types.json") if record["name"] == name)


@cache
def read(name: str) -> Any:
    return json.loads((FIXTURES / name).read_text(encoding="utf-8"))
