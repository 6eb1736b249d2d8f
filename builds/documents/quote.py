"""The quote: price and ready date first, then what is fitted, what to know, each opening, and the signature."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from shop.money import round_money
from shop.units import format_minutes

from .disclaimer import statement
from .facts import PaperFacts
from .figures import bound, currency_of, day, for_left_edge, for_right_edge, money, percent, weekday
from .parts import Part, parts_of
from .places import openings_of
from .warned import in_spite_of, warned_of

Document = Mapping[str, Any]
KINDS = ("parts", "labour", "consumables", "fees")
SUPPLIED = {"customer": "your own", "already_fitted": "on the boat"}
NOT_TO_EXCEED = "not_to_exceed"
FLOAT_TEST = "op_float_trim_test"
OFFERS_AT_MOST = 3


@dataclass(frozen=True)
class Row:
    """One line of what is fitted, or one charge."""

    number: int | None
    name: str
    where: str
    quantity: str
    each: str
    amount: str


@dataclass(frozen=True)
class Charge:
    name: str
    amount: str
    is_total: bool = False


def quote_context(facts: PaperFacts, sheet: Document, estimate: Document) -> dict[str, Any]:
    """Return what the quote's template shows. No cost and no margin is among it."""
    price, parts = estimate["price"], parts_of(sheet)
    currency = currency_of(sheet, estimate)
    openings, amounts = openings_of(estimate, parts), amounts_of(price)
    total = money(price["total"], currency)
    warned = in_spite_of(facts.override_reason, warned_of(estimate))
    return {
        "facts": facts,
        "left": for_left_edge(f"{facts.number or facts.ticket_number}  {facts.title}"),
        "right": for_right_edge(facts.boat_in_short),
        "foot": " ".join(foot_of(facts)),
        "total": total,
        "deposit": money(price["deposit"], currency) if Decimal(price["deposit"]) else "",
        "ready": weekday(facts.ready_on),
        "issued": day(facts.issued_at),
        "promise": promise_words(facts, price, currency),
        "valid": day(facts.valid_until),
        "currency": currency,
        "rows": [row_of(part, amounts.get(part.id)) for part in parts.values()],
        "charges": list(charges_of(sheet, estimate, currency)),
        "since": since_words(facts),
        "differences": [bound(sentence) for sentence in facts.differences],
        "stops": [one for one in warned if one.severity == "stop"],
        "warned": [one for one in warned if one.severity != "stop"],
        "left_out": list(left_out(sheet, estimate, parts, currency)),
        "openings": openings,
        "accept": f"I accept {facts.number or 'this quote'} for {total}, tax included.",
        "statement": statement(facts, sheet, estimate, openings),
    }


def promise_words(facts: PaperFacts, price: Document, currency: str) -> str:
    """Return what the quote promises about its price, by the shop's rule."""
    if facts.rule != NOT_TO_EXCEED and facts.most is not None and facts.most > Decimal(price["total"]):
        most = money(facts.most, currency)
        return f"Your yes covers the same work up to {most}, should it come to more; above that we ask first."
    return "This price is not exceeded without a new yes from you, written down as a change order."


def since_words(facts: PaperFacts) -> str:
    return f"What changed since version {facts.replaces}" if facts.replaces else "What changed since the version before"


def foot_of(facts: PaperFacts) -> Iterator[str]:
    quote = f"Quote {facts.number}" if facts.number else "Quote"
    issued = f", {day(facts.issued_at)}" if facts.issued_at else ""
    yield f"{quote}, ticket {facts.ticket_number}{issued}."
    if facts.valid_until:
        yield f"Good until {day(facts.valid_until)}."


def amounts_of(price: Document) -> dict[str, Document]:
    return {line["line"]: line for line in price.get("lines", ())}


def row_of(part: Part, amount: Document | None) -> Row:
    """Return one line with its amount; what the shop does not sell says whose it is."""
    supplied = SUPPLIED.get(part.supplied_by, "")
    each = amount.get("unit_price") if amount and not supplied else None
    if amount and each:
        return Row(part.number, part.name, part.where, str(part.quantity), money(each), money(amount["amount"]))
    return Row(
        part.number, part.name, part.where, str(part.quantity), "", supplied or ("no price yet" if amount else "")
    )


def charges_of(sheet: Document, estimate: Document, currency: str) -> Iterator[Charge]:
    """Yield the charges from parts to total, each kind that has one."""
    price, shop = estimate["price"], sheet.get("shop", {})
    yield Charge("Parts", money(price["parts"]))
    yield Charge(labour_words(estimate, shop), money(price["labour"]))
    yield from (Charge(name, money(amount)) for name, amount in extras_of(sheet, price, currency))
    yield from taxes_of(price["tax"], shop.get("tax") or {})
    yield Charge(f"Total, tax included, {currency}", money(price["total"]), is_total=True)


def extras_of(sheet: Document, price: Document, currency: str) -> Iterator[tuple[str, Decimal]]:
    """Yield what stands between labour and tax: consumables, each fee, and the discount, which is below nought."""
    if consumables := Decimal(price["consumables"]):
        yield "Consumables, by use", consumables
    for fee in sheet.get("fees") or ():
        yield bound(fee["name"]), round_money(Decimal(fee["amount"]), currency)
    if discount := Decimal(price["discount"]):
        fraction = Decimal(str(sheet.get("discount", {}).get("fraction", "0")))
        yield f"Discount, {percent(fraction, 2)} of parts and labour", -discount


def labour_words(estimate: Document, shop: Document) -> str:
    minutes, rate = estimate.get("labour", {}).get("quoted_min"), shop.get("labour_rate_per_h")
    words = f"Labour, {format_minutes(minutes)}" if minutes is not None else "Labour"
    return f"{words} at {money(rate)} an hour" if rate and minutes is not None else words


def taxes_of(tax: Document, rates: Document) -> Iterator[Charge]:
    """Yield the tax, kinds of one rate together: "Tax, 6 % on parts and consumables"."""
    by_rate: dict[str, list[str]] = {}
    for kind in KINDS:
        if Decimal(tax.get(kind, "0")):
            by_rate.setdefault(str(rates.get(kind, "")), []).append(kind)
    for rate, kinds in by_rate.items():
        listed = " and ".join(filter(None, (", ".join(kinds[:-1]), kinds[-1])))
        at = f"{percent(Decimal(rate), 3)} " if rate else ""
        yield Charge(f"Tax, {at}on {listed}", money(sum(Decimal(tax[kind]) for kind in kinds)))


def left_out(sheet: Document, estimate: Document, parts: Mapping[str, Part], currency: str) -> Iterator[str]:
    """Yield what the price does not hold: a test that was not asked for, and what is usually fitted beside a part."""
    asked = {row["operation"] for row in sheet.get("operations") or ()}
    if FLOAT_TEST not in asked:
        yield "A float test."
    for gap in estimate.get("missing") or ():
        offers = [offer_words(offer, sheet, currency) for offer in gap["offers"][:OFFERS_AT_MOST]]
        if offers and gap["line"] in parts:
            usual = "needs" if gap["strength"] == "must" else "usually has"
            yield bound(f"{parts[gap['line']].name} {usual}: {', or '.join(offers)}.")
    yield "Registration, insurance, and transport of the boat."


def offer_words(offer: Document, sheet: Document, currency: str) -> str:
    name = sheet.get("accessories", {}).get(offer["accessory"], {}).get("name") or offer["accessory"].replace("_", " ")
    return f"{name}, {money(offer['price'], currency)}" if offer.get("price") else name
