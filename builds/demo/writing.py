"""The whole year written down: every ticket's acts in the order of time, in one transaction."""

import datetime
import heapq
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor

from django.db import transaction
from django.utils import timezone

from catalog.models import ShopRates
from shop import clock, roles
from shop.models import User
from shop.printing import MOST_AT_ONCE

from .hours import Hours
from .life import Act, Cast, LayOut, Life
from .press import Press
from .storeroom import Storeroom
from .year import stories

SEED = 412
SECOND_TECH = "demo_tech_2"
WHOLE_YEAR_DAYS = 366
Say = Callable[[str], None]
Acts = Iterator[tuple[datetime.datetime, Act]]


def write_year(
    say: Say = lambda text: None,
    *,
    now: datetime.datetime | None = None,
    seed: int = SEED,
    lay_out: LayOut | None = None,
    days: int = WHOLE_YEAR_DAYS,
) -> int:
    """Write the last days of the invented year up to now, all or nothing, and return how many tickets they have.

    `say` is told of each ticket. `lay_out` makes the papers; without one they are laid out by the printers, which takes
    most of the time: the year is then rehearsed first, to know every paper, and written while they are laid out.
    """
    now = now or timezone.now()
    if lay_out:
        return live(say, now, seed, lay_out, days)
    with ThreadPoolExecutor(MOST_AT_ONCE) as pool:
        press = Press(pool)
        rehearse(now, seed, press.order, days)
        return live(say, now, seed, press.deliver, days)


def rehearse(now: datetime.datetime, seed: int, lay_out: LayOut, days: int = WHOLE_YEAR_DAYS) -> None:
    """Let the year happen, to hear of its papers, and take all of it back."""
    with transaction.atomic():
        live(lambda text: None, now, seed, lay_out, days)
        transaction.set_rollback(True)


def live(say: Say, now: datetime.datetime, seed: int, lay_out: LayOut, days: int) -> int:
    """Let everything happen, the earliest act first, and return the number of tickets."""
    coming: list[tuple[datetime.datetime, int, Act, Acts]] = []

    def await_next(place: int, acts: Acts) -> None:
        for at, act in acts:
            heapq.heappush(coming, (at, place, act, acts))
            return

    with transaction.atomic():
        lives = lives_of(now, seed, lay_out, days)
        for place, life in enumerate(lives):
            await_next(place, life.acts())
        await_next(len(lives), Storeroom(cast_of_the_shop(), hours_of_the_shop(), now).acts())
        while coming:
            at, place, act, acts = heapq.heappop(coming)
            with clock.at(at):
                act()
                await_next(place, acts)
            if place < len(lives) and act == lives[place].open:
                ticket = lives[place].opened
                say(f"{ticket.number}  {timezone.localdate(at)}  {ticket.title}")
    return len(lives)


def lives_of(now: datetime.datetime, seed: int, lay_out: LayOut, days: int) -> list[Life]:
    cast, hours = cast_of_the_shop(), hours_of_the_shop()
    lives: dict[int, Life] = {}
    for story in stories(seed):
        if story.row.get("days_ago", 0) <= days:
            earlier = lives.get(story.earlier.place) if story.earlier else None
            lives[story.place] = Life(story, cast, hours, now, lay_out, earlier)
    return list(lives.values())


def hours_of_the_shop() -> Hours:
    rates = ShopRates.objects.holding_on(clock.today())
    return Hours(timezone.get_default_timezone(), tuple(rates.working_days), rates.bench_hours_per_day)


def cast_of_the_shop() -> Cast:
    """Return one person a role and a second tech; whom the shop lacks is invented."""
    counter, tech, owner = (first_of(role) for role in (roles.COUNTER, roles.TECH, roles.OWNER))
    second = User.objects.filter(username=SECOND_TECH).first() or person(SECOND_TECH, "Second Tech", "ST", roles.TECH)
    return Cast(counter=counter, tech=tech, second_tech=second, owner=owner)


def first_of(role: str) -> User:
    known = User.objects.filter(role=role, is_active=True).exclude(username=SECOND_TECH).order_by("pk").first()
    return known or person(f"demo_{role}", f"Demo {role.title()}", f"D{role[0].upper()}", role)


def person(username: str, name: str, initials: str, role: str) -> User:
    return User.objects.create_user(username, name=name, initials=initials, role=role)
