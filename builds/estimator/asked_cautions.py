"""Cautions that follow from what the customer was asked: each holds an answer against what is on the ticket."""

import math
import re
from collections.abc import Iterator, Mapping
from typing import Any

from .accessory import AccessoryType
from .asked import Asked
from .cautions import CAUTION, NOTE, Caution
from .duties import INSERT_TAG
from .fitted import DRILLING, Fitted
from .openings import holes_of
from .requirements import Shelf, is_propulsion, supplied_by
from .sheet import BuildSheet
from .weights import Weights

# The catalogue tells lights apart by their names alone: a coloured sidelight, a deck strip and a flood light are none.
WHITE_LIGHT = re.compile(r"\b(all[- ]round|torch|lantern|flashlight)\b", re.IGNORECASE)
LIFT_KG = 23.0
"""The most that one person lifts at best [kg]: the load constant of the revised NIOSH lifting equation, 51 lb."""
LIFTED_ONTO = {"roof": "the roof", "truck_bed": "the truck bed", "cart": "the cart"}
COLD_STORAGE = ("outdoors", "shed")
TRACK_TAGS = ("track_slot", "strong_track", "factory_track")
QUOTED_AT_MOST, NAMED_AT_MOST = 80, 4
SLACK = 1e-9


def cautions_of(sheet: BuildSheet, fitted: tuple[Fitted, ...], weights: Weights) -> Iterator[Caution]:
    """Yield what the customer's answers call for; nothing where nobody was asked."""
    asked = sheet.asked
    if asked is None:
        return
    yield from dark_cautions(sheet, asked, fitted)
    yield from hole_cautions(sheet, asked, fitted)
    yield from motor_cautions(sheet, asked, fitted, weights)
    yield from lift_cautions(sheet, asked, fitted, weights)
    yield from battery_cautions(sheet, asked, fitted)
    yield from own_part_cautions(asked, fitted)


# In the dark


def is_white_light(kind: AccessoryType) -> bool:
    """Return whether a type is a white light to show to others: all-round, or a torch or lantern, by its name."""
    return kind.category == "lights" and WHITE_LIGHT.search(kind.name) is not None


