"""Titles, descriptions and tables of the boat's drawings: the same facts for those who cannot see them."""

from dataclasses import dataclass

from shop.units import format_length, format_small_length, number

from .boat import Boat, Hole, Level
from .svg import Table

MIDDLE_MM = 0.5


@dataclass(frozen=True)
class Words:
    """What a drawing says in text."""

    title: str
    desc: str
    tables: tuple[Table, ...]


def plan_words(boat: Boat, kind: str, bow_up: bool) -> Words:
    """Return title, description and tables of a plan."""
    way = "Bow up, starboard to the right." if bow_up else "Bow to the left, starboard up."
    title = f"{boat.name or 'The boat'} from above"
    if kind == "holes":
        title += ": where the holes go"
        return Words(title, f"{way} {_size(boat)} {count_of(len(boat.holes), 'opening')}.", (hole_table(boat),))
    tables = (item_table(boat), hole_table(boat), station_table(boat))
    return Words(title, f"{way} {_size(boat)} {contents(boat)}", filled(tables))


def hull_words(boat: Boat, kind: str) -> Words:
    """Return title, description and tables of the plan with the side view."""
    title = f"{boat.name or 'The boat'} from above and from the side"
    desc = f"Bow to the left, starboard up; the side view lies below. {_size(boat)} {contents(boat)} {floating(boat)}"
    tables = (item_table(boat), hole_table(boat), station_table(boat), floating_table(boat))
    return Words(title, desc.strip(), filled(tables))


def side_words(boat: Boat) -> Words:
    """Return title, description and tables of the side view alone."""
    title = f"{boat.name or 'The boat'} from the side"
    desc = f"Bow to the left. {_size(boat)} {floating(boat)}".strip()
    return Words(title, desc, filled((station_table(boat), floating_table(boat))))


def filled(tables: tuple[Table, ...]) -> tuple[Table, ...]:
    """Return the tables that have rows."""
    return tuple(table for table in tables if table.rows)


def count_of(count: int, noun: str) -> str:
    """Return "no opening", "1 opening", "3 openings"."""
    return f"{count} {noun}{'s' if count != 1 else ''}" if count else f"no {noun}"


def contents(boat: Boat) -> str:
    """Return one sentence that counts what is fitted."""
    lines = len({item.line for item in boat.items})
    return f"Fitted: {count_of(lines, 'line')}, {count_of(len(boat.holes), 'opening')}."


def floating(boat: Boat) -> str:
    """Return one sentence about the waterline, or the note that stands in its place."""
    if boat.water is None:
        return boat.note
    bow, mid, stern = draft_texts(boat)
    return f"Loaded waterline: draft {bow} at the bow, {mid} amidships, {stern} at the stern; {trim_text(boat)}."


def draft_texts(boat: Boat) -> tuple[str, str, str]:
    """Return the drafts at the bow, amidships and at the stern as text."""
    assert boat.water is not None
    level = boat.water.level
    bow, mid, stern = (
        format_small_length(z_m * 1000, boat.units) for z_m in (level.bow_m, boat.water.draft_mid_m, level.stern_m)
    )
    return bow, mid, stern


def trim_text(boat: Boat) -> str:
    """Return how she trims."""
    assert boat.water is not None
    trim_mm = boat.water.trim_m * 1000
    if abs(trim_mm) < MIDDLE_MM:
        return "on an even keel"
    return f"trim {format_small_length(abs(trim_mm), boat.units)} by the {'stern' if trim_mm > 0 else 'bow'}"


def _size(boat: Boat) -> str:
    form = boat.form
    return f"{format_length(form.length_m, boat.units)} long, {format_length(form.beam_m, boat.units)} wide."


def from_bow(boat: Boat, x_m: float) -> str:
    """Return a tape reading from the bow tip."""
    return _tape(x_m * 1000, boat.units)


def from_centre(boat: Boat, y_m: float) -> str:
    """Return a distance from the centreline and its side."""
    if abs(y_m * 1000) < MIDDLE_MM:
        return "centre"
    return f"{_tape(abs(y_m) * 1000, boat.units)} {'starboard' if y_m > 0 else 'port'}"


def _tape(length_mm: float, units: str) -> str:
    return format_small_length(length_mm, units)


def item_table(boat: Boat) -> Table:
    """Return a row for each fitted item."""
    rows = tuple(
        (
            item.label,
            item.name,
            item.station.replace("_", " "),
            from_bow(boat, item.x_m),
            from_centre(boat, item.y_m),
            _tape(item.z_m * 1000, boat.units),
        )
        for item in boat.items
    )
    return Table("Fitted", ("Line", "Part", "Where", "From bow tip", "From centre", "Above keel"), rows)


def hole_size(hole: Hole) -> str:
    """Return the size of an opening [mm]."""
    along, across = hole.size_mm
    if hole.shape == "round":
        return f"{number_text(along)} mm"
    return f"{hole.shape} {number_text(along)} × {number_text(across)} mm"


def number_text(value: float) -> str:
    """Return a figure with at most one decimal."""
    text = number(value, 1)
    return text.removesuffix(".0")


def hole_table(boat: Boat) -> Table:
    """Return a row for each opening."""
    rows = tuple(
        (hole.letter, hole.label, hole_size(hole), hole.surface, from_bow(boat, hole.x_m), from_centre(boat, hole.y_m))
        for hole in boat.holes
    )
    return Table("Openings", ("Letter", "Line", "Size", "Surface", "From bow tip", "From centre"), rows)


def station_table(boat: Boat) -> Table:
    """Return a row for each station."""
    rows = tuple(
        (s.name, from_bow(boat, s.x_m), from_centre(boat, s.y_m), _tape(s.z_m * 1000, boat.units))
        for s in boat.stations
    )
    return Table("Stations", ("Station", "From bow tip", "From centre", "Above keel"), rows)


def floating_table(boat: Boat) -> Table:
    """Return how she floats, figure by figure."""
    head = ("Figure", "Value", "Could be")
    water = boat.water
    if water is None:
        return Table("Afloat", head, (("Waterline", boat.note, ""),) if boat.note else ())
    levels = (water.level, *water.band)
    rows = [
        ("Draft at the bow", *_band(boat, [level.bow_m for level in levels])),
        ("Draft amidships", *_band(boat, [_mid(level) for level in levels])),
        ("Draft at the stern", *_band(boat, [level.stern_m for level in levels])),
        ("Trim by the stern", *_band(boat, [level.stern_m - level.bow_m for level in levels])),
    ]
    if water.freeboard_mm is not None:
        most = "at most " if water.freeboard_at_most else ""
        rows.append(("Freeboard", f"{most}{_tape(water.freeboard_mm, boat.units)}", ""))
    if water.centre_of_gravity_m is not None:
        x, _, z = water.centre_of_gravity_m
        rows.append(("Centre of gravity", f"{from_bow(boat, x)} aft, {_tape(z * 1000, boat.units)} up", ""))
    return Table("Afloat", head, tuple(rows))


def _mid(level: Level) -> float:
    return (level.bow_m + level.stern_m) / 2


def _band(boat: Boat, values_m: list[float]) -> tuple[str, str]:
    value = _tape(values_m[0] * 1000, boat.units)
    if len(values_m) == 1:
        return value, ""
    low, high = (_tape(end * 1000, boat.units) for end in (min(values_m), max(values_m)))
    return value, f"{low} to {high}"
