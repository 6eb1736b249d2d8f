"""What a page of the catalogue shows. Cost and margin are added only for one who may see them."""

from collections import Counter

from django.db.models import Q

from catalog.models import AccessoryType, Conflict, Requirement
from catalog.vocabulary import BenchTest, Mounting, Use, fits, labels, spoken


def rows(types, costs: bool) -> list[dict]:
    """Return what the list shows of each type."""
    shown = []
    for kind in types:
        row = {
            "code": kind.code,
            "name": kind.name,
            "url": kind.get_absolute_url(),
            "category": spoken(kind.category),
            "fits": fits(kind.craft),
            "likely_min": kind.likely_min,
            "openings": kind.opening_count,
            "mass_kg": kind.mass_kg,
            "price": kind.price,
            "withdrawn": kind.withdrawn,
        }
        shown.append(row | ({"cost": kind.cost, "margin": margin(kind)} if costs else {}))
    return shown


def margin(kind: AccessoryType) -> float | None:
    """Return (price - cost) / price, or None without a price."""
    return float((kind.price - kind.cost) / kind.price) if kind.price else None


def of_type(kind: AccessoryType, costs: bool) -> dict:
    """Return everything that a type's page shows; `kind` comes with the rows that belong to it."""
    names = _names_for(kind)
    for_owner = {"cost": kind.cost, "margin": margin(kind), "sees_costs": True} if costs else {}
    # No template can show by accident what the row does not hold.
    kind.cost = None
    context = {
        "code": kind.code,
        "kind": kind,
        "fits": fits(kind.craft),
        "mountings": labels(Mounting, kind.mountings),
        "category": spoken(kind.category),
        "openings": openings_together(kind),
        "places": list(kind.openings.all()),
        "opening_count": len(kind.openings.all()),
        "steps": [
            {"row": step, "percent": step.share * 100, "minutes": step.share * kind.likely_min}
            for step in kind.steps.all()
        ],
        "uses": [
            {"item": use.item, "name": spoken(use.item), "quantity": use.quantity} for use in kind.consumables.all()
        ],
        "needs": [
            {"strength": need.strength, "why": need.why, "any_of": [_named(code, names) for code in need.any_of]}
            for need in kind.requires.all()
        ],
        "conflicts": _conflicts_of(kind, names),
        "asked_by": _asked_by(kind),
        "bench_tests": labels(BenchTest, kind.bench_tests),
        "sources": [part.strip() for part in kind.source.split(";") if part.strip()],
        "load": getattr(kind, "load", None),
        "battery": getattr(kind, "battery", None),
        "converter": getattr(kind, "converter", None),
    }
    return context | for_owner


def openings_together(kind: AccessoryType) -> list[dict]:
    """Return the openings with those alike counted together: four corner screws are one line."""
    alike = Counter()
    for hole in kind.openings.all():
        made_for = None if hole.mountings is None else tuple(hole.mountings)
        alike[hole.purpose, hole.size(), hole.shape, hole.fastener, hole.cable, made_for] += 1
    return [
        {
            "purpose": purpose,
            "size": size,
            "shape": shape,
            "fastener": fastener,
            "cable": cable,
            "count": count,
            "made_for": "always" if made_for is None else ", ".join(labels(Mounting, made_for)) or "no mounting",
        }
        for (purpose, size, shape, fastener, cable, made_for), count in alike.items()
    ]


def _names_for(kind: AccessoryType) -> dict[str, str]:
    codes = {code for need in kind.requires.all() for code in need.any_of}
    codes |= {conflict.other for conflict in kind.conflicts.all()}
    return dict(AccessoryType.objects.filter(code__in=codes).values_list("code", "name"))


def _named(code: str, names: dict[str, str]) -> dict:
    if code.startswith("tag:"):
        return {"name": spoken(code.removeprefix("tag:")), "code": None}
    return {"name": names.get(code, code), "code": code if code in names else None}


def _conflicts_of(kind: AccessoryType, names: dict[str, str]) -> list[dict]:
    """A pair is listed once and counts both ways."""
    mine = [{"why": conflict.why, **_named(conflict.other, names)} for conflict in kind.conflicts.all()]
    theirs = Conflict.objects.filter(other=kind.code).select_related("accessory_type")
    return mine + [
        {"why": conflict.why, "name": conflict.accessory_type.name, "code": conflict.accessory_type.code}
        for conflict in theirs
    ]


def _asked_by(kind: AccessoryType) -> list[dict]:
    """Return the types whose needs this one meets, by its code or by a tag it provides."""
    meets = Q(any_of__has=kind.code)
    for tag in kind.provides:
        meets |= Q(any_of__has=f"tag:{tag}")
    found = Requirement.objects.filter(meets).values_list("accessory_type__code", "accessory_type__name")
    return [{"code": code, "name": name} for code, name in sorted(set(found), key=lambda pair: pair[1])]


def bundle_rows(bundles) -> list[dict]:
    """Return what the list shows of each bundle."""
    return [
        {"row": bundle, "fits": fits(bundle.craft), "uses": ", ".join(labels(Use, bundle.uses))}
        | {"lines": len(bundle.lines.all()), "gone": _gone(bundle)}
        for bundle in bundles
    ]


def of_bundle(bundle) -> dict:
    """Return everything that a bundle's page shows; `bundle` comes with its lines and their types."""
    [shown] = bundle_rows([bundle])
    return shown | {
        "bundle": bundle,
        "parts": [{"row": line, "type": line.accessory, "mounting": _mounting_of(line)} for line in bundle.lines.all()],
    }


def _gone(bundle) -> list[str]:
    """Return the names of a bundle's types that are offered no more."""
    return [line.accessory.name for line in bundle.lines.all() if line.accessory.withdrawn]


def _mounting_of(line) -> str:
    return labels(Mounting, [line.mounting or line.accessory.mountings[0]])[0]
