"""One ticket for the owner: what it earned, why, which steps, and the entries behind it."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from django.conf import settings

from builds.agreed import agreed_of
from builds.earnings.earned import earned, spread_minutes
from builds.earnings.facts import Facts, exact
from builds.earnings.figures import MINUTES, Figures
from builds.earnings.missed import Part, Way, rounded, rounded_cost, used_by_line, way_of
from builds.models import ComeBack, Ticket, WorkEntry
from builds.office import tables
from builds.office.charts import WHY_FORMULAS, WHY_WORDS, phase_words
from builds.office.facts import facts_of
from builds.office.tables import Column, Row, Table
from shop.money import round_money

MOST_STEPS = 10
STEPS = (
    Column("Step", tables.TEXT),
    Column("Estimated, min", tables.MINUTES),
    Column("Worked, min", tables.MINUTES),
    Column("Over, min", tables.SIGNED_MINUTES, strong=True),
)
WAY = (Column("Amount", tables.SIGNED_MONEY, strong=True), Column("How it is counted", tables.TEXT))
PARTS = (
    Column("Agreed", tables.COUNT),
    Column("Cost each, agreed"),
    Column("Used", tables.COUNT),
    Column("Cost each, average"),
    Column("Over", tables.SIGNED_MONEY, strong=True),
)
KINDS = (Column("Quoted"), Column("Agreed last"), Column("Came", strong=True))
ENTRIES = (
    Column("For", tables.TEXT),
    Column("Step", tables.TEXT),
    Column("Who", tables.TEXT),
    Column("Minutes", tables.MINUTES),
)


@dataclass(frozen=True)
class OneTicket:
    """What the page of one ticket says."""

    figures: Figures
    way: Way
    way_table: Table
    steps: Table
    kinds: Table
    parts: Table
    entries: Table
    papers: tuple[str, ...]
    come_backs: list[ComeBack]

    @property
    def worst_steps(self) -> Table:
        """The steps that ran over most; the sum is that of all."""
        return self.steps.first_rows(MOST_STEPS)


def one_ticket(ticket: Ticket) -> OneTicket | None:
    """Return what a ticket earned so far, in a fixed number of queries; None where nothing is agreed."""
    facts, agreed = facts_of(ticket), agreed_of(ticket)
    if facts is None or agreed is None:
        return None
    names = names_of(agreed.kept.sheet)
    way, figures = way_of(facts), earned(facts).figures
    entries = list(WorkEntry.objects.filter(ticket=ticket).select_related("tech"))
    return OneTicket(
        figures=figures,
        way=way,
        way_table=way_table(way),
        steps=steps_of(facts, names),
        kinds=kinds_of(facts, figures),
        parts=parts_of(facts, names),
        entries=entries_of(entries, names),
        papers=(agreed.quote.number, *([agreed.change.number] if agreed.change else [])),
        come_backs=list(ComeBack.objects.filter(ticket=ticket)) if figures.came_back else [],
    )


def names_of(sheet: dict) -> dict[str, str]:
    """Return what lines and operations are called on the sheet that was agreed."""
    kinds, operations = sheet["accessories"], sheet["shop_operations"]
    lines = {line["id"]: f"{line['id']} {kinds[line['accessory']]['name']}" for line in sheet["lines"]}
    return lines | {code: record["name"] for code, record in operations.items()}


def way_table(way: Way) -> Table:
    """Return every part of the way with how it is counted; parts of nought are left out."""
    rows = [
        Row("Planned gross profit", (way.planned, "accepted quote, before its discount")),
        *(Row(part_words(part), (part.amount, WHY_FORMULAS[part.kind])) for part in way.parts if part.amount),
    ]
    last = Row("Actual gross profit", (way.actual, "revenue agreed − all costs"))
    return Table("From planned to actual gross profit", "Part", WAY, rows, last)


def part_words(part: Part) -> str:
    if part.kind == MINUTES:
        return f"Minutes of {phase_words(part.phase)}"
    return WHY_WORDS[part.kind].capitalize()


def steps_of(facts: Facts, names: dict[str, str]) -> Table:
    """Return each step of each line, the one that ran over most first."""
    estimated: dict[tuple[str, str], Fraction] = defaultdict(Fraction)
    worked: dict[tuple[str, str], Fraction] = defaultdict(Fraction)
    for line in facts.agreed.lines:
        for phase, minutes in line.phases.items():
            estimated[line.key, phase] += minutes
    for one in facts.at_the_bench:
        worked[one.line, one.phase] += one.minutes
    keys = list(dict.fromkeys([*estimated, *worked]))
    planned = spread_minutes(facts.agreed.minutes, [estimated[key] for key in keys]) if keys else []
    rows = []
    for (line, phase), plan in zip(keys, planned, strict=True):
        [done] = spread_minutes(worked[line, phase], [Fraction(1)])
        rows.append(Row(names.get(line, line or "The boat"), (phase_words(phase), plan, done, done - plan)))
    rows.sort(key=lambda row: -row.cells[3])
    sums = [sum((row.cells[place] for row in rows), Decimal(0)) for place in (1, 2, 3)]
    return Table("Steps, most over first", "For", STEPS, rows, Row("All", ("", *sums)))


def kinds_of(facts: Facts, figures: Figures) -> Table:
    """Return revenue and cost by kind: as quoted, as agreed last, as they came."""
    quoted, agreed = facts.quoted, facts.agreed
    nothing = round_money(Decimal(0), settings.CURRENCY)
    rows = [
        Row("Parts", (quoted.parts, agreed.parts, agreed.parts)),
        Row("Labour and operations", (quoted.labour, agreed.labour, agreed.labour)),
        Row("Consumables", (quoted.consumables, agreed.consumables, agreed.consumables)),
        Row("Fees", (quoted.fees, agreed.fees, agreed.fees)),
        Row("Discount", (-quoted.discount, -agreed.discount, -agreed.discount)),
        Row("Parts cost", (-quoted.parts_cost, -agreed.parts_cost, -figures.parts_cost)),
        Row("Consumables cost", (-quoted.consumables_cost, -agreed.consumables_cost, -figures.consumables_cost)),
        Row("Labour cost", (-quoted.labour_cost, -agreed.labour_cost, -figures.labour_cost)),
        Row("Come-backs", (nothing, nothing, -figures.come_back_cost)),
    ]
    sums = [sum((row.cells[place] for row in rows), nothing) for place in range(3)]
    return Table("Revenue and cost by kind", "Kind", KINDS, rows, Row("Gross profit", tuple(sums)))


def parts_of(facts: Facts, names: dict[str, str]) -> Table:
    """Return what the parts of each line were to cost and what they cost; nothing of what no shelf kept count of."""
    used, nothing = used_by_line(facts), round_money(Decimal(0), settings.CURRENCY)
    planned = {line.key: line for line in facts.agreed.lines}
    rows, sum_over = [], nothing
    for key in dict.fromkeys([*(line.key for line in facts.agreed.lines if line.cost), *used]):
        line = planned.get(key)
        agreed = (line.quantity, line.unit_cost) if line else (None, None)
        if some := used.get(key):
            quantity = sum((one.quantity for one in some), Fraction(0))
            cost = rounded_cost(some, facts)
            over = cost - (line.cost if line else nothing)
            sum_over += over
            came: tuple = (float(quantity), rounded(exact(cost) / quantity, facts) if quantity else None, over)
        else:
            came = (None, None, None)
        rows.append(Row(names.get(key, key), (*agreed, *came)))
    return Table("What the parts cost", "Line", PARTS, rows, Row("All", (None, None, None, None, sum_over)))


def entries_of(entries: list[WorkEntry], names: dict[str, str]) -> Table:
    rows = []
    for entry in entries:
        line = entry.line_key or entry.operation_code
        what = "Come-back" if entry.come_back_id else names.get(line, line or "The boat")
        rows.append(
            Row(
                f"{entry.at:%Y-%m-%d}",
                (what, phase_words(entry.phase), entry.tech.get_short_name(), Decimal(str(entry.minutes))),
            )
        )
    total = Row("All", ("", "", "", sum((row.cells[3] for row in rows), Decimal(0))))
    return Table("Minutes written down", "On", ENTRIES, rows, total)
