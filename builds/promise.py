"""When a ticket is ready: its steps put into the hours that the agreed tickets leave at the bench."""

import datetime
import threading
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from builds import stock
from builds.agreed import agreed_of
from builds.bench_now import Progress, bench_now, factor_of, naive, shop_tech, techs, work_left
from builds.estimator.estimate import Estimate
from builds.models import Line, Ticket
from builds.parts import Parts
from builds.planner.promise import Booked, Promise, promise
from builds.planner.workload import DAY, BenchTicket, Tech, stretches_of
from catalog import shelf
from catalog.models import CatalogueVersion, ShopRates
from catalog.models.version import BENCH, SHELF
from shop import clock


@dataclass(frozen=True)
class Agreed:
    """The agreed work as the planner takes it, by its key, and how far the bench is with it."""

    tickets: Mapping[str, BenchTicket]
    progress: Mapping[str, Progress]


_lock = threading.Lock()
_agreed: tuple[tuple[Any, ...], Agreed] | None = None
_booked: tuple[tuple[Any, ...], Booked] | None = None


def agreed_work() -> Agreed:
    """Return the agreed work, kept in the process until the bench, the shelf, the rates or the day change."""
    global _agreed
    key = version()
    kept = _agreed
    if kept is None or kept[0] != key or not key[0]:
        now = bench_now()
        kept = _agreed = key, Agreed({one.key: one for one in now.tickets}, now.progress)
    return kept[1]


def version() -> tuple[Any, ...]:
    """Return what the agreed work depends on: a tuple that changes with it."""
    versions = CatalogueVersion.current(BENCH), CatalogueVersion.current(SHELF), CatalogueVersion.current()
    return *versions, clock.today()


def people(rates: ShopRates) -> tuple[Tech, ...]:
    """Return who works at the bench; one tech of the shop's hours where nobody has any yet."""
    found = techs(rates)
    return found if any(one.works for one in found) else (shop_tech(rates),)


def booked_now(rates: ShopRates) -> Booked:
    """Return the bench with the agreed work in its place, kept until something changes or a minute passes."""
    global _booked
    who, begin = people(rates), naive(clock.now()).replace(second=0, microsecond=0)
    key = version(), who, begin
    kept = _booked
    if kept is None or kept[0] != key or not key[0][0]:
        found = Booked(who, agreed_work().tickets.values(), begin, tuple(rates.working_days))
        kept = _booked = key, found
    return kept[1]


def promise_of(
    found: Estimate,
    rates: ShopRates,
    start: datetime.date,
    *,
    ticket: Ticket | None = None,
    booked: Booked | None = None,
) -> Promise | None:
    """Return the promise for an estimate, if the customer agrees on the day `start`; None where there is no time.

    What an agreed `ticket` holds or waits for already keeps its turn, and its own time at the bench is free for it.
    Whoever asks for several estimates hands the bench in, as it is `booked_now`.
    """
    wanted: Counter[str] = Counter()
    for line in found.sheet.lines:
        if line.supplied_by == Line.SuppliedBy.SHOP:
            wanted[line.accessory] += line.quantity
    order = [vars(step) for step in found.order.steps]
    labour = {"order": order, "mean_min": found.labour.mean_min, "sd_min": found.labour.sd_min}
    return of_labour(labour, rates, start, stock.wait_days(wanted, start, ticket), ticket, booked)


def of_labour(
    labour: Mapping[str, Any],
    rates: ShopRates,
    start: datetime.date,
    parts_days: int,
    ticket: Ticket | None,
    booked: Booked | None = None,
) -> Promise | None:
    """Return the promise for the steps of an estimate document, when its parts are here so many days from the start."""
    asked, booked = asked_for(labour, rates, start, parts_days, ticket), booked or booked_now(rates)
    with _lock:  # looking for free time looks further days of the techs up
        return promise(asked, booked, rates.labour_percentile)


def asked_for(
    labour: Mapping[str, Any], rates: ShopRates, start: datetime.date, parts_days: int, ticket: Ticket | None
) -> BenchTicket:
    """Return what is asked for as the planner takes it: the place that it has already, else one behind all others."""
    agreed, key = agreed_work(), ticket.number if ticket else ""
    known = agreed.tickets.get(key) or BenchTicket(key, len(agreed.tickets), ())
    left, cured_at = work_left(labour["order"], agreed.progress.get(key, Progress({})))
    return replace(
        known,
        stretches=stretches_of(left, factor_of(labour["mean_min"], labour["sd_min"], rates)),
        parts_on=start + parts_days * DAY if parts_days else None,
        agreed_on=start,
        cured_at=cured_at,
    )


def ready_with_parts(parts: Parts) -> datetime.date | None:
    """Return the day on which the boat is ready at the earliest, where its parts come too late for the promised one.

    All of the bench's work follows the parts of a ticket that is not begun; the cure alone those of one that is.
    """
    agreed, here_on = agreed_of(parts.ticket), parts.here_on
    if agreed is None or here_on is None:
        return None
    known = agreed_work().tickets.get(parts.ticket.number)
    if known is None:
        return None
    stretches = tuple(replace(one, minutes=0) for one in known.stretches) if known.begun else known.stretches
    rates = shelf.rates_on(parts.today)
    alone = Booked(people(rates), (), naive(clock.now()), tuple(rates.working_days))
    found = promise(replace(known, stretches=stretches, parts_on=here_on), alone, rates.labour_percentile)
    return found.ready_on if found and found.ready_on > agreed.kept.ready_on else None
