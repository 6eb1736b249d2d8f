"""Hostile strings in every free field: inert on every page, on paper and in mail; and nothing is fetched for a PDF."""

import csv
import io
import itertools
import re
import resource
from email import message_from_bytes

import pdfplumber
import pytest
from django.apps import apps
from django.core import mail
from django.db import models
from django.urls import reverse

from builds import post, querysets
from builds.actions import papers, signing
from builds.models import Customer, Line, Ticket
from catalog import exchange
from catalog.fields import FoldedField
from catalog.models.version import CatalogueVersion
from shop import pdf
from shop.append_only import AppendOnly
from shop.printing import Printers
from tests.builds.conftest import agreed_on_paper
from tests.builds.test_every_answer import INLINE
from tests.builds.test_who_sees_what import every_path

MARK = "<b onclick=x>"
HOSTILE = f"{MARK}<script>alert(1)</script>{{{{7|add:'42'}}}}'\"><img src=http://127.0.0.1:PORT/seen>"
# Words that other rows or the program know a row by; a page never takes them from a person as they are.
KNOWN_BY = frozenset(
    """
    key code number station battery_key switch_key bundle circuit currency username password action subject_kind tag
    place_word phone_digits sha256 hull_number family phase seal symbol mounting state way kind unit purpose fastener
    bit item other mark category
    """.split()  # noqa: SIM905
)


def free_columns():
    """Every column of text that a person fills, in every table that can be changed."""
    for app in ("builds", "catalog", "shop"):
        for model in apps.get_app_config(app).get_models():
            if issubclass(model, AppendOnly) or model.__name__ in ("OpenSession", "Bucket", "PersonalText", "SentForm"):
                continue
            for field in model._meta.local_fields:
                is_text = type(field) in (models.CharField, models.TextField, models.EmailField)
                taken = field.unique or field.choices or isinstance(field, FoldedField) or field.name in KNOWN_BY
                if is_text and not taken:
                    yield model, field


@pytest.fixture
def poisoned(rig, listener, counter):
    """A ticket of a customer, in a shop where every free text is hostile."""
    rig.customer = Customer.objects.create(name="Customer 0412")
    rig.save()
    port, _ = listener
    text = HOSTILE.replace("PORT", str(port))
    columns = list(free_columns())
    assert {"name", "note", "title", "asked", "phone"} <= {field.name for _, field in columns}
    for model, field in columns:
        model._base_manager.update(**{field.name: text[: field.max_length or 500]})
    CatalogueVersion.move_on()
    return Ticket.objects.get(pk=rig.pk)


def test_hostile_text_in_every_field_is_inert_on_every_page(poisoned, cast, client, blank_papers):
    ticket = poisoned
    quote = papers.issue_quote(cast["counter"], querysets.for_counter().get(pk=ticket.pk))
    _, secret = signing.make_link(cast["counter"], ticket)
    shown = 0
    for role in ("owner", "counter", "tech"):
        Ticket.objects.update(state="bench" if role == "tech" else "quoted")
        client.force_login(cast[role])
        client.get("/me/")
        session = client.session
        session["confirmed"] = session["began"]
        session.save()
        for path in [*every_path(ticket.number), f"/counter/?q={quote.number}", f"/sign/{secret}/"]:
            answer = client.get(path)
            assert answer.status_code < 500, path
            if answer.status_code != 200 or "html" not in answer["Content-Type"] or answer.streaming:
                continue
            body = answer.content.decode()
            assert MARK not in body and "<script>alert" not in body, path
            assert INLINE.search(body.replace("&lt;b onclick=x&gt;", "")) is None, path
            shown += "&lt;b onclick=x&gt;" in body
    assert shown > 20


