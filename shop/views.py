"""Coming in, going out, and the pages that say no."""

import sys

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth import views as auth_views
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from shop import people
from shop.forms import OwnSettingsForm, SignInForm
from shop.roles import ROLES, allow, door_of
from shop.running import condition, trouble
from shop.sign_in_links import user_of

sign_in = auth_views.LoginView.as_view(
    template_name="registration/sign_in.html", authentication_form=SignInForm, redirect_authenticated_user=True
)
sign_out = require_POST(allow(*ROLES)(auth_views.LogoutView.as_view()))


@require_safe
@allow(*ROLES)
def home(request):
    return redirect(door_of(request.user))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(*ROLES)
def me(request):
    """How one person reads and types: units, and the key that jumps into the search field."""
    form = OwnSettingsForm(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        people.save_person(request.user, form.save(commit=False))
        messages.success(request, "Saved.")
        return redirect("me")
    return render(request, "shop/me.html", {"form": form}, status=422 if form.errors else 200)


@require_GET
@never_cache
@login_not_required
def sign_in_by_link(request, secret):
    user = user_of(secret)
    if user is None:
        raise Http404
    login(request, user, backend="django.contrib.auth.backends.ModelBackend")
    return redirect(door_of(user))


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
    if words := trouble.words_of(sys.exc_info()[1]):
        return trouble.page(request, words)
    return render(request, "errors/500.html", status=500)
