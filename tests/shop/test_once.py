"""A form that is sent twice does its work once."""

import datetime

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.template import Context, Template

from shop import clock, once
from shop.models import SentForm


def sent(rf, token, work, **headers):
    """Answer a posted form by a view that does the work in a transaction and spends the token."""
    request = rf.post("/counter/new/", {"once": token}, **headers)
    request.htmx = headers.get("HTTP_HX_REQUEST") == "true"

    def view(request):
        with transaction.atomic():
            once.spend("/counter/ticket/T-0001/")
            work()
        return HttpResponse("done")

    middleware = once.OnceMiddleware(view)
    held = once._token.get()
    try:
        return middleware(request)
    except once.AlreadySent as error:
        return middleware.process_exception(request, error)
    finally:
        assert once._token.get() is held


def test_a_form_carries_a_token_of_128_bits_that_is_never_the_same():
    fields = {Template("{% load once %}{% once %}").render(Context()) for _ in range(50)}
    assert len(fields) == 50
    assert all('name="once"' in field for field in fields)


@pytest.mark.django_db
def test_the_second_sending_does_nothing_and_leads_to_what_the_first_made(rf):
    done = []
    token = once.new_token()
    assert sent(rf, token, lambda: done.append(1)).content == b"done"
    again = sent(rf, token, lambda: done.append(2))
    assert (done, again.status_code, again.headers["Location"]) == ([1], 303, "/counter/ticket/T-0001/")


@pytest.mark.django_db
def test_the_same_by_htmx_leads_the_whole_page(rf):
    token = once.new_token()
    sent(rf, token, lambda: None)
    assert sent(rf, token, lambda: None, HTTP_HX_REQUEST="true").headers["HX-Redirect"] == "/counter/ticket/T-0001/"


@pytest.mark.django_db
def test_work_that_failed_leaves_the_form_to_be_sent_again(rf):
    def fail():
        raise ValueError("no")

    token = once.new_token()
    with pytest.raises(ValueError, match="no"):
        sent(rf, token, fail)
    done = []
    sent(rf, token, lambda: done.append(1))
    assert done == [1]


@pytest.mark.django_db
@pytest.mark.parametrize("token", ["", "short", "no good/token at all", "x" * 65])
def test_a_form_without_a_token_works_as_ever(token, rf):
    done = []
    for _ in range(2):
        sent(rf, token, lambda: done.append(1))
    assert done == [1, 1]
    assert not SentForm.objects.exists()


@pytest.mark.django_db
def test_tokens_older_than_a_month_are_forgotten(rf):
    sent(rf, once.new_token(), lambda: None)
    later = clock.now() + datetime.timedelta(days=31)
    with clock.at(later):
        sent(rf, once.new_token(), lambda: None)
    assert SentForm.objects.count() == 1


def test_the_way_back_stays_on_this_site(rf):
    request = rf.post("/x/", HTTP_REFERER="https://elsewhere.example/page/")
    assert once.came_from(request) == "/"
    request = rf.post("/x/", HTTP_REFERER="http://testserver/counter/?q=a")
    assert once.came_from(request) == "/counter/?q=a"
