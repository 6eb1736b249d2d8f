"""The office's pages of people: who works here, who is invited, who signed in."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop import journal, people
from shop.accounts import invitations, notes, second_factor, sessions
from shop.accounts.coming_in import confirmed
from shop.accounts.forms import InviteForm, PersonForm
from shop.accounts.models import Invitation, SecondFactor
from shop.accounts.views.coming_in import PAGE
from shop.models import User
from shop.qr import code_of
from shop.roles import OWNER, allow

NOTES_SHOWN = 200


@require_http_methods(PAGE)
@never_cache
@allow(OWNER)
@confirmed
def everyone(request: HttpRequest) -> HttpResponse:
    """Who works here and who is invited; a post invites."""
    form = InviteForm(request.POST or None)
    link = ""
    if request.method == "POST" and form.is_valid():
        link = address_of_link(request, invitations.invite(request.user, **form.cleaned_data))
    context = {
        "door": "office",
        "people": User.objects.order_by("-is_active", "name"),
        "with_factor": set(SecondFactor.objects.exclude(confirmed_at=None).values_list("user_id", flat=True)),
        "invited": invitations.open_ones(),
        "form": InviteForm() if link else form,
        "link": link,
        "code": code_of(link) if link else "",
    }
    return render(request, "office/people.html", context, status=422 if form.errors else 200)


@require_http_methods(PAGE)
@never_cache
@allow(OWNER)
@confirmed
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """One person: name, initials, role, open sessions, and what happened at the door."""
    shown = get_object_or_404(User, pk=pk)
    form = PersonForm(request.POST or None, instance=shown)
    if request.method == "POST" and form.is_valid():
        try:
            people.save_person(request.user, form.save(commit=False))
            messages.success(request, "Saved.")
            return redirect("person", pk)
        except ValidationError as error:
            form.add_error("role", error)
    return person_page(request, User.objects.get(pk=pk), form)


def person_page(request: HttpRequest, shown: User, form: PersonForm | None = None, **more) -> HttpResponse:
    form = form or PersonForm(instance=shown)
    context = {
        "door": "office",
        "person": shown,
        "form": form,
        "factor": second_factor.of(shown),
        "sessions": sessions.of(shown),
        "notes": notes.latest_of(shown, 20),
        **more,
    }
    return render(request, "office/person.html", context, status=422 if form.errors else 200)


@require_POST
@never_cache
@allow(OWNER)
@confirmed
def link_to_new_password(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a link by which the person sets a new password, once."""
    shown = get_object_or_404(User, pk=pk, is_active=True)
    link = address_of_link(request, invitations.link_to_new_password(request.user, shown))
    return person_page(request, shown, link=link, code=code_of(link))


@require_POST
@allow(OWNER)
@confirmed
def end_sessions(request: HttpRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(User, pk=pk)
    with transaction.atomic():
        ended = sessions.end_all(shown, but=request.session.session_key)
        journal.record(request.user, "end sessions", shown, {}, {"sessions": ended})
    messages.success(request, f"{shown} is signed out everywhere.")
    return redirect("person", pk)


@require_POST
@allow(OWNER)
@confirmed
def take_factor_off(request: HttpRequest, pk: int) -> HttpResponse:
    """For one who lost the phone and the recovery codes."""
    shown = get_object_or_404(User, pk=pk)
    second_factor.take_off(request.user, shown)
    messages.success(request, f"The password alone lets {shown} in again.")
    return redirect("person", pk)


@require_POST
@allow(OWNER)
@confirmed
def leave(request: HttpRequest, pk: int) -> HttpResponse:
    """The person no longer works here: every session and link ends; what was done stays on record."""
    shown = get_object_or_404(User, pk=pk, is_active=True)
    try:
        with transaction.atomic():
            shown.is_active = False
            people.save_person(request.user, shown)
            sessions.end_everything(shown)
    except ValidationError as error:
        return person_page(request, User.objects.get(pk=pk), trouble=" ".join(error.messages))
    messages.success(request, f"{shown} no longer signs in.")
    return redirect("people")


@require_POST
@allow(OWNER)
@confirmed
def come_back(request: HttpRequest, pk: int) -> HttpResponse:
    """The person works here again, and gets in by a link to a new password."""
    shown = get_object_or_404(User, pk=pk, is_active=False)
    with transaction.atomic():
        shown.is_active = True
        shown.set_unusable_password()
        people.save_person(request.user, shown)
    return link_to_new_password(request, pk)


@require_POST
@allow(OWNER)
@confirmed
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an invitation back."""
    invitations.take_back(request.user, get_object_or_404(Invitation, pk=pk, person=None))
    messages.success(request, "The invitation opens nothing any more.")
    return redirect("people")


@require_GET
@allow(OWNER)
def sign_ins(request: HttpRequest) -> HttpResponse:
    """What happened at the door lately."""
    context = {"door": "office", "notes": notes.latest(NOTES_SHOWN)}
    return render(request, "office/sign_ins.html", context)


def address_of_link(request: HttpRequest, secret: str) -> str:
    return request.build_absolute_uri(reverse("by_invitation", args=[secret]))
