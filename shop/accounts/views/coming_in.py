"""Signing in, the code after the password, signing out of everywhere, and showing again who is at the keys."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from shop import journal
from shop.accounts import carried, coming_in, first_owner, passwords, second_factor, sessions
from shop.accounts.forms import CodeForm, PasswordForm, SignInForm
from shop.accounts.passwords import Wrong
from shop.accounts.throttle import TooEarly
from shop.roles import ROLES, allow

WRONG_PASSWORD = "This user name and password do not go together. Both mind capital letters."
WRONG_CODE = "This code is not the one that holds now, or it was used before. Wait for the next one."
PAGE = ["GET", "HEAD", "POST"]


def tried(request: HttpRequest, form, look, wrong: str) -> tuple[object, str, int]:
    """Return what a try gives, or the sentence and the status that say why it gives nothing."""
    if not form.is_valid():
        return None, "", 422
    try:
        return look(form.cleaned_data), "", 200
    except Wrong:
        return None, wrong, 422
    except TooEarly as early:
        request.retry_after_s = early.wait_s
        return None, str(early), 429


def answered(request: HttpRequest, template: str, context: dict, status: int) -> HttpResponse:
    response = render(request, template, context, status=status)
    if status == 429:
        response["Retry-After"] = str(request.retry_after_s)
    return response


@require_http_methods(PAGE)
@never_cache
@sensitive_post_parameters("password")
@login_not_required
def sign_in(request: HttpRequest) -> HttpResponse:
    following = carried.safe_path(request, request.POST.get("next") or request.GET.get("next", ""))
    if request.user.is_authenticated:
        return redirect(following)
    if first_owner.is_wanted():
        return redirect("begin")
    form = SignInForm(request.POST or None)
    trouble, status = "", 200
    if request.method == "POST":
        user, trouble, status = tried(request, form, lambda typed: passwords.check(request, **typed), WRONG_PASSWORD)
        if user:
            return coming_in.first_step(request, user, following)
    context = {"form": form, "trouble": trouble, "next": following}
    return answered(request, "registration/sign_in.html", context, status)


@require_http_methods(PAGE)
@never_cache
@login_not_required
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """The second step of those who have a second factor."""
    user, following = coming_in.waiting(request)
    if user is None:
        return redirect("sign_in")
    form = CodeForm(request.POST or None)
    trouble, status = "", 200
    if request.method == "POST":
        right, trouble, status = tried(request, form, lambda typed: accepted(request, user, typed["code"]), WRONG_CODE)
        if right:
            return coming_in.let_in(request, user, following)
    context = {"form": form, "trouble": trouble, "title": "Your code", "button": "Sign in"}
    return answered(request, "accounts/code.html", context, status)


def accepted(request: HttpRequest, user, code: str) -> bool:
    second_factor.check(request, user, code)
    return True


@require_http_methods(PAGE)
@never_cache
@sensitive_post_parameters("password")
@allow(*ROLES)
def confirm(request: HttpRequest) -> HttpResponse:
    """Ask who is at the keys before a risky act; then go on with what was begun, nothing typed lost."""
    words = request.session.get("to_confirm", {})
    user = request.user
    by_code = second_factor.of(user) is not None
    data = request.POST if request.method == "POST" else None
    form = CodeForm(data) if by_code else PasswordForm(data, user=user)
    trouble, status = "", 200
    if request.method == "POST":

        def look(typed):
            if by_code:
                return accepted(request, user, typed["code"])
            return passwords.check_own(request, typed["password"])

        wrong = WRONG_CODE if by_code else "This is not your password. It minds capital letters."
        right, trouble, status = tried(request, form, look, wrong)
        if right:
            coming_in.confirm(request)
            request.session.pop("to_confirm", None)
            return go_on(request, words.get("next") or request.GET.get("next", ""), words.get("fields", ""))
    context = {"form": form, "trouble": trouble, "title": "Is it you?", "button": "Go on"}
    return answered(request, "accounts/code.html", context, status)


def go_on(request: HttpRequest, following: str, fields: str) -> HttpResponse:
    """Lead on to a page; with carried fields, to a page that sends them."""
    to, kept = carried.unpacked(request, fields) if fields else ("", [])
    following = carried.safe_path(request, following)
    if to:
        context = {"to": carried.safe_path(request, to), "fields": kept, "next": following}
        return render(request, "accounts/carried.html", context)
    return redirect(following)


@require_POST
@allow(*ROLES)
def end_my_sessions(request: HttpRequest) -> HttpResponse:
    """Sign out everywhere but here."""
    with transaction.atomic():
        ended = sessions.end_all(request.user, but=request.session.session_key)
        journal.record(request.user, "sign out everywhere", request.user, {}, {"sessions": ended})
    messages.success(request, f"Signed out everywhere else: {ended} session{'' if ended == 1 else 's'} ended.")
    return redirect(reverse("me"))
