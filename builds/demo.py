"""The demo shop: an invented year of tickets, made from the job sheets by a fixed seed, act by act as it would happen.

Nobody in it exists. Every act goes through the actions at its own moment, so that journal, quotes and estimates are
what the program makes of them.
"""

import datetime
import json
import multiprocessing
import random
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import connection
from django.utils import timezone

from builds import querysets
from builds.actions import hulls, lines, papers, tickets, work
from builds.models import Ticket
from catalog.models import AccessoryType, HullType, ShopOperation
from shop import clock, roles
from shop.models import User

SEED = 412
JOBS = Path(__file__).resolve().parent.parent / "fixtures" / "jobs"
SECOND_TECH = ("demo_tech_2", "Second Tech", "ST", roles.TECH)
# How a line's minutes turn out against the estimate, and which phase tends to run over (invented, plausible).
SPREAD = 0.18
SLOW_PHASES = {"route": 1.35, "terminate": 1.12}
OLD_HULL_FACTOR = 1.25

# Days ago that the ticket was opened, the job sheet, how far it came.
YEAR = (
    (361, "rudder_retrofit", "handed_over"),
    (352, "friday_afternoon", "handed_over"),
    (340, "whitewater_outfit", "handed_over"),
    (327, "customers_electronics", "cancelled"),
    (316, "first_fishing_rig", "declined"),
    (305, "rudder_retrofit", "handed_over"),
    (297, "canoe_small_motor", "handed_over"),
    (286, "friday_afternoon", "cancelled"),
    (263, "whitewater_outfit", "handed_over"),
    (251, "customers_electronics", "handed_over"),
    (242, "friday_afternoon", "cancelled"),
    (221, "second_hand_rerig", "cancelled"),
    (208, "rudder_retrofit", "cancelled"),
    (199, "customers_electronics", "handed_over"),
    (187, "touring_safety", "declined"),
    (176, "friday_afternoon", "cancelled"),
    (165, "first_fishing_rig", "cancelled"),
    (158, "whitewater_outfit", "cancelled"),
    (149, "customers_electronics", "lapsed"),
    (141, "bow_motor_and_screen", "lapsed"),
    (133, "rudder_retrofit", "handed_over"),
    (120, "night_lights", "cancelled"),
    (111, "friday_afternoon", "handed_over"),
    (102, "rudder_retrofit", "handed_over"),
    (94, "first_fishing_rig", "handed_over"),
    (83, "bow_motor_and_screen", "handed_over"),
    (66, "customers_electronics", "handed_over"),
    (57, "second_hand_rerig", "handed_over"),
    (45, "rudder_retrofit", "handed_over"),
    (36, "whitewater_outfit", "handed_over"),
    (29, "night_lights", "handed_over"),
    (23, "first_fishing_rig", "requoted"),
    (18, "friday_afternoon", "handed_over"),
    (12, "touring_safety", "checked"),
    (10, "canoe_small_motor", "bench"),
    (9, "customers_electronics", "bench"),
    (8, "night_lights", "bench"),
    (7, "rudder_retrofit", "accepted"),
    (6, "bow_motor_and_screen", "accepted"),
    (5, "whitewater_outfit", "quoted"),
    (3, "first_fishing_rig", "quoted"),
    (1, "second_hand_rerig", "quoted"),
    (1, "canoe_small_motor", "cancelled"),
    (0, "customers_electronics", "draft"),
    (0, "night_lights", "draft"),
    (0, "friday_afternoon", "draft"),
)
ASKED = (
    "Rang while loading: wants it before the weekend",
    "Has the boat on the roof, asks for a rough price",
    "Saw one like it on the water",
)


@dataclass
class Story:
    """One ticket of the year: its place in the year, job, end, moment of opening, its own chance, its number."""

    place: int
    job: dict[str, Any]
    end: str
    opened: datetime.datetime
    chance: random.Random
    people: dict[str, User]
    number: str = ""

    @property
    def now(self) -> Ticket:
        return querysets.for_counter(self.number)


Act = Callable[[Story], None]


def write_year(say: Callable[[str], None], workers: int = 1, today: datetime.datetime | None = None) -> int:
    """Write the invented year; return how many tickets it has.

    Every ticket is opened in the order of time. What follows, with its papers, is written by `workers` processes,
    each ticket by one of them: laying out paper takes most of the time.
    """
    today = today or timezone.now()
    people = people_of_the_shop()
    numbers = []
    for place in range(1, len(YEAR) + 1):
        story = story_of(place, today, people)
        with clock.at(story.opened):
            open_it(story)
        numbers.append(story.number)
    say(f"  {len(numbers)} tickets opened")
    shares = [[(i + 1, numbers[i]) for i in range(len(numbers)) if i % workers == n] for n in range(workers)]
    if workers == 1:
        live_on(shares[0], today)
    else:
        connection.close()
        with ProcessPoolExecutor(workers, multiprocessing.get_context("fork")) as pool:
            for done in pool.map(live_on, shares, [today] * workers):
                say(f"  {done} tickets quoted, worked and handed over, as far as they came")
    return len(numbers)


