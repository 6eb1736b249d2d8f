"""What floating calls for: cautions on load, floors near the water, heel, stability and tanks; the workings."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from .cautions import CAUTION, STOP, Caution
from .fitted import Fitted
from .flotation import LEAST_GM_M, REFIT, SLACK, TESTED_MM, VARIANTS, Flotation, density
from .sheet import BuildSheet, Station
from .weights import Weights
from .working import Working

LARGE_HEEL_DEG = 6.0
"""Beyond this heel the formula for small angles reads low (computed: 9.3 deg for an exact 10.2)."""
TANK_KG = 1.0
"""A tank that weighs this much more in use than dry holds water (from memory)."""
TANK_WORDS = frozenset(("tank", "ballast", "bladder"))
MORE = (1.0, 1.3, 2.0, 3.0)
"""Weight off shifts the trim as well: what is tried, as multiples of the plain answer."""
SAME_X_M = 0.15
MOVED = 3

Mends = tuple[Mapping[str, Any], ...]


def cautions_of(
    sheet: BuildSheet, fitted: tuple[Fitted, ...], weights: Weights, flotation: Flotation
) -> Iterator[Caution]:
    """Yield what the flotation of a sheet says to look out for."""
    if flotation.fits:
        yield from form_cautions(flotation)
        yield from floor_cautions(sheet, flotation)
        yield from heel_cautions(sheet, fitted, flotation)
    else:
        yield does_not_fit(weights, flotation)
    yield from tank_cautions(fitted)


def take_off(mass_kg: float) -> Mends:
    """Return mends that take kilograms off, rounded up to a tenth, the least first."""
    return tuple({"do": "remove_mass", "mass_kg": math.ceil(more * mass_kg * 10) / 10} for more in MORE)


def does_not_fit(weights: Weights, flotation: Flotation) -> Caution:
    most, load = flotation.greatest_load_kg, weights.load_kg
    over_kg = max(load - most, 0.0)
    figures = {"load_kg": load, "greatest_load_kg": most, "over_kg": over_kg}
    begins = f"With {load:.0f} kg aboard the water comes over the gunwale."
    if most <= 0 or over_kg <= 0:
        sentence = f"{begins} The weight lies too far from the middle to float so: move it towards the middle."
        return Caution("does_not_fit", STOP, sentence, figures, "archimedes")
    sentence = (
        f"{begins} Placed like this, {most:.0f} kg is the most that floats: take {over_kg:.1f} kg off or move weight "
        "towards the middle."
    )
    return Caution("does_not_fit", STOP, sentence, figures, "archimedes", take_off(over_kg))


def form_cautions(flotation: Flotation) -> Iterator[Caution]:
    """Yield what follows where a variant of the form does not carry the load, or one lacks stability."""
    if not flotation.variants_fit:
        yield Caution(
            "may_not_fit",
            CAUTION,
            "She floats by the recorded form, but not by a finer or fuller one of the same dimensions. Take weight "
            "off, or make a float test.",
            {"strong": True},
            "from_memory",
        )
    assert flotation.gm_mm is not None
    if flotation.tan_heel is None or not flotation.variants_stable:
        which = "" if flotation.tan_heel is None else ", and by a finer or fuller form it may be under 20 mm"
        yield Caution(
            "stability_low",
            CAUTION,
            f"The metacentric height is {flotation.gm_mm:.0f} mm{which}: she rolls easily. Carry weight lower, and try "
            "her in shallow water with help at hand. The boat maker's instructions go first.",
            {"gm_mm": flotation.gm_mm, "least_gm_mm": 1000 * LEAST_GM_M, "strong": flotation.tan_heel is None},
            "archimedes",
        )


def floor_cautions(sheet: BuildSheet, flotation: Flotation) -> Iterator[Caution]:
    """Yield a caution where a self-draining floor is under the water or near it."""
    floor, limit = flotation.deck_freeboard_mm, sheet.shop.deck_freeboard_caution_mm
    if floor is None or floor >= limit * (1 - SLACK):
        return
    assert flotation.immersion_kg_per_cm is not None
    figures = {"deck_freeboard_mm": floor, "caution_mm": limit, "band_mm": flotation.band.deck_freeboard_mm}
    off = take_off(flotation.immersion_kg_per_cm * (max(limit, 0.0) - floor) / 10)
    if floor < 0:
        sentence = (
            f"The floor that drains itself lies {-floor:.0f} mm under the water: it floods through the scuppers. Take "
            "weight off, move it, or carry scupper plugs as the boat maker says."
        )
        under = take_off(flotation.immersion_kg_per_cm * -floor / 10)
        yield Caution("deck_awash", CAUTION, sentence, {**figures, "strong": True}, "archimedes", under)
        return
    sentence = (
        f"The floor that drains itself stands {floor:.0f} mm above the water; the shop asks for {limit:g} mm. Waves "
        "and moving about bring it under."
    )
    yield Caution("deck_low", CAUTION, sentence, figures, "shop_policy", off)


def heel_cautions(sheet: BuildSheet, fitted: tuple[Fitted, ...], flotation: Flotation) -> Iterator[Caution]:
    """Yield a caution where she lists further than the formula for small angles holds."""
    heel, least = flotation.heel_deg, flotation.freeboard_mm
    if heel is not None and least is not None:
        yield from gunwale_cautions(sheet, fitted, flotation, heel, least)
    if heel is None or abs(heel) <= LARGE_HEEL_DEG * (1 + SLACK):
        return
    side = "starboard" if heel > 0 else "port"
    yield Caution(
        "heel_large",
        CAUTION,
        f"She lists at least {abs(heel):.1f}° to {side}: beyond {LARGE_HEEL_DEG:g}° the figure reads low, and the "
        f"freeboard of {least:.0f} mm is then the most there is. Move weight to the other side.",
        {"heel_deg": heel, "limit_deg": LARGE_HEEL_DEG},
        "archimedes",
        tuple(levelling(sheet, fitted, heel)),
    )


def gunwale_cautions(
    sheet: BuildSheet, fitted: tuple[Fitted, ...], flotation: Flotation, heel_deg: float, freeboard_mm: float
) -> Iterator[Caution]:
    """Yield a caution where her list brings the gunwale to the water, on the worst of the band."""
    band = flotation.band.freeboard_mm
    least = band[0] if band else freeboard_mm
    if least < 0:
        yield Caution(
            "gunwale_awash",
            CAUTION,
            f"Her list may bring the gunwale {-least:.0f} mm under the water on the low side: an open boat fills. Move "
            "weight to the other side or take it off.",
            {"freeboard_mm": freeboard_mm, "band_mm": band, "strong": True},
            "archimedes",
            tuple(levelling(sheet, fitted, heel_deg)),
        )


def levelling(sheet: BuildSheet, fitted: tuple[Fitted, ...], heel_deg: float) -> Iterator[Mapping[str, Any]]:
    """Yield moves of the lines that heel her most, to the same place on the other side or to the centreline."""
    lever = {one.id: one.quantity * one.kind.in_use_kg * one.point_m[1] * math.copysign(1, heel_deg) for one in fitted}
    heaviest = sorted((one for one in fitted if lever[one.id] > 0 and one.is_new), key=lambda one: -lever[one.id])
    for one in heaviest[:MOVED]:
        for station in places_across(sheet, one)[:2]:
            yield {"do": "move", "line": one.id, "station": station.id}


def places_across(sheet: BuildSheet, one: Fitted) -> list[Station]:
    """Return places of the line's surface on the other side or the centreline, the mirrored place first."""
    x, y, _ = one.point_m
    here = one.station
    places = [
        station
        for station in sheet.hull.stations
        if here is not None
        and station.surface == here.surface
        and station.y_m * y <= 0
        and (station.holds_battery or not one.kind.battery)
    ]
    return sorted(places, key=lambda s: (abs(s.x_m - x) > SAME_X_M, abs(s.y_m + y), abs(s.x_m - x)))


