"""Flotation: draft, trim, heel, stability and freeboard of the laden hull, each with its band.

The figures are those of the recorded form; the band comes from two variants of it, a finer and a fuller one, or from a
float test where one is recorded.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from .equilibrium import Floating, as_cases, float_cases, greatest_share
from .hullform import Array, Forms, Hydrostatics
from .published import rows_of
from .sheet import BuildSheet, Hull
from .specs import Problem, Unusable
from .weights import Weights

LEAST_GM_M = 0.02
"""Below this metacentric height no heel is given: the formula for small angles has nothing to stand on."""
LEAST_EXPONENT = 1.0
VARIANTS = ((0.85, 0.7), (1.15, 1.4))
"""By how much the exponents n and p of the band's two variants differ (from memory)."""
TESTED_MM, TESTED_TRIM_MM = 5.0, 10.0
"""What a float test leaves open, either way (common practice, no source)."""
REFIT = (1.0, 40.0)
SLACK = 1e-9

Pair = tuple[float, float] | None


@dataclass(frozen=True)
class Waterline:
    """The water about one form: exponents, draft amidships [m], slopes aft and to starboard, GM [m].

    `tan_heel` is null where the form has not the stability to reckon a heel.
    """

    waterplane_exponent: float
    section_exponent: float
    draft_mid_m: float
    tan_trim: float
    tan_heel: float | None
    gm_m: float

    def level_m(self, length_m: float, x_m: float, y_m: float = 0.0) -> float:
        """Return the height of the water above the keel at a place [m], not clipped to the hull."""
        along = self.draft_mid_m + (x_m - length_m / 2) * self.tan_trim
        return along + y_m * (self.tan_heel or 0.0)


@dataclass(frozen=True)
class Band:
    """Least and greatest of a figure [mm]; null where a variant does not fit or lacks stability."""

    draft_mid_mm: Pair = None
    trim_mm: Pair = None
    freeboard_mm: Pair = None
    deck_freeboard_mm: Pair = None


@dataclass(frozen=True)
class Flotation:
    """How the laden hull floats. Where it does not fit, all but `fits` and the greatest load is null.

    Drafts, trim (stern down), freeboards, KB, BM and GM [mm]; heel, starboard down [deg]; immersion [kg/cm].
    `waterlines` are the waters of the form and of those of its variants that float with stability, the form first;
    `margin_mm` is how much higher the water may stand (float test). `volume_error` is rho V / W - 1.
    """

    fits: bool
    greatest_load_kg: float
    draft_mid_mm: float | None = None
    draft_bow_mm: float | None = None
    draft_stern_mm: float | None = None
    trim_mm: float | None = None
    heel_deg: float | None = None
    gm_mm: float | None = None
    immersion_kg_per_cm: float | None = None
    freeboard_mm: float | None = None
    deck_freeboard_mm: float | None = None
    kb_mm: float | None = None
    bm_mm: float | None = None
    band: Band = Band()
    tan_trim: float | None = None
    tan_heel: float | None = None
    waterplane_exponent: float = 0.0
    section_exponent: float = 0.0
    float_tested: bool = False
    volume_error: float | None = None
    arm_error_m: float | None = None
    waterlines: tuple[Waterline, ...] = ()
    margin_mm: float = 0.0
    variants_fit: bool = True
    variants_stable: bool = True


def float_hull(sheet: BuildSheet, weights: Weights, *, trial: bool = False) -> Flotation:
    """Return how the hull of a sheet floats with all that is aboard.

    rho V = W [kg] and (x_B - x_G) + (z_B - z_G) tan(theta) = 0 on z_w(x) = T + (x - L/2) tan(theta); GM = KB + BM - KG;
    tan(phi) = sum(m y) / (W GM) where GM > 0.02 m. Raises `Unusable` where no section exponent meets the float test.
    For a `trial` of a mend the greatest load is not looked for: 0.

    References: hydrostatics, general physics; `hullform` for the hull; band and float test, common practice, no source.
    """
    hull = sheet.hull
    forms = forms_of(sheet)
    cases = len(forms.n)
    at = [np.full(cases, weights.cog_m[axis]) for axis in (0, 2)]
    found = float_cases(forms, np.full(cases, weights.displacement_kg / density(sheet)), at[0], at[1])
    bare = Flotation(
        fits=bool(found.fits[0]),
        greatest_load_kg=0.0 if trial else greatest_load_kg(sheet, weights, forms),
        waterplane_exponent=float(forms.n[0]),
        section_exponent=float(forms.p[0]),
        float_tested=hull.float_test is not None,
    )
    return floating(sheet, weights, forms, found, bare) if bare.fits else bare


