"""Broken build sheets, as a table: each is refused with exit 2, the path and what is accepted, and nothing else."""

import json
import random
import subprocess
import sys
from pathlib import Path

import pytest

from builds.estimator.document import parse_json, read_sheet
from builds.estimator.estimate import document as estimate_document
from builds.estimator.estimate import estimate
from builds.estimator.specs import Unusable
from tests.estimator.broken import JOBS, append, drop, every, job, put, raw, run, swap, written

MANAGE = Path(__file__).parents[2] / "manage.py"
NAN, INFINITY = float("nan"), float("inf")
BASE = job()
STRIPS = "accessories.led_strip_pair"
HOUSE = "accessories.battery_lfp_12v_20ah"
SECOND_BATTERY = {"id": "second", "accessory": "battery_lfp_12v_20ah"}
SECOND_BLOCK = {"id": "second", "accessory": "fuse_block_with_negative_bus", "battery": "house"}
CONVERTER = {"system_v": 24, "out_v": 12, "max_out_a": 10, "efficiency": 0.85}
TWO_CONVERTERS = every(
    put("accessories.hatch_light.converter", CONVERTER),
    append("lines", {"id": "second", "accessory": "hatch_light"}),
)
PANELS_IN_A_CIRCLE = every(
    append("lines", {"id": "upper", "accessory": "switch_panel_3_gang", "switch": "panel"}),
    put("lines[4].switch", "upper"),
)

