"""What each keeps for oneself: settings, password, second factor."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from shop import people
from shop.accounts import devices, invitations, passwords, second_factor, sessions, totp
from shop.accounts.coming_in import confirmed
from shop.accounts.forms import ChangePasswordForm, CodeForm
from shop.accounts.passwords import Wrong
from shop.accounts.views.coming_in import PAGE, WRONG_CODE, answered, tried
from shop.accounts.views.joining import told
from shop.forms import OwnSettingsForm
from shop.qr import code_of
from shop.roles import ROLES, allow

ISSUER = "Hullbench"


@require_http_methods(PAGE)
@allow(*ROLES)
def me(request: HttpRequest) -> HttpResponse:
    """How one person reads and types: units, and the key that jumps into the search field."""
    form = OwnSettingsForm(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        people.save_person(request.user, form.save(commit=False))
        messages.success(request, "Saved.")
        return redirect("me")
    context = {
        "form": form,
        "factor": second_factor.of(request.user),
        "sessions": sessions.of(request.user),
        "here": request.session.session_key,
    }
    return render(request, "shop/me.html", context, status=422 if form.errors else 200)


@require_http_methods(PAGE)
@never_cache
@sensitive_post_parameters("current", "password", "again")
@allow(*ROLES)
def my_password(request: HttpRequest) -> HttpResponse:
    """Change one's own password; every other session ends."""
    form = ChangePasswordForm(request.POST or None)
    trouble, status = "", 200
    if request.method == "POST":
        user, trouble, status = tried(
            request,
            form,
            lambda typed: passwords.check(request, request.user.username, typed["current"]),
            "The password until now is not right. It minds capital letters.",
        )
        if user:
            try:
                key = request.session.session_key
                invitations.change_password(user, user, form.cleaned_data["password"], keep_session=key)
                update_session_auth_hash(request, user)
                messages.success(request, "The new password holds. You are signed out everywhere else.")
                return devices.remember(request, redirect("me"), user)
            except ValidationError as error:
                told(form, error)
                status = 422
    return answered(request, "accounts/my_password.html", {"form": form, "trouble": trouble}, status)


@require_http_methods(PAGE)
@never_cache
@allow(*ROLES)
@confirmed
def my_second_factor(request: HttpRequest) -> HttpResponse:
    """Take a second factor on: show the square code, and put it in force by a first code."""
    if second_factor.of(request.user):
        return redirect("me")
    factor = second_factor.begin(request.user)
    form = CodeForm(request.POST or None)
    trouble, status = "", 200
    if request.method == "POST" and form.is_valid():
        try:
            codes = second_factor.take_on(request.user, form.cleaned_data["code"])
            return render(request, "accounts/recovery_codes.html", {"codes": codes})
        except Wrong:
            trouble, status = WRONG_CODE, 422
    address = totp.address(factor.secret, request.user.username, ISSUER)
    secret = " ".join(factor.secret[at : at + 4] for at in range(0, len(factor.secret), 4))
    context = {"form": form, "trouble": trouble, "code": code_of(address), "secret": secret}
    return render(request, "accounts/second_factor.html", context, status=422 if form.errors else status)


@require_POST
@never_cache
@allow(*ROLES)
@confirmed
def new_recovery_codes(request: HttpRequest) -> HttpResponse:
    if second_factor.of(request.user) is None:
        return redirect("me")
    return render(request, "accounts/recovery_codes.html", {"codes": second_factor.renew_codes(request.user)})


@require_POST
@allow(*ROLES)
@confirmed
def no_second_factor(request: HttpRequest) -> HttpResponse:
    second_factor.take_off(request.user, request.user)
    messages.success(request, "The password alone lets you in again.")
    return redirect("me")
