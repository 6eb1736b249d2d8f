"""The catalogue as files: out and in again without a change, whole or not at all, every fault by row and column."""

import csv
import datetime
import io
import json
import os
import random

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from catalog import exchange
from catalog.importing import exported, proposal, text_of, write_proposal
from catalog.models import AccessoryType, Consumable, WaitingFile
from catalog.records import Unusable
from catalog.tables import cell_of, guarded, unguarded
from shop.models import JournalEntry

TODAY = datetime.date(2026, 11, 26)
MALFORMED = int(os.environ.get("HULLBENCH_MALFORMED", "240"))
"""How many malformed files are tried; 10,000 in the long run."""


@pytest.mark.parametrize("kind", exchange.FILES)
@pytest.mark.parametrize("as_csv", [True, False])
def test_out_in_and_out_again_is_equal_to_the_byte(kind, as_csv, loaded):
    text = exported(kind, as_csv)
    found = proposal(kind, text, TODAY)
    assert (found.changes, found.same > 0) == ([], True)
    # Into an empty catalogue of this kind too: everything that is kept went along.
    if kind in ("consumables", "operations"):
        exchange.FILES[kind].objects.all().delete()
        write_proposal(proposal(kind, text, TODAY))
    assert exported(kind, as_csv) == text


def rows(text):
    return list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))


def written(table):
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerows(table)
    return out.getvalue()


def with_cell(kind, code, key, cell):
    table = rows(exported(kind, True))
    at = table[0].index(key)
    for row in table[1:]:
        if row[0] == code:
            row[at] = cell
    return written(table)


def test_a_changed_price_is_shown_written_dated_today_and_then_changes_nothing(loaded):
    before = AccessoryType.objects.get(code="display_7in")
    text = with_cell("accessories", "display_7in", "price", "333.50")
    [change] = proposal("accessories", text, TODAY).changes
    assert {key: new for key, _, new in change.keys} == {"price": "333.50", "priced_on": "2026-11-26"}
    write_proposal(proposal("accessories", text, TODAY))
    after = AccessoryType.objects.get(code="display_7in")
    assert (str(after.price), after.pk) == ("333.50", before.pk)
    later = TODAY + datetime.timedelta(days=30)
    assert proposal("accessories", text, later).changes == []


def test_a_fault_names_its_row_and_its_column_and_nothing_is_written(loaded):
    table = rows(exported("consumables", True))
    price, unit = table[0].index("unit_price"), table[0].index("unit")
    table[2][price], table[4][unit], table[5] = "cheap", "barrel", table[5][:-1]
    with pytest.raises(Unusable) as refused:
        proposal("consumables", written(table), TODAY)
    assert "row 6" in str(refused.value)
    table[5].append("")
    with pytest.raises(Unusable) as refused:
        proposal("consumables", written(table), TODAY)
    told = str(refused.value)
    assert "row 3, column unit_price: “cheap” is no amount" in told
    assert "row 5, column unit: “barrel” is not known here" in told


def test_an_unknown_column_and_a_type_that_nobody_has_are_refused(loaded):
    table = rows(exported("consumables", True))
    table[0][1] = "colour"
    with pytest.raises(Unusable, match="row 1, column colour: is not known; known are"):
        proposal("consumables", written(table), TODAY)
    records = json.loads(exported("accessories", False))
    records[0]["conflicts"] = [{"with": "no_such_type", "why": "It is not there."}]
    with pytest.raises(Unusable, match="record 1, column conflicts: with names “no_such_type”"):
        proposal("accessories", json.dumps(records[:1]), TODAY)


def test_a_file_that_leaves_columns_out_changes_the_others_only(loaded):
    one = Consumable.objects.first()
    record = one.record() | {"name": "Another name"}
    found = proposal("consumables", json.dumps([record]), TODAY)
    assert [key for key, _, _ in found.changes[0].keys] == ["name"]


@pytest.mark.parametrize("text", ["=1+1", "+A1", "-A1", "@cmd", "\tx", "\rx", "'quoted", "''", '=HYPERLINK("x")'])
def test_no_cell_is_a_formula_and_what_was_guarded_reads_the_same(text):
    """The first signs by which a spreadsheet takes a cell for a formula: OWASP, CSV injection (from memory)."""
    cell = cell_of(text)
    assert cell.startswith("'") and unguarded(cell) == text


def test_a_plain_number_needs_no_guard():
    assert (cell_of(-0.5), guarded("-12"), cell_of(["-a", "b"])) == ("-0.5", "-12", "'-a; b")


