"""The customer signs: on the counter's screen, or by a link on a phone. Looking at the page signs nothing."""

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from builds import post
from builds.actions import signing
from builds.actions.ground import Refused
from builds.actions.papers import facts_of
from builds.documents import quote_context
from builds.forms.consent import YesForm
from builds.models import Acceptance, Quote, SignatureLink
from builds.pictures import openings_picture
from builds.views.papers import pdf_file
from builds.views.ticket import ticket_or_404
from catalog import shelf
from shop import clock
from shop.pdf import Unavailable
from shop.roles import COUNTER, allow


def link_or_404(secret: str) -> SignatureLink:
    link = signing.link_of(secret)
    if link is None:
        raise Http404
    return link


def kept_to_itself(response: HttpResponse) -> HttpResponse:
    """The address of the page is a secret: it is told to no other site, and found by no search.

    A stricter policy than same-origin takes the origin from the form too, by which a forged form is told.
    """
    response["Referrer-Policy"] = "same-origin"
    response["X-Robots-Tag"] = "noindex"
    return response


def context_of(quote: Quote, form: YesForm) -> dict:
    """Return what the customer reads before signing: the quote's own words, from what it keeps."""
    sheet, estimate = quote.sheet, quote.estimate
    facts = facts_of(quote.ticket, shelf.rates_on(clock.today()), quote.issued_at)
    facts.number, facts.version = quote.number, quote.version
    facts.valid_until, facts.ready_on = quote.valid_until, quote.ready_on
    facts.override_reason, facts.most = quote.override_reason, quote.most
    return {
        "quote": quote,
        "ticket": quote.ticket,
        "form": form,
        "said": quote_context(facts, sheet, estimate),
        "price": estimate["price"],
        "picture": openings_picture(sheet, estimate),
        "boxes": list(zip(quote_context(facts, sheet, estimate)["openings"].places, form["initialled"], strict=True)),
    }


def yes_of(form: YesForm) -> signing.Yes:
    data = form.cleaned_data
    names = ("name", "initialled", "initials", "drawing", "agreed_electronically")
    return signing.Yes(**{name: data[name] for name in names})


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@login_not_required
def by_link(request: HttpRequest, secret: str) -> HttpResponse:
    """Show the quote to the holder of the link; a post with every initial and the name signs it, once."""
    link = link_or_404(secret)
    acceptance = signing.acceptance_of(link.quote)
    if closed := signing.why_closed(link):
        mine = acceptance is not None and acceptance.link_id == link.pk
        context = {"quote": link.quote, "acceptance": acceptance, "closed": closed, "secret": secret, "mine": mine}
        return kept_to_itself(render(request, "sign/closed.html", context, status=200 if acceptance else 410))
    form = YesForm(request.POST or None, places=signing.places_of(link.quote))
    trouble, status = "", 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                signed = signing.sign(link, yes_of(form))
                mail_to(link, signed)
                return kept_to_itself(redirect("builds:sign_by_link", secret))
            except (Refused, Unavailable) as error:
                trouble, status = str(error), 409
    context = context_of(link.quote, form) | {"trouble": trouble, "secret": secret}
    return kept_to_itself(render(request, "sign/quote.html", context, status=status))


def mail_to(link: SignatureLink, acceptance: Acceptance) -> None:
    """Send the signed file where the link went; it lies behind the link too, so a mail that fails loses nothing."""
    if link.sent_to:
        try:
            post.send_signed(acceptance, link.sent_to)
        except OSError:
            return


@require_safe
@never_cache
@login_not_required
def quote_file(request: HttpRequest, secret: str) -> HttpResponse:
    """The quote's bytes for the holder of the link."""
    quote = link_or_404(secret).quote
    return kept_to_itself(pdf_file(bytes(quote.pdf), f"{quote.number}.pdf"))


@require_safe
@never_cache
@login_not_required
def signed_file(request: HttpRequest, secret: str) -> HttpResponse:
    """The signed file for the one who signed by this link."""
    link = link_or_404(secret)
    acceptance = signing.acceptance_of(link.quote)
    if acceptance is None or acceptance.link_id != link.pk:
        raise Http404
    return kept_to_itself(pdf_file(bytes(acceptance.signed_pdf), f"{link.quote.number}-signed.pdf"))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(COUNTER)
def on_screen(request: HttpRequest, number: str) -> HttpResponse:
    """Turn the counter's screen to the customer: the same page, signed here."""
    ticket = ticket_or_404(number)
    try:
        quote = signing.latest_quote(ticket)
        signing.refuse_old(ticket, quote)
    except Refused:
        return redirect("builds:papers", number)
    name = ticket.customer.name if ticket.customer else ""
    initial = {"name": name, "revision": ticket.revision}
    form = YesForm(request.POST or None, places=signing.places_of(quote), initial=initial)
    trouble, status = "", 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                way, revision = Acceptance.Way.COUNTER, form.cleaned_data["revision"]
                signing.accept(request.user, ticket, yes_of(form), way=way, revision=revision)
                return redirect("builds:papers", number)
            except (Refused, Unavailable) as error:
                trouble, status = str(error), 409
    context = context_of(quote, form) | {"trouble": trouble, "at_counter": True, "now": timezone.localtime()}
    return render(request, "sign/quote.html", context, status=status)
