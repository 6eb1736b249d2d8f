"""The shelf at the counter and at the office: what is on hand, its entries, counts, and the tickets that wait."""

from django.conf import settings
from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from builds import parts, stock
from builds.actions import shelf as acts
from builds.actions.ground import Refused
from builds.forms.parts import CountForm, EntryForm
from builds.models import Movement, StockItem
from builds.stock import ItemStanding
from catalog.fields import fold
from catalog.models import AccessoryType, Consumable
from shop import roles
from shop.money import round_money
from shop.roles import COUNTER, OWNER, allow

KINDS = {"type": (AccessoryType, "accessory"), "consumable": (Consumable, "consumable")}
ENTRIES_SHOWN = 200


def matching(found: list[ItemStanding], words: str) -> list[ItemStanding]:
    """Return the items whose name, code, bin, supplier or part number hold every word."""

    def text(one: ItemStanding) -> str:
        thing = one.item.thing
        return fold(f"{thing.name} {thing.code} {thing.bin} {thing.supplier} {thing.part_number}".replace("_", " "))

    wanted = fold(words.replace("_", " ")).split()
    return [one for one in found if all(word in text(one) for word in wanted)]


def address_of(item: StockItem) -> tuple[str, str]:
    return ("type", item.accessory.code) if item.accessory_id else ("consumable", item.consumable.code)


def shelf_page(request: HttpRequest, door: str) -> HttpResponse:
    """Show what is on the shelf, held, on order and short; what it costs at the office alone."""
    words = request.GET.get("q", "").strip()[:120]
    every = stock.all_standings()
    known = [one for one in every if one.item.kept or one.needs or one.outstanding or one.minimum]
    found = matching(known, words)
    costs = door == "office" and roles.may(request.user, "see_costs")
    rows = [{"one": one, "address": address_of(one.item)} for one in found]
    context = {"door": door, "here": "shelf", "rows": rows, "q": words, "any": bool(known), "costs": costs}
    if costs:
        for row in rows:
            row["value"] = value_of(row["one"])
        context["value"] = sum(row["value"] for row in rows)
    return render(request, "counter/parts/shelf.html", context)


def value_of(one: ItemStanding):
    """Return what is on hand at what it cost."""
    return round_money(one.on_hand * one.item.worth, settings.CURRENCY)


@require_GET
@allow(COUNTER)
def shelf(request: HttpRequest) -> HttpResponse:
    return shelf_page(request, "counter")


@require_GET
@allow(OWNER)
def office_shelf(request: HttpRequest) -> HttpResponse:
    return shelf_page(request, "office")


@require_GET
@allow(COUNTER)
def waiting(request: HttpRequest) -> HttpResponse:
    """Show the tickets that wait for parts, those that stand at the bench first."""
    context = {"door": "counter", "here": "waiting", "found": parts.waiting_tickets()}
    return render(request, "counter/parts/waiting.html", context)


# One thing of the shelf.


def thing_or_404(kind: str, code: str) -> AccessoryType | Consumable:
    if kind not in KINDS:
        raise Http404
    return get_object_or_404(KINDS[kind][0], code=code)


def show_item(
    request: HttpRequest,
    kind: str,
    code: str,
    *,
    form: EntryForm | None = None,
    count: CountForm | None = None,
    trouble: str = "",
    status: int = 200,
) -> HttpResponse:
    """Show one thing: how it stands, who waits for it, its entries, and the ways to write one."""
    thing = thing_or_404(kind, code)
    item = stock.items().filter(**{KINDS[kind][1]: thing}).first()
    standing = stock.standings([item])[item.pk] if item else None
    things = [thing_row(kind, thing, item)]
    context = {
        "door": "counter",
        "here": "item",
        "kind": kind,
        "thing": thing,
        "item": item,
        "one": standing,
        "entries": stock.entries_of(item)[:ENTRIES_SHOWN] if item else [],
        "form": form or EntryForm(),
        "count": count or CountForm(things=things, initial=seen(things)),
        "trouble": trouble,
    }
    return render(request, "counter/parts/item.html", context, status=status)


@require_GET
@allow(COUNTER)
def item(request: HttpRequest, kind: str, code: str) -> HttpResponse:
    return show_item(request, kind, code)


