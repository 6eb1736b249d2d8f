"""Two sheets compared in words, each difference with its price and minutes, so that all of them add up."""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from shop.money import minor_digits, round_money
from shop.units import METRIC, MINUS, format_mass, format_temperature, number

from .difference import Difference, Document, full, in_words, told
from .line_differences import Side, line_differences, sides_of
from .sheet import BuildSheet, Hull

__all__ = ["Difference", "compare", "in_words"]

SHARED = "set-up that lines share"
SHARED_AND_MORE = "set-up that lines share, and work that follows from the changes"
# What the customer does not see of the shop's rates.
UNSAID_RATES = ("labour_cost_per_h", "margin_floor", "consumables")
NOUGHT_MIN, NOUGHT_KG = 1e-9, 0.05


def compare(
    old_sheet: Document, old_estimate: Document, new_sheet: Document, new_estimate: Document, system: str = METRIC
) -> list[Difference]:
    """Return what differs between two sheets, in words; empty where nothing does.

    Parameters: build sheets with their accessories, shop operations and shop in them, and their estimates as
    `estimate.document` gives them; `system` says in which units the words speak (`shop.units`).

    Lines come first, matched by id, then operations, discount and fees, then boat, load, water, air, day plan, rates,
    answers. Then `shared`, the minutes that no line has by itself, and `rest`, the money that no line has by itself:
    prices [money] add up to the change of the total with tax, minutes [min] to the change of mean labour (within
    1e-9 a difference). No word names a person, a cost or a margin.

    Raises ValueError where the two are in different currencies.
    """
    was, now = old_estimate["price"], new_estimate["price"]
    if was["currency"] != now["currency"]:
        raise ValueError(f"two currencies cannot be compared: {was['currency']} and {now['currency']}")
    old, new = sides_of(old_sheet, old_estimate), sides_of(new_sheet, new_estimate)
    found = [
        *line_differences(old, new),
        *operation_differences(old_sheet, old_estimate, new_sheet, new_estimate),
        *money_differences(old_sheet, was, new_sheet, now),
        *other_differences(old_sheet, new_sheet, system),
    ]
    minutes = new_estimate["labour"]["mean_min"] - old_estimate["labour"]["mean_min"]
    shared = minutes - math.fsum(one.minutes for one in found)
    if abs(shared) > NOUGHT_MIN:
        found.append(Difference("shared", None, shared_words(old, new, found), minutes=shared))
    rest = Decimal(now["total"]) - Decimal(was["total"]) - sum((one.price for one in found), Decimal(0))
    if rest:
        has_discount = any(one.kind == "discount" for one in found)
        found.append(Difference("rest", None, rest_words(was, now, has_discount), rest))
    return found


def shared_words(old: Mapping[str, Side], new: Mapping[str, Side], found: Iterable[Difference]) -> str:
    """Return what the minutes of lines that stayed as they were come from: set-up alone, or their own work too."""
    named = {one.line for one in found}
    stayed = [key for key in old if key in new and key not in named]
    alone = all(math.isclose(old[key].plain_min, new[key].plain_min, abs_tol=NOUGHT_MIN) for key in stayed)
    return SHARED if alone else SHARED_AND_MORE


def rest_words(was: Document, now: Document, has_discount: bool) -> str:
    """Return which of the ticket's amounts changed that no line has by itself."""
    names = [name for name in ("labour", "consumables") if was[name] != now[name]]
    if was["discount"] != now["discount"] and not has_discount:
        names.append("discount")
    if was["tax"] != now["tax"]:
        names.append("tax")
    return " and ".join([part for part in (", ".join(names[:-1]), *names[-1:]) if part])


# Operations


def operation_differences(
    old_sheet: Document, old_estimate: Document, new_sheet: Document, new_estimate: Document
) -> Iterator[Difference]:
    """Yield each shop operation that was added, left out or is done more or less often, with its own minutes."""
    was, now = counted(old_sheet), counted(new_sheet)
    old_min, new_min = operation_minutes(old_sheet, old_estimate), operation_minutes(new_sheet, new_estimate)
    for key in dict.fromkeys((*was, *now)):
        if was[key] == now[key]:
            continue
        record = ((new_sheet if now[key] else old_sheet).get("shop_operations") or {}).get(key) or {}
        name = record.get("name") or key
        if not was[key] or not now[key]:
            times = was[key] or now[key]
            words = f"{name if times == 1 else f'{times} × {name}'} {'added' if now[key] else 'left out'}"
        else:
            words = f"{now[key]} of {name} instead of {was[key]}"
        yield Difference("operation", None, words, minutes=new_min.get(key, 0.0) - old_min.get(key, 0.0))


def counted(sheet: Document) -> Counter[str]:
    times: Counter[str] = Counter()
    for row in sheet.get("operations") or ():
        times[row["operation"]] += row.get("quantity", 1)
    return times


