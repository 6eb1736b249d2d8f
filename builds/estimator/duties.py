"""Cautions that follow from what is on the ticket: who must know what, before drilling, charging, floating, driving."""

import math
import re
from collections.abc import Iterator, Mapping
from typing import Any

from .accessory import AccessoryType
from .cautions import CAUTION, NOTE, Caution
from .fitted import DRILLING, Fitted
from .pricing import unit_price
from .sheet import BuildSheet

# 33 CFR 181.25 (2015): maker's code, serial without I, O and Q, month A to L, year, model year; I only as the month.
HULL_NUMBER = re.compile(r"[A-HJ-Z0-9]{3}[A-HJ-NPR-Z0-9]{5}[A-L][0-9][0-9]{2}")
INSERT_TAG = "brass_inserts"
NO_REACH_MOUNTINGS = ("rivet", "well_nut")
OVERHUNG = {
    None: "the vehicle",
    "roof": "the vehicle, front and rear,",
    "truck_bed": "the truck bed",
    "trailer": "the trailer",
}
HATCHES = "hatches_and_deck"
HAND_MM = 100.0
"""The least opening that a hand and forearm go through [mm] (from memory)."""
ARM_M = 0.6
"""How far from a hatch a hand holds a nut [m] (from memory)."""


def cautions_of(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield the cautions that the contents of a sheet call for, lines first, then boat and use."""
    yield from reach_cautions(sheet, fitted)
    for one in fitted:
        yield from place_cautions(sheet, one)
    yield from unplaced(sheet, fitted)
    yield from work_cautions(fitted)
    yield from use_cautions(fitted)
    yield from hull_cautions(sheet)


def place_cautions(sheet: BuildSheet, one: Fitted) -> Iterator[Caution]:
    """Yield what is wrong with a line on this craft, at this place, with this mounting."""
    name, hull = one.kind.name, sheet.hull
    if hull.craft not in one.kind.craft:
        fits = ", ".join(craft.replace("_", " ") for craft in one.kind.craft)
        yield Caution(
            "craft_mismatch",
            CAUTION,
            f"{name} is not made for a {hull.craft.replace('_', ' ')}. It suits: {fits}.",
            {},
            "catalogue",
            ({"do": "remove", "line": one.id},),
            one.id,
        )
    if not one.is_new:
        return
    if one.drills and not one.kind.openings:
        yield Caution(
            "pattern_unknown",
            CAUTION,
            f"The hole pattern of {name} is not in the catalogue. Measure the part in hand before anything is drilled.",
            {},
            "common_practice",
            tuple(remount(one, mounting) for mounting in one.kind.mountings if mounting not in DRILLING),
            one.id,
        )
    if one.mounting == "brass_insert" and not any(tag.startswith(INSERT_TAG) for tag in hull.provides):
        yield unavailable(one, "sound brass inserts")
    if one.mounting == "scupper" and "scupper_recess" not in hull.provides:
        yield unavailable(one, "a scupper with a recess")


def remount(one: Fitted, mounting: str) -> dict[str, str]:
    return {"do": "remount", "line": one.id, "mounting": mounting}


def is_access_hatch(kind: AccessoryType) -> bool:
    """Return whether a hand goes through what a type opens."""
    cut = [opening for opening in kind.openings if not opening.is_fastener]
    return kind.category == HATCHES and any(min(opening.size_mm) >= HAND_MM for opening in cut)


def bolted_blind(one: Fitted) -> bool:
    """Return whether a new line is bolted at a station where no hand reaches behind."""
    return one.is_new and one.mounting == "through_bolt" and one.station is not None and not one.station.hand_reach


def reach_cautions(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield a caution for each bolt where no hand reaches behind, unless a hatch on the ticket is an arm away."""
    blind = [one for one in fitted if bolted_blind(one)]
    if not blind:
        return
    hatches = {one.point_m for one in fitted if is_access_hatch(one.kind)}
    offered = cheapest_hatch(sheet)
    for one in blind:
        if not any(math.dist(one.point_m, hatch) <= ARM_M for hatch in hatches):
            yield no_reach(sheet, one, offered)


def no_reach(sheet: BuildSheet, one: Fitted, offered: AccessoryType | None) -> Caution:
    """Return the caution for a bolt where no hand reaches behind, with what would mend it.

    Rivet or well nut where the type takes them, the nearest place with reach, the cheapest access hatch beside it.
    """
    assert one.station is not None
    mends: list[Mapping[str, Any]] = [remount(one, m) for m in NO_REACH_MOUNTINGS if m in one.kind.mountings]
    reachable = [place for place in sheet.hull.stations if place.hand_reach and place.surface == one.station.surface]
    reachable.sort(key=lambda place: abs(place.x_m - one.point_m[0]))
    mends += [{"do": "move", "line": one.id, "station": place.id} for place in reachable[:1]]
    figures = {}
    if offered:
        mends.append({"do": "add", "accessory": offered.id, "station": beside(sheet, one), "for": one.id})
        figures = {
            "hatch": offered.id,
            "hatch_price": unit_price(offered, sheet.shop),
            "hatch_minutes": offered.labour.likely_min,
        }
    return Caution(
        "no_hand_reach",
        CAUTION,
        f"{one.kind.name} is bolted at “{one.station.name}”, where no hand reaches behind for washer and nut. Rivet or "
        "well nut for light loads, another place, or an access hatch.",
        figures,
        "common_practice",
        tuple(mends),
        one.id,
    )


def cheapest_hatch(sheet: BuildSheet) -> AccessoryType | None:
    """Return the access hatch of the catalogue that suits the craft and costs least."""
    hatches = [kind for kind in sheet.accessories.values() if is_access_hatch(kind) and sheet.hull.craft in kind.craft]
    return min(hatches, key=lambda kind: (unit_price(kind, sheet.shop) or 0, kind.id), default=None)


def beside(sheet: BuildSheet, one: Fitted) -> str | None:
    """Return the nearest other deck station within an arm's length, else the line's own."""
    near = [
        (math.dist(place.point_m, one.point_m), place.id)
        for place in sheet.hull.stations
        if place.surface == "deck" and place is not one.station and math.dist(place.point_m, one.point_m) <= ARM_M
    ]
    return min(near)[1] if near else one.line.station


def unplaced(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield a note where weights, runs and heights are reckoned without a place."""
    lines = [one.id for one in fitted if one.line.station is None]
    if not sheet.hull.stations:
        sentence = "No stations are recorded on this boat. All that is fitted is reckoned amidships at half depth."
        yield Caution("no_station", NOTE, sentence, {"lines": lines}, "sheet")
    elif lines:
        many = "One part has" if len(lines) == 1 else f"{len(lines)} parts have"
        sentence = f"{many} no place yet. Weight, runs and heights are reckoned amidships at half depth."
        yield Caution("no_station", NOTE, sentence, {"lines": lines}, "sheet", (), lines[0])


def unavailable(one: Fitted, what: str) -> Caution:
    others = [mounting for mounting in one.kind.mountings if mounting != one.mounting]
    return Caution(
        "mounting_unavailable",
        CAUTION,
        f"{one.kind.name} is to sit on {what}, and none is recorded on this boat.",
        {},
        "common_practice",
        tuple(remount(one, mounting) for mounting in others),
        one.id,
    )


def work_cautions(fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield cautions for the bench and for what the customer brings."""
    own = [one for one in fitted if one.line.supplied_by == "customer"]
    if own:
        yield Caution(
            "customer_parts",
            CAUTION,
            "The customer brings parts. They are bench-tested before anything is drilled; labour only, no warranty on "
            "the part.",
            {"lines": [one.id for one in own]},
        )
    inserted = [one for one in fitted if one.is_new and one.mounting == "brass_insert"]
    if inserted:
        yield Caution(
            "insert_torque",
            CAUTION,
            "Brass inserts turn in the plastic when overtightened. Start and tighten by hand, the bolt length gauged.",
            {"lines": [one.id for one in inserted]},
        )
    cure_h = max((one.cure_h for one in fitted), default=0.0)
    if cure_h > 0 or any(one.is_new and one.mounting == "adhesive" for one in fitted):
        until = f"before {cure_h:g} h of cure after the last bed" if cure_h else "before the adhesive has cured"
        yield Caution(
            "cure_before_float",
            CAUTION,
            f"Not afloat {until}. The maker's time for sealant or adhesive goes first.",
            {"cure_h": cure_h},
        )
    if any(one.kind.load and one.is_new for one in fitted):
        yield Caution(
            "connector_care",
            NOTE,
            "Connectors are greased, pushed fully home, and looked at before each trip.",
        )


def use_cautions(fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield what the customer must know on the water and on the road."""
    if any(one.kind.load and one.kind.load.propulsion for one in fitted):
        yield Caution(
            "motor_duties",
            CAUTION,
            "With a motor the boat is power-driven: all-round white light and sidelights after dark, registration "
            "where the state asks it, a drive battery of its own. Local law decides.",
            {},
            "colregs_23",
        )
    if any(one.kind.category == "lights" for one in fitted):
        yield Caution(
            "lights_after_dark",
            CAUTION,
            "After dark a white light must be ready to show in time. Deck lights must not be mistaken for running "
            "lights nor weaken them, and no blue light may flash. Local law decides.",
            {},
            "colregs_25",
        )
    if any(one.kind.battery and one.kind.battery.chemistry == "lfp" for one in fitted):
        yield Caution(
            "lithium_care",
            CAUTION,
            "Lithium battery: charge it ashore, out of the boat, above 0 °C, with its own charger; strapped so that it "
            "moves less than 1 in. The battery maker's instructions go first.",
            {"charge_above_c": 0.0},
            "cfr_183_420",
        )


def hull_cautions(sheet: BuildSheet) -> Iterator[Caution]:
    """Yield what the boat itself calls for."""
    hull = sheet.hull
    if hull.old:
        yield Caution(
            "old_hull",
            CAUTION,
            "An old hull may crack at a new hole. Try the plastic first; the customer accepts the risk at the listed "
            "holes.",
        )
    if hull.float_test is None:
        yield Caution(
            "no_float_test",
            NOTE,
            "No float test is recorded. Draft, trim and heights above the water are estimates from main dimensions.",
            {},
            "from_memory",
        )
    number = (hull.hull_number or "").strip()
    if number and not HULL_NUMBER.fullmatch(number):
        yield Caution(
            "hull_number_malformed",
            CAUTION,
            f"“{number}” is no hull identification number: 12 characters, a serial without I, O and Q, a month letter "
            "A to L, then three digits. Read it off the boat again.",
            {},
            "cfr_181_25",
        )
    if sheet.people:
        yield Caution(
            "pfd_and_sound",
            NOTE,
            "One wearable personal flotation device for each person, and a means of making a sound signal.",
            {"people": len(sheet.people)},
            "cfr_175_15",
        )
    yield from road_cautions(sheet)


def road_cautions(sheet: BuildSheet) -> Iterator[Caution]:
    """Yield what a load that overhangs its vehicle is marked by; nothing for a boat that goes to the water by cart.

    References: 49 CFR 393.87 (2015), commercial vehicles; state law for cars.
    """
    transport = sheet.asked.transport if sheet.asked else None
    if transport == "cart":
        return
    yield Caution(
        "overhang",
        NOTE,
        f"What overhangs {OVERHUNG[transport]} is flagged or lit as the state asks; commercial vehicles by 49 CFR "
        "393.87.",
        {"length_m": sheet.hull.length_m},
        "cfr_393_87",
    )