def live_on(share: list[tuple[int, str]], today: datetime.datetime) -> int:
    """Let tickets go on to their ends, act by act in the order of time; return how many."""
    people = people_of_the_shop()
    acts = []
    for place, number in share:
        story = story_of(place, today, people, number)
        acts += [(at, place, i, act, story) for i, (at, act) in enumerate(acts_after(story, today))]
    for at, _, _, act, story in sorted(acts, key=lambda row: row[:3]):
        with clock.at(at):
            act(story)
    connection.close()
    return len(share)


def story_of(place: int, today: datetime.datetime, people: dict[str, User], number: str = "") -> Story:
    """Return a ticket's story from its place in the year; the same each time."""
    days_ago, name, end = YEAR[place - 1]
    chance = random.Random(f"{SEED} {place} {'after' if number else 'before'}")
    opened = moment(today - datetime.timedelta(days=days_ago), 9 + place % 7, place * 17 % 60, today)
    return Story(place, job_sheet(name), end, opened, chance, people, number)


def people_of_the_shop() -> dict[str, User]:
    """Return one person a role and a second tech, making whom the shop lacks."""
    found = {}
    for role in roles.ROLES:
        person = User.objects.filter(role=role, is_active=True).order_by("pk").first()
        if person is None:
            person = User.objects.create_user(
                f"demo_{role}", name=f"Demo {role.title()}", initials=f"D{role[0].upper()}", role=role
            )
        found[role] = person
    name, full, initials, role = SECOND_TECH
    second = User.objects.filter(username=name).first()
    found["second"] = second or User.objects.create_user(name, name=full, initials=initials, role=role)
    return found


def job_sheet(name: str) -> dict[str, Any]:
    return json.loads((JOBS / f"{name}.json").read_text(encoding="utf-8"))


def moment(day: datetime.datetime, hour: int, minute: int, latest: datetime.datetime) -> datetime.datetime:
    """Return a time of that day in the shop's own hours, never after the latest."""
    local = timezone.localtime(day).replace(hour=hour, minute=minute, second=0, microsecond=0)
    return min(local, latest)


def acts_after(story: Story, today: datetime.datetime) -> Iterator[tuple[datetime.datetime, Act]]:
    """Yield what happens to an open ticket and when, as far as its end."""

    def later(days: int, hour: int) -> datetime.datetime:
        return moment(story.opened + datetime.timedelta(days=days), hour, story.chance.randrange(60), today)

    if story.end == "draft":
        return
    if story.end == "cancelled":
        yield later(0, 18), cancel_it
        return
    yield later(0, 17), quote_it
    if story.end == "requoted":
        yield later(1, 10), change_it
        yield later(1, 11), quote_it
        return
    if story.end in ("declined", "lapsed"):
        days, act = {"declined": (3, decline_it), "lapsed": (20, lapse_it)}[story.end]
        yield later(days, 18), act
        return
    if story.end == "quoted":
        return
    yield later(1, 10), accept_it
    if story.end == "accepted":
        return
    yield later(2, 9), print_it
    yield later(3, 16), work_on_it
    if story.end == "bench":
        return
    yield later(4, 12), check_it
    if story.end == "handed_over":
        yield later(6, 17), hand_over


def open_it(story: Story) -> None:
    """The walk-in: a boat like the job's, its lines, what is aboard, the day."""
    job, counter = story.job, story.people[roles.COUNTER]
    ticket = tickets.open_ticket(
        counter,
        hull_type=hull_type_of(job["hull"]),
        title=job["ticket"]["title"],
        asked=ASKED[story.place % len(ASKED)] if story.end == "draft" else "",
    )
    story.number = ticket.number
    if not (story.end == "draft" and story.place % 2):
        phone = f"555-01{story.place:02d}"
        tickets.set_customer(counter, ticket, name=f"Customer {300 + 7 * story.place:04d}", phone=phone)
    add_lines(story, ticket)
    stations = set(ticket.hull.stations.values_list("key", flat=True))
    aboard = [
        {
            "is_person": is_person,
            "name": item["name"],
            "mass_kg": float(round(item["mass_kg"] * story.chance.uniform(0.92, 1.04))),
            "station": item.get("station") if item.get("station") in stations else "",
        }
        for is_person, items in ((True, job["people"]), (False, job["gear"]))
        for item in items
    ]
    tickets.set_afloat(counter, ticket, aboard=aboard, water=job["water"], air_temp_c=job["air_temp_c"])
    if story.place % 9 == 0:
        tickets.set_charges(counter, ticket, discount_basis_points=500, fees=fees_of(job))
    elif job.get("fees"):
        tickets.set_charges(counter, ticket, discount_basis_points=0, fees=fees_of(job))
    changes = {name: job["hull"][name] for name in ("old", "salt_corroded") if job["hull"].get(name)}
    if changes:
        hulls.correct_hull(counter, ticket, figures=changes)


def fees_of(job: dict[str, Any]) -> list[dict[str, str]]:
    return [{"name": fee["name"], "amount": fee["amount"]} for fee in job.get("fees", [])]


