"""Cautions that follow from what is on the ticket: who must know what, before drilling, charging, floating, driving."""

import re
from collections.abc import Iterator

from .cautions import CAUTION, NOTE, Caution
from .fitted import Fitted
from .sheet import BuildSheet

# 33 CFR 181.25 (2015): maker's code, serial without I, O and Q, month A to L, year, model year.
HULL_NUMBER = re.compile(r"[A-Z0-9]{3}[A-HJ-NPR-Z0-9]{5}[A-L][0-9][0-9]{2}")
INSERT_TAGS = ("brass_inserts_bow", "brass_inserts_seat", "brass_inserts_stern")
HATCH_TAGS = ("hatch_bow", "hatch_centre", "hatch_tank")
NO_REACH_MOUNTINGS = ("rivet", "well_nut")
INSPECTION_HATCH = "inspection"


def cautions_of(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield the cautions that the contents of a sheet call for, lines first, then boat and use."""
    for one in fitted:
        yield from place_cautions(sheet, one)
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
    if one.line.station is None and one.kind.openings:
        yield Caution(
            "no_station",
            NOTE,
            f"{name} has no place yet. Weight and runs are reckoned amidships at half depth.",
            {},
            "sheet",
            (),
            one.id,
        )
    if one.mounting == "through_bolt" and one.station is not None and not one.station.hand_reach:
        yield no_reach(sheet, one)
    if one.drills and not one.kind.openings:
        yield Caution(
            "pattern_unknown",
            CAUTION,
            f"The hole pattern of {name} is not in the catalogue. Measure the part in hand before anything is drilled.",
            {},
            "common_practice",
            tuple(remount(one, mounting) for mounting in one.kind.mountings if mounting not in DRILLED_BLIND),
            one.id,
        )
    if one.mounting == "brass_insert" and not any(tag in hull.provides for tag in INSERT_TAGS):
        yield unavailable(one, "sound brass inserts")
    if one.mounting == "scupper" and "scupper_recess" not in hull.provides:
        yield unavailable(one, "a scupper with a recess")


DRILLED_BLIND = ("through_bolt", "rivet", "well_nut", "flush_cutout")


def remount(one: Fitted, mounting: str) -> dict[str, str]:
    return {"do": "remount", "line": one.id, "mounting": mounting}


def no_reach(sheet: BuildSheet, one: Fitted) -> Caution:
    """Return the caution for a bolt where no hand reaches behind, with what would mend it."""
    mends: list[dict[str, str]] = [remount(one, m) for m in NO_REACH_MOUNTINGS if m in one.kind.mountings]
    reachable = [
        station
        for station in sheet.hull.stations
        if station.hand_reach and station.surface == (one.station.surface if one.station else "deck")
    ]
    reachable.sort(key=lambda station: abs(station.x_m - one.point_m[0]))
    mends += [{"do": "move", "line": one.id, "station": station.id} for station in reachable[:1]]
    return Caution(
        "no_hand_reach",
        CAUTION,
        f"{one.kind.name} is bolted at “{one.station.name if one.station else ''}”, where no hand reaches behind for "
        "washer and nut. Rivet or well nut for light loads, another place, or an access hatch.",
        {},
        "common_practice",
        tuple(mends),
        one.id,
    )


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
    if cure_h > 0:
        yield Caution(
            "cure_before_float",
            CAUTION,
            f"Not afloat before {cure_h:g} h of cure after the last bed. The sealant maker's time goes first.",
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
    yield Caution(
        "overhang",
        NOTE,
        "What overhangs the vehicle is flagged or lit as the state asks; commercial vehicles by 49 CFR 393.87.",
        {"length_m": hull.length_m},
        "cfr_393_87",
    )
