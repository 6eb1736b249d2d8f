"""The way in: password, then the code of those who have a second factor; and showing again who one is."""

from functools import wraps
from urllib.parse import urlencode

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from shop import clock
from shop.accounts import carried, devices, notes, second_factor, sessions
from shop.accounts.addresses import address_of
from shop.models import User
from shop.once import came_from

BACKEND = "django.contrib.auth.backends.ModelBackend"
WAITING = "waiting"
WAITS_S = 300
CONFIRMED_FOR_S = 600


def first_step(request: HttpRequest, user: User, following: str) -> HttpResponse:
    """The password was right: let in who needs no code, ask the others for it."""
    if second_factor.of(user) is None:
        return let_in(request, user, following)
    request.session.cycle_key()
    request.session[WAITING] = [user.pk, user.get_session_auth_hash(), following, clock.now().timestamp()]
    return redirect("sign_in_code")


def waiting(request: HttpRequest) -> tuple[User | None, str]:
    """Return who gave the right password in this browser a moment ago, and where they wanted to go."""
    pk, mark, following, at = request.session.get(WAITING, (None, "", "", 0))
    user = User.objects.filter(pk=pk, is_active=True).first() if pk else None
    if user is None or user.get_session_auth_hash() != mark or clock.now().timestamp() - at > WAITS_S:
        request.session.pop(WAITING, None)
        return None, ""
    return user, following


def let_in(request: HttpRequest, user: User, following: str) -> HttpResponse:
    """Begin the session, under a new name, and remember the device."""
    request.session.pop(WAITING, None)
    login(request, user, backend=BACKEND)
    sessions.begin(request)
    confirm(request)
    notes.note(notes.Kind.SIGNED_IN, user, address_of(request))
    return devices.remember(request, redirect(following), user)


def confirm(request: HttpRequest) -> None:
    """Note that the person has just shown who is at the keys."""
    request.session[sessions.CONFIRMED] = clock.now().timestamp()


def is_confirmed(request: HttpRequest) -> bool:
    return clock.now().timestamp() - request.session.get(sessions.CONFIRMED, 0) <= CONFIRMED_FOR_S


def confirmed(view):
    """Ask for the password, or the code, before a risky act, unless it was given in the last ten minutes."""

    @wraps(view)
    def guarded(request: HttpRequest, *args, **kwargs) -> HttpResponse:
        if is_confirmed(request):
            return view(request, *args, **kwargs)
        words = {"next": request.get_full_path()}
        if request.method == "POST":
            words = {"next": came_from(request), "fields": carried.fields_of(request)}
        request.session["to_confirm"] = words
        return redirect(f"{reverse('confirm')}?{urlencode({'next': words['next']})}")

    return guarded
