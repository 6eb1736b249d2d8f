"""The alternatives of a ticket side by side: what differs from the first, and what follows from each."""

from dataclasses import dataclass, field
from decimal import Decimal

from builds import bridge
from builds.answers import Figure, Warned, figures_of, spell, warned_in
from builds.estimator.estimate import Estimate, estimate
from builds.estimator.specs import Unusable
from builds.models import Alternative, Ticket
from builds.planner.promise import Promise
from builds.planner.words import day_words
from shop import units

SHOWN = ("load", "deck_freeboard_mm", "freeboard_mm", "trim_mm", "battery", "drop", "opening", "half", "eight")


@dataclass
class Cell:
    """One answer of one alternative; `differs` from the first, by how much where that can be said."""

    text: str
    differs: bool = False
    by: str = ""
    verdict: str = ""


@dataclass
class Row:
    name: str
    cells: list[Cell]


@dataclass
class Column:
    """One alternative with its estimate; None and the problems where it cannot be reckoned."""

    alternative: Alternative
    estimate: Estimate | None
    promise: Promise | None = None
    problems: tuple = ()
    warned: list[Warned] = field(default_factory=list)
    others: list[Warned] = field(default_factory=list)

    @property
    def new(self) -> list[Warned]:
        """Its stops and cautions that the first alternative does not have."""
        known = {one.caution.sentence for one in self.others}
        return [one for one in self.warned if one.caution.sentence not in known]

    @property
    def gone(self) -> list[Warned]:
        """Those of the first alternative that it does not have."""
        known = {one.caution.sentence for one in self.warned}
        return [one for one in self.others if one.caution.sentence not in known]


def estimate_of(ticket: Ticket, one: Alternative) -> Estimate:
    """Return the estimate of one alternative. Raises `Unusable`."""
    return bridge.estimate_of(ticket) if one.is_current else estimate(bridge.sheet_of_alternative(ticket, one.said))


def columns_of(ticket: Ticket, promise_of) -> list[Column]:
    """Return a column for each alternative; `promise_of` gives the promise for an estimate."""
    columns = []
    for one in ticket.alternatives.all():
        try:
            found = estimate_of(ticket, one)
            warned = [each for each in warned_in(found) if each.caution.severity != "note"]
            others = columns[0].warned if columns else []
            columns.append(Column(one, found, promise_of(found), warned=warned, others=others))
        except Unusable as error:
            columns.append(Column(one, None, problems=error.problems))
    return columns


def compared(columns: list[Column]) -> dict[str, list[Row]]:
    """Return the rows in three groups: what the customer asks first, what is fitted, what follows."""
    known = [column for column in columns if column.estimate]
    if not known:
        return {}
    estimates = [column.estimate for column in columns]
    return {
        "top": [
            money_row("Price with tax", [one and one.price.total for one in estimates]),
            text_row("Ready, if accepted today", [day(column.promise) for column in columns]),
            number_row("Holes in the boat", [one and len(one.openings) for one in estimates]),
        ],
        "fitted": list(fitted_rows(estimates)),
        "follows": list(figure_rows(estimates)),
    }


def day(promised: Promise | None) -> str:
    return day_words(promised.ready_on) if promised else "–"


def text_row(name: str, texts: list[str]) -> Row:
    return Row(name, [Cell(text, text != texts[0]) for text in texts])


def money_row(name: str, amounts: list[Decimal | None]) -> Row:
    first = amounts[0]
    return Row(name, [cell_of(amount, first, lambda value: f"{value:,}") for amount in amounts])


def number_row(name: str, counts: list[int | None]) -> Row:
    return Row(name, [cell_of(count, counts[0], str) for count in counts])


def cell_of(value, first, shown) -> Cell:
    """Return a cell with the difference from the first alternative, signed, where both are known."""
    if value is None:
        return Cell("–", first is not None)
    if first is None or value == first:
        return Cell(shown(value))
    sign = "+" if value > first else "−"
    return Cell(shown(value), True, f"{sign}{shown(abs(value - first))}")


def fitted_rows(estimates: list[Estimate | None]):
    """Yield a row for each line that any alternative has; lines are the same where their key is."""
    keys = dict.fromkeys(line.id for found in estimates if found for line in found.sheet.lines)
    for key in keys:
        texts = [line_text(found, key) for found in estimates]
        kinds = [
            found.sheet.type_of(line).name for found in estimates if found and (line := found.sheet.line_by_id.get(key))
        ]
        yield Row(kinds[0], [Cell(text, text != texts[0]) for text in texts])


def line_text(found: Estimate | None, key: str) -> str:
    line = found.sheet.line_by_id.get(key) if found else None
    if found is None or line is None:
        return "left out"
    price = next(one for one in found.price.lines if one.line == key)
    count = "" if line.quantity == 1 else f"{line.quantity} × "
    return f"{count}{found.sheet.type_of(line).name}, {price.amount:,}" if price.sold else f"{count}own part"


def figure_rows(estimates: list[Estimate | None]):
    """Yield the figures that follow, those that any alternative has, with their verdicts."""
    by_key: list[dict[str, Figure]] = []
    for found in estimates:
        figures: dict[str, Figure] = {}
        for figure in figures_of(found, {}) if found else ():
            if figure.key in SHOWN:
                figures.setdefault(figure.key, figure)
        by_key.append(figures)
    for key in SHOWN:
        with_it = [figures[key] for figures in by_key if key in figures]
        if with_it:
            name = "Battery lasts" if key == "battery" else with_it[0].name
            yield Row(name, [figure_cell(figures.get(key), by_key[0].get(key)) for figures in by_key])
    minutes = [found and found.labour.quoted_min for found in estimates]
    yield Row("Bench, as quoted", [Cell(spell(m) if m is not None else "–", m != minutes[0]) for m in minutes])
    masses = [found and found.weights.added_in_use_kg for found in estimates]
    yield Row("Parts weigh", [Cell(f"{m:.1f}{units.THIN}kg" if m is not None else "–", m != masses[0]) for m in masses])


def figure_cell(figure: Figure | None, first: Figure | None) -> Cell:
    if figure is None:
        return Cell("–", first is not None)
    text = f"{figure.value}{units.THIN}{figure.unit}" if figure.unit else figure.value
    verdict = figure.verdict if figure.verdict in ("stop", "caution") else ""
    return Cell(text, first is None or figure.value != first.value, verdict=verdict)
