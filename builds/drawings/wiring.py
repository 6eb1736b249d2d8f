"""The wiring diagram of one battery, left to right and growing downward.

Solid lines are positive conductors, thinner ones negative; a dot joins, a crossing without a dot does not. Every
conductor carries its sleeve label at both ends.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from shop.units import THIN, US, number

from . import text as lettering
from .circuits import Circuit, Leg, Part, Source, Wiring
from .svg import SIZE, Box, Drawn, Pane, Table, line_d
from .symbols import (
    FUSE_LONG,
    SWITCH_LONG,
    fuse,
    in_lines,
    joint,
    minus,
    numbered,
    sleeve,
    sleeve_long,
    switch,
)
from .symbols import number as draw_number

MAIN_FUSE_WITHIN_MM = 178
MINUS_X, PLUS_X = 24.0, 58.0
BOX_LEFT, BOX_RIGHT = 214.0, 234.0
FUSE_X = 254.0
FORK_X = 276.0
LOAD_WIDE = 166.0
HEAD = 22.0
LEG_HIGH = 79.0
PLUS_DOWN, RUN_DOWN, DROP_DOWN, MINUS_DOWN = 13.0, 37.0, 50.0, 63.0
GROUP_GAP = 16.0
NAME_LINES = 3
FOOT_M = 0.3048


@dataclass
class Group:
    """The circuits of one source. Without a source they start at the battery itself."""

    source: Source | None
    circuits: list[Circuit]
    continued: bool = False

    @property
    def high(self) -> float:
        rows = sum(circuit_high(circuit) for circuit in self.circuits)
        return HEAD + 6.0 + (max(rows, 96.0) if self.source else rows)


def circuit_high(circuit: Circuit) -> float:
    """Return the height of a circuit: its heading, then a row for each leg."""
    return HEAD + LEG_HIGH * len(circuit.legs)


def wiring(system: Wiring, ident: str, width: float = 700.0, printed: bool = True) -> Drawn:
    """Return the whole diagram of a battery. The table has a row for each conductor pair with its fuse."""
    return _draw(system, _groups(system), ident, width, printed, "")


def wiring_pages(system: Wiring, ident: str, width: float, tallest: float) -> tuple[Drawn, ...]:
    """Return the diagram for paper, in drawings no taller than a page; the battery stands on each."""
    pages: list[list[Group]] = [[]]
    room = tallest - TOP
    left = room
    for group in _groups(system):
        part = replace(group, circuits=[])
        for circuit in in_parts(group.circuits, room):
            needed = circuit_high(circuit) + (0.0 if part.circuits else HEAD + 6.0 + GROUP_GAP)
            if needed > left and (part.circuits or pages[-1]):
                if part.circuits:
                    pages[-1].append(part)
                pages.append([])
                part, left = replace(group, circuits=[], continued=bool(part.circuits)), room
                needed = circuit_high(circuit) + HEAD + 6.0 + GROUP_GAP
            part.circuits.append(circuit)
            left -= needed
        if part.circuits or not group.circuits:
            pages[-1].append(part)
    count = len(pages)
    names = [f", sheet {i} of {count}" if count > 1 else "" for i in range(1, count + 1)]
    return tuple(
        _draw(system, groups, f"{ident}-{i}", width, True, name)
        for i, (groups, name) in enumerate(zip(pages, names, strict=True), start=1)
    )


def in_parts(circuits: list[Circuit], room: float) -> Iterator[Circuit]:
    """Yield the circuits, one of more loads than a page holds in parts, each with its fuse, as with the battery."""
    most = int((room - 2 * HEAD - 6.0 - GROUP_GAP) // LEG_HIGH)
    for circuit in circuits:
        for at in range(0, len(circuit.legs), most):
            name = f"{circuit.name}, continued" if at else circuit.name
            yield replace(circuit, name=name, legs=circuit.legs[at : at + most])


BATTERY_WIDE, BATTERY_HIGH = 340.0, 54.0
TOP = 4.0 + BATTERY_HIGH + 46.0


def _groups(system: Wiring) -> list[Group]:
    groups = [Group(None, list(system.direct))] if system.direct else []
    sources = ([system.distribution] if system.distribution else []) + list(system.converters)
    groups += [Group(source, list(system.of(source.part.line))) for source in sources]
    return [group for group in groups if group.circuits or group.source is system.distribution]


def _draw(system: Wiring, groups: list[Group], ident: str, width: float, printed: bool, sheet: str) -> Drawn:
    pane = Pane()
    _draw_battery(pane, system)
    y = TOP
    ends_plus, ends_minus = [], []
    for group in groups:
        plus, minus_ = _draw_group(pane, system, group, y, width)
        ends_plus += plus
        ends_minus += minus_
        y += group.high + GROUP_GAP
    if ends_plus:
        top = 4.0 + BATTERY_HIGH
        _first(pane, "d-wire", line_d([(PLUS_X, top), (PLUS_X, max(ends_plus))]), "d-wire-pos")
        _first(pane, "d-thin", line_d([(MINUS_X, top), (MINUS_X, max(ends_minus))]), "d-wire-neg")
    height = y - GROUP_GAP + 6.0
    title = f"Wiring of battery {system.battery.label}{sheet}"
    desc = _describe(system)
    svg = pane.svg(ident, title, desc, width, height, printed)
    return Drawn(svg, title, desc, width, height, (table(system),))


def _first(pane: Pane, kind: str, d: str, also: str) -> None:
    """Add a path below what is drawn already, so that signs lie over it."""
    over = pane.parts
    pane.parts = []
    pane.path(kind, d, also)
    pane.parts += over


def _draw_battery(pane: Pane, system: Wiring) -> None:
    """Draw the battery with its terminals below, and the main fuse on the positive."""
    box = Box(1.0, 4.0, 1.0 + BATTERY_WIDE, 4.0 + BATTERY_HIGH)
    rating = f"{number(system.system_v, 0)}{THIN}V {ampere_hours(system.rated_ah)}, {system.role} battery"
    names = in_lines(named(system.battery), box.right - box.left - 40, 2)
    numbered(pane, box, system.battery.label, system.battery.line, [*names, rating])
    for x, sign in ((MINUS_X, "−"), (PLUS_X, "+")):
        pane.text(x - 11, box.bottom + 13, sign, "d-strong", "middle", bold=True)
    if system.main_fuse_a is not None:
        fuse(pane, PLUS_X, box.bottom + 22, upright=True)
        pane.text(PLUS_X + 14, box.bottom + 20, f"main fuse {amperes(system.main_fuse_a)}", "d-strong", bold=True)
        pane.text(PLUS_X + 14, box.bottom + 34, within(system.units, "within {} of the battery"), "d-quiet")
    elif system.direct and system.feed is None:
        pane.text(PLUS_X + 14, box.bottom + 22, within(system.units, "each fuse within {} of the battery"), "d-quiet")
    elif system.circuits:
        pane.text(PLUS_X + 14, box.bottom + 22, "no main fuse fits: see the cautions", "d-strong", bold=True)


def _draw_group(pane: Pane, system: Wiring, group: Group, top: float, width: float) -> tuple[list[float], list[float]]:
    """Draw the circuits of a source; return how far down the battery's positive and negative are needed."""
    _draw_heading(pane, system, group, top, width)
    y = top + HEAD + 6.0
    plus: list[float] = []
    minus_: list[float] = []
    rows = []
    for circuit in group.circuits:
        rows.append(_draw_circuit(pane, system, group, circuit, y, width))
        y += circuit_high(circuit)
    if group.source is None:
        plus = [row[0] for row in rows]
        minus_ = [down for row in rows for down in row[1]]
        for down in plus:
            joint(pane, PLUS_X, down)
        for down in minus_:
            joint(pane, MINUS_X, down)
    else:
        pane.rect("d-body", Box(BOX_LEFT, top + HEAD, BOX_RIGHT, top + group.high))
        if group.source is system.distribution and system.feed:
            plus, minus_ = _draw_feed(pane, system, top + HEAD + 22.0)
    return plus, minus_


