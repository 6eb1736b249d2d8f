"""The signs of a wiring diagram: fuse, switch, sleeve label, joint, numbered part."""

from collections.abc import Sequence

from . import text as lettering
from .marks import DIAMETER, balloons, draw_mark
from .svg import SIZE, Box, Pane, circle_d, line_d

FUSE_LONG, FUSE_HIGH = 24.0, 10.0
SWITCH_LONG = 56.0
SLEEVE_HIGH = 14.0
LINE = 14.0


def fuse(pane: Pane, x: float, y: float, upright: bool = False) -> None:
    """Draw a fuse about a point: a box with the conductor through it."""
    long, high = (FUSE_HIGH, FUSE_LONG) if upright else (FUSE_LONG, FUSE_HIGH)
    box = Box(x - long / 2, y - high / 2, x + long / 2, y + high / 2)
    pane.rect("d-body", box)
    ends = [(x, box.top), (x, box.bottom)] if upright else [(box.left, y), (box.right, y)]
    pane.path("d-thin", line_d(ends))


def joint(pane: Pane, x: float, y: float) -> None:
    """Draw a dot where conductors meet; where they only cross there is none."""
    pane.path("d-solid", circle_d(x, y, 2.4))


def sleeve_long(label: str) -> float:
    """Return the length of a sleeve label."""
    return lettering.width(minus(label), SIZE, bold=True) + 6.0


def sleeve(pane: Pane, x: float, y: float, label: str, at_end: bool = False) -> None:
    """Draw a sleeve label on a conductor, from x on, or up to x."""
    long = sleeve_long(label)
    left = x - long if at_end else x
    pane.rect("d-sleeve", Box(left, y - SLEEVE_HIGH / 2, left + long, y + SLEEVE_HIGH / 2))
    pane.text(left + long / 2, y + 4.3, minus(label), "d-strong", "middle", bold=True)


def minus(label: str) -> str:
    """Return a label with the minus sign in place of the hyphen."""
    return label.replace("-", "−")


def switch(pane: Pane, left: float, y: float, label: str, line: str) -> None:
    """Draw a switch in a conductor: a box with the number of the part and an open contact."""
    pane.rect("d-body", Box(left, y - 12, left + SWITCH_LONG, y + 12))
    number(pane, left + 3, y - DIAMETER / 2, label, line)
    a, b = left + DIAMETER + 8, left + SWITCH_LONG - 5
    pane.strokes("d-thin", [[(a, y), (b - 2, y - 8)], [(b, y), (left + SWITCH_LONG, y)]])
    pane.path("d-solid", circle_d(a, y, 1.8) + circle_d(b, y, 1.8))


def number(pane: Pane, left: float, top: float, label: str, line: str) -> float:
    """Draw the balloon of a line; return its right side."""
    mark = balloons([(label, line)], upright=False)[0]
    draw_mark(pane, mark, Box(left, top, left + mark.along, top + mark.out), lambda _: "d-line")
    return left + mark.along


def numbered(pane: Pane, box: Box, label: str, line: str, texts: Sequence[str]) -> None:
    """Draw a part as a box: its balloon, and its name in lines beside it, the last line strong."""
    pane.rect("d-body", box)
    middle = (box.top + box.bottom) / 2
    left = number(pane, box.left + 4, middle - DIAMETER / 2, label, line) + 5
    first = middle - (len(texts) - 1) * LINE / 2 + 4.3
    for i, text in enumerate(texts):
        last = i == len(texts) - 1
        pane.text(left, first + i * LINE, text, "d-strong" if last else "d-text", bold=last)


def in_lines(text: str, room: float, most: int) -> list[str]:
    """Return a name in at most `most` lines of a width."""
    lines = lettering.wrap(text, SIZE, room)
    if len(lines) > most:
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return [lettering.shorten(line, SIZE, room) for line in lines]
