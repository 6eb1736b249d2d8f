"""The cable cut list: every piece of conductor to cut, its gauge, colour and length, and what is at each end."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from .circuits import BatterySystem, Circuit, Feed, Leg
from .fitted import Fitted
from .runs import run_m

RED, BLACK = "red", "black"


@dataclass(frozen=True)
class Piece:
    """One piece of conductor; `length_m` [m] is what to cut, unrounded.

    `label` is unique on the ticket and short enough for a sleeve. `from_` (in JSON: from) and `to` name the part at
    each end by its place on the ticket; `from_line` and `to_line` are the ids of those lines. `serves` is the line
    that the piece belongs to: the load, or for a feed the distribution. `circuit` is None for a feed.
    """

    label: str
    awg: str
    colour: str
    length_m: float
    from_: str = field(metadata={"key": "from"})
    to: str
    from_line: str
    to_line: str
    serves: str
    battery: str
    circuit: str | None


def cut_list(fitted: tuple[Fitted, ...], systems: tuple[BatterySystem, ...]) -> tuple[Piece, ...]:
    """Return the pieces to cut for what the shop fits now, battery by battery: the feed, then its circuits.

    A run is two pieces, red from the origin to the load and black back; a switch in the positive makes it three. The
    label is the load's place on the ticket with + or -, a feed's starts with F: 3+ 3-, by way of a panel 3+a 3+b 3-,
    feed F2+ F2-. A run without a conductor that fits has no piece.

    References: red positive and black negative, a label at each end: common practice, no source.
    """
    by_id = {one.id: one for one in fitted}
    return tuple(piece for system in systems for piece in pieces_of(system, by_id))


def pieces_of(system: BatterySystem, by_id: Mapping[str, Fitted]) -> Iterator[Piece]:
    feed = system.feed
    if feed and feed.awg is not None and by_id[feed.distribution].is_new:
        yield from pieces_between(feed, feed.awg, system.battery, feed.distribution, by_id, system.battery, None)
    for circuit in system.circuits:
        for leg in circuit.legs:
            if leg.awg is not None and by_id[leg.line].is_new:
                yield from pieces_between(leg, leg.awg, leg.origin, leg.line, by_id, system.battery, circuit)


def pieces_between(
    run: Feed | Leg,
    awg: str,
    origin: str,
    load: str,
    by_id: Mapping[str, Fitted],
    battery: str,
    circuit: Circuit | None,
) -> Iterator[Piece]:
    """Yield the pieces of one run; the two parts of a switched positive keep their share of its length."""
    number = f"{'' if circuit else 'F'}{by_id[load].place + 1}"
    ends = [(f"{number}+", RED, run.positive_m, origin, load)]
    if run.switch is not None:
        first_m = run_m(by_id[origin].point_m, by_id[run.switch].point_m)
        ends = [
            (f"{number}+a", RED, first_m, origin, run.switch),
            (f"{number}+b", RED, run.positive_m - first_m, run.switch, load),
        ]
    ends.append((f"{number}-", BLACK, run.negative_m, load, origin))
    for label, colour, length_m, start, end in ends:
        yield Piece(
            label=label,
            awg=awg,
            colour=colour,
            length_m=length_m,
            from_=named(by_id[start]),
            to=named(by_id[end]),
            from_line=start,
            to_line=end,
            serves=load,
            battery=battery,
            circuit=circuit.circuit if circuit else None,
        )


def named(one: Fitted) -> str:
    """Return a line as a person finds it on the ticket: its place and its type."""
    return f"{one.place + 1} {one.kind.name}"