def dark_cautions(sheet: BuildSheet, asked: Asked, fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield a caution where a trip goes into the dark and no line, old or new, is a white light.

    References: COLREGS Rule 25(d)(ii), 33 CFR 83.25(d)(ii): under oars a torch or lighted lantern ready to show in
    time; with a motor Rule 23(d).
    """
    if not asked.hours_dark or any(is_white_light(one.kind) for one in fitted):
        return
    driven = any(is_propulsion(one.kind) for one in fitted)
    needed = "With a motor it has to be lit." if driven else "Under paddle one must be ready to show in time."
    yield Caution(
        "dark_without_light",
        CAUTION,
        f"{asked.hours_dark:g} h of a trip are in the dark, and this boat has no all-round white light, torch or "
        f"lantern. {needed} Local law decides.",
        {"hours_dark": asked.hours_dark},
        "colregs_23" if driven else "colregs_25_ready",
        white_light(sheet, asked, fitted),
    )


def white_light(sheet: BuildSheet, asked: Asked, fitted: tuple[Fitted, ...]) -> tuple[Mapping[str, Any], ...]:
    """Return the act of adding the cheapest white light that suits the craft, with all that it needs in turn.

    Where the customer wants no holes, one that makes none goes first.
    """
    shelf, supplied = Shelf(sheet.accessories, sheet.hull.craft, sheet.shop), supplied_by(sheet, fitted)
    found = []
    for kind in sheet.accessories.values():
        if is_white_light(kind) and sheet.hull.craft in kind.craft:
            offer = shelf.offer(kind, supplied)
            drills = asked.holes == "none" and any(opening.made_with(kind.mountings[0]) for opening in kind.openings)
            found.append(((drills, offer.price, offer.minutes, kind.id), offer.brings))
    return tuple(
        {"do": "add", "accessory": key[-1], "brings": list(brings), "station": light_place(sheet, key[-1])}
        for key, brings in sorted(found)[:1]
    )


def light_place(sheet: BuildSheet, light: str) -> str | None:
    """Return the station farthest aft on deck, for a light that is bolted one with a hand's reach first.

    References: common practice, no source (abaft the paddler, whom it would blind).
    """
    bolted = sheet.accessories[light].mountings[0] == "through_bolt"
    decks = [station for station in sheet.hull.stations if station.surface == "deck" and not station.blind]
    best = max(decks, key=lambda station: (bolted and station.hand_reach, station.x_m), default=None)
    return best.id if best else None


# Holes


def hole_cautions(sheet: BuildSheet, asked: Asked, fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield what a customer who wants no holes, or few, has to know: how many there are and which lines make them.

    The count is that of the hole schedule: each unit of each new line, without what lies inside the boat. `unknown`
    are lines that drill by a pattern that the catalogue does not have.
    """
    if asked.holes not in ("none", "few"):
        return
    made: dict[str, int] = {}
    for hole in holes_of(sheet.hull, fitted):
        if hole.one.is_new:
            made[hole.one.id] = made.get(hole.one.id, 0) + hole.one.quantity
    unknown = [one.id for one in fitted if one.is_new and one.drills and not one.kind.openings and not is_inside(one)]
    drilling = [one for one in fitted if one.id in made or one.id in unknown]
    if not drilling:
        return
    count = sum(made.values())
    said = many(count, "new opening")
    if unknown:
        said = f"{said} and what {many(len(unknown), 'line')} of unknown pattern will need"
    figures = {"count": count, "lines": [one.id for one in drilling], "unknown": unknown}
    if asked.holes == "few":
        yield Caution("holes_unwanted", NOTE, f"Few holes are wanted; this ticket makes {said}.", figures, "sheet")
        return
    yield Caution(
        "holes_unwanted",
        CAUTION,
        f"No new holes are wanted; this ticket makes {said}: {named(drilling)}.",
        figures,
        "sheet",
        tuple(mend for one in drilling for mend in undrilled(sheet, fitted, one)),
    )


def is_inside(one: Fitted) -> bool:
    return one.station is not None and one.station.surface == "inside"


def many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def named(lines: list[Fitted]) -> str:
    names = list(dict.fromkeys(one.kind.name for one in lines))
    more = f" and {len(names) - NAMED_AT_MOST} more" if len(names) > NAMED_AT_MOST else ""
    return f"{'; '.join(names[:NAMED_AT_MOST])}{more}"


def undrilled(sheet: BuildSheet, fitted: tuple[Fitted, ...], one: Fitted) -> tuple[Mapping[str, Any], ...]:
    """Return the act of fixing a line by the first of its type's mountings that makes no hole and is to be had."""
    tags = {*sheet.hull.provides, *(tag for other in fitted for tag in other.kind.provides)}
    for mounting in one.kind.mountings:
        if not makes_hole(one.kind, mounting) and is_there(mounting, tags):
            return ({"do": "remount", "line": one.id, "mounting": mounting},)
    return ()


def makes_hole(kind: AccessoryType, mounting: str) -> bool:
    """Return whether a type fixed by this mounting makes an opening, or drills by a pattern that is not known."""
    unknown = mounting in DRILLING and not kind.openings
    return unknown or any(opening.made_with(mounting) for opening in kind.openings)


def is_there(mounting: str, tags: set[str]) -> bool:
    """Return whether boat and ticket have what a mounting sits on."""
    if mounting == "brass_insert":
        return any(tag.startswith(INSERT_TAG) for tag in tags)
    if mounting == "scupper":
        return "scupper_recess" in tags
    return mounting != "gear_track_t_bolt" or any(tag in tags for tag in TRACK_TAGS)


# A motor later


def motor_cautions(sheet: BuildSheet, asked: Asked, fitted: tuple[Fitted, ...], weights: Weights) -> Iterator[Caution]:
    """Yield what a motor brings when it comes later, and the load that is left for it: rating - load [kg]."""
    if asked.motor != "later" or any(is_propulsion(one.kind) for one in fitted):
        return
    rated = sheet.hull.rated_load_kg
    left_kg = None if rated is None else rated - weights.load_kg
    if left_kg is None:
        left = "No rated load is recorded: ask the maker what the boat may carry."
    elif left_kg > 0:
        left = f"{left_kg:.1f} kg of the maker's rating are left for both."
    else:
        left = "Nothing of the maker's rating is left for them."
    yield Caution(
        "motor_later",
        NOTE,
        "A motor is wanted later. It brings a drive battery of its own, lights after dark, and registration where the "
        f"state asks it. {left}",
        {"load_left_kg": left_kg},
        "cfr_173_11",
    )


# Lifting


def lift_cautions(sheet: BuildSheet, asked: Asked, fitted: tuple[Fitted, ...], weights: Weights) -> Iterator[Caution]:
    """Yield a caution where each of those who lift has more than 23 kg of the boat; one lifts where none is named.

    mass = hull + dry mass of all lines [kg]; each lifts mass / lifters.

    References: Waters et al., Ergonomics 36(7), 1993 and NIOSH publication 94-110, 1994: load constant 23 kg (51 lb),
    the most in the best posture; its wording from memory.
    """
    onto = LIFTED_ONTO.get(asked.transport or "")
    if onto is None:
        return
    lifters = asked.lifters or 1
    mass_kg = sheet.hull.mass_kg + weights.added_dry_kg
    bare_kg = mass_kg - math.fsum(one.quantity * one.kind.mass_kg for one in fitted if one.kind.battery)
    each_kg = mass_kg / lifters
    if each_kg <= LIFT_KG * (1 + SLACK):
        return
    needed = math.ceil(mass_kg / LIFT_KG * (1 - SLACK))
    aboard = f" with the batteries aboard, {bare_kg:.1f} kg without them" if bare_kg < mass_kg else ""
    yield Caution(
        "lift_heavy",
        CAUTION,
        f"Lifted onto {onto}: {mass_kg:.1f} kg{aboard}. That is {each_kg:.1f} kg for "
        f"{'one person' if lifters == 1 else f'each of {lifters}'}; {LIFT_KG:g} kg each is the most in the best "
        f"posture. It takes {needed}, or a lifting aid.",
        {
            "mass_kg": mass_kg,
            "mass_without_batteries_kg": bare_kg,
            "lifters": lifters,
            "each_kg": each_kg,
            "each_without_batteries_kg": bare_kg / lifters,
            "limit_kg": LIFT_KG,
            "lifters_needed": needed,
        },
        "niosh_lifting",
    )


# Batteries and parts that the customer has


def battery_cautions(sheet: BuildSheet, asked: Asked, fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield what storage in the cold asks of a lithium battery, and that the customer has one that is not listed."""
    batteries = [one for one in fitted if one.kind.battery]
    lithium = [one.id for one in batteries if one.kind.battery and one.kind.battery.chemistry == "lfp"]
    frost = asked.freezes is True or (asked.storage in COLD_STORAGE and sheet.air_temp_c < 0)
    if frost and lithium:
        yield Caution(
            "frost_battery",
            NOTE,
            "The boat is kept where it freezes. Take the lithium battery indoors between trips; a cold one warms "
            "through before it is charged.",
            {"lines": lithium, "charge_above_c": 0.0},
        )
    bought = [one.id for one in batteries if one.line.supplied_by == "shop"]
    if asked.battery_now in ("lead_acid", "lithium") and bought and len(bought) == len(batteries):
        what = "lead-acid" if asked.battery_now == "lead_acid" else "lithium"
        yield Caution(
            "battery_brought",
            NOTE,
            f"The customer has a {what} battery, and this ticket sells one. Test the customer's, and if it is sound "
            "put it on a line as the customer's own.",
            {"lines": bought},
            "sheet",
        )


def own_part_cautions(asked: Asked, fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield a note where the customer named own parts and no line is the customer's."""
    own = " ".join((asked.own_parts or "").split())
    if own and not any(one.line.supplied_by == "customer" for one in fitted):
        said = own if len(own) <= QUOTED_AT_MOST else own[: QUOTED_AT_MOST - 1] + "…"
        yield Caution(
            "own_parts_unlisted",
            NOTE,
            f"The customer has parts: “{said}”. No line of this ticket is the customer's own.",
            {},
            "sheet",
        )
