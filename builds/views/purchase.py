"""Orders: the purchase list on screen, on paper and as a table; orders written down, received, moved, closed."""

import datetime
import zlib

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from builds import purchase, stock
from builds.actions import ordering
from builds.actions.ground import Refused
from builds.actions.ordering import Came, Ordered
from builds.actions.shelf import item_of
from builds.documents import PaperFacts, purchase_list_pdf
from builds.forms.parts import ExpectForm, OrderForm, ReceiveForm
from builds.models import Delivery, OrderLine, PurchaseOrder
from builds.purchase import Supplier
from builds.views.papers import pdf_file
from catalog import shelf
from shop import clock, roles
from shop.pdf import PAPERS, Unavailable
from shop.roles import COUNTER, OWNER, allow

ORDERS_SHOWN = 200


def list_page(
    request: HttpRequest, door: str, *, bound: OrderForm | None = None, trouble: str = "", status: int = 200
) -> HttpResponse:
    """Show what is short by supplier, with a form for the order; what it costs at the office alone."""
    costs = door == "office" and roles.may(request.user, "see_costs")
    context = {
        "door": door,
        "here": "order",
        "groups": [(one, form_of(one, bound, costs)) for one in purchase.to_order()],
        "costs": costs,
        "today": clock.today(),
        "trouble": trouble,
    }
    return render(request, "counter/parts/to_order.html", context, status=status)


def prefix_of(one: Supplier) -> str:
    return f"s{zlib.crc32(one.name.encode())}"


def form_of(one: Supplier, bound: OrderForm | None, costs: bool) -> OrderForm:
    """Return the form of one supplier: what was typed where it was this one's that was sent."""
    prefix = prefix_of(one)
    if bound is not None and bound.prefix == prefix:
        typed = OrderForm(bound.data, rows=one.rows, costs=costs, prefix=prefix)
        typed.is_valid()
        return typed
    today = clock.today()
    expected = today + datetime.timedelta(days=one.lead_days(today))
    return OrderForm(
        rows=one.rows,
        costs=costs,
        prefix=prefix,
        initial={"supplier": one.name, "ordered_on": today, "expected_on": expected},
    )


@require_http_methods(["GET", "HEAD", "POST"])
@allow(COUNTER)
def to_order(request: HttpRequest) -> HttpResponse:
    """The purchase list; a form that is sent writes one supplier's order down."""
    return ordered(request, "counter") if request.method == "POST" else list_page(request, "counter")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def office_to_order(request: HttpRequest) -> HttpResponse:
    return ordered(request, "office") if request.method == "POST" else list_page(request, "office")


def ordered(request: HttpRequest, door: str) -> HttpResponse:
    """Write down the order of the supplier whose form was sent."""
    prefix = request.POST.get("group", "")
    supplier = next((one for one in purchase.to_order() if prefix_of(one) == prefix), None)
    if supplier is None:
        return list_page(request, door, trouble="Nothing is short there any more. Look at the list again.", status=409)
    form = OrderForm(request.POST, rows=supplier.rows, costs=door == "office", prefix=prefix)
    if not form.is_valid():
        return list_page(request, door, bound=form, status=422)
    data = form.cleaned_data
    lines = [
        Ordered(
            item_of(row.item.thing).pk,
            data[f"packs_{row.item.key}"] or 0,
            data[f"short_{row.item.key}"],
            data.get(f"cost_{row.item.key}"),
        )
        for row in supplier.rows
    ]
    about = {name: data[name] for name in ("ordered_on", "expected_on", "reference", "note")}
    try:
        made = ordering.order(request.user, lines, supplier=supplier.name, **about)
    except Refused as error:
        return list_page(request, door, bound=form, trouble=str(error), status=409)
    return redirect("builds:purchase_order", made.number)


def printed_list(request: HttpRequest, *, costs: bool) -> HttpResponse:
    paper = request.GET.get("paper", "a4")
    rates, now = shelf.rates_on(clock.today()), timezone.localtime(clock.now())
    facts = PaperFacts("", shop_name=rates.shop_name, shop_address=rates.address, issued_at=now)
    groups = purchase.as_groups(purchase.to_order(), costs=costs)
    try:
        data = purchase_list_pdf(facts, groups, settings.CURRENCY, paper if paper in PAPERS else "a4")
    except Unavailable as error:
        return HttpResponse(str(error), status=409, content_type="text/plain; charset=utf-8")
    return pdf_file(data, f"purchase-list-{clock.today()}.pdf")


def list_as_table(*, costs: bool) -> HttpResponse:
    name = f"purchase-list-{clock.today()}.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    text = purchase.as_csv(purchase.to_order(), costs=costs)
    return HttpResponse(text, content_type="text/csv; charset=utf-8", headers=headers)


@require_GET
@allow(COUNTER)
def list_pdf(request: HttpRequest) -> HttpResponse:
    return printed_list(request, costs=False)


@require_GET
@allow(COUNTER)
def list_csv(request: HttpRequest) -> HttpResponse:
    return list_as_table(costs=False)


@require_GET
@allow(OWNER)
def office_list_pdf(request: HttpRequest) -> HttpResponse:
    return printed_list(request, costs=True)