# (what is broken, how, the path that is named, a word of the message)
TABLE = [
    # numbers that are none
    ("NaN for a number", put("hull.length_m", NAN), "hull.length_m", "NaN"),
    ("infinity for a number", put("hull.beam_m", INFINITY), "hull.beam_m", "Infinity"),
    ("minus infinity for a number", put("air_temp_c", -INFINITY), "air_temp_c", "-Infinity"),
    ("a number too large for a float", swap('"air_temp_c": 12.0', '"air_temp_c": 1e999'), "air_temp_c", "Infinity"),
    ("a huge whole number", put("lines[0].quantity", 10**40), "lines[0].quantity", "huge"),
    ("a number of five thousand digits", swap("12.0", "9" * 5000), "", "too long"),
    ("a string for a number", put("hull.mass_kg", "27"), "hull.mass_kg", "a number above 0"),
    ("an empty string for a number", put("hull.depth_m", ""), "hull.depth_m", "a number"),
    ("true for a number", put("people[0].mass_kg", True), "people[0].mass_kg", "true"),
    ("a list for a number", put("gear[0].mass_kg", [12]), "gear[0].mass_kg", "a list"),
    ("an object for a number", put("day_plan[0].hours", {}), "day_plan[0].hours", "an object"),
    ("a fraction for a count", put("lines[0].quantity", 1.5), "lines[0].quantity", "whole"),
    # out of range
    ("a length of nought", put("hull.length_m", 0), "hull.length_m", "above 0"),
    ("a negative mass", put("people[0].mass_kg", -84), "people[0].mass_kg", "from 0"),
    ("a hull of 30 m", put("hull.length_m", 30), "hull.length_m", "20"),
    ("a form exponent below 1", put("hull.section_exponent", 0.5), "hull.section_exponent", "from 1"),
    ("no unit of a line", put("lines[0].quantity", 0), "lines[0].quantity", "from 1"),
    ("a duty above 1", put(f"{STRIPS}.load.duty", 1.2), f"{STRIPS}.load.duty", "to 1"),
    ("a fraction of a spell above 1", put("day_plan[0].on.strips", 2), "day_plan[0].on.strips", "to 1"),
    ("a battery in worse than no health", put("lines[7].health", 0), "lines[7].health", "above 0"),
    ("a spell without hours", put("day_plan[0].hours", 0), "day_plan[0].hours", "above 0"),
    ("a percentile of 1", put("shop.labour_percentile", 1), "shop.labour_percentile", "0.99"),
    ("a billing step of nought", put("shop.billing_step_min", 0), "shop.billing_step_min", "above 0"),
    ("a system of 13 V", put(f"{HOUSE}.battery.system_v", 13), f"{HOUSE}.battery.system_v", "12, 24, 36, 48"),
    ("insulation that no table has", put("shop.insulation_c", 70), "shop.insulation_c", "75"),
    (
        "an efficiency above 1",
        put("accessories.hatch_light.converter", {**CONVERTER, "efficiency": 1.5}),
        "accessories.hatch_light.converter.efficiency",
        "to 1",
    ),
    # words
    ("a craft that is none", put("hull.craft", "raft"), "hull.craft", "sit_on_top_kayak"),
    ("a material that is none", put("hull.material", "steel"), "hull.material", "polyethylene"),
    ("a surface that is none", put("hull.stations[3].surface", "top"), "hull.stations[3].surface", "deck"),
    ("water that is none", put("water", "salt"), "water", "fresh, sea"),
    ("a supplier that is none", put("lines[0].supplied_by", "dealer"), "lines[0].supplied_by", "already_fitted"),
    ("a role that is none", put("lines[7].role", "spare"), "lines[7].role", "house, drive"),
    ("a chemistry that is none", put(f"{HOUSE}.battery.chemistry", "nmc"), f"{HOUSE}.battery.chemistry", "lfp"),
    ("a phase that is none", put(f"{STRIPS}.steps[0].phase", "sand"), f"{STRIPS}.steps[0].phase", "check"),
    ("a word in capitals", put("water", "FRESH"), "water", "fresh"),
    ("a mounting that is none", put("lines[1].mounting", "glue"), "lines[1].mounting", "adhesive"),
    ("a mounting that the type has not", put("lines[7].mounting", "rivet"), "lines[7].mounting", "this type"),
    ("another format", put("format", "hullbench-build-sheet/2"), "format", "hullbench-build-sheet/1"),
    ("a way of rounding that is none", put("shop.tax_rounding", "up"), "shop.tax_rounding", "ticket, line"),
    ("a fastener that is none", put(f"{STRIPS}.openings[0].fastener", "nail"), f"{STRIPS}.openings[0].fastener", "M5"),
    # texts and flags
    ("a number for a text", put("hull.name", 37), "hull.name", "a text"),
    ("a blank text", put("hull.name", "  "), "hull.name", "1 to 200"),
    ("a text beyond its length", put("ticket.title", "x" * 201), "ticket.title", "200"),
    ("half a character", put("hull.name", "\ud800"), "hull.name", "no text"),
    ("a nul in a text", put("lines[0].circuit", "a\x00b"), "lines[0].circuit", "no text"),
    (
        "half a character in a name",
        put("shop.consumables.\udfff", {"unit_price": "1", "unit_cost": "1"}),
        "shop.consumables.\\udfff",
        "no text",
    ),
    ("a number for a flag", put("hull.old", 1), "hull.old", "true or false"),
    ("a word for a flag", put("lines[0].direct", "yes"), "lines[0].direct", "true or false"),
    # money
    ("money as a number", put("lines[0].unit_price", 129.5), "lines[0].unit_price", '"129.50"'),
    ("money with an exponent", put("fees", [{"name": "Expedite", "amount": "4e1"}]), "fees[0].amount", "decimal"),
    ("money below nothing", put("lines[0].unit_cost", "-1.00"), "lines[0].unit_cost", "from 0"),
    ("money with a comma", put("shop.labour_rate_per_h", "95,00"), "shop.labour_rate_per_h", "decimal"),
    ("money with its sign", put("lines[0].unit_price", "$95"), "lines[0].unit_price", "decimal"),
    ("money in other digits", put("lines[0].unit_price", "١٢"), "lines[0].unit_price", "decimal"),
    ("money that is NaN", put("lines[0].unit_price", "NaN"), "lines[0].unit_price", "decimal"),
    ("more money than there is", put("lines[0].unit_price", "99999999"), "lines[0].unit_price", "10000000"),
    ("a tax above the price", put("shop.tax.parts", "8.25"), "shop.tax.parts", "0.0825"),
    ("a discount above 1", put("discount.fraction", "1.01"), "discount.fraction", "to 1"),
    ("a currency that is none", put("shop.currency", "usd"), "shop.currency", "ISO 4217"),
    (
        "a scale out of order",
        put(
            "shop.markup_scale",
            [{"below": "25", "factor": "2"}, {"below": "5", "factor": "3"}, {"below": None, "factor": "1.2"}],
        ),
        "shop.markup_scale",
        "order",
    ),
    (
        "a scale with an end",
        put("shop.markup_scale", [{"below": "5", "factor": "2"}]),
        "shop.markup_scale[0].below",
        "null",
    ),
    # what must be there, what must not
    ("null where a value must be", put("hull.length_m", None), "hull.length_m", "null"),
    ("null for a list", put("lines", None), "lines", "a list"),
    ("null for the shop", put("shop", None), "shop", "an object"),
    ("no hull", drop("hull"), "hull", "missing"),
    ("no length", drop("hull.length_m"), "hull.length_m", "missing"),
    ("no form", drop("hull.waterplane_exponent"), "hull.waterplane_exponent", "missing"),
    ("a line without an id", drop("lines[0].id"), "lines[0].id", "missing"),
    ("a line without an accessory", drop("lines[0].accessory"), "lines[0].accessory", "missing"),
    ("no format", drop("format"), "format", "missing"),
    ("a type without minutes", drop(f"{STRIPS}.labour"), f"{STRIPS}.labour", "missing"),
    (
        "a round hole without a diameter",
        drop(f"{STRIPS}.openings[0].diameter_mm"),
        f"{STRIPS}.openings[0].diameter_mm",
        "missing",
    ),
    ("a slot without a width", put(f"{STRIPS}.openings[0].shape", "slot"), f"{STRIPS}.openings[0].width_mm", "missing"),
    ("an unknown key at the top", put("colour", "red"), "colour", "not known"),
    ("an unknown key of the hull", put("hull.lenght_m", 3.4), "hull.lenght_m", "length_m"),
    ("an unknown key of a station", put("hull.stations[0].w_m", 1), "hull.stations[0].w_m", "not known"),
    ("an unknown key of a line", put("lines[2].price", "1"), "lines[2].price", "unit_price"),
    ("an unknown key of a type", put(f"{STRIPS}.weight", 1), f"{STRIPS}.weight", "mass_kg"),
    ("an unknown key of a load", put(f"{STRIPS}.load.watts", 6), f"{STRIPS}.load.watts", "max_a"),
    ("an unknown key of the shop", put("shop.vat", "0.2"), "shop.vat", "tax"),
    ("an unknown kind of tax", put("shop.tax.tips", "0.2"), "shop.tax.tips", "consumables"),
    ("an unknown key of a spell", put("day_plan[0].start", "18:00"), "day_plan[0].start", "hours"),
    ("a name given twice", swap('"water":', '"water": "sea", "water":'), "water", "twice"),
    (
        "a name given twice, deep down",
        swap('"voltage_v": 12.8', '"voltage_v": 24, "voltage_v": 12.8'),
        f"{HOUSE}.battery.voltage_v",
        "twice",
    ),
    # what is named and is not there
    ("a line of no type", put("lines[2].accessory", "periscope"), "lines[2].accessory", "periscope"),
    ("a line at no station", put("lines[2].station", "mast"), "lines[2].station", "mast"),
    ("a person at no station", put("people[0].station", "mast"), "people[0].station", "accepted: bow"),
    ("gear at no station", put("gear[0].station", "mast"), "gear[0].station", "mast"),
    ("a load on no battery", put("lines[0].battery", "ghost"), "lines[0].battery", "house"),
    ("a load on a battery that is a panel", put("lines[0].battery", "panel"), "lines[0].battery", "battery line"),
    ("a battery on itself", put("lines[7].battery", "house"), "lines[7].battery", "null"),
    ("a load behind no switch", put("lines[0].switch", "ghost"), "lines[0].switch", "panel"),
    ("a load behind a switch that is a fuse block", put("lines[0].switch", "block"), "lines[0].switch", "switch"),
    ("a spell of no load", put("day_plan[1].on.kettle", 1.0), "day_plan[1].on.kettle", "kettle"),
    ("a spell of what draws nothing", put("day_plan[1].on.L10", 1.0), "day_plan[1].on.L10", "draws current"),
    ("no such operation", put("operations[0].operation", "op_paint"), "operations[0].operation", "op_paint"),
    ("a type under another name", put(f"{STRIPS}.id", "strips"), f"{STRIPS}.id", "led_strip_pair"),
    (
        "an operation under another name",
        put("shop_operations.op_handover.id", "op_x"),
        "shop_operations.op_handover.id",
        "op_handover",
    ),
    # what cannot be together
    ("two lines of one id", put("lines[1].id", "strips"), "lines[1].id", "lines[0]"),
    ("two stations of one id", put("hull.stations[1].id", "bow"), "hull.stations[1].id", "hull.stations[0]"),
    ("a switch behind itself", put("lines[4].switch", "panel"), "lines[4].switch", "circle"),
    ("two panels behind one another", PANELS_IN_A_CIRCLE, "lines[12].switch", "panel -> upper -> panel"),
    (
        "several house batteries and an unnamed load",
        append("lines", SECOND_BATTERY),
        "lines[0].battery",
        "house, second",
    ),
    ("two distributions on a battery", append("lines", SECOND_BLOCK), "lines[12].battery", "second distribution"),
    ("two units of a distribution", put("lines[5].quantity", 2), "lines[5].quantity", "one distribution"),
    ("two converters to one voltage", TWO_CONVERTERS, "lines[12].battery", "second converter to 12 V"),
    ("shares of steps that do not add to 1", put(f"{STRIPS}.steps[0].share", 0.5), f"{STRIPS}.steps", "add to"),
    ("minutes without steps", put(f"{STRIPS}.steps", []), f"{STRIPS}.steps", "add to 0"),
    ("low above likely", put(f"{STRIPS}.labour.low_min", 500), f"{STRIPS}.labour.likely_min", "low_min 500"),
    ("likely above high", put(f"{STRIPS}.labour.high_min", 1), f"{STRIPS}.labour.likely_min", "high_min 1"),
    ("a centre of gravity behind the stern", put("hull.cog_x_m", 3.5), "hull.cog_x_m", "3.4"),
    (
        "a float test deeper than the hull",
        put("hull.float_test", {"draft_mid_m": 0.5, "load_kg": 100}),
        "hull.float_test.draft_mid_m",
        "0.35",
    ),
    # lists and objects of the wrong kind
    ("an object for a list", put("lines", {"L1": {}}), "lines", "a list"),
    ("a list for an object", put("accessories", []), "accessories", "an object"),
    ("a text for a line", put("lines[0]", "strips"), "lines[0]", "an object"),
    ("two figures of an offset", put("lines[0].offset_m", [0, 0]), "lines[0].offset_m", "3 to 3"),
    ("a text in an offset", put("lines[0].offset_m", [0, "0", 0]), "lines[0].offset_m[1]", "a number"),
    ("no mounting at all", put(f"{STRIPS}.mountings", []), f"{STRIPS}.mountings", "1 to 20"),
    ("a craft list that is a word", put(f"{STRIPS}.craft", "canoe"), f"{STRIPS}.craft", "a list"),
    (
        "a need of nothing",
        put(f"{STRIPS}.requires", [{"any_of": [], "strength": "must", "why": "x"}]),
        f"{STRIPS}.requires[0].any_of",
        "1 to 200",
    ),
    # no build sheet at all
    ("an empty file", raw(lambda text: ""), "", "is empty"),
    ("only white space", raw(lambda text: " \n\t "), "", "is empty"),
    ("not JSON", raw(lambda text: "ticket: J-04"), "", "line 1, column 1"),
    ("a list at the top", raw(lambda text: f"[{text}]"), "", "an object"),
    ("a text at the top", raw(lambda text: '"sheet"'), "", "an object"),
    ("null at the top", raw(lambda text: "null"), "", "an object"),
    ("text after the end", raw(lambda text: text + " and more"), "", "line 1"),
    ("an end too early", raw(lambda text: text[:-20]), "", "line 1"),
    ("single quotes", raw(lambda text: text.replace('"', "'")), "", "not JSON"),
    ("not UTF-8", raw(lambda text: text.encode().replace(b"Night", b"N\xff\xfeght")), "", "UTF-8"),
    ("UTF-16", raw(lambda text: text.encode("utf-16")), "", "UTF-8"),
    ("a nesting bomb of lists", raw(lambda text: "[" * 200_000), "", "nested too deeply"),
    ("a nesting bomb of objects", raw(lambda text: '{"a":' * 200_000), "", "nested too deeply"),
    ("a nesting bomb in a field", swap('"fresh"', "[" * 90_000 + "]" * 90_000), "", "nested too deeply"),
    ("a deep nesting that can be read", swap('"fresh"', "[" * 300 + "]" * 300), "water", "a list"),
    ("a document of 21 MB", raw(lambda text: " " * 21_000_000 + text), "", "larger than 20 MB"),
]


