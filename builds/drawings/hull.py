"""The boat at the centre of a ticket: plan above, side view below, on one scale."""

from .boat import Boat
from .plan import SCREEN, draw_plan, flat_layout
from .side import draw_side
from .svg import Drawn, Pane
from .words import hull_words


def hull(boat: Boat, ident: str, kind: str = SCREEN, width: float = 890.0) -> Drawn:
    """Return the plan with the side view below it.

    Parameters
    ----------
    boat: what is drawn.
    ident: makes the ids of title and description unique on a page.
    kind: "screen" (colour by class), "quote" (paper, balloons of lines) or "holes" (paper, letters of openings).
    width: of the viewBox [units]. Lettering is 12 units: draw a screen at its width in pixels, paper at 700 to 182 mm.

    The tables are items, openings, stations, and how she floats.
    """
    pane = Pane()
    layout = flat_layout(boat, kind, width, 0.0)
    draw_plan(pane, boat, layout, kind)
    frame = layout.frame
    height = draw_side(pane, boat, frame.scale, frame.bow, frame.axis + layout.port.end + 4.0, width)
    words = hull_words(boat, kind)
    svg = pane.svg(ident, words.title, words.desc, width, height, kind != SCREEN)
    return Drawn(svg, words.title, words.desc, width, height, words.tables)