@require_POST
@allow(COUNTER)
def write(request: HttpRequest, kind: str, code: str) -> HttpResponse:
    """Write down what came back, was sent back or is damaged."""
    form = EntryForm(request.POST)
    thing = thing_or_404(kind, code)
    if not form.is_valid():
        return show_item(request, kind, code, form=form, status=422)
    try:
        data = form.cleaned_data
        acts.write(request.user, acts.item_of(thing), data["kind"], data["quantity"], why=data["why"])
    except Refused as error:
        return show_item(request, kind, code, form=form, trouble=str(error), status=409)
    return redirect("builds:stock_item", kind, code)


@require_POST
@allow(COUNTER)
def count_item(request: HttpRequest, kind: str, code: str) -> HttpResponse:
    """Write down what was counted of one thing."""
    thing = thing_or_404(kind, code)
    form = CountForm(request.POST, things=[thing_row(kind, thing, None)])
    if not form.is_valid() or not form.counted():
        trouble = "" if form.errors else "The count is missing; accepted: such as 12 or 0.75."
        return show_item(request, kind, code, count=form, trouble=trouble, status=422)
    try:
        save_counts(request, form, {form.things[0]["key"]: thing})
    except Refused as error:
        return show_item(request, kind, code, count=form, trouble=str(error), status=409)
    return redirect("builds:stock_item", kind, code)


@require_POST
@allow(COUNTER)
def take_back(request: HttpRequest, entry: int) -> HttpResponse:
    """Take an entry back by its opposite."""
    found = get_object_or_404(Movement.objects.select_related("item__accessory", "item__consumable"), pk=entry)
    where = address_of(found.item)
    try:
        acts.take_back(request.user, found, why=request.POST.get("why", "")[:300])
    except Refused as error:
        return show_item(request, *where, trouble=str(error), status=409)
    return redirect("builds:stock_item", *where)


# Counting.


def thing_row(kind: str, thing: AccessoryType | Consumable, item: StockItem | None) -> dict:
    """Return what the count needs to know of one thing."""
    unit = "" if kind == "type" or thing.unit == "each" else thing.unit
    return {
        "key": f"{kind}_{thing.pk}",
        "name": thing.name,
        "bin": thing.bin,
        "unit": unit,
        "on_hand": item.on_hand if item and item.kept else None,
    }


def seen(things: list[dict]) -> dict:
    return {f"seen_{thing['key']}": thing["on_hand"] for thing in things}


def things_of(words: str) -> dict[str, tuple[dict, AccessoryType | Consumable]]:
    """Return what can be counted, bin by bin: every type that is offered, every consumable. Two queries."""
    columns = ("id", "code", "name", "bin")
    found = [
        ("type", AccessoryType.objects.offered().select_related("stock").only(*columns, "stock")),
        ("consumable", Consumable.objects.select_related("stock").only(*columns, "unit", "stock")),
    ]
    rows = [
        (thing_row(kind, thing, getattr(thing, "stock", None)), thing)
        for kind, things in found
        for thing in with_words(things, words)
    ]
    rows.sort(key=lambda pair: (not pair[0]["bin"], pair[0]["bin"].lower(), pair[0]["name"].lower()))
    return {row["key"]: (row, thing) for row, thing in rows}


def with_words(things: QuerySet, words: str) -> list:
    wanted = fold(words.replace("_", " ")).split()
    return [
        thing
        for thing in things
        if all(word in fold(f"{thing.name} {thing.code} {thing.bin}".replace("_", " ")) for word in wanted)
    ]


def save_counts(request: HttpRequest, form: CountForm, things: dict) -> int:
    """Save what was counted and return how many things that were."""
    counted = {acts.item_of(things[key]).pk: figures for key, figures in form.counted().items()}
    return len(acts.count(request.user, counted, why=form.cleaned_data["why"]))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(COUNTER)
def count(request: HttpRequest) -> HttpResponse:
    """Count the shelf: a figure for each thing that was counted, bin by bin."""
    words = request.GET.get("q", "").strip()[:120]
    found = things_of(words)
    things = [row for row, _ in found.values()]
    form = CountForm(request.POST or None, things=things, initial=seen(things))
    trouble, status = "", 200
    if request.method == "POST":
        status = 422
        if form.is_valid() and not form.counted():
            trouble = "No count is written. Write the figure of at least one thing."
        elif form.is_valid():
            try:
                many = save_counts(request, form, {key: thing for key, (_, thing) in found.items()})
                messages.success(request, f"{many} counted.")
                return redirect("builds:shelf")
            except Refused as error:
                trouble, status = str(error), 409
    context = {"door": "counter", "here": "count", "form": form, "q": words, "trouble": trouble}
    return render(request, "counter/parts/count.html", context, status=status)