@require_GET
@allow(OWNER)
def office_list_csv(request: HttpRequest) -> HttpResponse:
    return list_as_table(costs=True)


# Orders.


@require_GET
@allow(COUNTER)
def orders(request: HttpRequest) -> HttpResponse:
    """The orders, the latest first, with how many of their lines are outstanding."""
    found = list(PurchaseOrder.objects.select_related("by")[:ORDERS_SHOWN])
    left: dict[int, int] = {}
    for line in stock.outstanding_lines().filter(order__in=found):
        left[line.order_id] = left.get(line.order_id, 0) + (line.quantity > line.came)
    rows = [(order, left.get(order.pk, 0)) for order in found]
    context = {"door": "counter", "here": "orders", "rows": rows, "today": clock.today()}
    return render(request, "counter/parts/orders.html", context)


def order_or_404(number: str) -> PurchaseOrder:
    found = PurchaseOrder.objects.select_related("by").filter(number=number).first()
    if found is None:
        raise Http404
    return found


def lines_of(made: PurchaseOrder) -> list[OrderLine]:
    """Return an order's lines, each with what came of it and could be kept, and what is left."""
    rows = stock.lines_with_what_came().filter(order=made).select_related("item__accessory", "item__consumable")
    lines = list(rows.order_by("id"))
    for line in lines:
        line.left = max(stock.NOTHING, line.quantity - line.came)
    return lines


def show_order(
    request: HttpRequest,
    number: str,
    *,
    form: ReceiveForm | None = None,
    expect: ExpectForm | None = None,
    trouble: str = "",
    status: int = 200,
) -> HttpResponse:
    """Show an order: what is outstanding, what came, and the forms to receive, to move it and to close it."""
    made = order_or_404(number)
    lines = lines_of(made)
    deliveries = Delivery.objects.filter(line__order=made).select_related("by", "line__item")
    standing = stock.the_shelf().by_key
    context = {
        "door": "counter",
        "here": "orders",
        "order": made,
        "lines": [(line, waiting_for(standing, line)) for line in lines],
        "left": [line for line in lines if line.left] if not made.closed else [],
        "deliveries": [(one, standing[one.line.item_id].item) for one in deliveries],
        "form": form or ReceiveForm(lines=[] if made.closed else lines),
        "expect": expect or ExpectForm(initial={"expected_on": made.expected_on}),
        "late": not made.closed and made.expected_on < clock.today() and any(line.left for line in lines),
        "trouble": trouble,
    }
    return render(request, "counter/parts/order.html", context, status=status)


def waiting_for(standing, line: OrderLine) -> list[str]:
    """Return the tickets that wait for the item of a line, in their order."""
    needs = standing[line.item_id].needs if line.item_id in standing else []
    return list(dict.fromkeys(one.need.ticket.number for one in needs if one.waits))


@require_GET
@allow(COUNTER)
def order(request: HttpRequest, number: str) -> HttpResponse:
    return show_order(request, number)


@require_POST
@allow(COUNTER)
def receive(request: HttpRequest, number: str) -> HttpResponse:
    """Write down what came; the page says which tickets it served."""
    made = order_or_404(number)
    form = ReceiveForm(request.POST, lines=lines_of(made))
    if not form.is_valid():
        return show_order(request, number, form=form, status=422)
    data = form.cleaned_data
    came = [
        Came(
            line.pk,
            data[f"came_{line.pk}"],
            data[f"opened_{line.pk}"],
            data[f"condition_{line.pk}"] or Delivery.Condition.GOOD,
            data[f"note_{line.pk}"],
        )
        for line in form.lines
        if data.get(f"came_{line.pk}")
    ]
    try:
        result = ordering.receive(request.user, made, came)
    except Refused as error:
        return show_order(request, number, form=form, trouble=str(error), status=409)
    messages.success(request, said_of(result))
    return redirect("builds:purchase_order", number)


def said_of(result: ordering.Received) -> str:
    """Return in a sentence what a delivery did for the tickets."""
    if not result.served:
        return "Received. No ticket waited for it."
    sentence = f"Received, for {', '.join(result.served)}."
    return f"{sentence} Parts here: {', '.join(result.complete)}." if result.complete else sentence


@require_POST
@allow(COUNTER)
def expect(request: HttpRequest, number: str) -> HttpResponse:
    """Write down another expected day."""
    form = ExpectForm(request.POST)
    if not form.is_valid():
        return show_order(request, number, expect=form, status=422)
    try:
        ordering.expect(
            request.user, order_or_404(number), form.cleaned_data["expected_on"], why=form.cleaned_data["why"]
        )
    except Refused as error:
        return show_order(request, number, expect=form, trouble=str(error), status=409)
    return redirect("builds:purchase_order", number)


@require_POST
@allow(COUNTER)
def close(request: HttpRequest, number: str) -> HttpResponse:
    """Say that no more comes of an order."""
    try:
        ordering.close(request.user, order_or_404(number), why=request.POST.get("why", "")[:300])
    except Refused as error:
        return show_order(request, number, trouble=str(error), status=409)
    return redirect("builds:purchase_order", number)
