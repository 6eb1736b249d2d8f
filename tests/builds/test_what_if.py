"""What if: the tickets accepted in the last year at other rates, worked out in slices, every figure to the cent."""

import csv
import datetime
import io
from dataclasses import replace
from decimal import Decimal

import pytest

from builds import what_if
from builds.actions import learning
from builds.estimator.estimate import estimate
from builds.forms.what_if import WhatIfForm
from builds.kept import kept_tickets
from builds.models import Acceptance, Reckoning, Ticket, WorkEntry
from builds.reckonings import go_on
from builds.what_if import of_all, read_row
from builds.what_if_page import asked_words, side_by_side
from catalog.models import ShopRates
from shop import clock
from tests.builds.handed_over import handed_over

pytestmark = pytest.mark.usefixtures("blank_papers")

HIGHER = {"labour_rate_per_h": "120.00", "labour_percentile": 0.8, "tax": {"labour": "0.05"}}


@pytest.fixture
def year(rig, counter, tech):
    return handed_over(rig, counter, tech, 4)


def worked_out(owner, asked):
    begun = learning.begin(owner, Reckoning.Kind.WHAT_IF, asked, what_if.accepted_last_year())
    go_on(begun, what_if.WORK, 60)
    return begun


def test_the_sums_are_those_of_whole_estimates_at_the_other_rates(year, rig, owner):
    found = worked_out(owner, HIGHER).found
    [kept, *_] = kept_tickets([rig.pk])
    sheet = kept.build_sheet
    tax = replace(sheet.shop.tax, labour=Decimal("0.05"))
    shop = replace(sheet.shop, labour_rate_per_h=Decimal(120), labour_percentile=0.8, tax=tax)
    one = estimate(replace(sheet, shop=shop)).price
    after = side_by_side(found["all"])
    assert found["tickets"] == 5
    assert after["revenue"]["after"] == 5 * one.revenue
    assert after["total"]["after"] == 5 * one.total
    assert after["revenue"]["before"] == 5 * Decimal(kept.estimate["price"]["revenue"])
    assert after["margin"]["after"] == pytest.approx(one.margin)


def test_handed_over_tickets_count_the_minutes_worked(year, rig, owner):
    """By hand: cost as agreed, without the minutes expected, with those worked, at the cost of an hour."""
    found = worked_out(owner, {"labour_rate_per_h": "120.00"}).found
    [kept, *_] = kept_tickets([year[0].pk])
    price, expected = kept.estimate["price"], Decimal(0)
    for ticket in year:
        minutes = sum(WorkEntry.objects.filter(ticket=ticket).values_list("minutes", flat=True))
        labour = (Decimal(repr(minutes)) / 60 * kept.shop.labour_cost_per_h).quantize(Decimal("0.01"))
        expected += Decimal(price["cost"]) - Decimal(price["labour_cost"]) + labour
    assert found["handed"]["tickets"] == 4
    assert Decimal(found["handed"]["cost"]) == expected


def test_asked_nothing_everything_stays_to_the_cent(year, owner):
    found = worked_out(owner, {}).found
    assert found["all"]["before"] == found["all"]["after"]
    assert (found["changed"], found["most"]) == (0, [])


def test_only_the_last_365_days_count(year, rig, owner):
    assert len(what_if.accepted_last_year()) == 5
    with clock.at(clock.now() + datetime.timedelta(days=364)):
        assert what_if.accepted_last_year() == [rig.pk]


def test_in_slices_or_at_once_the_sums_are_the_same(year, owner, monkeypatch):
    at_once = worked_out(owner, HIGHER).found
    monkeypatch.setattr("builds.reckonings.SLICE_TICKETS", 2)
    begun = learning.begin(owner, Reckoning.Kind.WHAT_IF, HIGHER, what_if.accepted_last_year())
    looks = 0
    while not begun.ended_at:
        go_on(Reckoning.objects.get(pk=begun.pk), what_if.WORK, 0 if looks < 3 else 60)
        begun.refresh_from_db()
        looks += 1
    assert looks == 4
    assert begun.found == at_once


