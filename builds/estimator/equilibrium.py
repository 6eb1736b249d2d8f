"""Where a hull floats: draft and trim at which buoyancy carries the weight, right under its centre of gravity.

Newton on all cases at once; a case that Newton leaves open is searched between brackets. Shares as in `hullform`: level
and slope of the waterline, volume as a share of B L D, centre of gravity at s and u. The hull is the same seen from
either end, so every case is solved with its weight aft of amidships and turned round afterwards.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .hullform import ALONG, POWERS, Array, Forms, sections

Flags = NDArray[np.bool_]

SLACK = 1e-9
SETTLED = 1e-12
"""Newton stops here: error of the volume and of the arm as a share."""
ACCEPTED = 1e-8
"""What a solution may be off at most, a hundredth of what the method allows."""
NEWTON_STEPS = 12
SCANNED = 33
ZOOMS = 6
LIMIT_SLOPES = np.array([0, 0.03, 0.08, 0.15, 0.25, 0.4, 0.6, 0.9, 1.4, 2.5, 5, 15, 100, 1e4, 1e8])


@dataclass(frozen=True)
class Cases:
    """What is to float, each of shape (cases,): volume as a share, s and u of the centre of gravity.

    `stiffness` is (2 D / L)^2, by which a height counts against a length in the arm.
    """

    volume: Array
    s_g: Array
    u_g: Array
    stiffness: float

    def only(self, i: int) -> "Cases":
        return Cases(self.volume[i : i + 1], self.s_g[i : i + 1], self.u_g[i : i + 1], self.stiffness)


@dataclass(frozen=True)
class Balance:
    """Volume and arm at a waterline, and their slopes with its level and its slope; each of shape (cases,).

    The arm is zero where the centre of buoyancy lies under the centre of gravity:
    arm = sum of A (s - s_G) + k slope (sum of M - u_G sum of A), k = (2 D / L)^2, the method's
    (x_B - x_G) + (z_B - z_G) tan(theta) times V and without units.
    """

    volume: Array
    arm: Array
    volume_level: Array
    volume_slope: Array
    arm_level: Array
    arm_slope: Array


@dataclass(frozen=True)
class Floating:
    """The waterline of each case, whether it fits, and what is left of the two equations; each of shape (cases,).

    Draft amidships [m]; tan(theta), stern-down positive; V rho / W - 1; (x_B - x_G) + (z_B - z_G) tan(theta) [m].
    """

    draft_mid_m: Array
    tan_trim: Array
    fits: Flags
    volume_error: Array
    arm_error_m: Array


def balance(forms: Forms, cases: Cases, level: Array, slope: Array) -> Balance:
    """Return volume and arm at waterlines. One form or case may stand for many waterlines, or one each."""
    raw = level[:, None] + ALONG * slope[:, None]
    u = np.minimum(np.maximum(raw, 0), 1)
    area, moment, breadth = sections(u, forms.p[:, None])
    areas = (forms.share * area) @ POWERS[:, :2]
    wet = (forms.share * breadth * (raw < 1)) @ POWERS
    lift = (forms.share * moment).sum(axis=1) - cases.u_g * areas[:, 0]
    k = cases.stiffness
    lean, rest = 1 + k * slope * slope, k * slope * (level - cases.u_g) - cases.s_g
    return Balance(
        volume=areas[:, 0],
        arm=areas[:, 1] - cases.s_g * areas[:, 0] + k * slope * lift,
        volume_level=wet[:, 0],
        volume_slope=wet[:, 1],
        arm_level=lean * wet[:, 1] + rest * wet[:, 0],
        arm_slope=lean * wet[:, 2] + rest * wet[:, 1] + k * lift,
    )


def float_cases(forms: Forms, volume_m3: Array, x_g_m: Array, z_g_m: Array) -> Floating:
    """Return where each case floats; one form, volume [m3] and centre of gravity (x, z) [m] a case.

    rho V = W and (x_B - x_G) + (z_B - z_G) tan(theta) = 0 with z_w <= D on the whole length. Of several such
    waterlines the one of least trim is taken, on the side of the weight. Where there is none, `fits` is false and
    the waterline is not to be used.
    """
    cases = as_cases(forms, volume_m3, x_g_m, z_g_m)
    side = np.where(cases.s_g < 0, -1.0, 1.0)
    turned = Cases(cases.volume, np.abs(cases.s_g), cases.u_g, cases.stiffness)
    level, slope, sure = newton(forms, turned)
    fits = sure.copy()
    for i in np.flatnonzero(~sure).tolist():
        form, case = forms.only([i]), turned.only(i)
        most, known = limit_share(form, case)
        if known and case.volume[0] > most * (1 + SLACK):
            continue
        found = between_brackets(form, case)
        if found is not None:
            level[i], slope[i], fits[i] = *found, True
    at = balance(forms, turned, level, slope)
    return Floating(
        draft_mid_m=level * forms.depth_m,
        tan_trim=side * slope * 2 * forms.depth_m / forms.length_m,
        fits=fits,
        volume_error=at.volume / turned.volume - 1,
        arm_error_m=side * at.arm / turned.volume * forms.length_m / 2,
    )


def as_cases(forms: Forms, volume_m3: Array, x_g_m: Array, z_g_m: Array) -> Cases:
    half, depth = forms.length_m / 2, forms.depth_m
    return Cases(volume_m3 / forms.block_m3, x_g_m / half - 1, z_g_m / depth, (depth / half) ** 2)


def even_level(forms: Forms, volume: Array) -> Array:
    """Return the level at which each form without trim displaces its volume, 1 where the hull holds no more.

    Newton from above on a rising convex figure: every step stays above the root.
    """
    wanted = np.minimum(volume, forms.full_share()) / forms.waterplane
    level = np.ones_like(wanted)
    for _ in range(80):
        area, _, breadth = sections(level, forms.p)
        step = np.divide(area - wanted, breadth, out=np.zeros_like(area), where=breadth > 0)
        level = np.clip(level - step, 0, 1)  # at the brim rounding may point above it
        if np.all(np.abs(step) <= 1e-15 * level):
            break
    return level


def newton(forms: Forms, cases: Cases) -> tuple[Array, Array, Flags]:
    """Return level, slope, and whether Newton found the waterline of each case for sure (see `sure_of`)."""
    level = even_level(forms, cases.volume)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        slope = first_slope(forms, cases, level)
        at = balance(forms, cases, level, slope)
        for _ in range(NEWTON_STEPS):
            if np.all(error_of(at, cases) <= SETTLED):
                break
            off = at.volume - cases.volume
            det = at.volume_level * at.arm_slope - at.volume_slope * at.arm_level
            level = level - (at.arm_slope * off - at.volume_slope * at.arm) / det
            slope = slope - (at.volume_level * at.arm - at.arm_level * off) / det
            at = balance(forms, cases, level, slope)
        sure = sure_of(at, cases, level, slope)
    return np.where(sure, level, 0.0), np.where(sure, slope, 0.0), sure


def first_slope(forms: Forms, cases: Cases, level: Array) -> Array:
    """Return the slope at which the waterplane at an even keel would right the weight's lever."""
    area, moment, breadth = sections(level, forms.p)
    plane = breadth * (forms.share @ POWERS[:, 2])
    righting = plane + cases.stiffness * cases.volume * (moment / area - cases.u_g)
    return np.where(righting > 0, np.minimum(cases.s_g * cases.volume / righting, 2.0), 0.0)