def lines_of(stderr, file):
    """(path, message) of each line of stderr; the file stands before them."""
    rows = []
    for line in stderr.splitlines():
        assert line.startswith(f"{file}: "), line
        rest = line.removeprefix(f"{file}: ")
        path, colon, message = rest.partition(": ")
        rows.append((path, message) if colon and " " not in path else ("", rest))
    return rows


def test_the_sheet_that_is_broken_below_is_usable(capsys, tmp_path):
    file = tmp_path / "sheet.json"
    file.write_bytes(written(BASE, put("water", "sea")))
    code, out, err = run(capsys, "--json", file)
    assert (code, err) == (0, "")
    assert json.loads(out)["format"] == "hullbench-estimate/1"


@pytest.mark.parametrize(("change", "path", "word"), [row[1:] for row in TABLE], ids=[row[0] for row in TABLE])
def test_a_broken_sheet_is_refused_with_its_path_and_what_is_accepted(change, path, word, capsys, tmp_path):
    file = tmp_path / "sheet.json"
    file.write_bytes(written(BASE, change))
    code, out, err = run(capsys, "--json", file)
    assert (code, out) == (2, "")
    rows = lines_of(err, file)
    assert [message for at, message in rows if at == path and word in message], err
    assert all("accepted" in message for _, message in rows), err
    assert "Traceback" not in err and "Error" not in err