def floating(sheet: BuildSheet, weights: Weights, forms: Forms, found: Floating, bare: Flotation) -> Flotation:
    """Return the figures of a hull that floats, `bare` with all of them filled in."""
    hull, tested, all_fit = sheet.hull, bare.float_tested, bool(np.all(found.fits))
    figures = forms.hydrostatics(found.draft_mid_m, found.tan_trim)
    waters = waterlines_of(forms, found, figures, np.tile(weights.cog_m, (len(forms.n), 1)))
    afloat = [water for water, fits in zip(waters, found.fits, strict=True) if fits]
    judged = [water for i, water in enumerate(afloat) if i == 0 or water.tan_heel is not None]
    return replace(
        bare,
        immersion_kg_per_cm=density(sheet) * float(figures.waterplane_m2[0]) * 0.01,
        kb_mm=1000 * float(figures.centre_z_m[0]),
        bm_mm=1000 * float(figures.inertia_m4[0] / figures.volume_m3[0]),
        gm_mm=1000 * waters[0].gm_m,
        **figures_at(hull, waters[0]),
        band=tested_band(hull, waters[0]) if tested else variant_band(hull, waters, all_fit),
        volume_error=float(found.volume_error[0]),
        arm_error_m=float(found.arm_error_m[0]),
        waterlines=tuple(judged),
        margin_mm=TESTED_MM if tested else 0.0,
        variants_fit=all_fit,
        variants_stable=all(water.tan_heel is not None for water in afloat),
    )


@cache
def densities() -> dict[str, float]:
    """Return the densities of fresh and sea water [kg/m3]."""
    return {row["water"]: float(row["density_kg_per_m3"]) for row in rows_of("water_density")}


def density(sheet: BuildSheet) -> float:
    return densities()[sheet.water]


def forms_of(sheet: BuildSheet) -> Forms:
    """Return the form of a sheet's hull and, without a float test, its two variants; the form first."""
    hull = sheet.hull
    n, p = hull.waterplane_exponent, hull.section_exponent
    pairs = [(n, p)]
    if hull.float_test:
        pairs = [(n, section_exponent_of(hull, density(sheet)))]
    else:
        pairs += [(max(LEAST_EXPONENT, by_n * n), max(LEAST_EXPONENT, by_p * p)) for by_n, by_p in VARIANTS]
    exponents = np.array(pairs, dtype=float)
    return Forms(hull.length_m, hull.beam_m, hull.depth_m, exponents[:, 0], exponents[:, 1])


def section_exponent_of(hull: Hull, density_kg_per_m3: float) -> float:
    """Return the section exponent p that meets the float test, by bisection on 1..40.

    At the tested draft, level, the hull displaces its own mass and the load aboard, in the water of the sheet: no other
    is recorded, and a boat tested in fresh water then floats no deeper in the sea than is said. Raises `Unusable` with
    the drafts that can be reached where p would have to lie outside.

    References: hydrostatics, general physics; the range of p, common practice, no source.
    """
    assert hull.float_test
    draft_m, path = hull.float_test.draft_mid_m, "hull.float_test.draft_mid_m"
    plane = float(
        Forms(hull.length_m, hull.beam_m, hull.depth_m, np.array([hull.waterplane_exponent]), np.ones(1)).waterplane[0]
    )
    volume_m3 = (hull.mass_kg + hull.float_test.load_kg) / density_kg_per_m3
    wanted = volume_m3 / (hull.length_m * hull.beam_m * hull.depth_m * plane)
    deepest, shallowest = (level_holding(wanted, p) * hull.depth_m for p in REFIT)
    if shallowest > hull.depth_m:
        message = f"does not go with {hull.float_test.load_kg:g} kg aboard: no hull of these dimensions floats it"
        raise Unusable([Problem(path, f"{message}; accepted: less load, or a draft of a hull that carries it")])
    deepest = min(deepest, hull.depth_m)
    if not shallowest * (1 - SLACK) <= draft_m <= deepest * (1 + SLACK):
        reach = f"from {math.ceil(1e4 * shallowest) / 1e4:.4f} to {math.floor(1e4 * deepest) / 1e4:.4f}"
        message = f"is {draft_m:g}; accepted for these dimensions and {hull.float_test.load_kg:g} kg aboard: {reach}"
        raise Unusable([Problem(path, message)])
    low, high = REFIT
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if unit_area(draft_m / hull.depth_m, middle) < wanted else (low, middle)
    return (low + high) / 2


def unit_area(level: float, p: float) -> float:
    """Return the area of the unit section up to a level, a share of the depth: u - (1 - (1-u)^(p+1)) / (p+1)."""
    u = min(level, 1.0)
    return float(u - (1 - (1 - u) ** (p + 1)) / (p + 1))


def level_holding(area: float, p: float) -> float:
    """Return the level at which the unit section holds an area, above 1 where it never does."""
    if area > unit_area(1.0, p) * (1 + SLACK):
        return math.inf
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if unit_area(middle, p) < area else (low, middle)
    return (low + high) / 2


def greatest_load_kg(sheet: BuildSheet, weights: Weights, forms: Forms) -> float:
    """Return the greatest load that floats with this centre of gravity, on the basis of `load_kg`; at least 0 [kg]."""
    hull, (x, _, z) = sheet.hull, weights.cog_m
    form = forms.only([0])
    case = as_cases(form, np.ones(1), np.array([x]), np.array([z]))
    share = greatest_share(form, float(case.s_g[0]), float(case.u_g[0]), case.stiffness)
    most_kg = share * form.block_m3 * density(sheet)
    return max(0.0, most_kg if hull.rating_includes_hull else most_kg - hull.mass_kg)


