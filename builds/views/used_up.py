"""Consumables used on a ticket: the same short form at the bench and at the counter, without any cost."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from builds import querysets, used_up
from builds.actions import using
from builds.actions.ground import Refused
from builds.forms.used_up import UsedForm
from builds.states import is_open
from builds.views.papers import trouble_of
from shop.roles import COUNTER, TECH, allow


@require_http_methods(["GET", "HEAD", "POST"])
@allow(COUNTER)
def at_counter(request: HttpRequest, number: str) -> HttpResponse:
    return answer(request, number, "counter", "builds:papers")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(TECH)
def at_bench(request: HttpRequest, number: str) -> HttpResponse:
    return answer(request, number, "bench", "builds:bench_ticket")


def answer(request: HttpRequest, number: str, door: str, back: str) -> HttpResponse:
    """Show what was estimated and used; a form that is sent writes down what is new in it."""
    ticket = querysets.for_counter().filter(number=number).first()
    if ticket is None or not is_open("note_used", ticket.state):
        raise Http404
    rows, trouble, status = used_up.rows_of(ticket), "", 200
    form = UsedForm(
        request.POST if request.method == "POST" else None, rows=rows, initial={"revision": ticket.revision}
    )
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                noted = using.note_used(request.user, ticket, form.used(), revision=form.cleaned_data["revision"])
            except Refused as error:
                trouble, status = trouble_of(error), 409
            else:
                messages.success(request, f"{len(noted)} amount{'' if len(noted) == 1 else 's'} written down.")
                return redirect(back, number)
    context = {"door": door, "ticket": ticket, "form": form, "trouble": trouble, "back": back}
    return render(request, f"{door}/used_up.html", context, status=status)
