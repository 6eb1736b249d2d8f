"""One estimate as plain text for a terminal 80 columns wide; a section is there only when the estimate has it."""

import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from shop.units import MINUS, format_minutes, number

from .sheet import BuildSheet

WIDTH = 80
INDENT = "  "
MARKS = {"stop": "STOP", "caution": "CAUTION", "note": "Note"}

MENDS = {
    "add": "add {accessory}",
    "replace": "replace {line} with {accessory}",
    "remove": "leave out {line}",
    "move": "move {line} to {station}",
    "remount": "mount {line} by {mounting}",
    "remove_mass": "take off {mass_kg} kg",
    "direct": "fuse {line} at the battery",
    "feed_from": "feed {line} from {battery}",
    "split_circuit": "give {line} a circuit of its own",
    "set_price": "type a price for {line}",
    "set_cost": "type a cost for {line}",
    "raise_price": "charge {amount} more",
}
# No break between a number and its unit.
FIXED = "\u00a0"

Document = Mapping[str, Any]


def report(sheet: BuildSheet, estimate: Document) -> str:
    """Return the text of an estimate, ending in a line break.

    Parameters: the sheet, and its estimate as the JSON document that the contract describes. Names and units stand
    beside every figure; money in the sheet's currency. What the customer must not see stands last.
    """
    sections: list[tuple[str, Callable[[BuildSheet, Document], Iterator[str]], str]] = [
        (f"Price, {sheet.shop.currency}", price_rows, "price"),
        ("Stops, cautions, notes", caution_rows, "cautions"),
        ("Missing parts", missing_rows, "missing"),
        ("Lines", line_rows, ""),
        ("Weight", weight_rows, "weights"),
        ("On the water", flotation_rows, "flotation"),
        ("Openings", opening_rows, "openings"),
        ("Power", power_rows, "power"),
        ("Where the batteries could go", placement_rows, "placement"),
        ("Labour", labour_rows, "labour"),
        ("Order of work", order_rows, "labour"),
        ("Consumables", consumable_rows, "consumables"),
        ("Cable cut list", cut_rows, "cut_list"),
        ("Margin: not for the customer", margin_rows, "price"),
    ]
    rows = list(heading(sheet))
    for title, section, key in sections:
        if not key or estimate.get(key):
            body = list(section(sheet, estimate))
            if body:
                rows += ["", title.upper(), *body]
    return "".join(f"{plain(row)}\n" for row in rows)


# Layout


def plain(row: str) -> str:
    """Return a row without what no terminal should be sent; narrow and fixed spaces become spaces."""
    return "".join(char if char.isprintable() else " " for char in row).rstrip()


def pair(label: str, figure: str) -> str:
    """Return a label at the left and its figure at the right edge."""
    room = WIDTH - len(INDENT) - len(figure) - 2
    return f"{INDENT}{cut(label, room):<{room}}  {figure}"


def cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1] + "…"


def columns(cells: Sequence[tuple[str, int]]) -> str:
    """Return cells side by side; a width below 0 sets its cell to the right."""
    fitted = (
        f"{cut(text, -width):>{-width}}" if width < 0 else f"{cut(text, width):<{width}}" for text, width in cells
    )
    return INDENT + "  ".join(fitted)


def wrapped(text: str, first: str = INDENT, hang: str | None = None) -> list[str]:
    """Return a text wrapped to the width, `first` before its first row and spaces of that length before the others."""
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=" " * len(first) if hang is None else hang
    )


def money(amount: str | Decimal | None) -> str:
    """Return an amount with all its minor digits and its thousands parted."""
    if amount is None:
        return "not known"
    exact = Decimal(amount)
    return f"{MINUS if exact < 0 else ''}{abs(exact):,}"


def figure(value: float | None, digits: int, unit: str) -> str:
    return "not known" if value is None else f"{number(value, digits)}{FIXED}{unit}".rstrip()


def percent(fraction: float | None) -> str:
    return "not known" if fraction is None else f"{number(100 * fraction, 0)} %"


def named(sheet: BuildSheet, line_id: str | None) -> str:
    """Return a line as a person knows it: its place and its type's name."""
    line = sheet.line_by_id.get(line_id or "")
    if line is None:
        return line_id or ""
    return f"{sheet.place_by_id[line.id]} {sheet.type_of(line).name}"


# Sections


def heading(sheet: BuildSheet) -> Iterator[str]:
    hull = sheet.hull
    yield cut(" ".join(part for part in ("Estimate", sheet.ticket.number, sheet.ticket.title) if part), WIDTH)
    size = f"{figure(hull.length_m, 2, 'm')} long, {figure(hull.beam_m, 2, 'm')} wide, {figure(hull.mass_kg, 1, 'kg')}"
    yield from wrapped(f"{hull.name}: {hull.craft.replace('_', ' ')}, {hull.material}, {size}", "")