def hull_type_of(hull: dict[str, Any]) -> HullType:
    """Return the hull type that a job's boat is, or the one nearest in length of the same craft."""
    same = HullType.objects.filter(craft=hull["craft"])
    return min(same, key=lambda kind: (kind.name != hull["name"], abs(kind.length_m - hull["length_m"]), kind.code))


def add_lines(story: Story, ticket: Ticket) -> None:
    """Put the job's lines, operations and day on the ticket, under the ticket's own keys."""
    counter, job = story.people[roles.COUNTER], story.job
    kinds = {kind.code: kind for kind in AccessoryType.objects.filter(code__in={r["accessory"] for r in job["lines"]})}
    stations = set(ticket.hull.stations.values_list("key", flat=True))
    keys: dict[str, str] = {}
    for record in job["lines"]:
        offset = record.get("offset_m", (0.0, 0.0, 0.0))
        line = lines.add_line(
            counter,
            ticket,
            kinds[record["accessory"]],
            quantity=record.get("quantity", 1),
            station=record["station"] if record.get("station") in stations else "",
            offset_x_m=offset[0],
            offset_y_m=offset[1],
            offset_z_m=offset[2],
            mounting=record.get("mounting") or "",
            supplied_by=record.get("supplied_by", "shop"),
            circuit=record.get("circuit") or "",
            direct=record.get("direct", False),
            measured_run_m=record.get("measured_run_m"),
            role=record.get("role", "house"),
            health=record.get("health", 1.0),
        )
        keys[record["id"]] = line.key
    for record in job["lines"]:
        named = {f"{name}_key": keys[record[name]] for name in ("battery", "switch") if record.get(name)}
        if named:
            lines.change_line(counter, ticket, keys[record["id"]], **named)
    known = set(ShopOperation.objects.values_list("code", flat=True))
    quantities = {row["operation"]: row["quantity"] for row in job["operations"] if row["operation"] in known}
    tickets.set_operations(counter, ticket, quantities=quantities)
    spells = [
        {"name": spell["name"], "hours": spell["hours"], "on": {keys[k]: v for k, v in spell["on"].items()}}
        for spell in job["day_plan"]
    ]
    tickets.set_day(counter, ticket, spells=spells)


def quote_it(story: Story) -> None:
    papers.issue_quote(story.people[roles.COUNTER], story.now, paper="letter" if story.place % 5 == 0 else "a4")


def change_it(story: Story) -> None:
    """The customer wants one more of the last part."""
    line = story.now.lines.last()
    lines.change_line(story.people[roles.COUNTER], story.now, line.key, quantity=line.quantity + 1)


def accept_it(story: Story) -> None:
    ticket = story.now
    quote = ticket.quotes.order_by("-version").first()
    name = ticket.customer.name if ticket.customer else "Customer"
    way = "counter" if story.place % 3 == 0 else "paper"
    counter = story.people[roles.COUNTER]
    papers.accept(counter, ticket, name=name, way=way, initialled=papers.places_of(quote))


def print_it(story: Story) -> None:
    papers.issue_work_order(story.people[roles.COUNTER], story.now)


def work_on_it(story: Story) -> None:
    """Write down the minutes of each part's phases: about as estimated, some phases over, an old hull longer."""
    ticket = story.now
    tech = story.people["second" if story.place % 4 == 0 else roles.TECH]
    steps = ticket.work_orders.order_by("-version").first().quote.estimate["labour"]["order"]
    lines_by_key = {line.key: line for line in ticket.lines.all()}
    planned: dict[tuple[str, str], float] = {}
    for step in steps:
        key = step["line"], step["phase"]
        planned[key] = planned.get(key, 0.0) + step["minutes"]
    whole = story.end != "bench"
    pace = story.chance.lognormvariate(0.0, 0.07) * (OLD_HULL_FACTOR if ticket.hull.old else 1.0)
    for place, ((line_key, phase), minutes) in enumerate(planned.items()):
        if not whole and place > len(planned) / 2:
            break
        factor = pace * SLOW_PHASES.get(phase, 1.0) * story.chance.lognormvariate(0.0, SPREAD)
        line = lines_by_key.get(line_key)
        work.record_work(
            tech,
            ticket,
            phase=phase,
            minutes=max(1.0, float(round(minutes * factor))),
            line_key=line.key if line else "",
            accessory_code=line.accessory.code if line else "",
            operation_code="" if line else line_key,
        )


def check_it(story: Story) -> None:
    work.move_on(story.people[roles.TECH], story.now, "check")


def hand_over(story: Story) -> None:
    work.move_on(story.people[roles.COUNTER], story.now, "hand_over")


def decline_it(story: Story) -> None:
    tickets.close(story.people[roles.COUNTER], story.now, "decline")


def lapse_it(story: Story) -> None:
    tickets.close(story.people[roles.COUNTER], story.now, "lapse")


def cancel_it(story: Story) -> None:
    tickets.close(story.people[roles.COUNTER], story.now, "cancel")
