"""A shop of any size in a few statements: copies of one ticket that was handed over, spread over ten years.

Tickets, ten lines and ten work entries each, money taken, totals and shares as the office keeps them. What varies comes
from the ticket's number by plain arithmetic, so that both databases hold the same.
"""

from django.db import connection

from builds.earnings.earned import ACCESSORY, BUNDLE, CATEGORY, PHASE, TECH
from builds.earnings.figures import NAMES
from builds.models import Line, MoneyEntry, MonthTotals, Ticket, TicketShare, TicketTotals, WorkEntry
from builds.office.keeping import COUNTER, DAYS, HULL, MONTH, OUTCOME
from catalog.models import AccessoryType, HullType

LINES_EACH = 10
CATEGORIES_EACH = 5
FIRST = 1_000_000
FIRST_YEAR, YEARS = 2017, 10
PHASES = ("check", "mark", "drill", "route", "bed", "mount", "terminate", "finish")
IN_WORK_OF = 400
QUOTED_OF, LOST_OF = 200, 20


def chance(i: str, j: str, below: int) -> str:
    """A whole number from 0, the same on every database, that looks like chance."""
    return f"((({i}) * 7919 + ({j}) * 104729 + 13) % 1000003 % {below})"


def copy(model, template, count: int, each: int, given: dict[str, str], also: str = "", after: int = 0) -> None:
    """Insert copies of one row, `each` for each of `count` tickets; `given` says in SQL of n.i and m.j what differs."""
    table = model._meta.db_table
    columns = [field.column for field in model._meta.fields if field.column != "id" or "id" in given]
    said = ", ".join(given.get(column, f't."{column}"') for column in columns)
    quoted = ", ".join(f'"{column}"' for column in columns)
    with connection.cursor() as cursor:
        cursor.execute(
            f"WITH RECURSIVE n(i) AS (SELECT {after} + 1 UNION ALL SELECT i + 1 FROM n WHERE i < {after} + {count}), "
            f"m(j) AS (SELECT 1 UNION ALL SELECT j + 1 FROM m WHERE j < {each}) "
            f'INSERT INTO "{table}" ({quoted}) SELECT {said} FROM n CROSS JOIN m '
            f'JOIN "{table}" t ON t."{model._meta.pk.column}" = {template.pk} {also}'
        )


def one_of(values: list[str], number: str) -> str:
    """SQL: one of some texts by a number from 0."""
    whens = " ".join(f"WHEN {place} THEN '{value}'" for place, value in enumerate(values))
    return f"CASE {number} {whens} END"


def month_of(i: str) -> str:
    """SQL: the first day of the month in which a ticket left, over ten years."""
    month = chance(i, "3", 12 * YEARS)
    year, rest = f"({FIRST_YEAR} + {month} / 12)", f"({month} % 12 + 1)"
    if connection.vendor == "sqlite":
        return f"printf('%04d-%02d-01', {year}, {rest})"
    return f"make_date({year}, {rest}, 1)"


def state_of(i: str) -> str:
    return (
        f"CASE WHEN {i} % {IN_WORK_OF} = 0 THEN 'bench' WHEN {i} % {QUOTED_OF} = 1 THEN 'quoted' "
        f"WHEN {i} % {LOST_OF} = 2 THEN 'declined' ELSE 'handed_over' END"
    )


def gone(i: str, then: str) -> str:
    """SQL: a value for tickets that were handed over, null for the others."""
    return f"CASE WHEN {state_of(i)} = 'handed_over' THEN {then} END"


def agreed(i: str, then: str) -> str:
    return f"CASE WHEN {state_of(i)} IN ('handed_over', 'bench') THEN {then} END"


def fill(template: Ticket, count: int, after: int = 0) -> None:
    """Add so many tickets with all that belongs to them, and the sums of their months."""
    ticket = f"{FIRST} + n.i"
    number = "'X-' || n.i"
    copy(
        Ticket,
        template,
        count,
        1,
        {
            "id": ticket,
            "number": number,
            "state": state_of("n.i"),
            "agreed_quote_id": agreed("n.i", 't."agreed_quote_id"'),
            "agreed_bench_min": agreed("n.i", 't."agreed_bench_min"'),
        },
        after=after,
    )
    kinds = list(AccessoryType.objects.order_by("code").values_list("code", flat=True))
    kind = one_of(kinds, chance("n.i", "m.j", len(kinds)))
    line = {"ticket_id": ticket, "key": "'L' || m.j", "place": "m.j"}
    copy(Line, template.lines.first(), count, LINES_EACH, line, after=after)
    worked = {"ticket_id": ticket, "line_key": "'L' || m.j", "accessory_code": kind}
    copy(
        WorkEntry, template.work.first(), count, LINES_EACH, worked, also=f"WHERE {agreed('n.i', '1')} = 1", after=after
    )
    money = {"ticket_id": ticket, "number": f"'R-' || ({ticket})"}
    copy(MoneyEntry, template.money.first(), count, 1, money, after=after)
    fill_totals(template, count, after, kinds)
    add_up()


