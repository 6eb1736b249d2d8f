"""Pictures of an accessory type for its page: the pattern of its openings, and what it needs and does not go with."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from builds.drawings.needs import Need, needs_drawing
from builds.drawings.pattern import Cut, Pattern, pattern_drawing
from builds.drawings.svg import Drawn
from catalog import sight
from catalog.models import AccessoryType
from shop.roles import COUNTER, allow


def picture(drawn: Drawn) -> HttpResponse:
    return HttpResponse(drawn.svg, content_type="image/svg+xml")


@require_GET
@allow(COUNTER)
def pattern(request: HttpRequest, code: str) -> HttpResponse:
    """The openings that one mounting makes, drawn to their proportions; the first mounting that makes any."""
    kind = get_object_or_404(AccessoryType.objects.whole(), code=code)
    openings = list(kind.openings.all())
    if not openings:
        raise Http404
    made = [
        [row for row in openings if row.mountings is None or mounting in row.mountings] for mounting in kind.mountings
    ]
    cuts = tuple(cut_of(row) for row in next(filter(None, made), openings))
    return picture(pattern_drawing(Pattern(name=kind.name, cuts=cuts), "pattern", printed=True))


def cut_of(row) -> Cut:
    names = ("shape", "dx_mm", "dy_mm", "diameter_mm", "width_mm", "height_mm")
    figures = {name: getattr(row, name) for name in names}
    return Cut(**figures, corner_mm=row.corner_mm or 0.0, purpose=row.purpose)


@require_GET
@allow(COUNTER)
def needs(request: HttpRequest, code: str) -> HttpResponse:
    """What it needs and what it does not go with."""
    kind = get_object_or_404(AccessoryType.objects.whole(), code=code)
    shown = sight.of_type(kind, costs=False)
    if not shown["needs"] and not shown["conflicts"]:
        raise Http404
    asked = [Need(need["strength"], tuple(one["name"] for one in need["any_of"])) for need in shown["needs"]]
    return picture(needs_drawing(kind.name, asked, [one["name"] for one in shown["conflicts"]], "needs"))
