"""Two sheets compared in words: every change is said once, prices and minutes add up to the change of the ticket."""

import copy
import json
import math
import random
from decimal import Decimal
from functools import cache

import pytest

from builds.estimator.comparing import SHARED, SHARED_AND_MORE, Difference, compare, in_words
from builds.estimator.document import expand, read_sheet
from builds.estimator.estimate import document, estimate
from builds.estimator.files import catalogue
from tests.estimator.builders import JOBS, jobs, part
from tests.estimator.electrics import HULL, battery, block, load, motor

THIN = "\u202f"
TRACK, LAMP = "Gear track", "LED strip"
SIDE_DECK = {"id": "side", "name": "Side deck starboard", "x_m": 1.0, "y_m": 0.3, "z_m": 0.3, "surface": "deck"}
BOAT = {**HULL, "stations": [*HULL["stations"], SIDE_DECK]}


@cache
def job_text(name):
    return json.dumps(expand(json.loads((JOBS / f"{name}.json").read_text(encoding="utf-8")), catalogue()))


def job(name):
    return json.loads(job_text(name))


def estimated(sheet):
    return document(estimate(read_sheet(sheet)), workings=False)


def ticket(**changes):
    """A ticket of a lamp, a track, a battery and a block; no set-up is shared, nothing is billed by steps."""
    parts = {
        "lamp": {**load(1.0), **part(20, 20, 20, price="55.00"), "name": LAMP, "mountings": ["through_bolt", "rivet"]},
        "big": {**load(2.0), **part(30, 30, 30, price="95.00"), "name": "LED bar"},
        "track": {**part(15, 15, 15, price="30.00"), "name": TRACK},
        "cell": battery(20.0),
        "block": block(),
    }
    return {
        "format": "hullbench-build-sheet/1",
        "hull": BOAT,
        "lines": [{"id": key, "accessory": key, "station": "x0"} for key in ("lamp", "cell", "block")],
        "accessories": {key: {**record, "id": key} for key, record in parts.items()},
        "shop_operations": {"test": {"id": "test", "name": "Pool test", "phase": "test", "labour": minutes(12)}},
        "shop": {"labour_rate_per_h": "60.00", "setup_share_max": 0, "billing_step_min": 1, "minimum_charge_min": 0},
        **changes,
    }


def minutes(likely):
    return {"low_min": likely, "likely_min": likely, "high_min": likely}


def edited(change, sheet=None):
    """The differences of a ticket before and after an edit."""
    old = sheet or ticket()
    new = copy.deepcopy(old)
    change(new)
    return compared(old, new)


def compared(old, new, *more):
    before, after = estimated(old), estimated(new)
    found = compare(old, before, new, after, *more)
    adds_up(found, before, after)
    return found


def adds_up(found, before, after):
    """Hold the sums against the two tickets, and each figure against what the two documents say by themselves."""
    price = Decimal(after["price"]["total"]) - Decimal(before["price"]["total"])
    assert sum((one.price for one in found), Decimal(0)) == price
    mean = after["labour"]["mean_min"] - before["labour"]["mean_min"]
    assert math.fsum(one.minutes for one in found) == pytest.approx(mean, abs=1e-6)
    amounts, means = changes_of("price", before, after), changes_of("labour", before, after)
    for one in found:
        if one.line is not None:
            assert one.price == Decimal(amounts[one.line]), one
            assert one.minutes == pytest.approx(means[one.line], abs=1e-9), one
    named = {one.line for one in found}
    assert all(not change for key, change in amounts.items() if key not in named)
    stayed = math.fsum(change for key, change in means.items() if key in amounts and key not in named)
    assert minutes_of(found, "shared") == pytest.approx(stayed, abs=1e-6)
    assert sum(one.price for one in found if one.kind == "rest") == rest_of(found, before["price"], after["price"])


def changes_of(section, before, after):
    """The change of each line's amount or mean minutes, a line that is not there counting as nothing."""
    name = {"price": "amount", "labour": "mean_min"}[section]
    was, now = ({row["line"]: row[name] for row in side[section]["lines"]} for side in (before, after))
    kind = Decimal if section == "price" else float
    return {key: kind(now.get(key, 0)) - kind(was.get(key, 0)) for key in {*was, *now}}


