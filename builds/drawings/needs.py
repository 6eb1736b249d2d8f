"""What an accessory type asks for and what it does not go with, as a picture: needs above it, conflicts below."""

from collections.abc import Sequence
from dataclasses import dataclass

from .svg import Box, Drawn, Pane, Table, line_d
from .text import shorten

WIDE, ROW, HIGH, MARGIN = 304.0, 34.0, 26.0, 4.0
LEFT, RIGHT, TRUNK = 58.0, 276.0, 292.0
SIZE = 12.0
ARROW = 6.0


@dataclass(frozen=True)
class Need:
    """One group: how strongly it is asked for, and the names of which any one will do."""

    strength: str
    any_of: tuple[str, ...]

    @property
    def words(self) -> str:
        others = f" or {len(self.any_of) - 1} other" if len(self.any_of) > 1 else ""
        return f"{self.any_of[0]}{others}{'s' if len(self.any_of) > 2 else ''}"


def needs_drawing(name: str, needs: Sequence[Need], conflicts: Sequence[str], ident: str) -> Drawn:
    """Return the picture: a full line is a must, a broken one usual, a crossed one does not go together."""
    pane = Pane()
    tops = [MARGIN + row * ROW for row in range(len(needs) + 1 + len(conflicts))]
    middles = [top + HIGH / 2 for top in tops]
    own = middles[len(needs)]
    for need, y in zip(needs, middles, strict=False):
        pane.text(LEFT - 6, y + 4, need.strength, "d-quiet", "end")
        boxed(pane, Box(LEFT, y - HIGH / 2, RIGHT, y + HIGH / 2), need.words)
        kind = "d-wire" if need.strength == "must" else "d-hidden"
        pane.path(kind, line_d([(RIGHT, y), (TRUNK, y), (TRUNK, own)]))
    if needs:
        pane.path("d-wire", line_d([(TRUNK, own), (RIGHT + ARROW, own)]))
        tip = [(RIGHT, own), (RIGHT + ARROW, own - ARROW / 2), (RIGHT + ARROW, own + ARROW / 2)]
        pane.path("d-solid", line_d(tip, closed=True))
    boxed(pane, Box(LEFT, own - HIGH / 2, RIGHT, own + HIGH / 2), name, bold=True)
    x = (RIGHT + TRUNK) / 2
    for conflict, y in zip(conflicts, middles[len(needs) + 1 :], strict=True):
        pane.text(LEFT - 6, y + 4, "not with", "d-quiet", "end")
        boxed(pane, Box(LEFT, y - HIGH / 2, RIGHT, y + HIGH / 2), conflict)
        pane.path("d-wire", line_d([(RIGHT, y), (TRUNK, y), (TRUNK, own), (RIGHT, own)]))
        pane.strokes("d-tick", [[(x - 5, y - 5), (x + 5, y + 5)], [(x - 5, y + 5), (x + 5, y - 5)]])
    height = tops[-1] + HIGH + MARGIN
    title, desc = f"Needs and conflicts of {name}", sentence(name, needs, conflicts)
    svg = pane.svg(ident, title, desc, WIDE, height, printed=True)
    return Drawn(svg, title, desc, WIDE, height, (table(needs, conflicts),))


def boxed(pane: Pane, box: Box, words: str, bold: bool = False) -> None:
    pane.rect("d-body", box)
    room = box.right - box.left - 12
    middle = (box.left + box.right) / 2
    pane.text(middle, (box.top + box.bottom) / 2 + 4, shorten(words, SIZE, room, bold), anchor="middle", bold=bold)


def sentence(name: str, needs: Sequence[Need], conflicts: Sequence[str]) -> str:
    asked = "; ".join(f"{need.strength}: {' or '.join(need.any_of)}" for need in needs) or "nothing"
    against = ", ".join(conflicts) or "nothing"
    return f"{name} asks for {asked}. It does not go with {against}."


def table(needs: Sequence[Need], conflicts: Sequence[str]) -> Table:
    rows = [(need.strength, ", ".join(need.any_of)) for need in needs] + [("not with", name) for name in conflicts]
    return Table("Needs and conflicts", ("How", "What"), tuple(rows))
