"""Money: what came in, what is left, numbers without gaps; nothing of it is changed later."""

from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied
from django.db import Error as DatabaseError
from django.db import connection, transaction

from builds.actions import money, papers, signing, tickets
from builds.actions.ground import Refused
from builds.balance import standing_of
from builds.models import Invoice, MoneyEntry
from shop.append_only import AppendOnlyError
from tests.builds.at_once import all_at_once
from tests.builds.conftest import fresh, whole

pytestmark = pytest.mark.usefixtures("blank_papers")


@pytest.fixture
def quote(rig, counter):
    return papers.issue_quote(counter, whole(rig))


@pytest.fixture
def accepted(quote, counter):
    given = signing.Yes("Customer 0412", signing.places_of(quote), note="The scanner is broken.")
    signing.accept(counter, fresh(quote.ticket), given, way="paper")
    return whole(quote.ticket)


def taken(counter, ticket, kind, amount, **more):
    said = {"kind": kind, "way": "card", "amount": Decimal(amount), "note": "", **more}
    return money.take_money(counter, whole(ticket), **said)


def test_a_deposit_and_a_payment_leave_nothing_and_the_receipts_are_numbered(accepted, quote, counter):
    first = taken(counter, accepted, "deposit", quote.deposit)
    left = standing_of(whole(accepted)).balance
    assert left == quote.total - quote.deposit
    second = taken(counter, accepted, "payment", left)
    assert (first.number, second.number) == ("R-0001", "R-0002")
    assert standing_of(whole(accepted)).balance == 0
    assert bytes(second.pdf).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("what", "amount", "note", "sentence"),
    [
        ("payment", "0.00", "", "The amount is nought"),
        ("payment", "99999.00", "", "more than is left to pay"),
        ("refund", "10.00", "overpaid", "more than was received"),
    ],
)
def test_what_cannot_be_is_refused_and_takes_no_number(what, amount, note, sentence, accepted, counter):
    with pytest.raises(Refused, match=sentence):
        taken(counter, accepted, what, amount, note=note)
    assert taken(counter, accepted, "payment", "1.00").number == "R-0001"


def test_a_refund_needs_a_reason_and_counts_the_other_way(accepted, counter):
    taken(counter, accepted, "payment", "50.00")
    with pytest.raises(Refused, match="Why it is paid back"):
        taken(counter, accepted, "refund", "20.00")
    taken(counter, accepted, "refund", "20.00", note="Paid twice")
    assert standing_of(whole(accepted)).received == Decimal("30.00")


def test_what_was_paid_on_a_cancelled_ticket_is_to_be_paid_back(accepted, counter):
    taken(counter, accepted, "deposit", "50.00")
    tickets.close(counter, fresh(accepted), "cancel")
    standing = standing_of(whole(accepted))
    assert (standing.balance, standing.owed) == (Decimal("-50.00"), Decimal("50.00"))
    taken(counter, accepted, "refund", "50.00", note="Cancelled")


def test_the_tech_takes_no_money(accepted, tech):
    with pytest.raises(PermissionDenied):
        taken(tech, accepted, "payment", "1.00")


def test_an_invoice_has_parts_and_labour_apart_and_one_holds_at_a_time(accepted, quote, counter):
    price = quote.estimate["price"]
    invoice = money.issue_invoice(counter, accepted)
    assert (invoice.number, invoice.total, invoice.agreed) == ("I-0001", quote.total, quote.number)
    assert (invoice.parts, invoice.labour) == (Decimal(price["parts"]), Decimal(price["labour"]))
    sum_of_it = invoice.parts + invoice.labour + invoice.consumables + invoice.fees - invoice.discount + invoice.tax
    assert sum_of_it == invoice.total
    with pytest.raises(Refused, match="I-0001 holds already"):
        money.issue_invoice(counter, whole(accepted))


def test_a_credit_note_takes_an_invoice_back_and_the_next_one_has_the_next_number(accepted, counter):
    first = money.issue_invoice(counter, accepted)
    with pytest.raises(Refused, match="Why the invoice"):
        money.credit_invoice(counter, whole(accepted), why=" ")
    note = money.credit_invoice(counter, whole(accepted), why="Wrong address")
    again = money.issue_invoice(counter, whole(accepted))
    assert (note.cancels, note.number, again.number) == (first, "I-0002", "I-0003")
    money.credit_invoice(counter, whole(accepted), why="Wrong again")
    with pytest.raises(Refused, match="no invoice to take back"):
        money.credit_invoice(counter, whole(accepted), why="Wrong again")


def test_money_is_refused_any_later_change_by_the_program_and_by_the_database(accepted, counter):
    entry = taken(counter, accepted, "payment", "1.00")
    invoice = money.issue_invoice(counter, whole(accepted))
    for row in (entry, invoice):
        with pytest.raises(AppendOnlyError):
            row.save()
        with pytest.raises(AppendOnlyError):
            row.delete()
        table = row._meta.db_table
        for statement in (f'UPDATE "{table}" SET "number" = "number"', f'DELETE FROM "{table}"'):
            with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(statement)


@pytest.mark.django_db(transaction=True)
def test_eight_at_once_leave_no_gap_and_take_no_more_than_is_left(accepted, counter):
    share = (standing_of(whole(accepted)).balance / 4).quantize(Decimal("0.01"))

    def pay():
        return taken(counter, accepted, "payment", share, render=lambda *args: b"%PDF-").number

    found = all_at_once([pay] * 8)
    numbers = sorted(one for one in found if isinstance(one, str))
    assert all(isinstance(one, str | Refused) for one in found)
    assert numbers == [f"R-{n:04d}" for n in range(1, len(numbers) + 1)]
    assert 1 <= len(numbers) <= 4
    assert standing_of(whole(accepted)).balance >= 0


def test_the_pages_take_a_deposit_print_its_receipt_and_the_invoice(accepted, quote, counter, client):
    client.force_login(counter)
    base = f"/counter/ticket/{accepted.number}/money/"
    assert f'value="{quote.deposit}"' in client.get(base).content.decode()
    wrong = client.post(f"{base}take/", {"kind": "deposit", "amount": "lots", "way": "cash"})
    assert (wrong.status_code, "“lots” is not an amount" in wrong.content.decode()) == (422, True)
    said = {"kind": "deposit", "amount": str(quote.deposit), "way": "cash"}
    assert client.post(f"{base}take/", said).status_code == 302
    entry = MoneyEntry.objects.get()
    assert client.get(f"/counter/receipt/{entry.number}.pdf").content == bytes(entry.pdf)
    assert client.post(f"{base}invoice/").status_code == 302
    assert client.get("/counter/invoice/I-0001.pdf").content == bytes(Invoice.objects.get().pdf)
    assert client.post(f"{base}credit/", {"why": "Wrong name"}).status_code == 302
    assert "credit note" in client.get(base).content.decode()
