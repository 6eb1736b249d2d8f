"""Everything about one customer as a file; erasing it but for what the law needs; the journal stays sound."""

import datetime
import io
import json
import re
import zipfile

import pytest
from django.apps import apps
from django.core.exceptions import PermissionDenied
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.test import Client

from builds import about_customer, history, personal, querysets
from builds.actions import erasing, lines, money, papers, signing, tickets
from builds.actions.ground import Refused
from builds.models import Acceptance, Customer, Invoice, PersonalText, Quote, RetentionRules, Ticket
from shop import append_only, clock, journal
from shop.append_only import AppendOnlyError
from shop.keeping import rows, sound
from shop.models import JournalEntry
from tests.shop.accounts_at_work import sign_in, with_password

NAME, PHONE, EMAIL = "Quendolyn Canary", "555-0199", "quendolyn@example.org"
MARKS = (NAME, PHONE, EMAIL, "a secret wish")


@pytest.fixture
def paid(rig, counter, blank_papers):
    """A ticket of a customer: quoted, signed on paper, invoiced and handed over."""
    tickets.describe(counter, rig, title="Rig", asked="a secret wish", name=NAME, phone=PHONE, email=EMAIL)
    quote = papers.issue_quote(counter, querysets.for_counter().get(pk=rig.pk))
    given = signing.Yes(NAME, signing.places_of(quote), note="The scanner is broken.")
    signing.accept(counter, rig, given, way="paper")
    money.issue_invoice(counter, rig)
    Ticket.objects.filter(pk=rig.pk).update(state="handed_over")
    return Ticket.objects.get(pk=rig.pk)


def everything_in_the_journal():
    return "".join(str(list(JournalEntry.objects.values_list())))


def in_years(years):
    return clock.at(clock.now() + datetime.timedelta(days=366 * years))


def test_the_journal_itself_never_holds_who_the_customer_is(paid):
    said = everything_in_the_journal()
    assert [mark for mark in MARKS if mark in said] == []
    assert journal.verify() is None and personal.altered() == []


def test_the_history_still_tells_what_was_asked_and_an_undo_brings_it_back(rig, counter):
    tickets.describe(counter, rig, title="Rig", asked="two rods", name=NAME, phone=PHONE)
    tickets.describe(counter, rig, title="Rig", asked="three rods", name=NAME, phone="555-0100")
    assert "What was asked: three rods" in history.told(rig)[0].details
    lines.undo(counter, rig)
    back = Ticket.objects.get(pk=rig.pk)
    assert (back.asked, back.customer.phone) == ("two rods", PHONE)


def test_a_text_beside_the_journal_that_was_altered_is_found(paid):
    row = PersonalText.objects.last()
    PersonalText.objects.filter(pk=row.pk).update(text_json='"someone else"')
    assert personal.altered() == [row.key]


def test_the_export_holds_everything_about_the_customer_with_the_papers(paid, owner):
    customer = paid.customer
    archive = zipfile.ZipFile(io.BytesIO(erasing.export(owner, customer)))
    text = archive.read("customer.json").decode()
    said = json.loads(text)
    assert [mark for mark in MARKS if mark not in text] == []
    files = {name: archive.read(name) for name in archive.namelist() if name.startswith("files/")}
    assert bytes(Quote.objects.get().pdf) in files.values() and bytes(Invoice.objects.get().pdf) in files.values()
    assert {"tickets", "quotes", "acceptances", "invoices", "lines", "history"} <= set(said)
    assert "export customer" in JournalEntry.objects.values_list("action", flat=True)


def test_the_export_tells_no_cost_no_secret_and_nothing_of_another_customer(paid, owner, counter):
    paid.lines.update(unit_cost="7331.17")
    tickets.open_ticket(counter, hull_type=paid.hull.hull_type, name="Another Person", asked="another wish")
    text = json.dumps(about_customer.document(paid.customer)[0], default=str)
    assert "7331.17" not in text and "Another Person" not in text and "secret_sha256" not in text
    assert re.findall(r'"(\w*(?:cost|margin|profit|estimate|sheet_json|secret)\w*)":', text) == []


def test_every_table_of_a_ticket_is_among_the_ways_to_the_customer():
    names = {model.__name__ for model in about_customer.ways()}
    apart = {"Customer", "KeptCatalogue", "NumberSeries", "RetentionRules"}
    apart |= {"LearnedChange", "MonthTotals", "Reckoning", "ReckoningSlice"}
    # The shop's people and its shelf.
    apart |= {"BenchHours", "DayOff", "FeedLink", "StockItem", "PurchaseOrder", "OrderLine", "Delivery"}
    assert {model.__name__ for model in apps.get_app_config("builds").get_models()} - names <= apart


def test_an_open_ticket_keeps_its_customer(paid, owner):
    Ticket.objects.update(state="bench")
    with pytest.raises(Refused, match="on the bench"):
        erasing.erase(owner, paid.customer)
    assert Customer.objects.get().name == NAME


def test_erasing_leaves_the_papers_that_the_law_needs_and_says_until_when_and_why(paid, owner):
    told = {one.what: one for one in erasing.erase(owner, paid.customer)}
    assert told["invoices"].why == erasing.ACCOUNTS and told["acceptances"].why == erasing.CLAIMS
    assert told["invoices"].until.year == clock.today().year + 10
    customer = Customer.objects.get()
    assert (customer.name, customer.phone, customer.email) == (f"erased {customer.pk}", "", "")
    ticket = Ticket.objects.get()
    assert (ticket.title, ticket.asked) == ("", "")
    assert bytes(Invoice.objects.get().pdf) and Acceptance.objects.get().name == NAME
    assert not PersonalText.objects.exists()
    assert journal.verify() is None and append_only.missing_triggers(connection) == []
    assert "What was asked: erased" in str(history.told(ticket))
    assert personal.altered() == []