def test_nothing_of_the_shop_is_changed_by_asking(year, owner):
    before = list(ShopRates.objects.values()), list(Ticket.objects.values())
    worked_out(owner, HIGHER)
    assert (list(ShopRates.objects.values()), list(Ticket.objects.values())) == before


def test_the_owner_asks_and_reads_without_scripts(year, owner, client):
    client.force_login(owner)
    answer = client.post("/office/what-if/", {"held_of_100": "80", "tax_parts": "7.25 %"}, follow=True)
    body = answer.content.decode()
    assert "Quoted minutes that hold in 80 of 100 jobs." in body
    assert "5 tickets accepted in the year" in body
    assert "Tickets that change most" in body
    assert "P80" not in body
    reckoning = Reckoning.objects.get()
    rows = list(
        csv.DictReader(io.StringIO(b"".join(client.get(f"/office/what-if/{reckoning.pk}/tickets.csv")).decode()))
    )
    assert len(rows) == 5
    total = sum(Decimal(row["total after"]) for row in rows)
    assert total == Decimal(reckoning.found["all"]["after"]["total"])


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({}, "Nothing is different yet"),
        ({"labour_rate_per_h": "a lot"}, "is not an amount"),
        ({"held_of_100": "100"}, "less than or equal to 99"),
        ({"held_of_100": "half"}, "Accepted: a whole number from 1 to 99."),
        ({"markup_scale": "below 5 2.5 more"}, "is no step"),
        ({"markup_scale": "below 5: 2.5"}, "for everything above"),
        ({"scale_all": "on"}, "The scale is missing"),
        ({"tax_fees": "101"}, "Accepted: per cent from 0 to 100"),
        ({"tax_labour": "NaN"}, "Accepted: per cent from 0 to 100"),
    ],
)
def test_what_cannot_be_asked_is_said_and_kept(typed, words, catalogue, owner, client):
    client.force_login(owner)
    answer = client.post("/office/what-if/", typed)
    body = answer.content.decode()
    assert answer.status_code == 422
    assert words in body
    for text in typed.values():
        assert text in body
    assert not Reckoning.objects.exists()


def test_what_was_asked_is_kept_as_it_was_typed(catalogue):
    form = WhatIfForm(
        {"labour_rate_per_h": "0", "markup_scale": "below 25: 2\nabove: 1.3", "scale_all": "on", "tax_parts": "0"},
        rates=ShopRates.objects.first(),
    )
    assert form.is_valid(), form.errors
    assert form.asked() == {
        "labour_rate_per_h": "0.00",
        "markup_scale": [{"below": "25", "factor": "2"}, {"below": None, "factor": "1.3"}],
        "scale_all": True,
        "tax": {"parts": "0"},
    }
    assert asked_words(form.asked())[-1] == "tax on parts 0.00\u202f%"


def test_a_rate_of_nothing_is_a_rate(year, owner):
    found = worked_out(owner, {"labour_rate_per_h": "0.00"}).found
    assert all(read_row(row).change < 0 for row in found["most"])


def test_where_nothing_was_accepted_it_says_so(catalogue, owner, client):
    client.force_login(owner)
    body = client.post("/office/what-if/", {"held_of_100": "80"}).content.decode()
    assert "There is no ticket to reckon with yet." in body


def test_the_latest_five_are_kept(year, owner):
    for _ in range(7):
        worked_out(owner, HIGHER)
    assert Reckoning.objects.count() == 5


def test_of_no_tickets_there_is_no_margin():
    found = of_all(Reckoning(), [])
    assert found["all"]["after"]["margin"] is None
    assert side_by_side({**found["all"], "cost": "0"})["margin"]["points"] == ""


def test_a_quote_without_its_acceptance_does_not_count(year, owner):
    assert Acceptance.objects.count() == len(what_if.accepted_last_year())
