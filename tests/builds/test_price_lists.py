"""A supplier's price list: matched by part number, shown first, then taken whole or not at all."""

import datetime
import random
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from builds.estimator.pricing import price_by_scale
from builds.estimator.rates import MarkupStep, Shop
from builds.price_list import price_list, suppliers
from builds.supplier_file import read_file
from catalog import exchange
from catalog.importing import exported
from catalog.models import AccessoryType, Consumable, ShopRates, WaitingFile
from catalog.models.version import CatalogueVersion
from catalog.records import Unusable
from shop import clock
from shop.models import JournalEntry
from tests.catalog.test_files import malformed

TODAY = datetime.date(2026, 11, 26)
SUPPLIER = "Example Marine Supply"
PAGE = "/office/price-lists/"
HEADER = "Part No.,Cost,Per,Valid from,Description,Stock\r\n"


@pytest.fixture
def supplied(catalogue):
    """Three types and the sealant of one supplier: a fixed price, one by the scale, one that no list names."""
    put = AccessoryType.objects.filter
    put(code="display_7in").update(part_number="EM-7", cost="500.00", price="650.00", priced_on="2026-03-01")
    put(code="rod_holder_flush_tube").update(part_number="EM 20", cost="8.00", price=None, priced_on="2026-03-01")
    put(code="anchor_trolley").update(part_number="EM-30")
    codes = ("display_7in", "rod_holder_flush_tube", "anchor_trolley")
    put(code__in=codes).update(supplier=SUPPLIER)
    Consumable.objects.filter(code="marine_sealant").update(
        supplier=f"{SUPPLIER} ", part_number="EM-S", unit_cost="0.0500", unit_price="0.1200"
    )
    CatalogueVersion.move_on()


def found_in(rows, header=HEADER, today=TODAY):
    return price_list(SUPPLIER, header + rows, today)


def faults(text):
    with pytest.raises(Unusable) as refused:
        price_list(SUPPLIER, text, TODAY)
    return str(refused.value).splitlines()


def test_a_list_is_matched_by_part_number_and_shows_cost_price_and_margin(supplied):
    """By hand: 55.00 for 5 is 11.00, +37.5 %; below 25 the scale doubles: 16.00 to 22.00, margin one half both times.

    The display keeps its 650.00: (650 - 500) / 650 = 3 / 13 falls to (650 - 546) / 650 = 0.16.
    """
    found = found_in("em-7,546.00,,,Screen,3\r\nEM20,55.00,5,,Tube,0\r\nXX-1,1.00,,,Stranger,9\r\n")
    tube, screen = found.changes
    assert (tube.thing.code, tube.after, tube.change) == ("rod_holder_flush_tube", Decimal("11.00"), Decimal("0.375"))
    assert (tube.by_scale, tube.sells_before, tube.sells_after) == (True, Decimal("16.00"), Decimal("22.00"))
    assert (tube.margin_before, tube.margin_after) == (Decimal("0.5"), Decimal("0.5"))
    assert (screen.by_scale, screen.sells_after, screen.margin_after) == (False, Decimal("650.00"), Decimal("0.16"))
    assert round(screen.margin_before, 6) == round(Decimal(3) / 13, 6)
    assert [row.part_number for row in found.strangers] == ["XX-1"]
    assert {thing.code for thing in found.lacking} == {"anchor_trolley", "marine_sealant"}
    assert (found.not_read, found.records) == (("Stock",), 2)


def test_the_scale_steps_where_the_new_cost_passes_its_bound():
    """The sliding scale is the shop's own rule; 24.99 * 2.0 and 25.00 * 1.7 by hand."""
    shop = Shop(
        markup_scale=(
            MarkupStep(below=Decimal(25), factor=Decimal("2.0")),
            MarkupStep(below=None, factor=Decimal("1.7")),
        )
    )
    assert [price_by_scale(Decimal(c), shop) for c in ("24.99", "25.00")] == [Decimal("49.98"), Decimal("42.50")]


def test_a_consumable_takes_its_cost_for_one_unit(supplied):
    [sealant] = found_in("EM-S,18.00,300,,,\r\n").changes
    assert (sealant.after, sealant.sells_after, sealant.margin_after) == (
        Decimal("0.0600"),
        Decimal("0.1200"),
        Decimal("0.5"),
    )