def _draw_heading(pane: Pane, system: Wiring, group: Group, top: float, width: float) -> None:
    if group.source is None:
        words = "at the battery"
        pane.text(FUSE_X - FUSE_LONG / 2, top + 14, words, "d-quiet")
        return
    part = group.source.part
    facts = ""
    if group.source.ways is not None:
        facts += f", {len(system.of(part.line))} of {group.source.ways} ways"
    if group.source.out_v is not None:
        facts += f", gives {number(group.source.out_v, 0)}{THIN}V"
    if group.continued:
        facts += ", continued"
    left = draw_number(pane, BOX_LEFT, top - 4.0, part.label, part.line) + 6
    name = lettering.shorten(named(part), SIZE, width - left - lettering.width(facts, SIZE) - 4)
    pane.text(left, top + 11, f"{name}{facts}", "d-text")


def _draw_feed(pane: Pane, system: Wiring, y: float) -> tuple[list[float], list[float]]:
    """Draw the feed from the battery's conductors to the distribution; its figures stand between them."""
    feed = system.feed
    assert feed is not None
    down = y + 46.0
    _conductor(pane, PLUS_X, BOX_LEFT, y, feed.positive, feed.switch, positive=True)
    _conductor(pane, MINUS_X, BOX_LEFT, down, (feed.negative,), None, positive=False)
    joint(pane, PLUS_X, y)
    joint(pane, MINUS_X, down)
    left = PLUS_X + 8
    pane.text(left, y + 22 if feed.switch is None else y + 26, f"{gauge(feed.awg)}, {run(feed.run_m, system.units)}")
    pane.text(left, y + 36 if feed.switch is None else y + 38, drop(feed.drop_fraction, feed.limit_fraction))
    return [y], [down]