def price_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    price = estimate["price"]
    quoted = estimate.get("labour", {}).get("quoted_min")
    labels = {
        "parts": "Parts",
        "labour": "Labour" if quoted is None else f"Labour, {format_minutes(quoted)} quoted",
        "consumables": "Consumables",
        "fees": "Fees",
    }
    for kind, label in labels.items():
        if kind in ("parts", "labour") or Decimal(price[kind]):
            yield pair(label, money(price[kind]))
    if Decimal(price["discount"]):
        yield pair("Discount", f"{MINUS}{money(price['discount'])}")
    for kind, amount in price["tax"].items():
        if Decimal(amount):
            yield pair(f"Tax on {kind}", money(amount))
    yield pair("Total", money(price["total"]))
    yield pair("Deposit, paid on acceptance", money(price["deposit"]))


def line_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    amounts = {line["line"]: line for line in estimate.get("price", {}).get("lines", ())}
    for i, line in enumerate(sheet.lines, 1):
        station = sheet.hull.station_by_id.get(line.station or "")
        price = amounts.get(line.id)
        supplied = {"customer": "customer's own", "already_fitted": "already fitted"}.get(line.supplied_by)
        yield columns(
            [
                (str(i), -3),
                (sheet.type_of(line).name, 30),
                (f"× {line.quantity}", -5),
                (station.name if station else "no station", 18),
                (supplied or (money(price["amount"] if price["unit_price"] else None) if price else ""), -14),
            ]
        )


def caution_rows(sheet: BuildSheet, estimate: Document, staff_only: bool = False) -> Iterator[str]:
    for caution in estimate["cautions"]:
        if bool(caution["figures"].get("staff_only")) is staff_only:
            yield from wrapped(caution["sentence"], f"{INDENT}{MARKS[caution['severity']]:<9}")
            mend = mend_of(sheet, caution["mend"] or {})
            if mend:
                yield from wrapped(f"Mend: {mend}.", f"{INDENT}{'':<9}")


def mend_of(sheet: BuildSheet, mend: Mapping[str, Any]) -> str:
    """Return an act that clears a caution, in words; nothing where its words are not known here."""
    words = {name: str(value).replace("_", " ") for name, value in mend.items()}
    for name in ("line", "battery"):
        words[name] = named(sheet, mend.get(name))
    kind, station = (
        sheet.accessories.get(mend.get("accessory", "")),
        sheet.hull.station_by_id.get(mend.get("station", "")),
    )
    words |= {"accessory": kind.name if kind else "", "station": station.name if station else ""}
    return MENDS.get(mend.get("do", ""), "").format_map(words)


def missing_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    for gap in estimate["missing"]:
        word = "must have" if gap["strength"] == "must" else "usually has"
        yield from wrapped(f"{named(sheet, gap['line'])} {word}: {gap['why']}")
        for offer in gap["offers"]:
            kind = sheet.accessories.get(offer["accessory"])
            yield columns(
                [
                    ("", 2),
                    (kind.name if kind else offer["accessory"], 45),
                    (money(offer["price"]), -12),
                    (figure(offer["minutes"], 0, "min"), -10),
                ]
            )


def weight_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    weights = estimate["weights"]
    yield pair("Added, dry", figure(weights["added_dry_kg"], 1, "kg"))
    yield pair("Added, in use", figure(weights["added_in_use_kg"], 1, "kg"))
    yield pair("Hull, people, gear and what is added", figure(weights["displacement_kg"], 1, "kg"))
    basis = "with the hull" if sheet.hull.rating_includes_hull else "without the hull"
    yield pair(f"Load, {basis}", figure(weights["load_kg"], 1, "kg"))
    yield pair("Rated load", figure(sheet.hull.rated_load_kg, 0, "kg"))
    yield pair("Share of the rating used", percent(weights["capacity_used"]))
    for axis, value in zip(("aft of the bow tip", "to starboard", "above the keel"), weights["cog_m"], strict=True):
        yield pair(f"Centre of gravity, {axis}", figure(value, 3, "m"))


FLOTATION = {
    "draft_mid_mm": "Draft amidships",
    "draft_bow_mm": "Draft at the bow",
    "draft_stern_mm": "Draft at the stern",
    "trim_mm": "Trim, stern down",
    "freeboard_mm": "Freeboard, least",
    "deck_freeboard_mm": "Floor above water, least",
    "gm_mm": "Metacentric height GM",
}


def flotation_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    flotation = estimate["flotation"]
    if not flotation.get("fits", True):
        yield from wrapped("This hull does not carry this load within its depth.")
    for key, label in FLOTATION.items():
        if flotation.get(key) is not None:
            low_high = (flotation.get("band") or {}).get(key)
            between = f"{number(low_high[0], 0)} to {number(low_high[1], 0)} mm   " if low_high else ""
            yield pair(label, f"{between}{figure(flotation[key], 0, 'mm')}")
    if flotation.get("heel_deg") is not None:
        yield pair("Heel, starboard down", figure(flotation["heel_deg"], 1, "degrees"))
    if flotation.get("immersion_kg_per_cm") is not None:
        yield pair("Load for one centimetre more draft", figure(flotation["immersion_kg_per_cm"], 1, "kg"))
    yield pair("Greatest load that floats", figure(flotation.get("greatest_load_kg"), 0, "kg"))