def sure_of(at: Balance, cases: Cases, level: Array, slope: Array) -> Flags:
    """Return whether a waterline is settled, within the hull, and the only one.

    At one volume the arm rises with the slope by (1 + k slope^2) I_F + k V (u_B - u_G), I_F the waterplane's second
    moment about its own centre. Only a weight high above a short hull turns that round; where the tipping share
    k V u_G is not small beside it, the search between brackets has the word.
    """
    tipping = cases.stiffness * cases.volume * np.maximum(cases.u_g, 0)
    settled = (error_of(at, cases) <= ACCEPTED) & (slope >= -SLACK) & (level + slope <= 1 + SLACK)
    sure: Flags = settled & (righting_of(at) > tipping)
    return sure


def righting_of(at: Balance) -> Array:
    """Return by how much the arm rises with the slope at one volume."""
    rise: Array = at.arm_slope - at.arm_level * at.volume_slope / at.volume_level
    return rise


def error_of(at: Balance, cases: Cases) -> Array:
    """Return the greater of the errors of volume and arm, as a share of the volume."""
    return np.maximum(np.abs(at.volume - cases.volume), np.abs(at.arm)) / cases.volume


def between_brackets(form: Forms, case: Cases) -> tuple[float, float] | None:
    """Return level and slope of one case at the least trim that balances it, or None where it does not fit.

    The slopes at which the hull holds the volume with its deeper end under the gunwale are scanned from level on for
    the first at which the arm is no longer short, closer about the best where it rises and falls again; the root is
    halved out between it and the one before.
    """
    volume, s_g = float(case.volume[0]), float(case.s_g[0])
    if volume > float(form.full_share()[0]) * (1 + SLACK):
        return None
    if s_g == 0:
        return float(even_level(form, case.volume)[0]), 0.0
    low, high = 0.0, steepest(form, case, volume)
    for _ in range(ZOOMS):
        slopes = np.linspace(low, high, SCANNED)
        arms = arms_at(form, case, slopes)[1]
        enough = np.flatnonzero(arms >= 0)
        if len(enough):
            break
        best = int(np.argmax(arms))
        low, high = float(slopes[max(best - 1, 0)]), float(slopes[min(best + 1, SCANNED - 1)])
        if best == SCANNED - 1:
            return None
    else:
        return None
    low, high = float(slopes[max(enough[0] - 1, 0)]), float(slopes[enough[0]])
    slope = halved(lambda one: float(arms_at(form, case, np.array([one]))[1][0]), low, high)
    return float(arms_at(form, case, np.array([slope]))[0][0]), slope