def _draw_circuit(
    pane: Pane, system: Wiring, group: Group, circuit: Circuit, top: float, width: float
) -> tuple[float, list[float]]:
    """Draw the heading, the fuse and the legs of a circuit; return the heights of its positive and its negatives."""
    start = (PLUS_X, MINUS_X) if group.source is None else (BOX_RIGHT, BOX_RIGHT)
    left, figures = FUSE_X - FUSE_LONG / 2, f"{amperes(circuit.current_a)}, {fuse_text(circuit, system)}"
    room = width - left - lettering.width(figures, SIZE) - 12
    name = lettering.shorten(circuit.name.replace("_", " "), SIZE, room, bold=True)
    head = pane.text(left, top + 13, name, "d-strong", bold=True)
    pane.text(head.right + 8, top + 13, figures)
    y = top + HEAD
    plus_at = y + PLUS_DOWN
    down: list[float] = []
    pane.path("d-wire", line_d([(start[0], plus_at), (FORK_X, plus_at)]), "d-wire-pos")
    for leg in circuit.legs:
        _draw_leg(pane, system, leg, start[1], y, width)
        down.append(y + MINUS_DOWN)
        y += LEG_HIGH
    if len(circuit.legs) > 1:
        last = y - LEG_HIGH + PLUS_DOWN
        pane.path("d-wire", line_d([(FORK_X, plus_at), (FORK_X, last)]), "d-wire-pos")
        for i in range(len(circuit.legs) - 1):
            joint(pane, FORK_X, plus_at + i * LEG_HIGH)
    if not system.fused_in_main:
        fuse(pane, FUSE_X, plus_at)
    return plus_at, down


def _draw_leg(pane: Pane, system: Wiring, leg: Leg, back_to: float, top: float, width: float) -> None:
    """Draw one load with its conductors; its gauge, run and drop stand between them."""
    pane.open("d-line d-sel" if leg.part.line == system.selected else "d-line", line=leg.part.line)
    right = width - 1.0
    left = right - LOAD_WIDE
    _conductor(pane, FORK_X, left, top + PLUS_DOWN, leg.positive, leg.switch, positive=True)
    _conductor(pane, back_to, left, top + MINUS_DOWN, (leg.negative,), None, positive=False, sleeve_at=FORK_X)
    pane.text(FORK_X + 8, top + RUN_DOWN, f"{gauge(leg.awg)}, {run(leg.run_m, system.units)}")
    pane.text(FORK_X + 8, top + DROP_DOWN, drop(leg.drop_fraction, leg.limit_fraction))
    names = in_lines(leg.part.name, LOAD_WIDE - 36, NAME_LINES)
    box = Box(left, top, right, top + LEG_HIGH - 4)
    numbered(pane, box, leg.part.label, leg.part.line, [*names, amperes(leg.current_a)])
    pane.close()