def test_in_no_file_for_a_spreadsheet_does_a_cell_begin_a_formula(poisoned, cast, client, blank_papers):
    """What makes a cell a formula: OWASP, CSV injection (from memory). A number may begin with its sign."""
    for (model, field), begins in zip(free_columns(), itertools.cycle("=+-@\t\r"), strict=False):
        model._base_manager.update(**{field.name: f"{begins}1+2"[: field.max_length or 500]})
    CatalogueVersion.move_on()
    agreed_on_paper(cast["counter"], poisoned)
    client.force_login(cast["owner"])
    kinds = [reverse("catalog:export", args=(kind, "csv")) for kind in exchange.FILES]
    files, guarded = set(), 0
    for path in [*every_path(poisoned.number), *kinds]:
        for address in (path, f"{path}?as=csv"):
            answer = client.get(address)
            if not answer.get("Content-Type", "").startswith("text/csv"):
                continue
            files.add(address)
            text = (b"".join(answer) if answer.streaming else answer.content).decode("utf-8-sig")
            cells = [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
            assert [one for one in cells if re.match(r"[=+\-@\t\r](?![\d.]+$)", one)] == [], address
            guarded += sum("1+2" in one for one in cells)
    assert len(files) > 15 and guarded > 100


def test_on_paper_hostile_text_is_text_and_nothing_is_fetched(poisoned, counter, listener):
    ticket = poisoned
    _, calls = listener
    quote = papers.issue_quote(counter, querysets.for_counter().get(pk=ticket.pk))
    with pdfplumber.open(io.BytesIO(bytes(quote.pdf))) as document:
        said = "".join(page.extract_text() for page in document.pages)
        links = [link for page in document.pages for link in page.hyperlinks]
    assert "<script>" in said.replace("\n", "") and links == []
    assert calls() == 0


def test_in_mail_hostile_text_writes_no_header_and_no_html(poisoned, counter):
    ticket = poisoned
    papers.issue_quote(counter, querysets.for_counter().get(pk=ticket.pk))
    link, secret = signing.make_link(counter, ticket, sent_to="ann@example.org")
    post.send_quote(link, f"http://testserver/sign/{secret}/")
    sent = message_from_bytes(mail.outbox[0].message().as_bytes())
    assert {name.lower() for name in sent} <= {
        "content-type",
        "mime-version",
        "subject",
        "from",
        "to",
        "date",
        "message-id",
        "content-transfer-encoding",
    }
    assert sent["To"] == "ann@example.org"
    assert [part.get_content_type() for part in sent.walk()][1:] == ["text/plain", "application/pdf"]


def test_a_line_break_in_an_address_or_a_name_sends_no_second_mail(rig, counter, client, blank_papers):
    papers.issue_quote(counter, querysets.for_counter().get(pk=rig.pk))
    client.force_login(counter)
    for address in ("a@example.org\nBcc: b@example.org", "a@example.org, b@example.org", "a@example.org\r\n\r\nx"):
        client.post(f"/counter/ticket/{rig.number}/papers/send/", {"address": address})
    assert [message for message in mail.outbox if len(message.recipients()) != 1 or "\n" in message.to[0]] == []


def test_a_paper_with_more_than_any_shop_writes_is_refused_in_words_and_the_page_stays_up(
    rig, counter, client, kind, monkeypatch
):
    """What a person may type is short; what a paper may hold in all is limited before it is laid out."""
    monkeypatch.setattr(pdf, "LARGEST_HTML", 20_000)
    client.force_login(counter)
    answer = client.post(f"/counter/ticket/{rig.number}/papers/quote/")
    assert answer.status_code in (409, 422, 503) and "too large to print" in answer.content.decode()
    assert client.get(f"/counter/ticket/{rig.number}/").status_code == 200


def test_where_a_printer_dies_of_a_paper_it_is_said_in_words_and_the_next_one_is_printed(
    rig, counter, client, kind, monkeypatch
):
    few = Printers(most=1)
    few.lay_out("<p>warm</p>", "a4")
    monkeypatch.setattr(pdf, "printers_of", lambda process: few)
    client.force_login(counter)
    few.free[0].longest_s = 0.001
    answer = client.post(f"/counter/ticket/{rig.number}/papers/quote/")
    assert answer.status_code == 409 and "too large to print" in answer.content.decode()
    assert client.post(f"/counter/ticket/{rig.number}/papers/quote/").status_code == 302
    few.end()


def test_the_longest_texts_on_many_lines_stay_within_bounded_time_and_memory(rig, counter, kind):
    """Every free text of every line at its longest, as one word that fits no column."""
    for field in (field for model, field in free_columns() if model is Line):
        rig.lines.update(**{field.name: "W" * (field.max_length or 2000)})
    Ticket.objects.update(title="W" * 120, asked="W" * 500)
    before = resource.getrusage(resource.RUSAGE_SELF)
    quote = papers.issue_quote(counter, querysets.for_counter().get(pk=rig.pk))
    after = resource.getrusage(resource.RUSAGE_SELF)
    assert bytes(quote.pdf).startswith(b"%PDF")
    assert (after.ru_maxrss - before.ru_maxrss) < 500_000, "kB"
