"""The life of one ticket: what happens to it and when, each act done through the actions as a person would do it."""

import datetime
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from builds import bridge, querysets, used_up
from builds.actions import coming_back, handing, hulls, lines, mends, papers, signing, tickets, using, work
from builds.documents import hand_over_pdf, quote_pdf, work_order_pdf
from builds.models import Customer, Quote, Ticket
from catalog.models import AccessoryType, HullType
from shop import clock
from shop.models import User

from .actuals import Worked, used, worked
from .hours import DAY, Hours
from .year import Story

Act = Callable[[], Any]
LayOut = Callable[..., bytes]
"""Gives a paper's bytes: called with the function of builds.documents that lays it out, then with what that takes."""
SECOND_TECHS_PACE = 1.08
SHOP_DAY_H = (9.25, 16.5)
MINUTE = datetime.timedelta(minutes=1)
CARRIED_OVER = ("quantity", "mounting", "supplied_by", "circuit", "direct", "measured_run_m", "role", "health")


@dataclass(frozen=True)
class Cast:
    """Who works in the demo shop."""

    counter: User
    tech: User
    second_tech: User
    owner: User


@dataclass
class Life:
    """A story as it is lived: `opened` is its ticket once it is open, `at` the moment of the next act."""

    story: Story
    cast: Cast
    hours: Hours
    now: datetime.datetime
    lay_out: LayOut
    earlier: "Life | None" = None
    opened: Ticket | None = None
    keys: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.chance = self.story.chance("life")
        self.at = self.opening()

    def opening(self) -> datetime.datetime:
        today = self.hours.day_of(self.now)
        if (minutes := self.story.row.get("minutes_ago")) is not None:
            return max(self.now - minutes * MINUTE, self.hours.at(today, 0))
        return self.hours.at(today - self.story.row["days_ago"] * DAY, self.chance.uniform(9.2, 15.0))

    @property
    def ticket(self) -> Ticket:
        """The ticket as it is now, read afresh."""
        return querysets.for_counter().get(number=self.opened.number)

    @property
    def quote(self) -> Quote:
        return Quote.objects.filter(ticket=self.opened).latest("version")

    # When.

    def soon(self, low: int = 1, high: int = 3) -> datetime.datetime:
        """Return a moment some minutes on."""
        return self.until(self.at + self.chance.randint(low, high) * MINUTE)

    def on_day(self, low: int, high: int) -> datetime.datetime:
        """Return a moment some days on; the same day is later in the same visit."""
        days = self.chance.randint(low, high)
        hour = self.chance.uniform(*SHOP_DAY_H)
        return self.until(self.hours.at(self.hours.day_of(self.at) + days * DAY, hour)) if days else self.soon(4, 15)

    def until(self, moment: datetime.datetime) -> datetime.datetime:
        """Return the moment, kept between the act before and now."""
        self.at = min(max(self.at, moment), self.now)
        return self.at

    # What, in its order.

    def acts(self) -> Iterator[tuple[datetime.datetime, Act]]:
        """Yield each act with its moment; the next one is asked for when the one before is done."""
        row, end = self.story.row, self.story.end
        yield self.at, self.open
        yield from self.writing_down()
        if end == "draft":
            return
        if end == "cancelled" and not row.get("accepted_first"):
            yield self.on_day(2, 9), partial(self.close, "cancel")
            return
        yield from self.quoting()
        if end == "declined":
            yield self.on_day(1, 6), partial(self.close, "decline")
        elif end == "lapsed":
            yield self.until(self.hours.at(self.quote.valid_until + DAY, 9.1)), partial(self.close, "lapse")
        elif end != "quoted":
            yield from self.after_the_quote()

    def writing_down(self) -> Iterator[tuple[datetime.datetime, Act]]:
        job = self.story.job
        if self.story.row.get("customer", True) and not self.earlier:
            yield self.soon(), self.set_customer
        if marks := {name: True for name in ("old", "salt_corroded") if job["hull"].get(name)}:
            yield self.soon(2, 5), partial(self.correct_hull, marks)
        for record in self.story.lines:
            yield self.soon(), partial(self.add_line, record)
        yield self.soon(), self.set_afloat
        yield self.soon(), self.set_operations
        if job["day_plan"]:
            yield self.soon(), self.set_day
        if job.get("fees") or self.story.discount_basis_points:
            yield self.soon(), self.set_charges
        if self.story.row.get("mended"):
            yield self.soon(), self.mend_stops

    def quoting(self) -> Iterator[tuple[datetime.datetime, Act]]:
        yield self.soon(2, 9), self.issue_quote
        if change := self.story.row.get("requote"):
            yield self.on_day(1, 2), partial(self.replace, change)
            yield self.soon(), self.issue_quote

    def after_the_quote(self) -> Iterator[tuple[datetime.datetime, Act]]:
        recent = self.story.row["days_ago"] < 21
        yield self.on_day(0, 1 if recent else 6), self.accept
        if self.story.end == "cancelled":
            yield self.on_day(2, 6), partial(self.close, "cancel")
        elif self.story.end != "accepted":
            parts_come = self.chance.randint(0, 1 if recent else 4)
            morning = self.hours.working_day(self.hours.day_of(self.at) + DAY, parts_come)
            yield self.until(self.hours.at(morning, 8.5 + self.chance.random() / 4)), self.issue_work_order
            yield from self.on_the_bench()

    def on_the_bench(self) -> Iterator[tuple[datetime.datetime, Act]]:
        entries = list(self.minutes())
        tech = self.cast.second_tech if self.is_second_techs else self.cast.tech
        left = sum(entry.minutes for entry in entries) * self.story.row.get("progress", 1.0)
        for entry in entries:
            done = self.hours.after_work(self.at, entry.minutes)
            left -= entry.minutes
            if self.story.end == "bench" and (left < 0 or done > self.now):
                return
            yield self.until(done), partial(self.record_work, tech, entry)
        next_morning = self.hours.working_day(self.hours.day_of(self.at) + DAY)
        checked = self.hours.at(next_morning, self.chance.uniform(9.0, 11.0))
        yield self.until(checked), partial(self.check, tech)
        if self.story.end == "handed_over":
            yield self.on_day(0, 3), self.hand_over
            if back := self.story.row.get("came_back"):
                day = self.hours.day_of(self.now) - back["days_ago"] * DAY
                yield self.until(self.hours.at(day, self.chance.uniform(*SHOP_DAY_H))), partial(self.come_back, back)

    # The acts.

    def open(self) -> None:
        row, story = self.story.row, self.story
        boat: dict[str, Any] = {"hull_type": HullType.objects.get(code=story.hull_type)}
        if self.earlier:
            boat = {"hull": self.earlier.ticket.hull}
        self.opened = tickets.open_ticket(
            self.cast.counter, title=story.title, asked=story.asked, assumed=row.get("assumed", False), **boat
        )

    def set_customer(self) -> None:
        ticket = tickets.set_customer(self.cast.counter, self.opened, name=self.story.customer, phone=self.story.phone)
        # The column takes the day of the machine, whatever day it is in the story.
        Customer.objects.filter(pk=ticket.customer_id).update(since=clock.today())

    def correct_hull(self, figures: dict[str, Any]) -> None:
        hulls.correct_hull(self.cast.counter, self.opened, figures=figures)

    def add_line(self, record: dict[str, Any]) -> None:
        """Put a line of the job on the ticket; lines that it names get the keys that they have or will have."""
        if not self.keys:
            self.keys = {line["id"]: f"L{place}" for place, line in enumerate(self.story.lines, start=1)}
        x_m, y_m, z_m = record.get("offset_m", (0.0, 0.0, 0.0))
        lines.add_line(
            self.cast.counter,
            self.opened,
            AccessoryType.objects.get(code=record["accessory"]),
            station=record["station"],
            offset_x_m=x_m,
            offset_y_m=y_m,
            offset_z_m=z_m,
            battery_key=self.keys.get(record.get("battery", ""), ""),
            switch_key=self.keys.get(record.get("switch", ""), ""),
            **{name: record[name] for name in CARRIED_OVER if record.get(name) is not None},
        )

    def set_afloat(self) -> None:
        job, known = self.story.job, {station.key for station in self.ticket.hull.stations.all()}
        seat = next((key for key in ("seat", "saddle", "seat_stern") if key in known), "")
        well = next((key for key in ("tank_well", "stern_hatch") if key in known), "")
        aboard = [
            {"is_person": is_person, "station": usual, **one}
            for is_person, some, usual in ((True, job["people"], seat), (False, job["gear"], well))
            for one in some
        ]
        tickets.set_afloat(
            self.cast.counter, self.opened, aboard=aboard, water=job["water"], air_temp_c=job["air_temp_c"]
        )

    def set_operations(self) -> None:
        quantities = {row["operation"]: row["quantity"] for row in self.story.job["operations"]}
        tickets.set_operations(self.cast.counter, self.opened, quantities=quantities)

    def set_day(self) -> None:
        spells = [
            {"name": spell["name"], "hours": spell["hours"], "on": {self.keys[k]: v for k, v in spell["on"].items()}}
            for spell in self.story.job["day_plan"]
        ]
        tickets.set_day(self.cast.counter, self.opened, spells=spells)

    def set_charges(self) -> None:
        tickets.set_charges(
            self.cast.counter,
            self.opened,
            discount_basis_points=self.story.discount_basis_points,
            fees=self.story.job.get("fees", []),
        )

    def mend_stops(self) -> None:
        """Press the mend that each stop offers first."""
        for stop in bridge.estimate_of(self.ticket).stops:
            mends.apply_mend(self.cast.counter, self.opened, dict(stop.mends[0]))

    def replace(self, change: dict[str, str]) -> None:
        kind = AccessoryType.objects.get(code=change["accessory"])
        lines.replace_accessory(self.cast.counter, self.opened, self.keys[change["line"]], kind)

    def issue_quote(self) -> None:
        reason = self.story.row.get("override", "")
        actor = self.cast.owner if reason else self.cast.counter
        render = partial(self.lay_out, quote_pdf)
        papers.issue_quote(actor, self.ticket, paper=self.paper, override_reason=reason, render=render)

    def accept(self) -> None:
        ticket = self.ticket
        name = ticket.customer.name if ticket.customer else self.story.customer
        note = "The signed paper lies in the folder of the ticket."
        yes = signing.Yes(name, signing.places_of(self.quote), note=note)
        signing.accept(self.cast.counter, ticket, yes, way="paper")

    def issue_work_order(self) -> None:
        render = partial(self.lay_out, work_order_pdf)
        papers.issue_work_order(self.cast.counter, self.ticket, paper=self.paper, render=render)

    def record_work(self, tech: User, entry: Worked) -> None:
        work.record_work(
            tech,
            self.opened,
            phase=entry.phase,
            minutes=entry.minutes,
            line_key=entry.line if entry.accessory else "",
            accessory_code=entry.accessory,
            operation_code="" if entry.accessory else entry.line,
        )

    def check(self, tech: User) -> None:
        estimated = {row.item.code: row.estimated for row in used_up.rows_of(self.ticket)}
        if taken := used(estimated, self.story.chance("consumables")):
            using.note_used(tech, self.opened, taken)
        work.check(tech, self.opened, why="Ticked on paper.")

    def hand_over(self) -> None:
        render = partial(self.lay_out, hand_over_pdf)
        said = {"why": "Tested on paper.", "unpaid": "Paid at the till."}
        handing.hand_over(self.cast.owner, self.ticket, **said, paper=self.paper, render=render)

    def come_back(self, back: dict[str, Any]) -> None:
        said = {name: back[name] for name in ("cause", "words", "minutes")}
        coming_back.open_come_back(self.cast.counter, self.opened, **said)

    def close(self, act: str) -> None:
        tickets.close(self.cast.counter, self.opened, act, why=self.story.row.get("why", ""))

    # Facts of the story.

    @property
    def paper(self) -> str:
        return "letter" if self.story.place % 5 == 0 else "a4"

    @property
    def is_second_techs(self) -> bool:
        return self.story.place % 3 == 0

    def minutes(self) -> Iterator[Worked]:
        kinds = {line.key: line.accessory.code for line in self.ticket.lines.all()}
        row = self.story.row
        return worked(
            self.quote.estimate["labour"],
            kinds,
            self.story.seed,
            random.Random(f"{self.story.seed} {self.story.place} minutes"),
            pace=SECOND_TECHS_PACE if self.is_second_techs else 1.0,
            routing_over=row.get("routing_over", False),
            ran_long=row.get("ran_long", False),
        )