def test_columns_stand_in_any_order_and_a_table_cut_by_semicolons_is_read(supplied):
    found = found_in("Screen;510.00 USD;EM-7\r\n", header="\ufeffdescription;NET_COST;Part number\r\n")
    assert [one.after for one in found.changes] == [Decimal("510.00")]


def test_what_a_list_lacks_is_named(supplied):
    assert faults("description,number\r\nx,y\r\n") == [
        "row 1: the column part number is missing; its heading is one of: "
        "part number, part no, part, item number, item no.",
        "row 1: the column unit cost is missing; its heading is one of: "
        "unit cost, cost, cost each, net cost, net price, trade price.",
    ]
    assert "row 2: is missing" in faults(HEADER)[0]
    assert "says the same as “cost”" in faults("part,cost,net cost\r\nx,1,2\r\n")[0]


def test_every_fault_is_told_by_its_row_and_its_column_and_nothing_is_written(supplied):
    told = faults(
        HEADER
        + "EM-7,cheap,,,,\r\n,9.00,,,,\r\nEM 20,9.00,none,2027-01-01,,\r\nEM-30,9.00\r\n\r\n"
        + 'EM-30,"1,200.00",,31.3.2026,,\r\nem-7,0.00,,,,\r\nEM-8,1.00,,,,\r\nem8,1.00,,,,\r\nEM -8,2.00,,,,\r\n'
    )
    assert [fault.partition(":")[0] for fault in told] == [
        "row 2, column unit cost",
        "row 3, column part number",
        "row 4, column per",
        "row 4, column holds from",
        "row 5",
        "row 7, column unit cost",
        "row 7, column holds from",
        "row 8, column unit cost",
        "row 11, column part number",
    ]
    assert "“EM -8” stands in row 9 already" in told[-1]
    assert faults(HEADER + "EM-7,0.001,,,,\r\n")[0].startswith("row 2, column unit cost: 0.001 for one of")


def test_a_date_that_is_later_confirms_a_cost_and_an_earlier_one_leaves_it_alone(supplied):
    found = found_in("EM-7,500.00,,2026-06-01,,\r\nEM 20,9.00,,2026-02-01,,\r\n")
    assert ([one.thing.code for one in found.confirmed], found.changes) == (["display_7in"], ())
    assert ([one.thing.code for one in found.older], found.records) == (["rod_holder_flush_tube"], 1)


def sent(client, text, supplier=SUPPLIER, name="spring.csv"):
    data = text if isinstance(text, bytes) else text.encode()
    return client.post(PAGE, {"supplier": supplier, "file": SimpleUploadedFile(name, data)})


def test_a_list_is_shown_then_written_with_an_entry_for_each_and_the_second_time_changes_nothing(
    supplied, client, cast
):
    client.force_login(cast["owner"])
    text = HEADER + "EM-7,546.00,,2026-05-01,Screen,\r\nEM 20,11.00,,,,\r\nEM-S,0.06,,,,\r\n"
    look = sent(client, text).headers["Location"]
    shown = client.get(look).content.decode()
    assert "3 costs change" in shown and "Write 3 records" in shown and "own price" in shown
    table = b"".join(client.get(f"{look}changes.csv")).decode().splitlines()
    assert len(table) == 4 and table[1].startswith("EM 20,rod_holder_flush_tube,")
    assert table[1].endswith(",8.00,11.00,37.50,16.00,22.00,yes,0.5000,0.5000")
    assert AccessoryType.objects.get(code="display_7in").cost == Decimal("500.00")
    # Someone changes the catalogue in between: it is shown again, nothing is written.
    CatalogueVersion.move_on()
    assert client.post(f"{look}write/").status_code == 409
    entries = JournalEntry.objects.count()
    assert client.post(f"{look}write/").status_code == 302
    screen, tube = (AccessoryType.objects.get(code=code) for code in ("display_7in", "rod_holder_flush_tube"))
    assert (screen.cost, screen.price, screen.priced_on) == (
        Decimal("546.00"),
        Decimal("650.00"),
        datetime.date(2026, 5, 1),
    )
    assert (tube.cost, tube.price, tube.priced_on) == (Decimal("11.00"), None, clock.today())
    assert Consumable.objects.get(code="marine_sealant").unit_cost == Decimal("0.06")
    written = JournalEntry.objects.order_by("number")[entries:]
    assert len(written) == 3 and {entry.why for entry in written} == {f"Price list of {SUPPLIER}: spring.csv"}
    assert written[0].before.keys() == {"cost", "priced_on"}
    assert client.post(f"{look}write/").status_code == 404
    again = client.get(sent(client, text).headers["Location"]).content.decode()
    assert "No cost changes" in again and "Write" not in again
    assert price_list(SUPPLIER, text, clock.today() + datetime.timedelta(days=40)).records == 0