def _conductor(
    pane: Pane,
    start: float,
    end: float,
    y: float,
    labels: tuple[str, ...],
    by: Part | None,
    positive: bool,
    sleeve_at: float | None = None,
) -> None:
    """Draw a conductor with a sleeve label at both ends, and at both sides of a switch."""
    kind, also = ("d-wire", "d-wire-pos") if positive else ("d-thin", "d-wire-neg")
    pane.path(kind, line_d([(start, y), (end, y)]), also)
    first, last = labels[0], labels[-1]
    near = (start if sleeve_at is None else sleeve_at) + 6
    sleeve(pane, near, y, first)
    sleeve(pane, end - 6, y, last, at_end=True)
    if by is None:
        return
    left = near + sleeve_long(first)
    right = end - 6 - sleeve_long(last)
    middle = (left + right - SWITCH_LONG) / 2
    switch(pane, middle, y, by.label, by.line)
    if len(labels) > 1:
        # Labels at the switch where there is room for them beside those at the ends.
        for x, label, at_end in ((middle - 4, first, True), (middle + SWITCH_LONG + 4, last, False)):
            free = middle - 4 - left if at_end else right - (middle + SWITCH_LONG + 4)
            if free > sleeve_long(label) + 4:
                sleeve(pane, x, y, label, at_end)


def named(part: Part) -> str:
    """Return the name of a part and where it sits."""
    return f"{part.name}, {part.place}" if part.place else part.name


def amperes(current_a: float) -> str:
    """Return a current with at most two decimals."""
    return f"{number(current_a, 2).rstrip('0').rstrip('.')}{THIN}A"


def ampere_hours(charge_ah: float) -> str:
    return f"{number(charge_ah, 1).removesuffix('.0')}{THIN}Ah"


def gauge(awg: str | None) -> str:
    return f"{awg}{THIN}AWG" if awg else "no gauge fits"


def run(run_m: float, units: str) -> str:
    """Return a run one way."""
    return f"{number(run_m / FOOT_M, 1)}{THIN}ft" if units == US else f"{number(run_m, 2)}{THIN}m"


def drop(drop_fraction: float | None, limit_fraction: float) -> str:
    """Return a drop and its limit in percent of the system's volts."""
    limit = f"{number(limit_fraction * 100, 1).removesuffix('.0')}{THIN}%"
    return f"drop {number(drop_fraction * 100, 1)} of {limit}" if drop_fraction is not None else f"limit {limit}"


def within(units: str, words: str) -> str:
    """Return where a fuse must sit: 178 mm (7 in), 33 CFR 183.455(b)(1)."""
    return words.format(f"7{THIN}in" if units == US else f"{MAIN_FUSE_WITHIN_MM}{THIN}mm")


def fuse_text(circuit: Circuit, system: Wiring) -> str:
    """Return the fuse of a circuit: its rating and the word of its colour."""
    if circuit.fuse_a is None:
        return "no fuse fits"
    colour = f" {circuit.fuse_colour}" if circuit.fuse_colour else ""
    words = f"fuse {amperes(circuit.fuse_a)}{colour}"
    return f"{words}: the main fuse" if system.fused_in_main else words


def _describe(system: Wiring) -> str:
    loads = sum(len(circuit.legs) for circuit in system.circuits)
    main = f" Main fuse {amperes(system.main_fuse_a)}." if system.main_fuse_a is not None else ""
    return (
        f"{named(system.battery)}, {number(system.system_v, 0)} V, {ampere_hours(system.rated_ah)}, {system.role}."
        f"{main} Circuits: {len(system.circuits)}, loads: {loads}. The table lists every conductor."
    )


def table(system: Wiring) -> Table:
    """Return a row for the feed and one for each leg."""
    rows: list[tuple[str, ...]] = []
    if system.feed:
        feed = system.feed
        main = amperes(system.main_fuse_a) if system.main_fuse_a is not None else "none fits"
        to = system.distribution.part.name if system.distribution else ""
        way = feed.switch.name if feed.switch else ""
        labels = minus(", ".join((*feed.positive, feed.negative)))
        figures = (gauge(feed.awg), run(feed.run_m, system.units), drop(feed.drop_fraction, feed.limit_fraction))
        rows.append(("feed", f"main {main}", to, way, labels, *figures))
    for circuit in system.circuits:
        for leg in circuit.legs:
            way = leg.switch.name if leg.switch else ""
            labels = minus(", ".join((*leg.positive, leg.negative)))
            figures = (gauge(leg.awg), run(leg.run_m, system.units), drop(leg.drop_fraction, leg.limit_fraction))
            name = f"{leg.part.label} {leg.part.name}"
            rows.append((circuit.name, fuse_text(circuit, system), name, way, labels, *figures))
    head = ("Circuit", "Fuse", "To", "By way of", "Sleeve labels", "Gauge", "Run one way", "Drop")
    return Table(f"Wiring of battery {system.battery.label}", head, tuple(rows))