def minutes_of(found, kind):
    return math.fsum(one.minutes for one in found if one.kind == kind)


def rest_of(found, was, now):
    """The change of labour, consumables and tax, less that of a discount which is no difference of its own."""
    change = sum(Decimal(now[name]) - Decimal(was[name]) for name in ("labour", "consumables"))
    change += sum(Decimal(now["tax"][kind]) - Decimal(was["tax"][kind]) for kind in now["tax"])
    if not any(one.kind == "discount" for one in found):
        change -= Decimal(now["discount"]) - Decimal(was["discount"])
    return change


def lamp(**changes):
    return lambda sheet: sheet["lines"][0].update(changes)


def kind_and_words(found):
    return [(one.kind, one.words) for one in found if one.kind not in ("shared", "rest")]


# Nothing


@pytest.mark.parametrize("name", jobs())
def test_a_sheet_and_itself_have_no_difference(name):
    assert compared(job(name), job(name)) == []


def test_what_is_left_out_and_what_is_written_as_its_default_are_the_same():
    written = {"quantity": 1, "offset_m": [0, 0, 0], "supplied_by": "shop", "mounting": None, "direct": False}
    assert edited(lamp(**written)) == []
    sheet = ticket(water="fresh", people=[], gear=[], day_plan=[], discount={"fraction": "0"}, fees=[], asked=None)
    assert compared(ticket(), sheet) == []


def test_a_mounting_that_is_the_types_first_is_no_other_mounting():
    assert edited(lamp(mounting="through_bolt")) == []


# Lines


@pytest.mark.parametrize(
    ("change", "kind", "words"),
    [
        (lamp(accessory="big"), "replaced", "LED bar instead of LED strip"),
        (lamp(quantity=3), "quantity", "3 of LED strip instead of 1"),
        (lamp(station="side"), "moved", "LED strip moved to Side deck starboard"),
        (lamp(station=None), "moved", "LED strip without a place"),
        (lamp(offset_m=[0.1, 0, 0]), "moved", "LED strip moved at 0 m"),
        (lamp(mounting="rivet"), "mounting", "LED strip fixed by rivet instead of through bolt"),
        (lamp(supplied_by="customer"), "supplied", "LED strip supplied by customer"),
        (lamp(supplied_by="already_fitted"), "supplied", "LED strip already fitted"),
        (lamp(unit_price="60.00"), "price", "LED strip at 60.00 each instead of 55.00"),
        (lamp(direct=True), "wiring", "LED strip wired another way"),
        (lamp(measured_run_m=2.0), "wiring", "LED strip with its run measured"),
        (lambda s: s["lines"].pop(0), "removed", "LED strip left out"),
        (lambda s: s["lines"].append({"id": "t", "accessory": "track"}), "added", "Gear track added"),
        (
            lambda s: s["lines"].append({"id": "t", "accessory": "track", "quantity": 2}),
            "added",
            "2 × Gear track added",
        ),
        (lambda s: s["lines"][1].update(health=0.5), "battery", "Battery 20 Ah taken at 50% of its capacity"),
        (lambda s: s["lines"][1].update(role="drive"), "battery", "Battery 20 Ah as drive battery"),
        (lambda s: s["accessories"]["lamp"].update(price="50.00"), "price", "LED strip at 50.00 each"),
        (
            lambda s: s["accessories"]["lamp"].update(mass_kg=2),
            "catalogue",
            "LED strip as the catalogue now has it",
        ),
    ],
)
def test_each_change_of_a_line_is_said_in_words(change, kind, words):
    found = [(one.kind, one.words) for one in edited(change) if one.line in ("lamp", "cell", "t")]
    assert [one for one in found if one[0] == kind and one[1].startswith(words)], found


def test_several_changes_of_one_line_are_one_difference():
    found = edited(lamp(quantity=2, station="side", mounting="rivet"))
    words = "2 of LED strip instead of 1, moved to Side deck starboard, fixed by rivet instead of through bolt"
    assert kind_and_words(found) == [("quantity", words)]


