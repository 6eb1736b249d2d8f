"""Weights: what is added, what floats, where its centre of gravity lies, and how much of the rating is used."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from .cautions import CAUTION, STOP, Caution
from .fitted import Fitted, Point, place_of
from .sheet import BuildSheet, Hull
from .working import Working

SEATED_COG_M = 0.25
"""A person's centre of gravity above the station where they sit [m] (from memory)."""
HULL_COG_SHARE = 0.4
"""A bare hull's centre of gravity above the keel as a share of its depth (from memory)."""
SLACK = 1e-9


@dataclass(frozen=True)
class Weights:
    """Masses [kg], the centre of gravity (x aft, y to starboard, z up) [m], the heeling moment [kg m].

    `capacity_used` is load / rating, null where no rating is recorded.
    """

    added_dry_kg: float
    added_in_use_kg: float
    displacement_kg: float
    load_kg: float
    capacity_used: float | None
    cog_m: Point
    moment_y_kg_m: float


def hull_cog_m(hull: Hull) -> Point:
    """Return the bare hull's centre of gravity [m]: recorded, else amidships at 0.4 of the depth (from memory)."""
    x = hull.length_m / 2 if hull.cog_x_m is None else hull.cog_x_m
    z = HULL_COG_SHARE * hull.depth_m if hull.cog_z_m is None else hull.cog_z_m
    return x, 0.0, z


def masses_of(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> Iterator[tuple[float, Point]]:
    """Yield every mass afloat [kg] with its place [m]: hull, people, gear, lines in use."""
    hull = sheet.hull
    yield hull.mass_kg, hull_cog_m(hull)
    for person in sheet.people:
        x, y, z = place_of(hull, person.station)
        yield person.mass_kg, (x, y, z + SEATED_COG_M)
    for item in sheet.gear:
        yield item.mass_kg, place_of(hull, item.station)
    for one in fitted:
        yield one.quantity * one.kind.in_use_kg, one.point_m


def weigh(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> Weights:
    """Return the weights of a sheet.

    W = hull + people + gear + lines in use [kg]; centre of gravity = sum(m r) / W [m]; load = W - hull, or W where
    the rating includes the hull; capacity used = load / rating.

    References: general physics; the share of the rating is compared with the shop's own limits (common practice, no
    source). 33 CFR 183 subpart C does not apply to canoes and kayaks (183.31).
    """
    hull = sheet.hull
    masses = list(masses_of(sheet, fitted))
    displacement = math.fsum(mass for mass, _ in masses)
    moments = [math.fsum(mass * at[axis] for mass, at in masses) for axis in range(3)]
    load = displacement if hull.rating_includes_hull else displacement - hull.mass_kg
    return Weights(
        added_dry_kg=math.fsum(one.quantity * one.kind.mass_kg for one in fitted),
        added_in_use_kg=math.fsum(one.quantity * one.kind.in_use_kg for one in fitted),
        displacement_kg=displacement,
        load_kg=load,
        capacity_used=None if hull.rated_load_kg is None else load / hull.rated_load_kg,
        cog_m=(moments[0] / displacement, moments[1] / displacement, moments[2] / displacement),
        moment_y_kg_m=moments[1],
    )


def cautions_of(sheet: BuildSheet, weights: Weights) -> Iterator[Caution]:
    """Yield what the load says of the maker's rating."""
    rated, shop = sheet.hull.rated_load_kg, sheet.shop
    used = weights.capacity_used
    if rated is None or used is None:
        yield Caution(
            "capacity_unknown",
            CAUTION,
            f"No rated load is recorded for this boat; {weights.load_kg:.0f} kg is aboard. Ask the maker. "
            "The shop never sets a rating.",
            {"load_kg": weights.load_kg},
            "common_practice",
        )
        return
    if used <= shop.capacity_caution * (1 + SLACK):
        return
    limit = 1.0 if used > 1 + SLACK else shop.capacity_strong if used > shop.capacity_strong * (1 + SLACK) else None
    over_kg = weights.load_kg - (limit or shop.capacity_caution) * rated
    figures = {"load_kg": weights.load_kg, "rated_load_kg": rated, "capacity_used": used, "over_kg": over_kg}
    take_off = ({"do": "remove_mass", "mass_kg": math.ceil(over_kg * 10) / 10},)
    if used > 1 + SLACK:
        sentence = (
            f"Loaded with {weights.load_kg:.0f} kg, over the maker's {rated:.0f} kg by {over_kg:.1f} kg. "
            "The shop never raises a rating. Take weight off or choose another boat."
        )
        yield Caution("capacity_exceeded", STOP, sentence, figures, "common_practice", take_off)
        return
    sentence = (
        f"Loaded with {weights.load_kg:.0f} kg of the {rated:.0f} kg that the maker allows: {used:.0%}. "
        f"{over_kg:.1f} kg less would be under {limit or shop.capacity_caution:.0%}."
    )
    strong = limit is not None
    yield Caution("capacity_high", CAUTION, sentence, {**figures, "strong": strong}, "shop_policy", take_off)


def workings_of(sheet: BuildSheet, weights: Weights) -> Iterator[Working]:
    """Yield the working of each figure."""
    hull = sheet.hull
    aboard = {
        "hull [kg]": hull.mass_kg,
        "people [kg]": math.fsum(person.mass_kg for person in sheet.people),
        "gear [kg]": math.fsum(item.mass_kg for item in sheet.gear),
        "parts in use [kg]": weights.added_in_use_kg,
    }
    yield Working("weights.added_dry_kg", "sum of quantity × dry mass", {}, ("catalogue",))
    yield Working("weights.added_in_use_kg", "sum of quantity × mass in use", {}, ("catalogue",))
    yield Working("weights.displacement_kg", "hull + people + gear + parts in use", aboard, ("sheet", "catalogue"))
    formula = "displacement" if hull.rating_includes_hull else "displacement − hull"
    inputs = {"displacement [kg]": weights.displacement_kg, "hull [kg]": hull.mass_kg}
    yield Working("weights.load_kg", formula, inputs, ("sheet",))
    rating = {"load [kg]": weights.load_kg, "rated load [kg]": hull.rated_load_kg}
    yield Working("weights.capacity_used", "load ÷ rated load", rating, ("common_practice", "cfr_183_31"))
    yield Working(
        "weights.cog_m",
        "sum of mass × place ÷ displacement",
        {"seated person above the station [m]": SEATED_COG_M, "bare hull above the keel [depth]": HULL_COG_SHARE},
        ("sheet", "from_memory"),
    )