def steepest(form: Forms, case: Cases, volume: float) -> float:
    """Return the greatest slope at which the hull holds a volume with its deeper end under the gunwale."""

    def lacking(slope: float) -> float:
        return volume - float(balance(form, case, np.array([1 - slope]), np.array([slope])).volume[0])

    high = 1.0
    while lacking(high) < 0:
        high *= 4
    return halved(lacking, 0.0, high, below=True)


def arms_at(form: Forms, case: Cases, slopes: Array) -> tuple[Array, Array]:
    """Return at each slope the level that displaces the case's volume, and the arm there.

    Newton, kept between a level that displaces too little and one that displaces enough.
    """
    low, high = -slopes, 1 - slopes
    level = high.copy()
    for _ in range(100):
        at = balance(form, case, level, slopes)
        off = at.volume - case.volume
        low, high = np.where(off < 0, level, low), np.where(off < 0, high, level)
        if np.all((np.abs(off) <= SETTLED * case.volume) | (high - low <= 1e-16)):
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            step = level - off / at.volume_level
        level = np.where((step > low) & (step < high), step, (low + high) / 2)
    return level, at.arm


def halved(figure: Callable[[float], float], low: float, high: float, *, below: bool = False) -> float:
    """Return where a figure that is negative at `low` turns, by bisection; with `below` the last point before."""
    for _ in range(200):
        middle = (low + high) / 2
        if not low < middle < high:
            break
        if figure(middle) < 0:
            low = middle
        else:
            high = middle
    return low if below else high


