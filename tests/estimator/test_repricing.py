"""A kept estimate at other rates gives the figures of a whole estimate at these rates, to the cent."""

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from builds.estimator.estimate import document, estimate
from builds.estimator.rates import ByKind, MarkupStep
from builds.estimator.repricing import kept_of, repriced
from tests.estimator.builders import JOBS, job, jobs

SCALE = (MarkupStep(below=Decimal(20), factor=Decimal("2.2")), MarkupStep(below=None, factor=Decimal("1.35")))
CHANGES = {
    "nothing": {},
    "rate": {"labour_rate_per_h": Decimal("112.50")},
    "percentile": {"labour_percentile": 0.8},
    "minimum charge": {"minimum_charge_min": 240.0},
    "scale": {"markup_scale": SCALE},
    "tax": {"tax": ByKind(parts=Decimal("0.0725"), labour=Decimal("0.05"), fees=Decimal("0.0725"))},
    "all of them": {
        "labour_rate_per_h": Decimal("88.20"),
        "labour_percentile": 0.35,
        "minimum_charge_min": 90.0,
        "markup_scale": SCALE,
        "tax": ByKind(parts=Decimal("0.19"), labour=Decimal("0.19"), consumables=Decimal("0.19")),
        "tax_rounding": "line",
    },
}


def kept(name):
    """The job as a quote keeps it: its own document and its estimate's, both through JSON."""
    sheet = job(name)
    text = (JOBS / f"{name}.json").read_text(encoding="utf-8")
    return sheet, kept_of(
        json.loads(text), json.loads(json.dumps(document(estimate(sheet)))), sheet.accessories, sheet.shop
    )


@pytest.mark.parametrize("name", jobs())
def test_at_any_rates_it_is_the_whole_estimate_to_the_cent(name):
    sheet, was = kept(name)
    for change in CHANGES.values():
        shop = replace(sheet.shop, **change)
        whole = estimate(replace(sheet, shop=shop))
        priced, minutes = repriced(was, shop)
        assert priced == whole.price
        assert minutes == whole.labour.quoted_min


@pytest.mark.parametrize("name", jobs())
def test_a_scale_for_all_parts_leaves_only_prices_typed_on_a_line(name):
    sheet, was = kept(name)
    kinds = {code: replace(kind, price=None) for code, kind in sheet.accessories.items()}
    shop = replace(sheet.shop, markup_scale=SCALE)
    assert repriced(was, shop, scale_all=True)[0] == estimate(replace(sheet, shop=shop, accessories=kinds)).price


def test_a_higher_rate_raises_labour_in_proportion_and_leaves_cost_as_it_was():
    """By hand: night lights quote a whole number of quarter hours; 10 % more an hour is 10 % more labour."""
    sheet, was = kept("night_lights")
    before, _ = repriced(was, sheet.shop)
    after, _ = repriced(was, replace(sheet.shop, labour_rate_per_h=sheet.shop.labour_rate_per_h * Decimal("1.1")))
    assert after.labour == (before.labour * Decimal("1.1")).quantize(Decimal("0.01"))
    assert (after.parts, after.cost) == (before.parts, before.cost)
