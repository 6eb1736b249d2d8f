"""What a person is told while the database takes nothing: plain words, and what was typed, ready to be sent again."""

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.template.loader import render_to_string

from shop.database import BUSY_TIMEOUT_S

SAFE = "Nothing was changed; all that was saved before is safe."
DISK_FULL = f"The shop's disk is full. Whoever looks after the machine makes room on it. {SAFE}"
BUSY = f"Someone else kept the database busy for longer than {BUSY_TIMEOUT_S} seconds. {SAFE}"
# Lost on the way to its answer, a commit may have been done.
NO_ANSWER = (
    "The database does not answer. Whoever looks after the machine looks at it. All that was saved before is safe; "
    "whether this was saved is not certain."
)
OF_DISK = ("disk is full", "no space left", "disk full", "disk quota")
OF_LOCKS = ("is locked", "lock timeout", "deadlock", "could not serialize")


def words_of(error: BaseException | None) -> str | None:
    """Return what to say of an error of the database's surroundings; None for a fault of the program's own."""
    if not isinstance(error, OperationalError | InterfaceError):
        return None
    said = str(error).lower()
    if any(part in said for part in OF_DISK):
        return DISK_FULL
    return BUSY if any(part in said for part in OF_LOCKS) else NO_ANSWER


def page(request: HttpRequest, words: str) -> HttpResponse:
    """Return a page that needs no database; what was typed stands in it, and the same form does its work once."""
    context = {"words": words, "certain": words != NO_ANSWER, "again": again(request), "path": request.get_full_path()}
    if context["again"] is not None:
        context["token"] = get_token(request)
    htmx = request.headers.get("HX-Request") == "true"
    answer = HttpResponse(render_to_string("errors/503.html", context), status=200 if htmx else 503)
    if htmx:
        # htmx shows only what comes with success.
        answer["HX-Retarget"], answer["HX-Reswap"] = "body", "innerHTML"
    return answer


def again(request: HttpRequest) -> list[tuple[str, str]] | None:
    """Return the fields of a posted form; None where none was posted, and for files and passwords."""
    if request.method != "POST" or not request.POST or request.FILES:
        return None
    if any("password" in name for name in request.POST):
        return None
    return [(name, value) for name, values in request.POST.lists() for value in values if name != "csrfmiddlewaretoken"]
