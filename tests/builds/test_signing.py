"""The customer's yes: on the screen, on paper, by a link; signed once, by the right one, bound to the bytes."""

import datetime
import io
import json

import pdfplumber
import pytest
from django.core import mail
from django.utils import timezone

from builds import querysets
from builds.actions import lines, papers, signing, tickets
from builds.actions.ground import Refused
from builds.models import Acceptance, Quote, SignatureLink
from shop import clock, journal
from tests.builds.at_once import all_at_once
from tests.builds.conftest import fresh

STROKE = [[[100, 150], [300, 80], [500, 200]]]


@pytest.fixture(autouse=True)
def pages(request):
    if "real_pages" not in request.fixturenames:
        request.getfixturevalue("blank_papers")


@pytest.fixture
def real_pages():
    """The quote and the signed page are laid out."""


@pytest.fixture
def quote(rig, counter):
    return papers.issue_quote(counter, querysets.for_counter().get(number=rig.number))


@pytest.fixture
def secret(quote, counter):
    return signing.make_link(counter, fresh(quote.ticket))[1]


def yes(quote, **changes):
    places = signing.places_of(quote)
    return {
        "name": "Customer 0412",
        "initials": "C",
        "initialled": places,
        "agreed_electronically": "on",
        "drawing": json.dumps(STROKE),
        **changes,
    }


def address(secret, rest=""):
    return f"/sign/{secret}/{rest}"


def test_the_customer_sees_price_day_and_each_place_and_signs_by_the_link(quote, secret, client):
    page = client.get(address(secret)).content.decode()
    assert f"{quote.total:,}" in page
    assert all(place in page for place in signing.places_of(quote))
    answer = client.post(address(secret), yes(quote))
    assert (answer.status_code, answer.headers["Location"]) == (302, address(secret))
    acceptance = Acceptance.objects.get()
    assert (acceptance.way, acceptance.name, acceptance.pdf_sha256) == ("link", "Customer 0412", quote.pdf_sha256)
    assert acceptance.recorded_by is None
    assert fresh(quote.ticket).state == "accepted"


def test_the_signed_file_is_the_quotes_pages_and_a_page_with_its_hash(real_pages, quote, secret, client):
    client.post(address(secret), yes(quote))
    assert "The signed file" in client.get(address(secret)).content.decode()
    signed = client.get(address(secret, "signed.pdf"))
    assert papers.sha256(signed.content) == Acceptance.objects.get().signed_sha256
    with pdfplumber.open(io.BytesIO(signed.content)) as whole, pdfplumber.open(io.BytesIO(bytes(quote.pdf))) as alone:
        texts = [page.extract_text() for page in whole.pages]
        assert texts[: len(alone.pages)] == [page.extract_text() for page in alone.pages]
        assert quote.pdf_sha256[:8] in texts[-1]
        assert quote.pdf_sha256[-8:] in texts[-1]


def test_looking_signs_nothing_however_often(quote, secret, client):
    for method in (client.get, client.head, client.options):
        for rest in ("", "quote.pdf"):
            method(address(secret, rest))
    assert not Acceptance.objects.exists()
    assert fresh(quote.ticket).state == "quoted"


def test_a_link_is_128_bits_and_kept_as_a_hash_alone(quote, secret):
    import base64

    assert len(base64.urlsafe_b64decode(secret + "==")) == 16
    link = SignatureLink.objects.get()
    assert secret not in "".join(str(value) for value in link.__dict__.values())
    assert link.secret_sha256 == signing.hash_of(secret)


def test_every_bit_of_a_link_flipped_leads_nowhere(quote, secret, client):
    import base64

    raw = base64.urlsafe_b64decode(secret + "==")
    for bit in range(128):
        flipped = bytearray(raw)
        flipped[bit // 8] ^= 1 << bit % 8
        other = base64.urlsafe_b64encode(bytes(flipped)).rstrip(b"=").decode()
        assert client.get(address(other)).status_code == 404
        assert client.post(address(other), yes(quote)).status_code == 404
    assert not Acceptance.objects.exists()


def refused(client, secret, quote):
    answer = client.post(address(secret), yes(quote))
    assert answer.status_code in (200, 409, 410), answer.status_code
    return answer.content.decode()


def test_a_link_that_ran_out_signs_nothing(quote, secret, client, monkeypatch):
    later = timezone.now() + datetime.timedelta(days=15)
    monkeypatch.setattr(clock, "now", lambda: later)
    assert "run out" in refused(client, secret, quote)
    assert not Acceptance.objects.exists()


@pytest.mark.parametrize("what", ["line", "new quote", "declined", "cancelled", "undo"])
def test_a_link_is_void_after_any_change(what, quote, secret, counter, client):
    ticket = fresh(quote.ticket)
    if what == "line":
        lines.change_line(counter, ticket, "L1", quantity=2)
    elif what == "new quote":
        papers.issue_quote(counter, querysets.for_counter().get(pk=ticket.pk))
    elif what == "undo":
        lines.undo(counter, ticket)
    else:
        tickets.close(counter, ticket, {"declined": "decline", "cancelled": "cancel"}[what])
    assert "changed after this quote" in refused(client, secret, quote)
    assert not Acceptance.objects.exists()


def test_a_link_signs_once_and_a_second_link_of_the_quote_no_more(quote, secret, counter, client):
    other = signing.make_link(counter, fresh(quote.ticket))[1]
    client.post(address(secret), yes(quote))
    for again in (secret, other):
        assert "signed" in refused(client, again, quote)
    assert Acceptance.objects.count() == 1
    assert client.get(address(other, "signed.pdf")).status_code == 404


def test_the_ticket_changed_between_looking_and_signing(quote, secret, counter, client):
    assert client.get(address(secret)).status_code == 200
    lines.add_line(counter, fresh(quote.ticket), quote.ticket.lines.first().accessory)
    refused(client, secret, quote)
    assert not Acceptance.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_two_signers_at_once_sign_once(quote, secret):
    links = [signing.link_of(secret), signing.link_of(secret)]

    def signed_by(link, name):
        given = signing.Yes(name, signing.places_of(quote), "C", agreed_electronically=True)
        return lambda: signing.sign(link, given).name

    found = all_at_once([signed_by(link, f"Customer {n}") for n, link in enumerate(links)])
    refused = [one for one in found if isinstance(one, Refused)]
    assert (len(found), len(refused)) == (2, 1)
    assert Acceptance.objects.get().name in found


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"name": ""}, "The name is missing"),
        ({"initials": ""}, "Your initials are missing"),
        ({"initialled": []}, "Not initialled yet"),
        ({"agreed_electronically": ""}, "Tick this to sign here"),
        ({"drawing": "[[[1,2],"}, "could not be read"),
        ({"drawing": "[[[1001,2]]]"}, "leaves its field"),
        ({"drawing": json.dumps([[[1, 1]] * 5000])}, "too long"),
    ],
)
def test_what_is_missing_is_said_and_what_was_typed_stays(changes, sentence, quote, secret, client):
    answer = client.post(address(secret), yes(quote, **changes))
    page = answer.content.decode()
    assert (answer.status_code, sentence in page) == (422, True)
    assert "Customer 0412" in page or changes == {"name": ""}
    assert not Acceptance.objects.exists()