def test_the_table_holds_at_least_sixty_kinds_each_told_apart_by_its_name():
    assert len({row[0] for row in TABLE}) == len(TABLE) >= 60


def test_all_faults_of_a_sheet_are_reported_together(capsys, tmp_path):
    rows = {row[0]: row for row in TABLE}
    names = [
        "a string for a number", "a craft that is none", "money as a number", "an unknown key of a line",
        "a line of no type", "a person at no station", "a load on no battery", "a switch behind itself",
        "a spell of no load", "no such operation", "two stations of one id", "a chemistry that is none",
        "shares of steps that do not add to 1", "a tax above the price", "NaN for a number", "no format",
    ]  # fmt: skip
    changes = [rows[name][1] for name in names if name != "a load on no battery"]
    file = tmp_path / "sheet.json"
    file.write_bytes(written(BASE, every(*changes, put("lines[1].battery", "ghost"))))
    code, out, err = run(capsys, file)
    assert (code, out) == (2, "")
    paths = [path for path, _ in lines_of(err, file)]
    wanted = {rows[name][2] for name in names} - {"lines[0].battery"} | {"lines[1].battery"}
    assert wanted <= set(paths), wanted - set(paths)


def test_every_fault_of_one_list_is_reported(capsys, tmp_path):
    file = tmp_path / "sheet.json"
    file.write_bytes(written(BASE, every(*(put(f"lines[{i}].quantity", -i) for i in range(12)))))
    _, _, err = run(capsys, file)
    assert [path for path, _ in lines_of(err, file)] == [f"lines[{i}].quantity" for i in range(12)]


