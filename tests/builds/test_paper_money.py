"""Invoices, credit notes and receipts: parts and labour apart, tax by kind, sums that add up, real minus signs."""

import datetime
from decimal import Decimal
from pathlib import Path

import pytest

from builds.documents import invoice_pdf, receipt_pdf
from builds.documents.invoice import invoice_context
from builds.estimator.document import read_sheet
from builds.estimator.estimate import document, estimate
from builds.estimator.files import expanded
from tests.builds import hand_made
from tests.builds.printed import Printed, printed

JOBS = sorted(
    path for path in (Path(__file__).parents[2] / "fixtures" / "jobs").glob("*.json") if ".expect" not in path.name
)


def invoice(made, sheet=None, found=None) -> str:
    return Printed(
        invoice_pdf(hand_made.facts(), sheet or hand_made.sheet(), found or hand_made.estimate(), made, "a4")
    ).whole


def receipt(**given) -> str:
    return Printed(receipt_pdf(hand_made.facts(), hand_made.receipt(**given), "letter")).whole


def amount(text: str) -> Decimal:
    """Return a printed amount as a number; words in its place are nought."""
    plain = text.replace(",", "").replace("\u2212", "-").replace("\u202f", "")
    return Decimal(plain) if plain.lstrip("+-")[:1].isdigit() else Decimal(0)


# The invoice


def test_an_invoice_has_parts_and_labour_apart_and_a_row_of_tax_for_each_kind_with_its_rate():
    """By hand: 6 % of 22.00 is 1.32 and of 12.36 is 0.74 (0.7416); 22.00 + 997.50 + 12.36 + 2.06 is 1,033.92."""
    text = printed("invoice", 1, "a4").whole
    assert "1 Flush rod tube, closed end – Rear deck, port 1 22.00 22.00" in text
    assert "Labour, 10 h 30 at 95.00 an hour 997.50" in text
    assert "Consumables, by use 12.36" in text
    assert "Tax on parts, 6 % 1.32" in text
    assert "Tax on labour, 0 % 0.00" in text
    assert "Tax on consumables, 6 % 0.74" in text
    assert "Tax on fees" not in text, "no fee is charged"
    assert "Total, tax included, USD 1,033.92" in text
    places = [
        text.index(words)
        for words in ("\nParts 22.00", "\nLabour\n", "Consumables, by use", "Total, tax included, USD")
    ]
    assert places == sorted(places)


def test_an_invoice_takes_off_what_was_received_and_says_what_is_due():
    """By hand: 1,033.92 − 11.00 + 5.00 is 1,027.92."""
    received = [
        ("R-0001", datetime.date(2026, 11, 26), "deposit", Decimal("11.00")),
        ("R-0002", datetime.date(2026, 11, 28), "refund", Decimal("-5.00")),
    ]
    text = invoice(hand_made.invoice(received=received, balance=Decimal("1027.92")))
    assert "Deposit, R-0001, 26 Nov 2026 −11.00" in text
    assert "Refund, R-0002, 28 Nov 2026 5.00" in text
    assert "Balance due, USD 1,027.92" in text


@pytest.mark.parametrize(
    ("balance", "words"),
    [("0.00", "Paid in full, USD 0.00"), ("0", "Paid in full, USD 0.00"), ("-16.08", "To be paid back, USD 16.08")],
)
def test_an_invoice_that_is_paid_or_overpaid_says_so(balance, words):
    text = invoice(hand_made.invoice(balance=Decimal(balance)))
    assert words in text and "Balance due" not in text


def test_fees_and_discount_are_rows_of_their_own():
    sheet = hand_made.sheet() | {"discount": {"fraction": "0.025"}, "fees": [{"name": "Expedite", "amount": "40"}]}
    found = hand_made.estimate()
    found["price"] |= {"discount": "25.49", "fees": "40.00"}
    text = invoice(hand_made.invoice(), sheet, found)
    assert "Discount, 2.5 % of parts and labour −25.49" in text and "Expedite 40.00" in text
    assert "Tax on fees, 0 % 0.00" in text


def test_the_papers_behind_the_total_are_named_and_a_change_order_with_what_it_adds():
    agreed = [("Quote Q-0412-2", Decimal("1033.92")), ("Change order C-0412-1", Decimal("-9.90"))]
    text = invoice(hand_made.invoice(agreed=agreed))
    assert "Agreed by quote Q-0412-2 1,033.92; change order C-0412-1 − 9.90, tax included." in text


