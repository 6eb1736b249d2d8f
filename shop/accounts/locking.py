"""The lock: while a session is locked, every page but the way back in answers 401, and shows nothing.

What was typed is kept: on a page with scripts the lock lies over it, and a form that was sent too late comes back
with everything that was in it.
"""

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from shop.accounts import carried, sessions
from shop.once import came_from

OPEN = "open_while_locked"
"""The mark of a view that answers while the session is locked."""


def open_while_locked(view):
    setattr(view, OPEN, True)
    return view


class LockMiddleware:
    """Ends sessions that lasted long enough, and keeps the locked ones locked."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view, args, kwargs) -> HttpResponse | None:
        if not getattr(view, "login_required", True) or not request.user.is_authenticated:
            return None
        request.is_private = True
        if sessions.BEGAN not in request.session:
            sessions.begin(request)
        if sessions.is_over(request):
            logout(request)
            return ended(request)
        if sessions.is_locked(request):
            sessions.lock(request)
            return None if getattr(view, OPEN, False) else locked(request)
        sessions.seen(request)
        return None


def by_script(request: HttpRequest) -> bool:
    """Return whether a script asks, which shows the lock over its page itself."""
    return bool(getattr(request, "htmx", False)) or "application/json" in request.headers.get("Accept", "")


def locked(request: HttpRequest) -> HttpResponse:
    """Answer a request of a locked session: the page to unlock, or a word for the script."""
    if by_script(request):
        return JsonResponse({"locked": True}, status=401, headers={"X-Locked": "yes"})
    if request.method == "POST":
        following, fields = came_from(request), carried.fields_of(request)
        context = {"next": following, "fields": fields, "to": request.get_full_path(), "lost": request.FILES}
    else:
        context = {"next": request.get_full_path()}
    return render(request, "accounts/locked.html", context, status=401)


def ended(request: HttpRequest) -> HttpResponse:
    """Answer a request of a session that has lasted its time."""
    if by_script(request):
        return JsonResponse({"ended": True}, status=401, headers={"HX-Redirect": reverse("sign_in")})
    return redirect(f"{reverse('sign_in')}?next={request.get_full_path() if request.method == 'GET' else '/'}")