def test_what_would_sell_below_its_cost_is_marked(supplied, client, cast):
    client.force_login(cast["owner"])
    for cost, told in (("650.00", False), ("650.01", True)):
        look = sent(client, HEADER + f"EM-7,{cost},,,,\r\n").headers["Location"]
        assert ("below cost" in client.get(look).content.decode()) == told


def test_a_page_says_what_is_missing(supplied, client, cast):
    client.force_login(cast["owner"])
    assert suppliers() == [SUPPLIER]
    for answer, words in (
        (sent(client, HEADER, supplier="Nobody"), "Choose the supplier"),
        (client.post(PAGE, {"supplier": SUPPLIER}), "The file is missing"),
        (sent(client, "x"), "the column part number is missing"),
    ):
        assert (answer.status_code, words in answer.content.decode()) == (422, True), words
    AccessoryType.objects.update(supplier="")
    Consumable.objects.update(supplier="")
    assert "Nothing in the catalogue has a supplier yet" in client.get(PAGE).content.decode()


def test_a_shop_without_rates_is_told_so(supplied, client, cast):
    ShopRates.objects.all().delete()
    CatalogueVersion.move_on()
    client.force_login(cast["owner"])
    answer = sent(client, HEADER + "EM-7,1.00,,,,\r\n")
    assert (answer.status_code, "no rates and rules yet" in answer.content.decode()) == (422, True)


def test_price_lists_are_the_owners_and_each_sees_what_that_owner_sent(supplied, client, cast):
    client.force_login(cast["owner"])
    look = sent(client, HEADER + "EM-7,546.00,,,,\r\n").headers["Location"]
    for role in ("counter", "tech"):
        client.force_login(cast[role])
        assert [client.get(path).status_code for path in (PAGE, look, f"{look}changes.csv")] == [403] * 3
        assert client.post(f"{look}write/").status_code == 403
    client.force_login(cast["owner"])
    # A price list is no file of records, and the other way round.
    pk = WaitingFile.objects.get().pk
    assert client.get(f"/office/catalogue/files/{pk}/").status_code == 404
    assert client.post(f"/office/catalogue/files/{pk}/write/").status_code == 404


def test_malformed_lists_are_refused_or_read_and_never_stumbled_over(supplied, client, cast):
    """Seeded, so that a failure comes again; each through the page, and nothing is written by any of them."""
    chance = random.Random(413)
    client.force_login(cast["owner"])
    rows = [
        f'EM-{n},{chance.randint(1, 90000) / 100},{chance.randint(1, 9)},2026-05-0{n % 9 + 1},"Part, {n}",\r\n'
        for n in range(40)
    ]
    good = (HEADER + "".join(rows)).encode()
    before = {kind: exported(kind, False) for kind in exchange.FILES}
    statuses = []
    for n in range(60):
        answer = sent(client, malformed(chance, good))
        statuses.append(answer.status_code)
        assert answer.status_code in (302, 422), n
        if answer.status_code == 302:
            assert client.get(answer.headers["Location"]).status_code == 200, n
    assert statuses.count(422) > 20 and statuses.count(302) > 2
    assert {kind: exported(kind, False) for kind in exchange.FILES} == before


def test_a_long_list_is_read_within_the_time_of_a_page(supplied):
    text = HEADER + "".join(f"P-{n},{n}.50,,,,\r\n" for n in range(1, 15_000))
    assert len(read_file(text, TODAY).rows) == 14_999
