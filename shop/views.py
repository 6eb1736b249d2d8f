"""Coming in, going out, and the pages that say no."""

import sys

from django.contrib.auth import logout
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from shop.accounts import coming_in
from shop.accounts.locking import open_while_locked
from shop.roles import ROLES, allow, door_of
from shop.running import condition, trouble
from shop.sign_in_links import user_of


@open_while_locked
@require_POST
@allow(*ROLES)
def sign_out(request):
    """End the session, and take its pages out of the browser, so that the next person cannot go back to them."""
    logout(request)
    response = redirect("sign_in")
    response["Clear-Site-Data"] = '"cache"'
    return response


@require_safe
@allow(*ROLES)
def home(request):
    return redirect(door_of(request.user))


@require_GET
@never_cache
@login_not_required
def sign_in_by_link(request, secret):
    user = user_of(secret)
    if user is None:
        raise Http404
    return coming_in.let_in(request, user, door_of(user))


@require_safe
@never_cache
@login_not_required
def health(request):
    """For whatever watches the server: whether the program answers, its database does, and the disk takes more."""
    database, disk = condition.database_answers(), condition.disk_takes_more()
    words = {True: "ok", False: "not ok"}
    said = f"{words[database and disk]}\ndatabase {words[database]}\ndisk {words[disk]}\n"
    return HttpResponse(said, content_type="text/plain", status=200 if database and disk else 503)


def bad_request(request, exception):
    return render(request, "errors/400.html", status=400)


def forbidden(request, exception):
    return render(request, "errors/403.html", status=403)


def csrf_refused(request, reason=""):
    return render(request, "errors/403_csrf.html", status=403)


def not_found(request, exception):
    return render(request, "errors/404.html", status=404)


def server_error(request):
    """Tell nothing but the reference under which the log has the rest; of a full disk, what to do."""
    if words := trouble.words_of(sys.exc_info()[1]):
        return trouble.page(request, words)
    return render(None, "errors/500.html", {"reference": getattr(request, "reference", "")}, status=500)
