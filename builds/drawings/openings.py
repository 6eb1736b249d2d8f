"""Openings to scale: what is drilled is solid, what is cut out is open with a cross."""

from .boat import Boat, Hole
from .frame import Frame
from .svg import Pane, line_d, round_rect_d

LEAST = 1.0


def draw_hole(pane: Pane, boat: Boat, hole: Hole, frame: Frame) -> None:
    """Draw an opening on the plan, at least one unit wide."""
    x, y = frame.at(hole.x_m, hole.y_m)
    along, across = hole.size_mm
    if hole.surface == "side":
        # A side is seen from its edge.
        across = 0.0
    wide, high = (across, along) if frame.bow_up else (along, across)
    draw_hole_at(pane, boat, hole, (x, y), (wide, high), frame.scale)


def draw_hole_at(
    pane: Pane, boat: Boat, hole: Hole, centre: tuple[float, float], size_mm: tuple[float, float], scale: float
) -> None:
    """Draw an opening of a size [mm] about a point of the drawing; `scale` is units a metre."""
    (x, y), (wide, high) = centre, (max(mm * scale / 1000, LEAST) for mm in size_mm)
    pane.open(f"{boat.class_of(hole.line)} d-hole", line=hole.line, opening=hole.letter)
    if hole.drilled:
        pane.ellipse("d-solid", x, y, wide / 2, high / 2)
    else:
        if hole.shape == "round":
            pane.ellipse("d-cut", x, y, wide / 2, high / 2)
        else:
            corner = min(wide, high) / 2 if hole.shape == "slot" else hole.corner_mm * scale / 1000
            pane.path("d-cut", round_rect_d(x - wide / 2, y - high / 2, wide, high, corner))
        cross = [line_d([(x - wide / 2, y), (x + wide / 2, y)]), line_d([(x, y - high / 2), (x, y + high / 2)])]
        pane.path("d-hair", "".join(cross))
    pane.close()
