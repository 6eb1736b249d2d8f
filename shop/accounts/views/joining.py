"""The first owner of a fresh shop, and those who are invited."""

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from shop.accounts import coming_in, first_owner, invitations, throttle
from shop.accounts.addresses import address_of, network_of
from shop.accounts.forms import BeginForm, JoinForm, NewPasswordForm
from shop.accounts.throttle import Door, TooEarly
from shop.accounts.views.coming_in import PAGE

ABOUT_A_PERSON = ("username", "name", "initials", "password")


@require_http_methods(PAGE)
@never_cache
@sensitive_post_parameters("password", "again", "secret")
@login_not_required
def begin(request: HttpRequest) -> HttpResponse:
    """Make the first owner's account; there is no such page once anyone has an account."""
    if not first_owner.is_wanted():
        raise Http404
    form = BeginForm(request.POST or None)
    if request.method == "POST" and form.is_valid() and knows_secret(request, form):
        try:
            owner = first_owner.make(**{name: form.cleaned_data[name] for name in ABOUT_A_PERSON})
            return coming_in.let_in(request, owner, "/")
        except first_owner.TooLate:
            raise Http404 from None
        except ValidationError as error:
            told(form, error)
    return render(request, "accounts/begin.html", {"form": form}, status=422 if form.errors else 200)


def knows_secret(request: HttpRequest, form: BeginForm) -> bool:
    door = Door("address", network_of(address_of(request)))
    try:
        throttle.count(door)
    except TooEarly as early:
        form.add_error("secret", str(early))
        return False
    if first_owner.fits(form.cleaned_data["secret"]):
        throttle.forgive(door)
        return True
    form.add_error("secret", "This is not the secret. It stands on the server's console, printed at its start.")
    return False


@require_http_methods(PAGE)
@never_cache
@sensitive_post_parameters("password", "again")
@login_not_required
def by_invitation(request: HttpRequest, secret: str) -> HttpResponse:
    """Join by an invitation, or set a new password; the link opens once."""
    invitation = invitations.of(secret)
    if invitation is None:
        return render(request, "accounts/link_gone.html", status=410)
    new = invitation.person is None
    form = (JoinForm if new else NewPasswordForm)(
        request.POST or None, initial={"name": invitation.name} if new else None
    )
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            if new:
                user = invitations.join(invitation, **{name: data[name] for name in ABOUT_A_PERSON})
            else:
                user = invitations.set_password(invitation, data["password"])
            request.session.flush()
            return coming_in.first_step(request, user, "/")
        except invitations.Gone:
            return render(request, "accounts/link_gone.html", status=410)
        except ValidationError as error:
            told(form, error)
    context = {"form": form, "invitation": invitation, "new": new}
    return render(request, "accounts/join.html", context, status=422 if form.errors else 200)


def told(form, error: ValidationError) -> None:
    """Put what an action refused beside the field that it is about; about no field, beside the password."""
    if not hasattr(error, "error_dict"):
        form.add_error("password", error)
        return
    for name, errors in error.error_dict.items():
        form.add_error(name if name in form.fields else None, errors)
