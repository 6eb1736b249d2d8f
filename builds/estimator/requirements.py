"""What each line needs on the ticket, what is missing, what would meet it, and what does not go together."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from .accessory import AccessoryType, Requirement
from .cautions import CAUTION, STOP, Caution
from .fitted import Fitted
from .pricing import unit_price
from .rates import Shop
from .sheet import BuildSheet

TAG = "tag:"
ONLY_ONE = "Only one"
BASE_TAGS = ("track_slot", "strong_track", "factory_track", "battery_hold_down")
BASES, CURRENT_CARRIERS = "tracks_and_bases", "power"
FOLLOWED_AT_MOST = 12


@dataclass(frozen=True)
class Offer:
    """A type that would meet a group: price [money] and minutes [min] of it and of what it needs in turn.

    `brings` are the further types that it needs, in order.
    """

    accessory: str
    price: Decimal
    minutes: float
    brings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Missing:
    """A group of a line that nothing on the ticket meets, with every offer, the cheapest first."""

    line: str
    strength: str
    why: str
    offers: tuple[Offer, ...]


@dataclass(frozen=True)
class Supplied:
    """What is on the ticket: types, tags that count for any load, tags that count for propulsion too."""

    types: frozenset[str]
    tags: frozenset[str]
    drive_tags: frozenset[str]

    def meets(self, group: Requirement, propulsion: bool) -> bool:
        """Return whether a type or a tag of the group is there."""
        tags = self.drive_tags if propulsion else self.tags
        return any(
            wanted.removeprefix(TAG) in tags if wanted.startswith(TAG) else wanted in self.types
            for wanted in group.any_of
        )

    def plus(self, kind: AccessoryType) -> "Supplied":
        tags = frozenset(kind.provides)
        return Supplied(self.types | {kind.id}, self.tags | tags, self.drive_tags | tags)


def supplied_by(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> Supplied:
    """Return what the hull and the lines provide; supply tags of a drive battery count for propulsion only."""
    hull = frozenset(sheet.hull.provides)
    tags, drive_tags = set(hull), set(hull)
    for one in fitted:
        is_drive = one.kind.battery is not None and one.line.role == "drive"
        drive_tags.update(one.kind.provides)
        tags.update(tag for tag in one.kind.provides if not (is_drive and tag.endswith("_supply")))
    return Supplied(frozenset(one.kind.id for one in fitted), frozenset(tags), frozenset(drive_tags))


def is_propulsion(kind: AccessoryType) -> bool:
    return kind.load is not None and kind.load.propulsion


def missing_parts(sheet: BuildSheet, fitted: tuple[Fitted, ...], *, offers: bool = True) -> tuple[Missing, ...]:
    """Return each group that nothing meets, with every offer (or with none where only the groups are asked for).

    A group is met by a listed type on the ticket, or by a tag that the hull or a type on it provides. A fitted part's
    own needs do not count. Two lines of one type miss a group once.

    References: the catalogue's own rules.
    """
    supplied = supplied_by(sheet, fitted)
    catalogue = Shelf(sheet.accessories, sheet.hull.craft, sheet.shop)
    found: list[Missing] = []
    seen: set[tuple[str, tuple[str, ...]]] = set()
    for one in fitted:
        if not one.is_new:
            continue
        propulsion = is_propulsion(one.kind)
        for group in one.kind.requires:
            if (one.kind.id, group.any_of) in seen or supplied.meets(group, propulsion):
                continue
            seen.add((one.kind.id, group.any_of))
            offered = catalogue.offers(group, supplied) if offers else ()
            found.append(Missing(one.id, group.strength, group.why, offered))
    return tuple(found)


class Shelf:
    """The types that may be offered, by id and by the tags that they provide."""

    def __init__(self, accessories: Mapping[str, AccessoryType], craft: str, shop: Shop):
        self.accessories, self.craft, self.shop = accessories, craft, shop
        self.by_tag: dict[str, list[AccessoryType]] | None = None
        self.offered: dict[tuple[str, ...], tuple[Offer, ...]] = {}

    def meeting(self, group: Requirement) -> list[AccessoryType]:
        """Return the types that meet a group and suit the craft, each once, listed ones first."""
        if self.by_tag is None:
            self.by_tag = {}
            for kind in self.accessories.values():
                for tag in kind.provides:
                    self.by_tag.setdefault(tag, []).append(kind)
        found: dict[str, AccessoryType] = {}
        for wanted in group.any_of:
            if wanted.startswith(TAG):
                found.update({kind.id: kind for kind in self.by_tag.get(wanted.removeprefix(TAG), [])})
            elif wanted in self.accessories:
                found[wanted] = self.accessories[wanted]
        return [kind for kind in found.values() if self.craft in kind.craft]

    def offers(self, group: Requirement, supplied: Supplied) -> tuple[Offer, ...]:
        """Return the offers for a group on a ticket, the cheapest first; several lines may lack the same group."""
        if group.any_of not in self.offered:
            offers = [self.offer(kind, supplied) for kind in self.meeting(group)]
            offers.sort(key=lambda offer: (offer.price, offer.minutes, offer.accessory))
            self.offered[group.any_of] = tuple(offers)
        return self.offered[group.any_of]

    def offer(self, kind: AccessoryType, supplied: Supplied) -> Offer:
        """Return a type with all that it needs in turn: each unmet "must" is met by its cheapest type by itself."""
        chosen, at = [kind], 0
        supplied = supplied.plus(kind)
        while at < len(chosen) and len(chosen) < FOLLOWED_AT_MOST:
            needy = chosen[at]
            at += 1
            for group in needy.requires:
                if group.strength != "must" or supplied.meets(group, is_propulsion(needy)):
                    continue
                able = sorted(self.meeting(group), key=lambda other: (self.price(other), other.id))
                if able:
                    chosen.append(able[0])
                    supplied = supplied.plus(able[0])
        return Offer(
            kind.id,
            sum((self.price(other) for other in chosen), Decimal(0)),
            sum(other.labour.likely_min for other in chosen),
            tuple(other.id for other in chosen[1:]),
        )

    def price(self, kind: AccessoryType) -> Decimal:
        return unit_price(kind, self.shop) or Decimal(0)


def base_keys(kind: AccessoryType) -> set[str]:
    """Return what a type is a base for: its tags of tracks and hold-downs, and itself unless it carries current."""
    keys = {TAG + tag for tag in kind.provides if tag in BASE_TAGS}
    return keys if kind.category == CURRENT_CARRIERS else keys | {kind.id}


def seat_keys(kind: AccessoryType) -> set[str]:
    """Return what a type may sit on: the tags of bases and the types that its groups name."""
    wanted = {name for group in kind.requires for name in group.any_of}
    return {name for name in wanted if not name.startswith(TAG) or name.removeprefix(TAG) in BASE_TAGS}


def need_each_other(kind: AccessoryType, other: AccessoryType | None) -> bool:
    """Return whether two types only go together: then neither is the other's base, unless it is made as one."""
    return other is not None and other.category != BASES and kind.id in seat_keys(other)