def test_a_fault_is_one_line_whatever_is_typed(capsys, tmp_path):
    file = tmp_path / "sheet.json"
    file.write_bytes(written(BASE, put("water", "a\nb\x1b[31m")))
    _, _, err = run(capsys, file)
    assert len(err.splitlines()) == 1
    assert "\x1b" not in err


@pytest.mark.parametrize("name", ["NaN for a number", "a nesting bomb of lists", "not UTF-8", "a line of no type"])
def test_the_command_as_a_shell_starts_it_refuses_too(name, tmp_path):
    _, change, path, word = next(row for row in TABLE if row[0] == name)
    file = tmp_path / "sheet.json"
    file.write_bytes(written(BASE, change))
    done = subprocess.run([sys.executable, MANAGE, "estimate", file], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout) == (2, "")
    assert [message for at, message in lines_of(done.stderr, file) if at == path and word in message], done.stderr


# Fuzz: a valid sheet with something in it exchanged is estimated, or refused with paths. Nothing else may happen.

MUTATIONS = 2000
ODD = [
    None, True, False, 0, -1, 1, 2, 1e-300, 1e300, 10**30, 0.5, 999, NAN, INFINITY, "", " ", "0", "12.50", "-1",
    "house", "panel", "strips", "bow", "\ud800", "é", "x" * 3000, [], {}, [[]], [None], {"id": "strips"}, [1, 2, 3],
]  # fmt: skip


