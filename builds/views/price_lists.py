"""Price lists of suppliers: a file is compared with the catalogue first, then taken whole or left."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds import price_list
from builds.actions import price_list as acts
from builds.supplier_file import HEADINGS, NEEDED
from catalog import importing
from catalog.actions import ChangedMeanwhile
from catalog.models import CatalogueVersion, WaitingFile
from catalog.records import Problem, Unusable
from shop import clock
from shop.csv_out import csv_response
from shop.roles import OWNER, allow

MOST_SHOWN = 200
CHANGED = "The catalogue changed since this page was shown. This is what the list would change now."


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def price_lists(request: HttpRequest) -> HttpResponse:
    """Which supplier and which file; a file that is sent is compared with the catalogue, nothing is written yet."""
    if request.method != "POST":
        return page(request, supplier=request.GET.get("supplier", ""))
    supplier, sent = request.POST.get("supplier", ""), request.FILES.get("file")
    if supplier not in price_list.suppliers():
        return page(request, problems=[Problem("", "Whose list it is is missing. Choose the supplier.")])
    if sent is None:
        return page(request, supplier=supplier, problems=[Problem("", "The file is missing. Choose one.")])
    name = sent.name[:120]
    try:
        text = importing.text_of(sent.read(importing.LARGEST_BYTES + 1))
        price_list.price_list(supplier, text, clock.today())
    except Unusable as unusable:
        return page(request, supplier=supplier, problems=unusable.problems, name=name)
    WaitingFile.objects.filter(by=request.user).delete()
    waiting = WaitingFile.objects.create(
        kind=price_list.KIND,
        supplier=supplier,
        name=name,
        text=text,
        seen=CatalogueVersion.current(),
        by=request.user,
        at=clock.now(),
    )
    return redirect("builds:look_at_price_list", waiting.pk)


def page(request: HttpRequest, *, supplier: str = "", name: str = "", problems=()) -> HttpResponse:
    context = {
        "door": "office",
        "suppliers": price_list.suppliers(),
        "supplier": supplier,
        "name": name,
        "problems": problems[:MOST_SHOWN],
        "currency": settings.CURRENCY,
        "headings": [(column, column in NEEDED, words) for column, words in HEADINGS.items()],
    }
    return render(request, "office/price_lists.html", context, status=422 if problems else 200)


def waiting_or_404(request: HttpRequest, pk: int) -> WaitingFile:
    return get_object_or_404(WaitingFile, pk=pk, by=request.user, kind=price_list.KIND)


@require_safe
@allow(OWNER)
def look(request: HttpRequest, pk: int) -> HttpResponse:
    """What a list would change."""
    return look_page(request, waiting_or_404(request, pk))


def look_page(request: HttpRequest, waiting: WaitingFile, trouble: str = "", status: int = 200) -> HttpResponse:
    try:
        found, problems = price_list.price_list(waiting.supplier, waiting.text, clock.today()), ()
    except Unusable as unusable:
        found, problems = None, unusable.problems[:MOST_SHOWN]
    context = {"door": "office", "waiting": waiting, "found": found, "problems": problems, "trouble": trouble}
    return render(request, "office/price_list.html", context | {"most": MOST_SHOWN}, status=status)


@require_safe
@allow(OWNER)
def table(request: HttpRequest, pk: int) -> HttpResponse:
    """What a list would change, as a file."""
    waiting = waiting_or_404(request, pk)
    try:
        found = price_list.price_list(waiting.supplier, waiting.text, clock.today())
    except Unusable:
        return look_page(request, waiting, status=422)
    return csv_response(price_list.as_rows(found), f"price-list-{clock.today()}")


@require_POST
@allow(OWNER)
def write(request: HttpRequest, pk: int) -> HttpResponse:
    """Take all that the list changes, or nothing."""
    waiting = waiting_or_404(request, pk)
    try:
        count = acts.take(request.user, waiting)
    except ChangedMeanwhile:
        return look_page(request, waiting, CHANGED, status=409)
    except Unusable:
        return look_page(request, waiting, status=422)
    messages.success(request, f"{count} record{'' if count == 1 else 's'} written from {waiting.name}.")
    return redirect("builds:price_lists")
