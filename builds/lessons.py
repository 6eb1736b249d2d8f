"""What the shop learns from its own timed work: gathered ticket by ticket, then proposed to the owner."""

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from typing import Any

from django.contrib.auth import get_user_model

from builds.estimator.fitted import fit_lines
from builds.estimator.labour import phase_factors
from builds.kept import KeptTicket, kept_tickets
from builds.learning.calibration import held
from builds.learning.learn import Learned, learn
from builds.learning.minutes import Minutes
from builds.learning.timed import Timed
from builds.lesson_effects import effects_of
from builds.models import Reckoning, Ticket, WorkEntry
from builds.reckonings import Work
from builds.states import CHECKED, HANDED_OVER
from catalog import shelf
from shop import clock

MOST_TICKETS = 2000
SAMPLE = 40
LEFT_OUT_SHOWN = 100
TYPE, OPERATION = "type", "operation"
Worked = dict[tuple[str, str], dict[int, tuple[float, datetime.datetime]]]
"""By line or operation and phase: minutes of each person, and when."""


def timed_tickets() -> list[int]:
    """Return the keys of the latest tickets that were checked or handed over and have timed work, the latest first."""
    timed = Ticket.objects.filter(state__in=(CHECKED, HANDED_OVER), agreed_quote__isnull=False, work__isnull=False)
    return list(timed.order_by("-state_at", "-pk").distinct().values_list("pk", flat=True)[:MOST_TICKETS])


def key_of(kind: str, code: str) -> str:
    """Return how a type and an operation of one name are told apart."""
    return f"{kind}:{code}"


def minutes_now() -> dict[str, Minutes]:
    """Return the catalogue's minutes of today by key."""
    records = shelf.records()
    return {
        key_of(kind, code): Minutes(*(record["labour"][name] for name in ("low_min", "likely_min", "high_min")))
        for kind, rows in ((TYPE, records["accessories"]), (OPERATION, records["shop_operations"]))
        for code, record in rows.items()
    }


# A slice: what some tickets say.


def of_slice(reckoning: Reckoning, tickets: list[int]) -> dict[str, Any]:
    """Return the timed phases of some tickets, and what they were promised against what they took."""
    worked = worked_on(tickets)
    minutes, factors = minutes_now(), shelf.shop_record(clock.today())["factors"]
    timed, promised = [], []
    for ticket in kept_tickets(tickets):
        rows = list(timed_of(ticket, worked.get(ticket.pk, {}), minutes, factors))
        timed += [[row.ticket, row.kind, row.phase, row.planned_min, row.worked_min, row.units, row.factors, row.tech]
                  for row in rows]  # fmt: skip
        if promise := promise_of(ticket, rows):
            promised.append(promise)
    return {"timed": timed, "promised": promised}


def worked_on(tickets: list[int]) -> dict[int, Worked]:
    """Return the minutes worked by ticket; those of a boat that came back are no lesson of the first fitting."""
    entries = WorkEntry.objects.filter(ticket__in=tickets, come_back__isnull=True).order_by("at", "pk")
    found: dict[int, Worked] = {}
    for ticket, line, operation, phase, minutes, tech, at in entries.values_list(
        "ticket", "line_key", "operation_code", "phase", "minutes", "tech", "at"
    ):
        people = found.setdefault(ticket, {}).setdefault((line or operation, phase), {})
        people[tech] = people.get(tech, (0.0, at))[0] + minutes, at
    return found


