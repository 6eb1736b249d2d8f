"""The lock of the screen: on, off, and a sign of life from one who types for long."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from shop.accounts import passwords, sessions
from shop.accounts.forms import PasswordForm
from shop.accounts.locking import by_script, open_while_locked
from shop.accounts.views.coming_in import PAGE, answered, go_on, tried
from shop.once import came_from
from shop.roles import ROLES, allow

WRONG = "This is not the password of the one who is signed in. It minds capital letters."


@open_while_locked
@require_http_methods(PAGE)
@never_cache
@allow(*ROLES)
def lock(request: HttpRequest) -> HttpResponse:
    """Lock the session; the page to unlock it leads back to where the person was."""
    if request.method == "POST":
        sessions.lock(request)
        if by_script(request):
            return JsonResponse({"locked": True})
    elif not sessions.is_locked(request):
        return redirect("home")
    return render(request, "accounts/locked.html", {"next": came_from(request)})


@open_while_locked
@require_POST
@never_cache
@sensitive_post_parameters("password")
@allow(*ROLES)
def unlock(request: HttpRequest) -> HttpResponse:
    """Open the session again by its own person's password."""
    form = PasswordForm(request.POST, user=request.user)
    right, trouble, status = tried(request, form, lambda typed: passwords.check_own(request, typed["password"]), WRONG)
    if right:
        sessions.unlock(request)
        if by_script(request):
            return JsonResponse({"locked": False})
        return go_on(request, request.POST.get("next", ""), request.POST.get("fields", ""))
    if by_script(request):
        return JsonResponse({"locked": True, "trouble": trouble or "Type the password."}, status=status)
    context = {"trouble": trouble, **{name: request.POST.get(name, "") for name in ("next", "fields", "to")}}
    return answered(request, "accounts/locked.html", context | {"form": form}, status)


@require_POST
@never_cache
@allow(*ROLES)
def stay(request: HttpRequest) -> HttpResponse:
    """A sign of life: someone types or reads, on a page that asks the server for nothing."""
    return HttpResponse(status=204)
