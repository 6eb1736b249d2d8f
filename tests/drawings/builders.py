"""Boats to draw: the twelve hull types of the catalogue with invented items and openings on their stations."""

import json
import random
from functools import cache
from pathlib import Path

from builds.drawings.boat import Boat, Form, Hole, Item, Level, Station, Water

CATALOGUE = Path(__file__).parents[2] / "fixtures" / "catalogue" / "hull_types.json"
FORM = ("length_m", "beam_m", "depth_m", "waterplane_exponent", "section_exponent")
PLACE = ("id", "name", "x_m", "y_m", "z_m", "surface")
# Four corner holes and a cut-out, two rivets, one gland: dx, dy, diameter [mm], None for the cut-out.
PATTERNS = (
    ((-57, -38, 4.2), (-57, 38, 4.2), (57, -38, 4.2), (57, 38, 4.2), (0, 0, None)),
    ((-20, 0, 4.9), (20, 0, 4.9)),
    ((0, 0, 19.0),),
    ((0, 0, 54.0), (38, 0, 5.2), (-19, 32.9, 5.2), (-19, -32.9, 5.2)),
)


@cache
def hull_types() -> dict[str, dict]:
    return {record["id"]: record for record in json.loads(CATALOGUE.read_text())}


def form(**changes) -> Form:
    return Form(
        **{"length_m": 3.7, "beam_m": 0.84, "depth_m": 0.36, "waterplane_exponent": 2.6, "section_exponent": 4.0}
        | changes
    )


def water(draft_m=0.13, trim_m=0.09, **changes) -> Water:
    level = Level.from_mid(draft_m, trim_m)
    band = (Level.from_mid(draft_m - 0.02, trim_m - 0.01), Level.from_mid(draft_m + 0.02, trim_m + 0.02))
    return Water(
        **{"level": level, "band": band, "freeboard_mm": 182.0, "centre_of_gravity_m": (2.1, 0.01, 0.28)} | changes
    )


def item(number: int = 1, **changes) -> Item:
    place = {"x_m": 1.5, "y_m": 0.0, "z_m": 0.3}
    return Item(**{"line": f"L{number}", "label": str(number), "name": f"part {number}"} | place | changes)


def hole(letter: str = "A", number: int = 1, **changes) -> Hole:
    place = {"x_m": 1.5, "y_m": 0.2, "z_m": 0.3, "diameter_mm": 5.2}
    return Hole(**{"letter": letter, "line": f"L{number}", "label": str(number)} | place | changes)


def loaded(hull_type: str, count: int, seed: int = 0, **changes) -> Boat:
    """A hull type with `count` items on its stations, their openings lettered, afloat."""
    record, rng = hull_types()[hull_type], random.Random(f"{hull_type} {count} {seed}")
    stations = tuple(
        Station(**{name: s[name] for name in PLACE}, well_half_width_m=s.get("well_half_width_m"))
        for s in record["stations"]
    )
    items, holes = [], []
    for number in range(1, count + 1):
        at = rng.choice(stations)
        x, y = at.x_m + rng.choice((0.0, 0.0, -0.1, 0.15)), at.y_m + rng.choice((0.0, 0.0, 0.05))
        body = {"length_m": rng.uniform(0.03, 0.4), "width_m": rng.uniform(0.03, 0.2)} if rng.random() < 0.5 else {}
        place = {"x_m": x, "y_m": y, "z_m": at.z_m, "surface": at.surface}
        items.append(item(number, station=at.id, height_m=rng.choice((None, 0.1, 1.2)), **place, **body))
        if at.surface != "inside":
            holes += [(number, place, *hole_) for hole_ in rng.choice(PATTERNS)]
    lettered = tuple(opening(letters(i), *entry) for i, entry in enumerate(sorted(holes, key=where)))
    shape = Form(**{name: record[name] for name in FORM})
    afloat = water(0.36 * shape.depth_m, 0.05)
    rest = {"name": record["name"], "water": afloat} | changes
    return Boat(form=shape, stations=stations, items=tuple(items), holes=lettered, **rest)


def where(entry):
    _, place, dx, dy, _ = entry
    return place["surface"], place["x_m"] + dx / 1000, place["y_m"] + dy / 1000


def opening(letter, number, place, dx, dy, diameter) -> Hole:
    at = place | {"x_m": place["x_m"] + dx / 1000, "y_m": place["y_m"] + dy / 1000}
    if diameter is None:
        return hole(letter, number, **at, shape="rectangle", diameter_mm=None, width_mm=95, height_mm=60, corner_mm=5)
    return hole(letter, number, **at, diameter_mm=diameter)


def letters(place: int) -> str:
    """A to Z, then AA, AB and so on."""
    text, place = "", place + 1
    while place:
        place, last = divmod(place - 1, 26)
        text = chr(ord("A") + last) + text
    return text
