"""Holes and bits: what is drilled for a fastener under a mounting, and the drill or saw by all its names."""

import re
from bisect import bisect_left
from dataclasses import dataclass
from functools import cache, lru_cache

from .accessory import Opening
from .published import rows_of

INCH_MM = 25.4
RIVET, RIVET_HOLE_MM = "rivet 4.8", 4.9
"""The rivet that a riveted M4 to M6 becomes; its hole by the table (from memory, 4.9 to 5.0 mm; 3/16 in: 4.85 mm)."""
WELL_NUT, WELL_NUT_HOLE_MM = "well nut M5", 10.0
"""The well nut that takes the place of a bolt or rivet; its hole by the table. The maker's sheet goes first."""
CLEARANCE_MM = (0.1, 0.3)
"""What a clearance hole is wider than its bolt, least and most (from memory)."""
CLEARANCE_USUAL_MM = 0.2
THREAD_KEPT = 0.85
"""The pilot of a tapping screw is at most this share of the thread's outer diameter d1 (from memory)."""
SAW_ABOVE_MM = 13.0
"""Above this a hole saw, up to it a drill: what a hand drill's chuck takes (common practice, no source)."""
UNDER_MM = 0.03
"""A drill by another name may be this much under the hole: it wanders by more (common practice, no source)."""
DEPTH_MM, BLIND_DEPTH_MM = 12.0, 10.0
"""The depth stop: through a skin of 3 to 8 mm with a few to spare; less where nobody sees what lies behind (from
memory). The skin in hand goes first."""
SLACK = 1e-9

BOLT = re.compile(r"M(\d+)")
SCREW = re.compile(r"ST\d+(\.\d+)?")
RIVETED = re.compile(r"rivet (\d+(\.\d+)?)")
TURNED = ("M4", "M5", "M6")


def fastener_of(opening: Opening, mounting: str) -> str | None:
    """Return the fastener that an opening takes under a mounting; None where it is for no fastener.

    `rivet` turns M4 to M6 into 4.8 mm rivets, `well_nut` turns M4 to M6 and rivets into well nuts; all else keeps the
    pattern's own.

    References: common practice, no source.
    """
    own = opening.fastener
    if own is None:
        return None
    if mounting == "rivet" and own in TURNED:
        return RIVET
    if mounting == "well_nut" and (own in TURNED or RIVETED.fullmatch(own)):
        return WELL_NUT
    return own


def hole_mm(opening: Opening, mounting: str) -> float | None:
    """Return the diameter that is drilled for a round opening under a mounting [mm]; None where it is not round.

    Bolt: the pattern's hole where it is 0.1 to 0.3 mm wider than the bolt, else bolt + 0.2 mm. Tapping screw:
    `pilot_mm`. Rivet, well nut: by the table. No fastener: the pattern's own.

    References: ISO 1478 for tapping screws; rivet_and_wellnut_holes.csv; clearances from memory.
    """
    if opening.shape != "round" or opening.diameter_mm is None:
        return None
    fastener = fastener_of(opening, mounting)
    if fastener is None:
        return opening.diameter_mm
    if fastener == WELL_NUT:
        return WELL_NUT_HOLE_MM
    if bolt := BOLT.fullmatch(fastener):
        return clearance_mm(float(bolt[1]), opening.diameter_mm)
    if rivet := RIVETED.fullmatch(fastener):
        return rivet_hole_mm(float(rivet[1])) or opening.diameter_mm
    return pilot_mm(fastener) or opening.diameter_mm


def clearance_mm(bolt_mm: float, pattern_mm: float | None = None) -> float:
    """Return the clearance hole of a bolt [mm]: the pattern's where it is 0.1 to 0.3 mm wider, else bolt + 0.2 mm."""
    least, most = (bolt_mm + by for by in CLEARANCE_MM)
    if pattern_mm is not None and least * (1 - SLACK) <= pattern_mm <= most * (1 + SLACK):
        return pattern_mm
    return bolt_mm + CLEARANCE_USUAL_MM