def timed_of(
    ticket: KeptTicket, worked: Worked, minutes: Mapping[str, Minutes], factors: Mapping[str, float]
) -> Iterator[Timed]:
    """Yield each phase of a ticket's kept estimate beside what was timed, at the catalogue's minutes of today.

    The estimate was made with the minutes and factors of its day: they are put in proportion to today's, so that what
    was learned once is not learned again.
    """
    sheet = ticket.build_sheet
    fitted = {one.id: one for one in fit_lines(sheet)}
    for line in ticket.estimate["labour"]["lines"]:
        one = fitted.get(line["line"])
        kind, code = (TYPE, one.kind.id) if one else (OPERATION, line["line"])
        then = one.kind.labour if one else sheet.shop_operations[code].labour
        now = minutes.get(key_of(kind, code))
        if now is None or not then.likely_min or not now.likely_min:
            continue
        phases = line["by_phase"]
        others = [phase for (key, phase) in worked if key == line["line"] and phase not in phases]
        for phase in (*phases, *others):
            names = phase_factors(phase, one, sheet.hull) if one else ()
            scale = now.likely_min / then.likely_min
            for name in names:
                scale *= factors[name] / getattr(sheet.shop.factors, name)
            people = worked.get((line["line"], phase), {})
            yield Timed(
                ticket=ticket.number,
                kind=key_of(kind, code),
                phase=phase,
                planned_min=phases.get(phase, 0.0) * scale,
                worked_min=sum(spent for spent, _ in people.values()),
                units=one.quantity if one else 1,
                factors=names,
                tech=str(max(people, key=lambda tech: people[tech][0])) if people else "",
            )


def promise_of(ticket: KeptTicket, rows: list[Timed]) -> list[Any] | None:
    """Return number, minutes half by, 8 in 10 by, quoted and worked; nothing where a line was not timed at all."""
    worked: dict[str, float] = {}
    for row in rows:
        worked[row.kind] = worked.get(row.kind, 0.0) + row.worked_min
    if not worked or not all(worked.values()):
        return None
    labour = ticket.estimate["labour"]
    return [ticket.number, labour["p50_min"], labour["p80_min"], labour["quoted_min"], sum(worked.values())]


# All of them: what is proposed.


def of_all(reckoning: Reckoning, slices: Iterable[dict[str, Any]]) -> dict[str, Any]:
    """Return everything that the page shows."""
    timed: list[Timed] = []
    promised: list[list[Any]] = []
    for part in slices:
        timed += [
            Timed(ticket=t, kind=k, phase=p, planned_min=plan, worked_min=work, units=n, factors=tuple(f), tech=tech)
            for t, k, p, plan, work, n, f, tech in part["timed"]
        ]
        promised += part["promised"]
    minutes, shop = minutes_now(), shelf.shop_record(clock.today())
    learned = learn(timed, minutes, shop["factors"])
    sample = list(kept_tickets(reckoning.tickets[:SAMPLE]))
    effects, together = effects_of(sample, learned, worked_on([ticket.pk for ticket in sample]))
    return {
        "tickets": learned.tickets,
        "pace": learned.pace,
        "k": None if learned.k == float("inf") else learned.k,
        "proposals": [{**asdict(one), "effect": effects.get(one.kind)} for one in learned.proposals],
        "factors": [{**asdict(one), "is_carried": one.is_carried} for one in learned.factors],
        "correlation": {"before": shop["labour_correlation"], "after": learned.correlation},
        "left_out": left_out_of(learned),
        "left_out_count": len(learned.left_out),
        "held": held_of(promised, learned),
        "together": together,
    }


def left_out_of(learned: Learned) -> list[dict[str, Any]]:
    people = dict(get_user_model().objects.values_list("pk", "username"))
    rows = sorted(learned.left_out, key=lambda one: (one.datum.planned_min - one.datum.worked_min, one.datum.ticket))
    return [
        {
            "ticket": one.datum.ticket,
            "kind": one.datum.kind,
            "tech": people.get(int(one.datum.tech), "") if one.datum.tech else "",
            "planned_min": one.datum.planned_min,
            "worked_min": one.datum.worked_min,
            "why": one.words,
        }
        for one in rows[:LEFT_OUT_SHOWN]
    ]


def held_of(promised: list[list[Any]], learned: Learned) -> list[dict[str, Any]]:
    """Return how often the minutes half by, 8 in 10 by and quoted held, on tickets that were timed throughout."""
    left_out = {one.datum.ticket for one in learned.left_out}
    whole = [row for row in promised if row[0] not in left_out]
    return [
        {"what": what, "chance": chance, **asdict(held(((row[at], row[4]) for row in whole), chance or 0.5))}
        | {"chance": chance}
        for at, what, chance in ((1, "half by", 0.5), (2, "8 in 10 by", 0.8), (3, "the minutes quoted", None))
    ]


WORK = Work(of_slice, of_all, keeps_slices=False)