def fill_totals(template: Ticket, count: int, after: int, kinds: list[str]) -> None:
    categories = ["", *AccessoryType.objects.categories()]
    hulls = list(HullType.objects.order_by("code").values_list("code", flat=True))
    ticket, month = f"{FIRST} + n.i", gone("n.i", month_of("n.i"))
    rank = f"{chance('n.i', 'm.j', 1000)} / 1000.0"
    varied = {"labour_cost": f't."labour_cost" + {chance("n.i", "m.j", 9000)}', "rank": rank, "month": month}
    outcome = f"CASE {state_of('n.i')} WHEN 'declined' THEN 'lost' WHEN 'quoted' THEN '' ELSE 'won' END"
    ended = f"CASE {state_of('n.i')} WHEN 'quoted' THEN NULL ELSE {month_of('n.i')} END"
    whole = {
        "ticket_id": ticket,
        "hull_type": one_of(hulls, chance("n.i", "5", len(hulls))),
        "outcome": outcome,
        "outcome_month": ended,
        "days_to_yes": agreed("n.i", chance("n.i", "7", 12)),
    }
    nothing = {
        name: f"CASE WHEN {state_of('n.i')} IN ('handed_over', 'bench') THEN t.\"{name}\" ELSE 0 END"
        for name in NAMES
        if name != "labour_cost"
    }
    copy(TicketTotals, template.totals, count, 1, varied | nothing | whole, after=after)
    only = f"WHERE {agreed('n.i', '1')} = 1"
    keys = {
        # Ten types that differ, one after the other in the list of all; and the boat as a whole.
        ACCESSORY: (
            LINES_EACH + 1,
            f"CASE m.j WHEN {LINES_EACH + 1} THEN '' ELSE "
            + one_of(kinds, f"(({chance('n.i', '11', len(kinds))} + m.j * 7) % {len(kinds)})")
            + " END",
        ),
        CATEGORY: (
            CATEGORIES_EACH,
            one_of(categories, f"(({chance('n.i', '17', len(categories))} + m.j) % {len(categories)})"),
        ),
        BUNDLE: (2, "CASE m.j WHEN 1 THEN '' ELSE 'night_lights' END"),
        TECH: (1, f"'{template.tech_id}'"),
        PHASE: (len(PHASES), one_of(list(PHASES), "(m.j - 1)")),
    }
    for by, (each, key) in keys.items():
        share = TicketShare.objects.filter(ticket=template, by=by).exclude(key="").first()
        share = share or TicketShare.objects.filter(ticket=template, by=by).first()
        given = varied | {"ticket_id": ticket, "by": f"'{by}'", "key": key}
        copy(TicketShare, share, count, each, given, also=only, after=after)


def add_up() -> None:
    """Write the sums of all months anew, by SQL."""
    MonthTotals.objects.all().delete()
    sums = ", ".join(f'SUM("{name}")' for name in NAMES)
    columns = ", ".join(f'"{name}"' for name in ("by", "key", "month", "tickets", *NAMES))
    whole, share = TicketTotals._meta.db_table, TicketShare._meta.db_table
    views = {MONTH: "''", HULL: '"hull_type"', COUNTER: 'CAST("counter_id" AS varchar)'}
    with connection.cursor() as cursor:
        into = f'INSERT INTO "{MonthTotals._meta.db_table}" ({columns}) SELECT'
        for by, key in views.items():
            cursor.execute(
                f'{into} \'{by}\', {key}, "month", COUNT(*), {sums} FROM "{whole}" '
                f'WHERE "month" IS NOT NULL GROUP BY {key}, "month"'.replace("GROUP BY '',", "GROUP BY")
            )
        cursor.execute(
            f'{into} "by", "key", "month", COUNT(*), {sums} FROM "{share}" '
            'WHERE "month" IS NOT NULL GROUP BY "by", "key", "month"'
        )
        none = ", ".join(["0"] * len(NAMES))
        for by, key, known in (
            (OUTCOME, '"outcome"', "\"outcome\" <> ''"),
            (DAYS, 'CAST("days_to_yes" AS varchar)', '"days_to_yes" IS NOT NULL'),
        ):
            cursor.execute(
                f'{into} \'{by}\', {key}, "outcome_month", COUNT(*), {none} FROM "{whole}" '
                f'WHERE {known} GROUP BY {key}, "outcome_month"'
            )