def opening_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    for opening in estimate["openings"]:
        yield columns(
            [
                (opening["letter"], 3),
                (named(sheet, opening["line"]), 14),
                (f"x {figure(opening['x_mm'], 0, 'mm')}", -10),
                (f"y {figure(opening['y_mm'], 0, 'mm')}", -9),
                (opening["bit"] or opening["shape"], 24),
                (figure(opening["height_above_water_mm"], 0, "mm"), -8),
            ]
        )
    yield pair("Openings in all", str(estimate.get("opening_count", len(estimate["openings"]))))


def power_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    for system in estimate["power"]:
        yield from wrapped(f"{named(sheet, system['battery'])}, {system['role']} battery")
        yield pair("  Rated", f"{figure(system['rated_ah'], 0, 'Ah')} at {figure(system['system_v'], 0, 'V')}")
        yield pair("  Mean current over the plan", figure(system["mean_current_a"], 2, "A"))
        hours = system["hours_planned"]
        yield pair("  Hours to its usable depth", "no current" if hours is None else figure(hours, 1, "h"))
        yield pair("  Main fuse", figure(system["main_fuse_a"], 0, "A") if system["main_fuse_a"] else "none")
        for circuit in system["circuits"]:
            fuse = figure(circuit["fuse_a"], 1, "A").replace(".0 A", " A")
            colour = f", {circuit['fuse_colour']}" if circuit["fuse_colour"] else ""
            yield pair(f"  Circuit {circuit['circuit']}", f"fuse {fuse}{colour}")
            for leg in circuit["legs"]:
                drop = "no drop known" if leg["drop_fraction"] is None else f"{number(100 * leg['drop_fraction'], 1)} %"
                gauge = f"{leg['awg']} AWG" if leg["awg"] else "no conductor"
                yield columns(
                    [
                        ("", 2),
                        (named(sheet, leg["line"]), 34),
                        (gauge, -12),
                        (figure(leg["run_m"], 2, "m"), -8),
                        (drop, -12),
                    ]
                )


def placement_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    for placing in estimate["placement"]:
        yield from wrapped(named(sheet, placing["battery"]))
        for option in placing["options"]:
            station = sheet.hull.station_by_id.get(option["station"])
            best = "best" if option["station"] == placing["best"] else ""
            yield columns(
                [
                    ("", 2),
                    (station.name if station else option["station"], 32),
                    (f"trim {figure(option['trim_mm'], 0, 'mm')}", -14),
                    ("drops pass" if option["drops_pass"] else "drops too much", 14),
                    (best, 4),
                ]
            )


def labour_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    labour = estimate["labour"]
    yield pair("The lines by themselves, added", format_minutes(labour["plain_sum_min"]))
    yield pair("Set-up that they share", f"{MINUS}{format_minutes(labour['shared_setup_saved_min'])}")
    yield pair("Expected", format_minutes(labour["mean_min"]))
    yield pair("Half by", format_minutes(labour["p50_min"]))
    yield pair("8 in 10 by", format_minutes(labour["p80_min"]))
    yield pair("Quoted", format_minutes(labour["quoted_min"]))
    yield pair("Ready after, with cure", format_minutes(60 * labour["ready_h"]))


def order_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    for step in estimate["labour"].get("order", ()):
        place = sheet.place_by_id.get(step["line"])
        where = f"line {place}" if place else ""
        head = f"{INDENT}{step['n']:>3}  {step['phase']:<9}  {where:<8}  "
        minutes = figure(step["minutes"], 1, "min") if step["minutes"] < 1000 else format_minutes(step["minutes"])
        text = textwrap.wrap(step["text"], WIDTH - len(head) - 11) or [""]
        yield f"{head}{text[0]:<{WIDTH - len(head) - 11}} {minutes:>10}"
        yield from (" " * len(head) + row for row in text[1:])


def consumable_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    for line in estimate["consumables"]:
        digits = 0 if line["unit"] == "each" else 2
        quantity = figure(line["quantity"], digits, line["unit"])
        yield columns([(line.get("name", line["item"]), 46), (quantity, -14), (money(line["price"]), -12)])


def cut_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    for piece in estimate["cut_list"]:
        yield columns(
            [
                (piece["label"], 5),
                (f"{piece['awg']} AWG", 7),
                (piece["colour"], 5),
                (figure(piece["length_m"], 2, "m"), -8),
                (f"{cut(piece['from'], 20)} to {piece['to']}", 45),
            ]
        )


def margin_rows(sheet: BuildSheet, estimate: Document) -> Iterator[str]:
    price = estimate["price"]
    yield pair("Cost: parts, consumables, labour", money(price["cost"]))
    yield pair("Gross profit: revenue before tax − cost", money(price["gross_profit"]))
    yield pair("Margin: gross profit / revenue before tax", percent(price["margin"]))
    if "markup" in price:
        yield pair("Markup: gross profit / cost", percent(price["markup"]))
    yield from caution_rows(sheet, estimate, staff_only=True)