def tank_cautions(fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield a caution for each tank: its water runs to the low side, which is not in the metacentric height.

    A tank is what weighs more in use and either has a pump (it draws current) or is called one in its id; a crate or a
    bag is heavier in use too, and nothing in it runs.
    """
    for one in fitted:
        held_kg = one.kind.in_use_kg - one.kind.mass_kg
        is_tank = one.kind.load is not None or not TANK_WORDS.isdisjoint(one.kind.id.split("_"))
        if is_tank and held_kg > TANK_KG * (1 + SLACK):
            yield Caution(
                "free_surface",
                CAUTION,
                f"{one.kind.name} holds {held_kg:.0f} kg of water that runs to the low side: she is less stable than "
                "the metacentric height says. Keep it full or empty.",
                {"held_kg": held_kg},
                "archimedes",
                (),
                one.id,
            )


def workings_of(sheet: BuildSheet, weights: Weights, flotation: Flotation) -> Iterator[Working]:
    """Yield the working of each figure."""
    hull = sheet.hull
    form = {
        "length L [m]": hull.length_m,
        "beam B [m]": hull.beam_m,
        "depth D [m]": hull.depth_m,
        "waterplane exponent n": flotation.waterplane_exponent,
        "section exponent p": flotation.section_exponent,
    }
    load = {
        "displacement W [kg]": weights.displacement_kg,
        "centre of gravity x, y, z [m]": weights.cog_m,
        "water ρ [kg/m3]": density(sheet),
    }
    ways = ("archimedes", "wigley")
    if flotation.float_tested and hull.float_test:
        test = {"draft [m]": hull.float_test.draft_mid_m, "load aboard [kg]": hull.float_test.load_kg}
        formula = f"p at which the level hull displaces its own mass and the load, {REFIT[0]:g} to {REFIT[1]:g}"
        yield Working("flotation.section_exponent", formula, test, ("archimedes", "sheet"))
    gunwale = "greatest ρ V with the water nowhere above the gunwale, at this centre of gravity"
    yield Working("flotation.greatest_load_kg", gunwale, {**form, **load}, ways)
    if flotation.fits:
        yield from floating_workings(flotation, form, load)


def floating_workings(flotation: Flotation, form: Mapping[str, Any], load: Mapping[str, Any]) -> Iterator[Working]:
    """Yield the workings of a hull that floats."""
    ways = ("archimedes", "wigley")
    left = {"ρV/W − 1": flotation.volume_error, "lever left [m]": flotation.arm_error_m}
    balance = "ρ V = W and (x_B − x_G) + (z_B − z_G) tan θ = 0 on z_w = T + (x − L/2) tan θ; T is the draft amidships"
    yield Working("flotation.draft_mid_mm", balance, {**form, **load, **left}, ways)
    slope = {"tan θ": flotation.tan_trim}
    yield Working("flotation.draft_bow_mm", "T − (L/2) tan θ", slope, ways)
    yield Working("flotation.draft_stern_mm", "T + (L/2) tan θ", slope, ways)
    yield Working("flotation.trim_mm", "L tan θ, stern down", slope, ways)
    yield Working("flotation.kb_mm", "height of the centre of buoyancy above the keel", {}, ways)
    yield Working("flotation.bm_mm", "I ÷ V, I = ∫ (2/3) y³ dx over the waterplane", {}, ways)
    heights = {
        "KB [mm]": flotation.kb_mm,
        "BM [mm]": flotation.bm_mm,
        "KG [m]": load["centre of gravity x, y, z [m]"][2],
    }
    yield Working("flotation.gm_mm", "KB + BM − KG", heights, ways)
    heel = {"GM [mm]": flotation.gm_mm, "least GM [mm]": 1000 * LEAST_GM_M}
    yield Working("flotation.heel_deg", "tan φ = Σ m y ÷ (W GM), where GM is above the least", heel, ways)
    yield Working("flotation.immersion_kg_per_cm", "ρ × waterplane area × 0.01 m", {}, ways)
    yield Working(
        "flotation.freeboard_mm",
        "least of D − z_w(x) − (B/2) f(x) |tan φ| over the length",
        {**slope, "tan φ": flotation.tan_heel},
        ways,
    )
    yield Working("flotation.deck_freeboard_mm", "least of z − z_w(x) − y tan φ at the edges of the floor", {}, ways)
    tested = f"± {TESTED_MM:g} mm after a float test, the trim twice that"
    variants = " and ".join(f"({by_n:g} n, {by_p:g} p)" for by_n, by_p in VARIANTS)
    formula = tested if flotation.float_tested else f"least and greatest of the form and its variants {variants}"
    yield Working("flotation.band", formula, {}, ("from_memory",))
