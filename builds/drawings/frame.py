"""From metres on the boat to units of a drawing, and the tape along its edge."""

from dataclasses import dataclass

from shop.units import THIN, US

from .svg import Pane, Point, line_d, rect_d

FOOT_M = 0.3048
TAPE = 7.0


@dataclass(frozen=True)
class Frame:
    """Where the boat lies: units a metre, the bow tip along the boat, the centreline across; bow to the left or up."""

    scale: float
    bow: float
    axis: float
    bow_up: bool = False

    def along(self, x_m: float) -> float:
        return self.bow + x_m * self.scale

    def at(self, x_m: float, y_m: float) -> Point:
        """Return the point of the drawing at x and y on the boat; starboard is up, with the bow up it is right."""
        return self.xy(self.bow + x_m * self.scale, y_m * self.scale)

    def xy(self, along: float, out: float) -> Point:
        """Return the point of the drawing from units along the boat and units out to starboard."""
        return (self.axis + out, along) if self.bow_up else (along, self.axis - out)


def draw_tape(pane: Pane, frame: Frame, length_m: float, units: str, edge: float) -> None:
    """Draw the tape from the bow tip in blocks of 100 mm (or 3 in): its inner side at `edge`, its figures outside."""
    block_m = FOOT_M / 4 if units == US else 0.1
    count = int(length_m / block_m + 1e-9)
    starts = [k * block_m for k in range(0, count + 1, 2)]
    solid = [(start, min(start + block_m, length_m)) for start in starts if start < length_m - 1e-9]
    pane.path("d-solid", "".join(_block(frame, edge, *ends) for ends in solid))
    pane.path("d-hair", _block(frame, edge, 0.0, length_m))
    for x_m, words in _figures(frame.scale, length_m, units):
        if frame.bow_up:
            pane.text(edge - TAPE - 4, frame.along(x_m) + 4.3, words, "d-quiet", "end")
        else:
            pane.text(frame.along(x_m), edge - TAPE - 4, words, "d-quiet", "middle")


def _block(frame: Frame, edge: float, start_m: float, end_m: float) -> str:
    low, high = frame.along(start_m), frame.along(end_m)
    if frame.bow_up:
        return rect_d(edge - TAPE, low, TAPE, high - low)
    return rect_d(low, edge - TAPE, high - low, TAPE)


def _figures(scale: float, length_m: float, units: str) -> list[tuple[float, str]]:
    """Return where the tape has figures, and what they say; never nearer than their own width."""
    unit_m = FOOT_M if units == US else 0.5
    step = 1
    while step * unit_m * scale < 46:
        step += 1
    marks = [(0.0, "bow tip")]
    for k in range(step, int(length_m / unit_m + 1e-9) + 1, step):
        marks.append((k * unit_m, f"{k}{THIN}ft" if units == US else f"{k / 2:.1f}{THIN}m"))
    return marks


def chain_d(frame: Frame, low: float, high: float) -> str:
    """Return path data of the centreline between two places along the boat."""
    return line_d([frame.xy(low, 0.0), frame.xy(high, 0.0)])