def test_on_paper_there_is_a_scan_or_a_reason(quote, counter, client):
    client.force_login(counter)
    base = f"/counter/ticket/{quote.ticket.number}/papers/accept/"
    said = {"name": "Customer 0412", "initialled": signing.places_of(quote)}
    assert "Scan the signed paper" in client.post(base, said).content.decode()
    from django.core.files.uploadedfile import SimpleUploadedFile

    wrong = SimpleUploadedFile("a.pdf", b"MZ not a scan")
    assert "no PDF, PNG or JPEG" in client.post(base, {**said, "scan": wrong}).content.decode()
    scan = SimpleUploadedFile("b.pdf", bytes(quote.pdf))
    assert client.post(base, {**said, "scan": scan}).status_code == 302
    assert client.get(f"/counter/quote/{quote.number}/signed/").content == bytes(quote.pdf)


def test_the_counters_screen_takes_the_signature_and_names_who_stood_by(quote, counter, client):
    client.force_login(counter)
    base = f"/counter/ticket/{quote.ticket.number}/papers/sign/"
    assert "Sign to accept" in client.get(base).content.decode()
    assert client.post(base, yes(quote, revision=fresh(quote.ticket).revision)).status_code == 302
    acceptance = Acceptance.objects.get()
    assert (acceptance.way, acceptance.recorded_by, acceptance.drawing) == ("counter", counter, STROKE)
    assert client.get(f"/counter/quote/{quote.number}/signed/")["Content-Type"] == "application/pdf"


def test_quote_and_link_go_by_mail_and_the_signed_file_follows(quote, counter, client):
    client.force_login(counter)
    base = f"/counter/ticket/{quote.ticket.number}/papers/send/"
    assert client.post(base, {"address": "customer@example.org"}).status_code == 302
    [letter] = mail.outbox
    [url] = [word for word in letter.body.split() if "/sign/" in word]
    assert letter.to == ["customer@example.org"]
    assert letter.attachments[0][1] == bytes(quote.pdf)
    client.logout()
    client.post(url.removeprefix("http://testserver"), yes(quote))
    assert mail.outbox[-1].attachments[0][1] == bytes(Acceptance.objects.get().signed_pdf)


def test_without_an_address_the_link_is_shown_as_a_code(quote, counter, client):
    client.force_login(counter)
    page = client.post(f"/counter/ticket/{quote.ticket.number}/papers/send/", {"address": ""}).content.decode()
    assert "<svg" in page
    assert "/sign/" in page
    wrong = client.post(f"/counter/ticket/{quote.ticket.number}/papers/send/", {"address": "no address"})
    assert "is no e-mail address" in wrong.content.decode()


def test_the_address_of_the_page_is_told_to_nobody(quote, secret, client):
    answer = client.get(address(secret))
    assert answer["Referrer-Policy"] == "same-origin"
    assert "no-store" in answer["Cache-Control"]
    assert answer["X-Robots-Tag"] == "noindex"


def test_the_journal_says_who_signed_what_and_holds(quote, secret, client):
    client.post(address(secret), yes(quote))
    entry = journal.history(quote.ticket).last()
    assert (entry.actor, entry.actor_name) == (None, "The customer")
    assert entry.after["quote_sha256"] == quote.pdf_sha256
    assert journal.verify() is None


def test_the_customer_page_has_no_cost_and_no_margin(quote, secret, client):
    page = client.get(address(secret)).content.decode()
    assert "argin" not in page
    assert str(Quote.objects.get().estimate["price"]["cost"]) not in page