def test_when_their_time_has_ended_the_papers_are_emptied_and_their_numbers_and_hashes_stay(paid, owner, client_of):
    erasing.erase(owner, paid.customer)
    invoice, quote = Invoice.objects.get(), Quote.objects.get()
    with in_years(7):
        done = erasing.run_retention(owner)
        assert "invoice" not in done and done["quote"] == [str(quote.pk)] and done["acceptance"]
        assert erasing.run_retention(owner) == {}
    assert Acceptance.objects.get().name == erasing.GONE
    with in_years(11):
        assert erasing.run_retention(owner) == {"invoice": [str(invoice.pk)]}
    emptied = Invoice.objects.get()
    assert bytes(emptied.pdf) == b"" and emptied.pdf_sha256 == invoice.pdf_sha256
    assert (emptied.number, emptied.total) == (invoice.number, invoice.total)
    assert client_of(owner).get(f"/counter/invoice/{invoice.number}.pdf").status_code == 410
    assert client_of(owner).get(f"/counter/quote/{quote.number}.pdf").status_code == 410
    assert journal.verify() is None and append_only.missing_triggers(connection) == []
    assert sound.verify().findings == []
    last = JournalEntry.objects.last()
    assert (last.action, last.after) == ("run retention", {"invoice": [str(invoice.pk)]})


def test_the_exception_ends_with_its_transaction_and_nothing_else_changes_a_paper(paid):
    with pytest.raises(AppendOnlyError):
        Invoice.objects.update(why="")
    with transaction.atomic(), append_only.lifted(connection, Invoice) as rows:
        rows.update(why="emptied")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE builds_invoice SET why = 'changed'")
    assert Invoice.objects.get().why == "emptied"


def test_a_failed_run_leaves_papers_and_triggers_as_they_were(paid, owner, monkeypatch):
    def failing(*args, **kwargs):
        raise ZeroDivisionError

    monkeypatch.setattr(journal, "record", failing)
    with in_years(20), pytest.raises(ZeroDivisionError):
        erasing.run_retention(owner)
    assert bytes(Invoice.objects.get().pdf) and append_only.missing_triggers(connection) == []


def test_customers_who_have_been_away_for_long_are_forgotten_by_the_rules(paid, owner, capsys):
    assert erasing.run_retention(owner) == {}
    with in_years(7):
        call_command("retention")
    assert Customer.objects.get().name.startswith(erasing.GONE)
    assert "customer: 1" in capsys.readouterr().out


@pytest.mark.django_db
def test_the_unique_columns_are_those_that_the_triggers_guard():
    """What is put back after an exception is what the migrations made."""
    for model in append_only.protected_models():
        table, columns = model._meta.db_table, append_only.unique_columns(model)
        with connection.cursor() as cursor:
            if connection.vendor != "sqlite":
                assert columns is not None
                continue
            cursor.execute("SELECT sql FROM sqlite_master WHERE name = %s", [f"{table}_no_replace"])
            (sql,) = cursor.fetchone()
        assert all(f'"{column}" = NEW' in sql for column in columns), table


def test_exporting_and_erasing_are_the_owner_s_and_asked_for_again(paid, cast, client_of):
    page = f"/office/customers/{paid.customer.pk}/"
    for role in ("counter", "tech"):
        client = client_of(cast[role])
        assert {client.get("/office/customers/").status_code, client.get(page).status_code} == {403}
        assert {client.post(page + act).status_code for act in ("export/", "erase/")} == {403}
        for act in (erasing.export, erasing.erase):
            with pytest.raises(PermissionDenied):
                act(cast[role], paid.customer)
    client = client_of(cast["owner"])
    assert client.post(page + "export/").url.startswith("/confirm/")
    with_password(cast["owner"])
    client = Client()
    sign_in(client, "olga")
    assert "the accounts must show it" in client.get(page).content.decode()
    assert client.get(f"/office/customers/?q={NAME.split()[0]}").context["found"][0].pk == paid.customer.pk
    answer = client.post(page + "export/")
    assert answer["Content-Type"] == "application/zip" and "attachment" in answer["Content-Disposition"]
    assert client.post(page + "erase/").status_code == 302
    assert "Erased" in client.get(page).content.decode()


def test_the_owner_sets_the_years_within_reason_and_it_is_journalled(owner):
    with_password(owner)
    client = Client()
    sign_in(client, "olga")
    years = {"accounts_years": 8, "claims_years": 3, "offers_years": 0, "customers_years": 4}
    assert client.post("/office/customers/", years).status_code == 302
    assert RetentionRules.objects.get().accounts_years == 8
    assert client.post("/office/customers/", years | {"claims_years": 0}).status_code == 422
    assert client.post("/office/customers/", years | {"claims_years": 51}).status_code == 422
    assert JournalEntry.objects.get().after["claims_years"] == 3


def test_an_emptied_paper_that_is_changed_behind_the_program_is_found(paid, owner):
    erasing.erase(owner, paid.customer)
    with in_years(20):
        erasing.run_retention(owner)
    assert sound.verify().is_sound
    with transaction.atomic(), append_only.lifted(connection, Invoice) as opened:
        opened.update(why="changed")
    assert "was changed or replaced" in str(sound.verify().findings)


def test_a_copy_of_the_shop_opens_no_door():
    kept = {rows.label_of(model) for model in rows.kept_models()}
    assert kept & {"shop.opensession", "shop.invitation", "shop.bucket", "sessions.session"} == set()