def test_a_line_has_the_change_of_its_own_price_and_minutes():
    """A bar at 95.00 and 30 min for a strip at 55.00 and 20 min: 40.00 and 10 min; the 10 min at 60 an hour are 10."""
    found = edited(lamp(accessory="big"))
    assert [(one.kind, one.price, one.minutes) for one in found] == [
        ("replaced", Decimal("40.00"), pytest.approx(10.0)),
        ("rest", Decimal("10.00"), 0.0),
    ]
    assert found[-1].words == "labour"


def test_a_line_left_out_gives_back_its_price_and_minutes():
    found = edited(lambda sheet: sheet["lines"].pop(0))
    assert (found[0].price, found[0].minutes) == (Decimal("-55.00"), pytest.approx(-20.0))


def test_a_second_battery_that_takes_a_line_over_is_said_and_the_lines_that_stay_fed_are_not():
    def second(sheet):
        sheet["lines"].append({"id": "spare", "accessory": "cell", "station": "x1"})
        sheet["lines"][0]["battery"] = "spare"
        sheet["lines"][2]["battery"] = "cell"

    assert kind_and_words(edited(second)) == [
        ("wiring", "LED strip fed from another battery"),
        ("added", "Battery 20 Ah added"),
    ]


def test_a_motor_that_named_no_battery_goes_over_to_the_only_drive_battery():
    sheet = ticket()
    sheet["accessories"]["motor"] = {**motor(30.0), "id": "motor", "name": "Motor"}
    sheet["lines"].append({"id": "motor", "accessory": "motor", "station": "x4"})

    def drive(new):
        new["lines"].append({"id": "drive", "accessory": "cell", "station": "x4", "role": "drive"})

    found = kind_and_words(edited(drive, sheet))
    assert found == [("wiring", "Motor fed from another battery"), ("added", "Battery 20 Ah added")]


def test_lines_in_another_order_are_the_same_lines():
    assert kind_and_words(edited(lambda sheet: sheet["lines"].reverse())) == []


# The rest of the sheet


@pytest.mark.parametrize(
    ("change", "kind", "words"),
    [
        ({"hull": {**BOAT, "name": "Second hull"}}, "boat", "boat Second hull instead of Invented test hull"),
        ({"hull": {**BOAT, "mass_kg": 35}}, "boat", "boat recorded anew"),
        ({"gear": [{"name": "Secret kit", "mass_kg": 5}]}, "load", f"load changed by +5.0{THIN}kg"),
        ({"water": "sea"}, "water", "sea water instead of fresh water"),
        ({"air_temp_c": 5}, "air", f"air at 5{THIN}°C instead of 20{THIN}°C"),
        ({"day_plan": [{"name": "dawn", "hours": 2}]}, "day_plan", "day plan changed"),
        ({"asked": {"holes": "few"}}, "asked", "answers of the customer changed"),
        ({"operations": [{"operation": "test"}]}, "operation", "Pool test added"),
        ({"discount": {"fraction": "0.10"}}, "discount", "discount of 10 % given"),
        ({"fees": [{"name": "Expedite", "amount": "40.00"}]}, "fee", "fee “Expedite” added"),
    ],
)
def test_each_change_of_the_sheet_is_said_in_words(change, kind, words):
    assert kind_and_words(compared(ticket(), ticket(**change))) == [(kind, words)]


def test_a_change_back_is_said_the_other_way_round():
    before = ticket(
        operations=[{"operation": "test", "quantity": 2}],
        discount={"fraction": "0.125"},
        fees=[{"name": "Storage", "amount": "40.00"}],
        people=[{"name": "Someone", "mass_kg": 80, "station": "x2"}],
    )
    assert kind_and_words(compared(before, ticket())) == [
        ("operation", "2 × Pool test left out"),
        ("discount", "discount of 12.5 % left out"),
        ("fee", "fee “Storage” left out"),
        ("load", f"load changed by \u221280.0{THIN}kg"),
    ]