def cautions_of(sheet: BuildSheet, fitted: tuple[Fitted, ...], missing: tuple[Missing, ...]) -> Iterator[Caution]:
    """Yield a caution for each group that is not met and for each pair that does not go together."""
    by_id = {one.id: one for one in fitted}
    for part in missing:
        one = by_id[part.line]
        severity = STOP if part.strength == "must" else CAUTION
        verb = "needs" if part.strength == "must" else "usually has"
        yield Caution(
            "missing_part",
            severity,
            f"{one.kind.name} {verb} {part.why}. Nothing on this ticket gives it.",
            {"offers": len(part.offers)},
            "catalogue",
            tuple(added(sheet, one, offer) for offer in part.offers),
            one.id,
        )
    yield from conflict_cautions(fitted)


def added(sheet: BuildSheet, one: Fitted, offer: Offer) -> dict[str, Any]:
    """Return the act that adds an offer: beside the line that needs it, a battery where one may stand."""
    station = one.line.station
    if sheet.accessories[offer.accessory].battery and not (one.station and one.station.holds_battery):
        station = next((place.id for place in sheet.hull.stations if place.holds_battery), station)
    brings = list(offer.brings)
    return {"do": "add", "accessory": offer.accessory, "brings": brings, "station": station, "for": one.id}


def conflict_cautions(fitted: tuple[Fitted, ...]) -> Iterator[Caution]:
    """Yield each pair of types that does not go together once, whichever of the two lists it, or both."""
    by_type: dict[str, list[Fitted]] = {}
    for one in fitted:
        by_type.setdefault(one.kind.id, []).append(one)
    pairs: dict[tuple[str, str], str] = {}
    for kind_id, lines in by_type.items():
        for conflict in lines[0].kind.conflicts:
            if conflict.other in by_type:
                a, b = sorted((kind_id, conflict.other))
                if not pairs.get((a, b), "").startswith(ONLY_ONE):
                    pairs[a, b] = conflict.why
    for (a, b), why in pairs.items():
        two = [*by_type[a][:2]] if a == b else [by_type[a][0], by_type[b][0]]
        if any(one.is_new for one in by_type[a] + by_type[b]) and (a != b or sum(x.quantity for x in by_type[a]) > 1):
            yield conflict_caution(sorted(two, key=lambda one: one.place), why)


def conflict_caution(lines: list[Fitted], why: str) -> Caution:
    stops = why.startswith(ONLY_ONE)
    removable = [one for one in reversed(lines) if one.is_new]
    return Caution(
        "conflict",
        STOP if stops else CAUTION,
        f"{lines[0].kind.name} and {lines[-1].kind.name}: {why}",
        {"lines": [one.id for one in lines]},
        "catalogue",
        tuple({"do": "remove", "line": one.id} for one in removable) if stops else (),
        lines[0].id,
    )
