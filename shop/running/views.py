"""The owner's page about the machine, and the help pages for everyone who signs in."""

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop import journal
from shop.keeping import backups
from shop.roles import OWNER, ROLES, allow
from shop.running import condition

# The help pages by their address; the text of each is templates/help/<address>.html.
HELP = {
    "backup": "Backups",
    "restore": "Put a backup back",
    "verify": "Prove that nothing was changed",
    "move": "Move to another database",
    "upgrade": "Bring in a new version",
    "check": "Look at the machine",
    "serve": "Run the shop",
}


@require_safe
@allow(OWNER)
def running(request: HttpRequest) -> HttpResponse:
    last = backups.latest()
    context = {
        "door": "office",
        "conditions": condition.conditions(with_paper=False),
        "backup": last,
        "late": backups.is_late(last),
        "head": journal.head(),
        "backups_folder": settings.BACKUPS_DIR,
        "help": HELP,
    }
    return render(request, "office/running.html", context)


@require_safe
@allow(*ROLES)
def help_pages(request: HttpRequest) -> HttpResponse:
    return render(request, "help/index.html", {"help": HELP})


@require_safe
@allow(*ROLES)
def help_page(request: HttpRequest, name: str) -> HttpResponse:
    if name not in HELP:
        raise Http404
    return render(request, f"help/{name}.html", {"title": HELP[name], "help": HELP, "name": name})
