"""The catalogue as files at the office: taken out, and taken in after a look at what would change."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from catalog import actions, importing
from catalog.exchange import FILES
from catalog.models import CatalogueVersion, WaitingFile
from catalog.records import Problem, Unusable
from shop import clock
from shop.roles import OWNER, allow

KINDS = {
    "accessories": "Accessory types",
    "hull_types": "Hull types",
    "operations": "Shop operations",
    "consumables": "Consumables",
    "bundles": "Bundles",
}
MOST_SHOWN = 200


@require_safe
@allow(OWNER)
def export(request: HttpRequest, kind: str, form: str) -> HttpResponse:
    """All records of one kind, with the shop's own keys, as a table or as JSON."""
    if kind not in FILES or form not in ("csv", "json"):
        raise Http404
    as_csv = form == "csv"
    types = {True: "text/csv; charset=utf-8", False: "application/json"}
    headers = {"Content-Disposition": f'attachment; filename="{kind}.{form}"'}
    return HttpResponse(importing.exported(kind, as_csv), content_type=types[as_csv], headers=headers)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def files(request: HttpRequest) -> HttpResponse:
    """The ways out and the way in; a file that is sent is compared with the catalogue, nothing is written yet."""
    if request.method != "POST":
        return page(request)
    kind, sent = request.POST.get("kind", ""), request.FILES.get("file")
    if kind not in FILES:
        return page(request, problems=[Problem("", "What the file holds is missing. Choose it.")])
    if sent is None:
        return page(request, kind=kind, problems=[Problem("", "The file is missing. Choose one.")])
    try:
        text = importing.text_of(sent.read(importing.LARGEST_BYTES + 1))
        importing.proposal(kind, text, timezone.localdate())
    except Unusable as unusable:
        return page(request, kind=kind, problems=unusable.problems, name=sent.name[:120])
    WaitingFile.objects.filter(by=request.user).delete()
    waiting = WaitingFile.objects.create(
        kind=kind, name=sent.name[:120], text=text, seen=CatalogueVersion.current(), by=request.user, at=clock.now()
    )
    return redirect("catalog:look_at_file", waiting.pk)


def page(request: HttpRequest, *, kind: str = "", name: str = "", problems=()) -> HttpResponse:
    context = {"door": "office", "kinds": KINDS, "kind": kind, "name": name, "problems": problems[:MOST_SHOWN]}
    return render(request, "catalog/files.html", context, status=422 if problems else 200)


@require_safe
@allow(OWNER)
def look(request: HttpRequest, pk: int) -> HttpResponse:
    """What a file would change."""
    return look_page(request, pk)


def look_page(request: HttpRequest, pk: int, trouble: str = "", status: int = 200) -> HttpResponse:
    waiting = get_object_or_404(WaitingFile, pk=pk, by=request.user, kind__in=KINDS)
    try:
        found, problems = importing.proposal(waiting.kind, waiting.text, timezone.localdate()), ()
    except Unusable as unusable:
        found, problems = None, unusable.problems[:MOST_SHOWN]
    context = {
        "door": "office",
        "waiting": waiting,
        "what": KINDS[waiting.kind],
        "found": found,
        "shown": found.changes[:MOST_SHOWN] if found else [],
        "new": sum(change.is_new for change in found.changes) if found else 0,
        "problems": problems,
        "trouble": trouble,
    }
    return render(request, "catalog/file.html", context, status=status)


@require_POST
@allow(OWNER)
def write(request: HttpRequest, pk: int) -> HttpResponse:
    """Write all that the file changes, or nothing."""
    waiting = get_object_or_404(WaitingFile, pk=pk, by=request.user, kind__in=KINDS)
    try:
        count = actions.import_file(request.user, waiting, timezone.localdate())
    except actions.ChangedMeanwhile:
        trouble = "The catalogue changed since this page was shown. This is what the file would change now."
        return look_page(request, pk, trouble, status=409)
    except Unusable:
        return look_page(request, pk, status=422)
    messages.success(request, f"{count} record{'' if count == 1 else 's'} written from {waiting.name}.")
    return redirect("catalog:files")