def test_what_is_no_text_is_refused_in_words():
    for data, words in ((b"\xff\xfe\x00a", "no UTF-8"), (b"a\x00b", "zero byte"), (b"x" * 5_000_001, "larger than 5")):
        with pytest.raises(Unusable, match=words):
            text_of(data)


def malformed(chance: random.Random, good: bytes) -> bytes:
    """Return a file with something wrong in it: cut, doubled, mixed up, with strange signs, or deep."""
    data = bytearray(good)
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(data) + 1)
        deed = chance.randrange(7)
        if deed == 0:
            del data[at : at + chance.randint(1, 200)]
        elif deed == 1:
            data[at:at] = chance.choice([b'"', b",", b"\r\n", b"\x00", b"\xff", b"{", b"[", b"null", b"1e999", b"=2+2"])
        elif deed == 2:
            data[at:at] = bytes(data[at : at + chance.randint(1, 400)])
        elif deed == 3:
            data[at : at + 1] = bytes([chance.randrange(256)])
        elif deed == 4:
            data[at:at] = b"[" * chance.choice([5, 5000])
        elif deed == 5:
            data[at:at] = ("\ud7ff\u202e\ufeff" * 3).encode()
        else:
            data = data[: at or 1]
    return bytes(data)


def test_malformed_files_are_refused_or_read_and_never_stumbled_over(loaded, client, cast):
    """Seeded, so that a failure comes again; each through the page, and nothing is written by any of them."""
    chance = random.Random(412)
    client.force_login(cast["owner"])
    asked = [(kind, form) for kind in exchange.FILES for form in ("csv", "json")]
    goods = {(kind, form): exported(kind, form == "csv").encode() for kind, form in asked}
    before = {kind: exported(kind, False) for kind in exchange.FILES}
    refused = 0
    for n in range(MALFORMED):
        (kind, form), good = chance.choice(list(goods.items()))
        good = good if n % 8 == 0 else good[: chance.randint(200, 6000)]
        sent = SimpleUploadedFile(f"x.{form}", malformed(chance, good))
        answer = client.post("/office/catalogue/files/", {"kind": kind, "file": sent})
        assert answer.status_code in (302, 422), n
        refused += answer.status_code == 422
        if answer.status_code == 302:
            assert client.get(answer.headers["Location"]).status_code == 200
    assert refused > MALFORMED / 2
    assert {kind: exported(kind, False) for kind in exchange.FILES} == before


def test_the_pages_show_then_write_with_an_entry_for_each_record(loaded, client, cast):
    client.force_login(cast["owner"])
    text = with_cell("accessories", "display_7in", "price", "333.50")
    sent = SimpleUploadedFile("prices.csv", text.encode())
    look = client.post("/office/catalogue/files/", {"kind": "accessories", "file": sent}).headers["Location"]
    shown = client.get(look).content.decode()
    assert "333.50" in shown and "Write 1 record" in shown
    assert str(AccessoryType.objects.get(code="display_7in").price) != "333.50"
    # Someone changes the catalogue in between: it is shown again, nothing is written.
    exchange_row = Consumable.objects.first()
    from catalog.actions import save_record

    save_record(cast["owner"], Consumable, exchange_row.ledger_record() | {"name": "Another name"}, TODAY)
    assert client.post(f"{look}write/").status_code == 409
    assert client.post(f"{look}write/").status_code == 302
    assert str(AccessoryType.objects.get(code="display_7in").price) == "333.50"
    entry = JournalEntry.objects.latest("number")
    assert (entry.after["price"], set(entry.before)) == ("333.50", {"price", "priced_on"})
    assert not WaitingFile.objects.exists()


def test_files_are_the_owners(loaded, client, cast):
    for role in ("counter", "tech"):
        client.force_login(cast[role])
        assert client.get("/office/catalogue/files/").status_code == 403
        assert client.get("/office/catalogue/files/accessories.csv").status_code == 403
    client.force_login(cast["owner"])
    assert client.get("/office/catalogue/files/accessories.csv").content.decode().startswith("\ufeffid,name,")
    assert client.get("/office/catalogue/files/nothing.csv").status_code == 404
    assert client.get("/office/catalogue/files/accessories.xml").status_code == 404
    empty = client.post("/office/catalogue/files/", {"kind": "accessories"})
    assert (empty.status_code, "The file is missing" in empty.content.decode()) == (422, True)
