"""Three kinds of shop with true minutes of their own, their tickets, and what their timers brought home.

Nothing here comes from what is tested: how long the work truly takes has a form of its own (habits of a category and a
type, further units, what lines of a ticket save one another, hulls, persons, days, luck), so that the estimator's own
form is wrong in the small, as it is in a real shop. Every figure is invented.
"""

import math
import random
from dataclasses import dataclass, field, replace

from builds.estimator.document import read_sheet
from builds.estimator.files import catalogue
from builds.estimator.sheet import FORMAT, Line, OperationLine

FORGOTTEN = 0.05
LEFT_RUNNING = 0.75
LONGEST_SPELL_MIN = 240.0
TICKED_TOGETHER = 0.2
PHASE_SD = 0.25
OPERATIONS = ("op_checkin_photos", "op_setup_stands_clean", "op_electrical_test", "op_clean_close", "op_handover")
TOUCHED = {
    "no_hand_reach": ("drill", "bed", "mount"),
    "laminate": ("drill", "bed"),
    "old_hull": ("drill", "mount"),
    "salt_corroded": ("terminate", "mount"),
}
BLANK = {
    "format": FORMAT,
    "ticket": {"number": "T0"},
    "hull": {
        "name": "Invented hull",
        "craft": "sit_on_top_kayak",
        "material": "polyethylene",
        "length_m": 3.7,
        "beam_m": 0.84,
        "depth_m": 0.36,
        "mass_kg": 34.0,
        "waterplane_exponent": 2.6,
        "section_exponent": 4.0,
        "stations": [
            {"id": f"s{i}", "name": f"Place {i}", "x_m": 1.0 + i, "y_m": 0.0, "z_m": 0.3, "surface": "deck"}
            for i in range(3)
        ],
    },
    "lines": [],
}


@dataclass(frozen=True, eq=False)
class Shop:
    """What is true of a shop: its pace, how its categories and types differ from the book, its people, days and luck.

    The sds are of the logarithm. `saves` is the part of its first unit that a line saves for each of up to three other
    lines of the ticket; `hulls` are the true factors, `old` the share of old hulls.
    """

    name: str
    pace: float
    category_sd: float
    type_sd: float
    people: dict[str, float]
    day_sd: float
    luck_sd: float
    saves: float = 0.04
    hulls: dict[str, float] = field(
        default_factory=lambda: {"no_hand_reach": 1.5, "laminate": 1.25, "old_hull": 1.3, "salt_corroded": 1.3}
    )
    old: float = 0.15


SHOPS = (
    Shop("careful: all takes longer", 1.45, 0.10, 0.20, {"ann": 0.95, "bob": 1.0, "cy": 1.06}, 0.08, 0.20),
    Shop("specialist: quick at some, slow at others", 1.0, 0.45, 0.25, {"ann": 0.97, "bob": 1.04}, 0.08, 0.20),
    Shop(
        "old boats, mixed crew",
        1.25,
        0.15,
        0.30,
        {"ann": 0.85, "bob": 0.95, "cy": 1.05, "dee": 1.2},
        0.10,
        0.25,
        hulls={"no_hand_reach": 1.9, "laminate": 1.3, "old_hull": 1.8, "salt_corroded": 1.5},
        old=0.4,
    ),
)
BOOK_IS_RIGHT = Shop("control: the book is right", 1.0, 0.0, 0.0, {"ann": 0.97, "bob": 1.03}, 0.08, 0.20)


@dataclass(frozen=True)
class Job:
    """One ticket: its sheet; minutes truly worked by (what, phase); what the timers say; who; what is truly expected.

    `what` is a line's id, or an operation's.
    """

    number: str
    sheet: object
    tech: str
    true_min: float
    expected_min: float
    recorded: dict
    left_running: dict