def waterlines_of(forms: Forms, found: Floating, figures: Hydrostatics, cog_m: Array) -> list[Waterline]:
    """Return the water about each case, one that does not fit among them.

    Parameters: cog_m, centres of gravity (x, y, z) of shape (cases, 3) [m]. tan(phi) = y_G / GM.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        gm: Array = figures.centre_z_m + figures.inertia_m4 / figures.volume_m3 - cog_m[:, 2]
    return [
        Waterline(
            waterplane_exponent=float(forms.n[i]),
            section_exponent=float(forms.p[i]),
            draft_mid_m=float(found.draft_mid_m[i]),
            tan_trim=float(found.tan_trim[i]),
            tan_heel=float(cog_m[i, 1] / gm[i]) if gm[i] > LEAST_GM_M else None,
            gm_m=float(gm[i]),
        )
        for i in range(len(forms.n))
    ]


def figures_at(hull: Hull, water: Waterline) -> dict[str, Any]:
    """Return drafts, trim, heel and freeboards of a hull at a waterline, by their names in the estimate."""
    bow, stern = (1000 * water.level_m(hull.length_m, x) for x in (0.0, hull.length_m))
    return {
        "draft_mid_mm": 1000 * water.draft_mid_m,
        "draft_bow_mm": bow,
        "draft_stern_mm": stern,
        "trim_mm": trim_mm(hull, water),
        "heel_deg": heel_deg(water),
        "freeboard_mm": 1000 * freeboard_m(hull, water),
        "deck_freeboard_mm": deck_freeboard_mm(hull, water),
        "tan_trim": water.tan_trim,
        "tan_heel": water.tan_heel,
    }


def trim_mm(hull: Hull, water: Waterline) -> float:
    return 1000 * hull.length_m * water.tan_trim


def heel_deg(water: Waterline) -> float | None:
    return None if water.tan_heel is None else math.degrees(math.atan(water.tan_heel))


def freeboard_m(hull: Hull, water: Waterline) -> float:
    """Return the least height of the gunwale above the water over the whole length [m].

    least over 0 <= x <= L of D - z_w(x) - (B/2) f(x) |tan phi|. With r the distance from amidships as a share of half
    the length, towards the deeper end, that is D - T - c - a r + c r^n, c = (B/2) |tan phi|, a = (L/2) |tan theta|:
    least at an end, amidships, or where its slope is nil, r = (a / (c n))^(1/(n-1)).
    """
    n = water.waterplane_exponent
    c = hull.beam_m / 2 * abs(water.tan_heel or 0.0)
    a = hull.length_m / 2 * abs(water.tan_trim)
    places = [0.0, 1.0]
    if 0 < a < c * n and n > 1:
        places.append((a / (c * n)) ** (1 / (n - 1)))
    least: float = min(c * r**n - a * r for r in places)
    return hull.depth_m - water.draft_mid_m - c + least


def deck_freeboard_mm(hull: Hull, water: Waterline) -> float | None:
    """Return the least height of a self-draining floor above the water at its edges [mm], null without such a floor."""
    heights = [
        station.z_m - water.level_m(hull.length_m, station.x_m, station.y_m + side * station.well_half_width_m)
        for station in hull.stations
        if station.well_half_width_m is not None
        for side in (-1, 1)
    ]
    return 1000 * min(heights) if heights else None


def variant_band(hull: Hull, waters: Sequence[Waterline], all_fit: bool) -> Band:
    """Return the band of a form and its variants: least and greatest of each figure."""
    if not all_fit:
        return Band()
    drafts, trims = [1000 * water.draft_mid_m for water in waters], [trim_mm(hull, water) for water in waters]
    if any(water.tan_heel is None for water in waters):
        return Band(spread(drafts), spread(trims))
    floors = [deck_freeboard_mm(hull, water) for water in waters]
    return Band(
        spread(drafts),
        spread(trims),
        spread([1000 * freeboard_m(hull, water) for water in waters]),
        spread([floor for floor in floors if floor is not None]),
    )


def spread(figures: Sequence[float]) -> Pair:
    return (min(figures), max(figures)) if figures else None


def tested_band(hull: Hull, water: Waterline) -> Band:
    """Return the band after a float test: 5 mm either way on drafts and freeboards, 10 mm on the trim."""
    floor = deck_freeboard_mm(hull, water)
    return Band(
        about(1000 * water.draft_mid_m, TESTED_MM),
        about(trim_mm(hull, water), TESTED_TRIM_MM),
        about(1000 * freeboard_m(hull, water), TESTED_MM),
        None if floor is None else about(floor, TESTED_MM),
    )


def about(figure: float, by: float) -> tuple[float, float]:
    return figure - by, figure + by