def test_more_of_what_was_there_is_said_with_both_counts():
    before = ticket(
        operations=[{"operation": "test"}],
        discount={"fraction": "0.05"},
        fees=[{"name": "Storage", "amount": "40.00"}],
    )
    after = ticket(
        operations=[{"operation": "test"}, {"operation": "test"}],
        discount={"fraction": "0.10"},
        fees=[{"name": "Storage", "amount": "50.00"}],
    )
    found = compared(before, after)
    assert kind_and_words(found) == [
        ("operation", "2 of Pool test instead of 1"),
        ("discount", "discount of 10 % instead of 5 %"),
        ("fee", "fee “Storage” of 50.00 instead of 40.00"),
    ]
    assert (found[0].minutes, found[2].price) == (pytest.approx(12.0), Decimal("10.00"))


def test_nobody_aboard_is_named_and_nobodys_weight_is_told():
    before = ticket(people=[{"name": "Someone", "mass_kg": 91, "station": "x2"}])
    after = ticket(people=[{"name": "Other", "mass_kg": 96, "station": "x2"}])
    (found,) = compared(before, after)
    assert found.words == f"load changed by +5.0{THIN}kg"
    moved = ticket(people=[{"name": "Someone", "mass_kg": 91, "station": "x3"}])
    assert kind_and_words(compared(before, moved)) == [("load", "people and kit placed otherwise")]
    renamed = ticket(people=[{"name": "Other", "mass_kg": 91, "station": "x2"}])
    assert compared(before, renamed) == []


def test_words_speak_in_the_readers_units():
    """5 kg is 11.0 lb: 1 lb = 0.45359237 kg (international pound)."""
    (found,) = compared(ticket(), ticket(gear=[{"name": "kit", "mass_kg": 5}]), "us")
    assert found.words == f"load changed by +11.0{THIN}lb"


def test_rates_are_said_to_have_changed_but_costs_and_margins_never():
    def shop(**changes):
        return ticket(shop={**ticket()["shop"], **changes})

    found = compared(ticket(), shop(labour_rate_per_h="90.00"))
    assert kind_and_words(found) == [("rates", "the shop's rates or rules changed")]
    assert (found[-1].kind, found[-1].price) == ("rest", Decimal("10.00"))
    assert compared(ticket(), shop(labour_cost_per_h="50.00", margin_floor=0.5)) == []
    assert edited(lamp(unit_cost="1.00")) == []


def test_two_currencies_are_not_compared():
    old, new = ticket(), ticket(shop={"currency": "EUR"})
    with pytest.raises(ValueError, match="USD and EUR"):
        compare(old, estimated(old), new, estimated(new))


# What no line has by itself


def test_set_up_that_lines_share_is_one_difference_of_its_own():
    """Two parts of 30 min share set-up: of each 9 min may be set-up (0.3), the mount phase takes 4. Without the first
    the second carries the 4 min."""
    sheet = ticket(shop={"setup_share_max": 0.3, "billing_step_min": 1, "minimum_charge_min": 0})
    sheet["accessories"]["lamp"]["labour"] = sheet["accessories"]["big"]["labour"] = {**minutes(30)}
    sheet["lines"].append({"id": "bar", "accessory": "big", "station": "x0"})
    found = edited(lambda new: new["lines"].pop(0), sheet)
    shared = next(one for one in found if one.kind == "shared")
    assert (shared.words, shared.minutes) == (SHARED, pytest.approx(4.0))


def test_a_boat_that_takes_longer_is_not_called_shared_set_up():
    sheet = ticket(hull={**BOAT, "material": "wood"})
    old_boat = ticket(hull={**BOAT, "material": "wood", "old": True})
    shared = next(one for one in compared(sheet, old_boat) if one.kind == "shared")
    assert (shared.words, shared.minutes) == (SHARED_AND_MORE, pytest.approx(0.2 * 20))


