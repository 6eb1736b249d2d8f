"""The bench's calendar, changed by a person: a ticket's place, hours, days off, the link to the feed."""

import datetime
import secrets

from django.core.exceptions import PermissionDenied
from django.db import transaction

from builds.actions.ground import Refused, acting
from builds.actions.signing import SECRET_BYTES, hash_of
from builds.models import BenchHours, DayOff, FeedLink, HeldPlace, Ticket
from builds.planner.workload import DAY_MIN, Held
from shop import clock, journal, once, roles
from shop.models import User


def move_ticket(actor, ticket: Ticket, held: Held, *, revision: int | None = None) -> None:
    """Hold a ticket in a place of the calendar; an empty place lets it go where the calendar puts it."""
    names = {
        "tech": str(User.objects.get(pk=held.tech)) if held.tech else "",
        "day": held.day.isoformat() if held.day else "",
        "before": held.before,
        "after": held.after,
    }
    with acting(actor, ticket, "move_at_bench", "move at the bench", revision, said=names) as changed:
        HeldPlace.objects.filter(ticket=changed).delete()
        if held:
            others = {row.number: row for row in Ticket.objects.filter(number__in=(held.before, held.after))}
            HeldPlace.objects.create(
                ticket=changed,
                tech_id=held.tech or None,
                day=held.day,
                before=others.get(held.before),
                after=others.get(held.after),
            )


def set_hours(actor, tech: User, week_min: list[int], opens_min: int) -> None:
    """Write down a tech's hours by day of the week, Monday first [min]."""
    if not roles.may(actor, "set_bench_hours"):
        raise PermissionDenied
    if len(week_min) != 7 or any(not 0 <= minutes <= DAY_MIN - opens_min for minutes in week_min):
        raise Refused("A day's hours end by midnight. Begin earlier, or write fewer hours.")
    with transaction.atomic():
        once.spend()
        old = BenchHours.objects.select_for_update().filter(person=tech).first()
        before = {"week_min": old.week_min, "opens_min": old.opens_min} if old else {}
        after = {"week_min": week_min, "opens_min": opens_min}
        BenchHours.objects.update_or_create(person=tech, defaults=after)
        journal.record(actor, "set_bench_hours", tech, before, after)


def refuse_days_of_others(actor, tech: User) -> None:
    """A tech writes the own days off; the owner everyone's."""
    own = actor.pk == tech.pk and roles.may(actor, "plan_bench")
    if not own and not roles.may(actor, "set_bench_hours"):
        raise PermissionDenied


def take_day_off(actor, tech: User, day: datetime.date) -> None:
    refuse_days_of_others(actor, tech)
    if day < clock.today():
        raise Refused("That day has passed; accepted: today or later.")
    with transaction.atomic():
        once.spend()
        _, made = DayOff.objects.get_or_create(person=tech, day=day)
        if made:
            journal.record(actor, "take_day_off", tech, after={"day": day})


def work_that_day(actor, tech: User, day: datetime.date) -> None:
    """Take a day off back."""
    refuse_days_of_others(actor, tech)
    with transaction.atomic():
        once.spend()
        gone, _ = DayOff.objects.filter(person=tech, day=day).delete()
        if gone:
            journal.record(actor, "take_back_day_off", tech, before={"day": day})


def make_feed(actor) -> str:
    """Return the secret of the person's new feed, which is kept nowhere; an earlier one ends with it."""
    if not roles.may(actor, "see_calendar"):
        raise PermissionDenied
    secret = secrets.token_urlsafe(SECRET_BYTES)
    with transaction.atomic():
        once.spend()
        FeedLink.objects.update_or_create(
            person=actor, defaults={"secret_sha256": hash_of(secret), "made_at": clock.now()}
        )
        journal.record(actor, "make_calendar_feed", actor)
    return secret


def withdraw_feed(actor) -> None:
    with transaction.atomic():
        once.spend()
        gone, _ = FeedLink.objects.filter(person=actor).delete()
        if gone:
            journal.record(actor, "withdraw_calendar_feed", actor)


def owner_of_feed(secret: str) -> User | None:
    """Return whose feed a secret opens; nobody's once it is withdrawn or the person has left."""
    link = FeedLink.objects.filter(secret_sha256=hash_of(secret), person__is_active=True).select_related("person")
    return next((one.person for one in link), None)