@cache
def rivet_hole_mm(rivet_mm: float) -> float | None:
    """Return the hole of a blind rivet [mm] by the table: its drill where it names one, None where it lacks the size.

    3/32, 1/8, 5/32, 3/16 and 1/4 in are 2.4, 3.2, 4.0, 4.8 and 6.4 mm.
    """
    if abs(rivet_mm - 4.8) <= 0.05:
        return RIVET_HOLE_MM
    drills = {row["size"]: float(row["diameter_mm"]) for row in rows_of("drill_sizes")}
    for row in rows_of("rivet_and_wellnut_holes"):
        size, _, unit = row["size"].partition(" ")
        if row["fastener"] == "blind rivet" and unit == "in" and abs(from_fraction(size) - rivet_mm) <= 0.06:
            return drills[row["drill"]]
    return None


@cache
def pilot_mm(thread: str) -> float | None:
    """Return the pilot hole of a tapping screw [mm], None where ISO 1478 lacks the thread.

    The core diameter d2 (largest), up to the next tenth of a millimetre, at most 0.85 of d1.

    References: ISO 1478, d2; the share of d1 from memory.
    """
    for row in rows_of("iso1478_tapping_thread"):
        if row["thread"] == thread:
            return min(drill_mm(float(row["d2_max_mm"])), THREAD_KEPT * float(row["d1_max_mm"]))
    return None


def from_fraction(text: str) -> float:
    """Return a fraction of an inch in millimetres."""
    above, _, below = text.partition("/")
    return INCH_MM * float(above) / float(below or 1)


def drill_mm(hole: float) -> float:
    """Return the metric drill at a hole or next above it [mm], in tenths."""
    return -(-round(hole * 10, 6) // 1) / 10


@dataclass(frozen=True)
class Bit:
    """A drill or a hole saw: its millimetres, and the nearest of the other series by name with its own millimetres."""

    mm: float
    inch_name: str
    inch_mm: float
    is_saw: bool

    @property
    def text(self) -> str:
        return f"{self.mm:g} mm{' hole saw' if self.is_saw else ''}, {self.inch_name}"


@lru_cache(maxsize=4096)
def bit_of(hole: float) -> Bit:
    """Return the drill or hole saw of a hole [mm].

    A drill is the metric one at or next above, and of numbers, letters and fractions the first that is not more than
    0.03 mm under the hole. A saw, above 13 mm, is named to the nearest sixteenth of an inch: what is under is filed
    out.

    References: drill_sizes.csv; saws in sixteenths, common practice, no source.
    """
    if hole > SAW_ABOVE_MM * (1 + SLACK):
        sixteenths = max(1, round(hole / INCH_MM * 16))
        return Bit(hole, f"{in_sixteenths(sixteenths)} in", sixteenths * INCH_MM / 16, True)
    sizes = drills_by_size()
    size, name = sizes[bisect_left(sizes, (hole - UNDER_MM, ""))]
    return Bit(drill_mm(hole), name, size, False)


@cache
def drills_by_size() -> tuple[tuple[float, str], ...]:
    """Return every drill of the table as (diameter [mm], name), the smallest first."""
    named = {"number": "no. {}", "letter": "letter {}", "fraction": "{} in"}
    return tuple(
        sorted(
            (INCH_MM * float(row["decimal_in"]), named[row["series"]].format(row["size"].lstrip("#")))
            for row in rows_of("drill_sizes")
        )
    )


def in_sixteenths(sixteenths: int) -> str:
    """Return a number of sixteenths as a mixed number in lowest terms: 34 is 2 1/8."""
    whole, left = divmod(sixteenths, 16)
    if not left:
        return str(whole)
    below = 16
    while left % 2 == 0:
        left, below = left // 2, below // 2
    return f"{whole} {left}/{below}" if whole else f"{left}/{below}"


def bit_text(opening: Opening, mounting: str) -> str:
    """Return the bit or saw of an opening in words.

    A slot is drilled at both ends, a rectangle at its corners with the corner's own diameter, then sawn.
    """
    hole = hole_mm(opening, mounting)
    if hole is not None:
        return bit_of(hole).text
    corner = min(opening.size_mm) if opening.shape == "slot" else 2 * (opening.corner_mm or 0.0)
    if corner <= 0:
        return "jigsaw"
    where = "both ends" if opening.shape == "slot" else "the corners"
    return f"{bit_of(corner).text} at {where}, then jigsaw"