def test_the_rest_names_what_it_is_of():
    taxed = ticket(shop={**ticket()["shop"], "tax": {"parts": "0.10", "labour": "0.10"}})
    taxed["discount"] = {"fraction": "0.05"}
    rest = edited(lamp(accessory="big"), taxed)[-1]
    assert (rest.kind, rest.words) == ("rest", "labour, discount and tax")


# One line for a reader


@pytest.mark.parametrize(
    ("price", "minutes", "shown"),
    [
        ("850.00", 10.0, "A: + 850.00, + 10 min"),
        ("-1850.00", -65.0, "A: − 1,850.00, − 1 h_05"),
        ("-0.05", 0.0, "A: − 0.05"),
        ("0.00", -5.0, "A: − 5 min"),
        ("0.00", 0.2, "A"),
    ],
)
def test_a_difference_is_shown_with_its_signs_and_without_noughts(price, minutes, shown):
    """A real minus; no space within a figure breaks: narrow ones here, the wider one before the minutes of an hour."""
    words, _, figures = shown.partition(": ")
    narrow = ", ".join(figure.replace(" ", THIN).replace("_", "\u00a0") for figure in figures.split(", "))
    expected = f"{words}: {narrow}" if figures else words
    assert in_words(Difference("replaced", "L1", "A", Decimal(price), minutes), "USD") == expected


def test_a_currency_without_minor_units_is_shown_without_decimals():
    assert in_words(Difference("fee", None, "fee", Decimal("500")), "JPY") == f"fee: +{THIN}500"


# At large


def shaken(sheet, dice):
    """A sheet after a few random edits that leave it usable."""
    new = copy.deepcopy(sheet)
    lines = new["lines"]
    stations = [station["id"] for station in new["hull"]["stations"]]
    plain = [key for key, kind in new["accessories"].items() if not any(kind.get(n) for n in ("battery", "converter"))]
    plain = [key for key in plain if not new["accessories"][key].get("distribution")]

    def some():
        return dice.choice([line for line in lines if line["accessory"] in plain] or [{}])

    edits = [
        lambda: some().update(quantity=dice.randint(1, 4)),
        lambda: some().update(station=dice.choice([*stations, None])),
        lambda: some().update(supplied_by=dice.choice(["shop", "customer", "already_fitted"])),
        lambda: some().update(unit_price=f"{dice.randint(0, 90000) / 100:.2f}"),
        lambda: lines.append({"id": f"new{dice.random()}", "accessory": passive(new, plain, dice)}),
        lambda: lines.remove(line) if (line := passive_line(new, dice)) else None,
        lambda: lines.reverse(),
        lambda: new.update(discount={"fraction": f"0.{dice.randint(0, 40):02}"}),
        lambda: new.update(fees=[{"name": "Expedite", "amount": f"{dice.randint(0, 9999) / 1000:.3f}"}]),
        lambda: new.update(operations=new["operations"][1:] * dice.randint(1, 2)),
        lambda: new["hull"].update(old=not new["hull"].get("old", False)),
        lambda: new.update(air_temp_c=dice.randint(-5, 35)),
        lambda: new["shop"].update(
            tax={"parts": "0.0725", "labour": "0.031"}, tax_rounding=dice.choice(["line", "ticket"])
        ),
    ]
    for edit in dice.sample(edits, dice.randint(1, 5)):
        edit()
    return new


def passive(sheet, plain, dice):
    """A type without a load or a switch, so that nothing has to name its battery."""
    known = sheet["accessories"]
    return dice.choice([key for key in plain if not known[key].get("load") and not known[key].get("switch")])


def passive_line(sheet, dice):
    known = sheet["accessories"]
    carries = ("load", "switch", "battery", "distribution", "converter")
    free = [line for line in sheet["lines"] if not any(known[line["accessory"]].get(name) for name in carries)]
    return dice.choice(free) if free else None


@pytest.mark.parametrize("name", jobs())
def test_over_random_edits_of_the_ten_jobs_prices_and_minutes_add_up(name):
    dice, kinds = random.Random(name), set()
    for _ in range(6):
        old = shaken(job(name), dice)
        kinds |= {one.kind for one in compared(old, shaken(old, dice))}
    assert {"rest", "shared"} <= kinds