def operation_minutes(sheet: Document, estimate: Document) -> dict[str, float]:
    """Return the mean minutes of each billable operation: they stand after the minutes of the lines."""
    minutes: dict[str, float] = {}
    for worked in estimate["labour"]["lines"][len(sheet.get("lines") or ()) :]:
        minutes[worked["line"]] = minutes.get(worked["line"], 0.0) + worked["mean_min"]
    return minutes


# Discount and fees


def money_differences(old_sheet: Document, was: Document, new_sheet: Document, now: Document) -> Iterator[Difference]:
    """Yield another discount, with the change of its amount, and each fee that changed."""
    old, new = (Decimal((sheet.get("discount") or {}).get("fraction", "0")) for sheet in (old_sheet, new_sheet))
    if old != new:
        words = f"discount of {percent(new)} instead of {percent(old)}"
        if not old or not new:
            words = f"discount of {percent(old or new)} {'given' if new else 'left out'}"
        yield Difference("discount", None, words, Decimal(was["discount"]) - Decimal(now["discount"]))
    currency = now["currency"]
    yield from fee_differences(fees(old_sheet, currency), fees(new_sheet, currency), minor_digits(currency))


def percent(fraction: Decimal) -> str:
    return f"{(100 * fraction).normalize():f} %"


def fees(sheet: Document, currency: str) -> dict[str, Decimal]:
    """Return the fees of a sheet by name [money, minor unit], those of one name added."""
    amounts: dict[str, Decimal] = {}
    for fee in sheet.get("fees") or ():
        amounts[fee["name"]] = amounts.get(fee["name"], Decimal(0)) + round_money(Decimal(fee["amount"]), currency)
    return amounts


def fee_differences(was: Mapping[str, Decimal], now: Mapping[str, Decimal], digits: int) -> Iterator[Difference]:
    for name in dict.fromkeys((*was, *now)):
        if was.get(name) != now.get(name):
            words = f"fee “{name}” {'added' if name in now else 'left out'}"
            if name in was and name in now:
                shown = [number(float(amounts[name]), digits) for amounts in (now, was)]
                words = f"fee “{name}” of {shown[0]} instead of {shown[1]}"
            yield Difference("fee", None, words, now.get(name, Decimal(0)) - was.get(name, Decimal(0)))


# Boat, load, water, day, rates


def other_differences(old: Document, new: Document, system: str) -> Iterator[Difference]:
    """Yield what changed that has no price and no minutes of its own."""
    for kind, words in (
        ("boat", boat_words(old["hull"], new["hull"])),
        ("load", load_words(old, new, system)),
        ("water", water_words(old, new)),
        ("air", air_words(old, new, system)),
        ("day_plan", "day plan changed" if sheet_part(old, "day_plan") != sheet_part(new, "day_plan") else ""),
        ("rates", "the shop's rates or rules changed" if rates(old) != rates(new) else ""),
        ("asked", "answers of the customer changed" if told(old.get("asked")) != told(new.get("asked")) else ""),
    ):
        if words:
            yield Difference(kind, None, words)


def sheet_part(sheet: Document, name: str) -> Any:
    return full(BuildSheet, sheet)[name]


def boat_words(was: Document, now: Document) -> str:
    if was["name"] != now["name"]:
        return f"boat {now['name']} instead of {was['name']}"
    return "" if full(Hull, was) == full(Hull, now) else "boat recorded anew"


def load_words(old: Document, new: Document, system: str) -> str:
    """Return by how much people and kit together grew; nobody's own mass."""
    was, now = aboard(old), aboard(new)
    if was == now:
        return ""
    change_kg = math.fsum(mass for mass, _ in now) - math.fsum(mass for mass, _ in was)
    if abs(change_kg) < NOUGHT_KG:
        return "people and kit placed otherwise"
    return f"load changed by {MINUS if change_kg < 0 else '+'}{format_mass(abs(change_kg), system)}"


def aboard(sheet: Document) -> list[tuple[float, str | None]]:
    everyone = (*(sheet.get("people") or ()), *(sheet.get("gear") or ()))
    return [(item["mass_kg"], item.get("station")) for item in everyone]


def water_words(old: Document, new: Document) -> str:
    was, now = sheet_part(old, "water"), sheet_part(new, "water")
    return "" if was == now else f"{now} water instead of {was} water"


def air_words(old: Document, new: Document, system: str) -> str:
    was, now = (float(sheet_part(sheet, "air_temp_c")) for sheet in (old, new))
    return (
        "" if was == now else f"air at {format_temperature(now, system)} instead of {format_temperature(was, system)}"
    )


def rates(sheet: Document) -> dict[str, Any]:
    """Return what a customer may see of the shop's rates: no cost and no margin."""
    shop: Document = sheet.get("shop") or {}
    prices = {item: record["unit_price"] for item, record in (shop.get("consumables") or {}).items()}
    return {**{key: value for key, value in shop.items() if key not in UNSAID_RATES}, "prices": prices}