class Year:
    """A shop's truth and its tickets, one after the other; the same seed, the same year."""

    def __init__(self, shop, seed):
        self.shop, self.draw, self.book = shop, random.Random(f"{shop.name} {seed}"), catalogue()
        self.blank = read_sheet(BLANK, self.book)
        normal = self.draw.gauss
        categories = {kind.category: normal(0, shop.category_sd) for kind in self.book.accessories.values()}
        self.habit = {
            kind.id: shop.pace * math.exp(categories[kind.category] + normal(0, shop.type_sd))
            for kind in self.book.accessories.values()
        }
        self.habit |= {code: shop.pace * math.exp(normal(0, shop.type_sd)) for code in self.book.operations}
        self.repeat = {
            kind.id: min(1.0, max(0.4, kind.labour.repeat_ratio + normal(0, 0.08)))
            for kind in self.book.accessories.values()
        }
        kinds = sorted(kind.id for kind in self.book.accessories.values() if kind.labour.likely_min)
        self.draw.shuffle(kinds)
        self.kinds = [code for code in kinds if not self.book.accessories[code].battery]
        # A few types are on every other ticket, many come once a year.
        self.popular = [1 / (rank + 3) for rank in range(len(self.kinds))]

    def tickets(self, count, start=0):
        return [self.ticket(f"T{start + i}") for i in range(count)]

    def ticket(self, number):
        draw, shop = self.draw, self.shop
        sheet = self.sheet()
        tech = draw.choice(sorted(shop.people))
        day = draw.gauss(0, shop.day_sd)
        truth, expected = {}, 0.0
        for what, kind, phases in self.works(sheet):
            luck = draw.gauss(0, shop.luck_sd)
            expected += self.expected(sum(phases.values()))
            for phase, minutes in self.uneven(phases).items():
                truth[what, kind, phase] = minutes * shop.people[tech] * math.exp(day + luck)
        return Job(number, sheet, tech, sum(truth.values()), expected, *self.timers(truth))

    def expected(self, minutes):
        """The mean over who works, how the day goes and luck."""
        people = sum(self.shop.people.values()) / len(self.shop.people)
        return minutes * people * math.exp((self.shop.day_sd**2 + self.shop.luck_sd**2) / 2)

    def sheet(self):
        """A boat of its own with one to seven lines in three places and two to five operations."""
        draw = self.draw
        stations = tuple(replace(place, hand_reach=draw.random() < 0.7) for place in self.blank.hull.stations)
        count = draw.choice((1, 2, 3, 3, 4, 4, 5, 6, 7))
        kinds = dict.fromkeys(draw.choices(self.kinds, self.popular, k=count))
        lines = tuple(
            Line(id=f"L{i}", accessory=kind, quantity=draw.choice((1, 1, 1, 2, 2, 4)), station=f"s{i % 3}")
            for i, kind in enumerate(kinds)
        )
        hull = replace(
            self.blank.hull,
            stations=stations,
            material="laminate" if draw.random() < 0.2 else "polyethylene",
            old=draw.random() < self.shop.old,
            salt_corroded=draw.random() < 0.1,
        )
        operations = draw.sample(OPERATIONS, draw.choice((2, 3, 4, 5)))
        rows = tuple(OperationLine(operation=code) for code in operations)
        return replace(self.blank, hull=hull, lines=lines, operations=rows)

    def works(self, sheet):
        """Yield (line or operation, type, true minutes by phase) before person, day and luck."""
        others = min(3, len(sheet.lines) - 1)
        stations = sheet.hull.station_by_id
        for line in sheet.lines:
            kind = self.book.accessories[line.accessory]
            first = 1 - self.shop.saves * others
            units = first + self.repeat[kind.id] * (line.quantity - 1)
            minutes = kind.labour.likely_min * self.habit[kind.id] * units
            slow = {
                "no_hand_reach": not stations[line.station].hand_reach and kind.inside_access != "no",
                "laminate": sheet.hull.material == "laminate",
                "old_hull": sheet.hull.old,
                "salt_corroded": sheet.hull.salt_corroded,
            }
            phases = {}
            for step in kind.steps:
                factor = math.prod(
                    self.shop.hulls[f] for f, holds in slow.items() if holds and step.phase in TOUCHED[f]
                )
                phases[step.phase] = phases.get(step.phase, 0.0) + step.share * minutes * factor
            yield line.id, kind.id, phases
        for row in sheet.operations:
            operation = self.book.operations[row.operation]
            yield operation.id, operation.id, {operation.phase: operation.labour.likely_min * self.habit[operation.id]}

    def uneven(self, phases):
        """The phases as they really fall out, their sum kept."""
        drawn = {phase: minutes * self.draw.lognormvariate(0, PHASE_SD) for phase, minutes in phases.items()}
        scale = sum(phases.values()) / sum(drawn.values()) if drawn else 1.0
        return {phase: minutes * scale for phase, minutes in drawn.items()}

    def timers(self, truth):
        """What stands in the entries: to the half minute, some phases ticked with the next, some timers forgotten."""
        draw = self.draw
        rows = {}
        for (what, kind, phase), minutes in truth.items():
            rows.setdefault((what, kind), {})[phase] = minutes
        recorded, left_running = {}, {}
        for (what, kind), phases in rows.items():
            phases = dict(phases)
            if len(phases) > 1 and draw.random() < TICKED_TOGETHER:
                first, second = draw.sample(sorted(phases), 2)
                phases[second] += phases[first]
                phases[first] = 0.0
            if draw.random() < FORGOTTEN:
                phase = draw.choice(sorted(phases))
                if draw.random() < LEFT_RUNNING:
                    left_running[what, kind] = min(LONGEST_SPELL_MIN, draw.uniform(45, 240))
                    phases[phase] += left_running[what, kind]
                else:
                    part = draw.uniform(0.05, 0.3)
                    phases = {name: minutes * part for name, minutes in phases.items()}
            for phase, minutes in phases.items():
                recorded[what, kind, phase] = max(0.5, round(2 * minutes) / 2) if minutes else 0.0
        return recorded, left_running