def greatest_share(form: Forms, s_g: float, u_g: float, stiffness: float) -> float:
    """Return the greatest volume that one form carries with its centre of gravity at s and u, as a share of B L D.

    At the limit the deeper end is level with the gunwale: level = 1 - |slope|, and the first such slope at which the
    arm is no longer short carries most. A weight high above a short hull tips it before that: then the greatest volume
    of any balanced waterline. 0 where there is none (the weight lies beyond the end).
    """
    case = Cases(np.ones(1), np.array([abs(s_g)]), np.array([u_g]), stiffness)
    share, known = limit_share(form, case)
    return share if known else max(share, before_tipping(form, case))


def limit_share(form: Forms, case: Cases) -> tuple[float, bool]:
    """Return the volume with the deeper end level with the gunwale, and whether the hull is known to hold no more.

    It is known where the weight is low enough not to tip the hull before (see `sure_of`), or beyond its end.
    """
    s_g, u_g = float(case.s_g[0]), float(case.u_g[0])
    if s_g == 0:
        return float(form.full_share()[0]), True
    arms = balance(form, case, 1 - LIMIT_SLOPES, LIMIT_SLOPES).arm
    enough = np.flatnonzero(arms >= 0)
    share, sure = 0.0, False
    if len(enough):
        low, high = float(LIMIT_SLOPES[enough[0] - 1]), float(LIMIT_SLOPES[enough[0]])
        slope = limit_slope(form, case, low, high)
        at = balance(form, case, np.array([1 - slope]), np.array([slope]))
        share = float(at.volume[0])
        with np.errstate(divide="ignore", invalid="ignore"):
            sure = bool(righting_of(at)[0] > case.stiffness * share * max(u_g, 0))
    return share, sure or u_g <= 0 or s_g >= 1


def limit_slope(form: Forms, case: Cases, low: float, high: float) -> float:
    """Return the root of the arm along level = 1 - slope between two slopes, by Newton kept between them."""
    slope = low + (high - low) / 2
    for _ in range(100):
        at = balance(form, case, np.array([1 - slope]), np.array([slope]))
        arm, rise = float(at.arm[0]), float(at.arm_slope[0] - at.arm_level[0])
        low, high = (slope, high) if arm < 0 else (low, slope)
        step = slope - arm / rise if rise else low
        if abs(step - slope) <= 1e-14 * slope or high - low <= 1e-16 * high:
            break
        slope = step if low < step < high else (low + high) / 2
    return slope


def before_tipping(form: Forms, case: Cases) -> float:
    """Return the greatest volume of the balanced waterlines, looked for slope by slope, ever closer about the best."""
    low, high = 0.0, float((1 - case.s_g[0]) / (case.stiffness * case.u_g[0]))
    best = 0.0
    for _ in range(ZOOMS):
        slopes = np.linspace(low, high, SCANNED)
        volumes = balanced_volumes(form, case, slopes)
        top = int(np.argmax(volumes))
        best = max(best, float(volumes[top]))
        low, high = float(slopes[max(top - 1, 0)]), float(slopes[min(top + 1, SCANNED - 1)])
    return best


def balanced_volumes(form: Forms, case: Cases, slopes: Array) -> Array:
    """Return the volume at the level that balances each slope, 0 where none within the hull does."""
    low, high = -slopes, 1 - slopes
    over = balance(form, case, high, slopes).arm > 0
    level = (low + high) / 2
    for _ in range(60):
        at = balance(form, case, level, slopes)
        low, high = np.where(at.arm < 0, low, level), np.where(at.arm < 0, level, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = level - at.arm / at.arm_level
        step = np.where((step > low) & (step < high), step, (low + high) / 2)
        if np.all((np.abs(step - level) <= SETTLED) | (np.abs(at.arm) <= SETTLED / 10) | over):
            break
        level = step
    found: Array = np.where(over, 0.0, at.volume)
    return found
