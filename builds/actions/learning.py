"""Reckonings begun, and learned figures taken by the owner or taken back: the catalogue moves, kept quotes do not."""

import datetime
from collections.abc import Iterable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction

from builds.actions.ground import Refused
from builds.models import LearnedChange, Reckoning
from catalog import actions as catalogue
from catalog.models import AccessoryType, ShopOperation, ShopRates
from shop import clock, journal, once, roles

DAY = datetime.timedelta(days=1)
KEPT_OF_A_KIND = 5
MINUTES = ("low_min", "likely_min", "high_min")
MODELS = {LearnedChange.Kind.TYPE: AccessoryType, LearnedChange.Kind.OPERATION: ShopOperation}
MOVED = "{name} was changed after this was learned. Learn again, then look at it anew."
NOT_LAST = "{name} was changed after this was taken. Change it on its own page of the catalogue."


def begin(actor, kind: str, asked: dict[str, Any], tickets: list[int]) -> Reckoning:
    """Begin a reckoning over tickets; it goes on as somebody looks at it. Only the latest of a kind are kept."""
    require(actor, "enter_office")
    if not tickets:
        raise Refused("There is no ticket to reckon with yet.")
    with transaction.atomic():
        once.spend()
        begun = Reckoning.objects.create(kind=kind, asked=asked, tickets=tickets, begun_at=clock.now(), begun_by=actor)
        old = Reckoning.objects.filter(kind=kind).order_by("-id").values_list("pk", flat=True)[KEPT_OF_A_KIND:]
        Reckoning.objects.filter(pk__in=list(old)).delete()
    return begun


def take(actor, reckoning: Reckoning, keys: Iterable[str]) -> list[LearnedChange]:
    """Take what was learned for some types, operations, factors or the correlation: all of them or none.

    A key is a kind and a code, as `type:rod_holder`. Raises Refused where the figure was changed since it was learned.
    """
    offered = {key_of(one): one for one in offers_of(reckoning)}
    wanted = list(dict.fromkeys(keys))
    if not wanted:
        raise Refused("Nothing is ticked. Tick what to take, then take it.")
    if strange := [key for key in wanted if key not in offered]:
        raise Refused(f"{strange[0]} is not among what was learned.")
    with transaction.atomic():
        once.spend()
        return [change(actor, **offered[key]) for key in wanted]


def take_back(actor, taken: LearnedChange) -> LearnedChange:
    """Put back what a taken change replaced, where nothing was changed since."""
    with transaction.atomic():
        once.spend()
        latest = LearnedChange.objects.filter(kind=taken.kind, code=taken.code).order_by("-id").first()
        if latest != taken or taken.takes_back_id:
            raise Refused("This change is not the latest one of its kind any more.")
        return change(
            actor,
            kind=taken.kind,
            code=taken.code,
            before=taken.after,
            after=taken.before,
            tickets=taken.tickets,
            credibility=taken.credibility,
            takes_back=taken,
        )


def offers_of(reckoning: Reckoning) -> Iterable[dict[str, Any]]:
    """Yield what a reckoning proposes, each as the change that it would be."""
    found = reckoning.found or {}
    for one in found.get("proposals", []):
        kind, code = one["kind"].split(":", 1)
        same = {"tickets": one["tickets"], "credibility": one["credibility"]}
        yield {
            "kind": kind,
            "code": code,
            "before": minutes_of(one["before"]),
            "after": minutes_of(one["after"]),
            **same,
        }
    for one in found.get("factors", []):
        same = {"tickets": one["tickets"], "credibility": one["credibility"]}
        yield {"kind": "factor", "code": one["factor"], "before": one["before"], "after": one["after"], **same}
    correlation = found.get("correlation") or {}
    if correlation.get("after") is not None:
        same = {"tickets": found["tickets"], "credibility": None}
        yield {"kind": "correlation", "code": "labour_correlation", **correlation, **same}


def key_of(offer: dict[str, Any]) -> str:
    return f"{offer['kind']}:{offer['code']}"


def minutes_of(said: dict[str, float]) -> list[float]:
    return [said[name] for name in MINUTES]


def change(
    actor, *, kind: str, code: str, before: Any, after: Any, takes_back: LearnedChange | None = None, **how: Any
) -> LearnedChange:
    """Move the catalogue, write the change down, and journal it; part of taking or taking back."""
    if kind in MODELS:
        holds_from = change_minutes(actor, kind, code, before, after, takes_back)
    else:
        holds_from = change_rates(actor, kind, code, before, after, takes_back)
    done = LearnedChange.objects.create(
        kind=kind,
        code=code,
        before=before,
        after=after,
        holds_from=holds_from,
        at=clock.now(),
        by=actor,
        takes_back=takes_back,
        **how,
    )
    name = "take back what was learned" if takes_back else "take what was learned"
    said = {"holds_from": holds_from, "tickets": done.tickets}
    journal.record(actor, name, done, {code: before}, {code: after, **said})
    return done


def change_minutes(
    actor, kind: str, code: str, before: list[float], after: list[float], takes_back: LearnedChange | None
) -> datetime.date:
    """Give a type or an operation other minutes; returns today."""
    require(actor, "edit_catalogue")
    model = MODELS[kind]
    row = model.objects.select_for_update().filter(code=code).first()
    if row is None or [getattr(row, name) for name in MINUTES] != before:
        raise Refused((NOT_LAST if takes_back else MOVED).format(name=row or code))
    record = row.ledger_record()
    record["labour"] = {**record["labour"], **dict(zip(MINUTES, after, strict=True))}
    catalogue.save_record(actor, model, record, clock.today())
    return clock.today()


def change_rates(
    actor, kind: str, code: str, before: float, after: float, takes_back: LearnedChange | None
) -> datetime.date:
    """Give the rates and rules another factor or correlation; returns the day from which it holds.

    Rules that a quote was made with stay: a copy then holds from tomorrow. Later rules follow where they say the same.
    """
    require(actor, "edit_rates")
    today = clock.today()
    holding = ShopRates.objects.holding_on(today)
    later = list(
        ShopRates.objects.filter(holds_from__gt=today, first_quoted_on__isnull=True)
        .exclude(pk=holding.pk)
        .order_by("holds_from")
    )
    records = [rates.ledger_record() for rates in later]
    if holding.first_quoted_on is None:
        records.insert(0, holding.ledger_record())
    elif not later or later[0].holds_from > today + DAY:
        records.insert(0, {**holding.ledger_record(), "holds_from": (today + DAY).isoformat()})
    moved = [record for record in records if figure_in(record, kind, code) == before]
    if not moved:
        raise Refused((NOT_LAST if takes_back else MOVED).format(name="The rule"))
    for record in moved:
        put_figure(record, kind, code, after)
        catalogue.save_record(actor, ShopRates, record, today)
    return max(today, datetime.date.fromisoformat(str(moved[0]["holds_from"])))


def figure_in(record: dict[str, Any], kind: str, code: str) -> float:
    return record["factors"][code] if kind == LearnedChange.Kind.FACTOR else record[code]


def put_figure(record: dict[str, Any], kind: str, code: str, figure: float) -> None:
    if kind == LearnedChange.Kind.FACTOR:
        record["factors"] = {**record["factors"], code: figure}
    else:
        record[code] = figure


def require(actor, what: str) -> None:
    if not roles.may(actor, what):
        raise PermissionDenied
