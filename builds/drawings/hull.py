"""The boat at the centre of a ticket: plan above, side view below, on one scale."""

from .boat import Boat
from .plan import SCREEN, Layout, draw_plan, flat_layout
from .side import draw_side, side_high
from .svg import Drawn, Pane
from .words import hull_words

SCREEN_HIGH = 480.0
TRIES = 4
LEAST_PART = 0.3
GAP = 4.0


def hull(boat: Boat, ident: str, kind: str = SCREEN, width: float = 890.0, height: float | None = None) -> Drawn:
    """Return the plan with the side view below it.

    Parameters
    ----------
    boat: what is drawn.
    ident: makes the ids of title and description unique on a page.
    kind: "screen" (colour by class), "quote" (paper, balloons of lines) or "holes" (paper, letters of openings).
    width: of the viewBox [units]. Lettering is 12 units: draw a screen at its width in pixels, paper at 700 to 182 mm.
    height: of the viewBox [units]; the boat is drawn smaller where it would need more, so that a page does not move
        when lines are added. Default: 480 on the screen, as high as it needs on paper.

    The tables are items, openings, stations, and how she floats.
    """
    pane = Pane()
    if height is None and kind == SCREEN:
        height = SCREEN_HIGH * width / 890.0
    layout = _fitted(boat, kind, width, height)
    draw_plan(pane, boat, layout, kind)
    frame = layout.frame
    end = draw_side(pane, boat, frame.scale, frame.bow, frame.axis + layout.port.end + GAP, width)
    words = hull_words(boat, kind)
    high = max(end, height or 0.0)
    svg = pane.svg(ident, words.title, words.desc, width, high, kind != SCREEN)
    return Drawn(svg, words.title, words.desc, width, high, words.tables)


def _fitted(boat: Boat, kind: str, width: float, height: float | None) -> Layout:
    """Lay the plan out in the largest scale at which plan and side view fit the height."""
    part = 1.0
    layout = flat_layout(boat, kind, width, 0.0)
    for _ in range(TRIES if height is not None else 0):
        frame = layout.frame
        high, drawn_to_scale = side_high(boat, frame.scale, frame.bow, width)
        over = frame.axis + layout.port.end + GAP + high - (height or 0.0)
        if over <= 0.0:
            break
        drawn_to_scale += boat.form.beam_m * frame.scale
        part *= max(1.0 - (over + 0.5) / drawn_to_scale, LEAST_PART)
        layout = flat_layout(boat, kind, width, 0.0, part)
    return layout