def test_parts_that_are_not_sold_are_named_without_an_amount_and_what_was_on_the_boat_is_not_named():
    sheet = hand_made.sheet(4)
    sheet["lines"][0]["supplied_by"] = "customer"
    sheet["lines"][1]["supplied_by"] = "already_fitted"
    found = hand_made.estimate(4)
    for line in found["price"]["lines"][:3]:
        line |= {"unit_price": None, "amount": "0.00"}
    text = invoice(hand_made.credit_note(), sheet, found)
    assert "1 your own" in text and "1 not charged" in text and "on the boat" not in text
    assert "no price yet" not in text


# The credit note


def test_a_credit_note_takes_every_figure_of_the_invoice_back():
    text = printed("credit_note", 1, "letter").whole
    assert "Credit note" in text and "I-0002" in text and "takes back I-0001" in text
    assert "Invoice I-0001 no longer holds. Why: A wrong part." in text
    for row in (
        "Rear deck, port −1 22.00 −22.00",
        "an hour −997.50",
        "Consumables, by use −12.36",
        "Tax on parts, 6 % −1.32",
        "Tax on labour, 0 % 0.00",
        "Taken back, tax included, USD −1,033.92",
    ):
        assert row in text
    assert "-1" not in text.replace("Q-0412-2", ""), "a hyphen is no minus"
    assert "What was received stays on the ticket's account: 11.00 USD." in text
    assert "Balance due" not in text


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_what_is_printed_adds_up_to_the_total_for_every_job_sheet(path):
    """With a discount, two fees and a tax on every kind; the total is the estimator's, the sum is taken here."""
    sheet = expanded(path) | {
        "discount": {"fraction": "0.075"},
        "fees": [{"name": "Expedite", "amount": "40"}, {"name": "Collection", "amount": "17.35"}],
    }
    rates = {"parts": "0.0625", "labour": "0.05", "consumables": "0.0625", "fees": "0.19"}
    sheet = sheet | {"shop": {**sheet["shop"], "tax": rates}}
    found = document(estimate(read_sheet(sheet)))
    sums = []
    for made in (hand_made.invoice(), hand_made.credit_note()):
        shown = invoice_context(hand_made.facts(), sheet, found, made)
        assert sum(amount(row.amount) for row in shown["rows"]) == amount(shown["parts"])
        for row in shown["rows"]:
            if amount(row.amount):
                assert amount(row.quantity) * amount(row.each) == amount(row.amount)
        assert len([name for name, _ in shown["others"] if name.startswith("Tax on")]) == len(rates)
        rest = sum(amount(text) for _, text in shown["others"])
        assert amount(shown["parts"]) + amount(shown["labour"][1]) + rest == amount(shown["total_bare"])
        sums.append(amount(shown["total_bare"]))
    assert sums[0] == Decimal(found["price"]["total"]) == -sums[1]


# The receipt


def test_a_receipt_says_how_much_in_which_way_when_to_whom_and_what_is_left():
    text = receipt(note="By his brother.")
    for words in ("R-0001", "Deposit received", "11.00 USD", "Card", "26 Nov 2026, 08:15", "Taken by Counter One"):
        assert words in text
    assert "Note By his brother." in text
    assert "Agreed, tax included 1,033.92" in text and "with this receipt 11.00" in text
    assert "Balance due, USD 1,022.92" in text


def test_a_receipt_of_the_last_payment_and_one_of_money_paid_back_say_so():
    paid = receipt(
        kind="payment", amount=Decimal("1022.92"), received_so_far=Decimal("1033.92"), balance=Decimal("0.00")
    )
    assert "Payment received" in paid and "Paid in full, USD 0.00" in paid
    back = receipt(kind="refund", received_so_far=Decimal("1050.00"), balance=Decimal("-16.08"))
    assert "Paid back" in back and "Paid back by Counter One" in back and "To be paid back, USD 16.08" in back


def test_a_currency_without_minor_units_is_shown_without_decimals():
    """ISO 4217: the yen has no minor unit."""
    text = receipt(currency="JPY", amount=Decimal("5000"), total_agreed=Decimal("90000"), balance=Decimal("85000"))
    assert "5,000 JPY" in text and "Balance due, JPY 85,000" in text and "85,000." not in text


def test_a_kind_of_receipt_that_nobody_knows_is_not_printed():
    with pytest.raises(KeyError, match="gift"):
        receipt(kind="gift")