def mutated(document, chance):
    """Exchange, leave out, double or move one thing of a document, at any depth."""
    places = [(document, key) for key in document]
    for holder, key in places:
        value = holder[key]
        keys = range(len(value)) if isinstance(value, list) else value if isinstance(value, dict) else ()
        places += [(value, inner) for inner in keys]
    holder, key = chance.choice(places)
    kind = chance.choice(["odd", "odd", "number", "number", "number", "drop", "double", "borrow"])
    value = holder[key]
    if kind == "number" and isinstance(value, int | float) and not isinstance(value, bool):
        holder[key] = value * chance.choice([0, -1, 0.001, 0.5, 1.001, 2, 10, 1000])
    elif kind == "drop":
        del holder[key]
    elif kind == "double" and isinstance(holder, list):
        holder.insert(key, value)
    elif kind == "borrow":
        other, from_key = chance.choice(places)
        holder[key] = json.loads(json.dumps(other[from_key]))
    else:
        holder[key] = chance.choice(ODD)


@pytest.mark.parametrize("seed", range(8))
def test_a_sheet_with_anything_exchanged_is_estimated_or_refused_and_nothing_else(seed):
    chance = random.Random(seed)
    texts = [json.dumps(job(path.stem)) for path in sorted(JOBS.glob("*.json")) if ".expect" not in path.name]
    estimated = refused = 0
    for _ in range(MUTATIONS // 8):
        document = json.loads(chance.choice(texts))
        for _ in range(chance.choice([1, 1, 1, 2, 3])):
            mutated(document, chance)
        try:
            sheet = read_sheet(parse_json(json.dumps(document)))
            json.dumps(estimate_document(estimate(sheet)), allow_nan=False).encode()
            estimated += 1
        except Unusable as error:
            assert all(problem.message for problem in error.problems) and error.problems
            refused += 1
    assert estimated > 20 and refused > 20
