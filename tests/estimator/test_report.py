"""Rules of the report: what is there is shown with its unit, what is not there leaves no heading."""

from builds.estimator.estimate import document, estimate
from builds.estimator.files import read_file
from builds.estimator.report import money, plain, report
from tests.estimator.broken import JOBS
from tests.estimator.priced import part, sheet_of

LIGHTS = JOBS / "night_lights.json"


def reported(sheet):
    return report(sheet, document(estimate(sheet)))


def section(text, title):
    """The rows of one section."""
    _, _, rest = text.partition(f"\n\n{title.upper()}\n")
    return rest.partition("\n\n")[0].splitlines()


def test_a_section_is_there_only_when_the_estimate_has_it():
    text = reported(sheet_of([part("10.00")]))
    assert section(text, "Price, USD") and section(text, "Weight")
    for absent in ("POWER", "OPENINGS", "CABLE CUT LIST", "CONSUMABLES", "MISSING PARTS"):
        assert f"\n{absent}\n" not in text


def test_the_total_and_what_it_is_made_of_stand_first_with_the_currency():
    fees = [{"name": "Expedite", "amount": "40.00"}]
    sheet = sheet_of([part("1200.00", "600.00")], fees=fees, discount={"fraction": "0.10"}, shop={"currency": "EUR"})
    rows = {row[:60].strip(): row[60:].strip() for row in section(reported(sheet), "Price, EUR")}
    assert rows["Parts"] == "1,200.00"
    assert rows["Fees"] == "40.00"
    assert rows["Discount"] == "−120.00"
    assert rows["Total"] == "1,120.00"
    assert "Tax on parts" not in rows


def test_every_line_stands_with_its_place_number_and_who_supplies_it():
    sheet = sheet_of(
        [part("10.00", name="Cleat"), part("20.00", name="Cup holder"), part(None, None, name="Odd thing")],
        {"L1": {"quantity": 2, "station": "x1"}, "L2": {"supplied_by": "customer"}},
    )
    rows = [" ".join(row.split()) for row in section(reported(sheet), "Lines")]
    assert rows == ["1 Cleat × 2 1 m 20.00", "2 Cup holder × 1 0 m customer's own", "3 Odd thing × 1 0 m not known"]


def test_what_the_customer_must_not_see_stands_only_in_the_last_section():
    sheet = sheet_of([part("100.00", "90.00")])
    before, title, last = reported(sheet).partition("MARGIN: NOT FOR THE CUSTOMER")
    assert title
    assert "below the shop's floor" in last and "90.00" in last
    assert "floor" not in before and "90.00" not in before.replace("190.00", "")
    assert "Gross profit" not in before


def test_a_caution_stands_with_its_severity_and_what_would_mend_it():
    rows = " ".join(" ".join(row.split()) for row in section(reported(read_file(LIGHTS)), "Stops, cautions, notes"))
    assert "CAUTION All-round white light on pole" in rows
    assert "Mend: move 3 All-round white light on pole" in rows


def test_steps_are_numbered_in_order_with_phase_line_and_minutes():
    found = document(estimate(read_file(LIGHTS)))
    rows = section(report(read_file(LIGHTS), found), "Order of work")
    first_rows = [row for row in rows if row[:5].strip().isdigit()]
    assert len(first_rows) == len(found["labour"]["order"])
    assert all(row.endswith(" min") for row in first_rows)
    assert rows[0].split()[:2] == ["1", "check"]


def test_figures_of_later_sections_are_shown_once_an_estimate_has_them():
    sheet = sheet_of([part("10.00", name="Cleat")])
    found = document(estimate(sheet)) | {
        "flotation": {
            "fits": True,
            "greatest_load_kg": 251.4,
            "draft_mid_mm": 118.2,
            "draft_bow_mm": 101.0,
            "draft_stern_mm": 135.4,
            "trim_mm": 34.4,
            "heel_deg": None,
            "gm_mm": 141.0,
            "immersion_kg_per_cm": 18.94,
            "freeboard_mm": 224.6,
            "deck_freeboard_mm": None,
            "band": {"draft_mid_mm": [109.0, 131.0], "trim_mm": None},
        },
        "openings": [
            {"letter": "A", "line": "L1", "x_mm": 1200.0, "y_mm": -350.0, "shape": "round", "bit": "5.2 mm",
             "height_above_water_mm": 205.0}
        ],
        "opening_count": 1,
        "placement": [{"battery": "L1", "best": "x1", "options": [
            {"station": "x1", "trim_mm": -4.0, "heel_deg": 0.0, "longest_run_m": 2.1, "drops_pass": True}]}],
        "missing": [{"line": "L1", "strength": "must", "why": "A cleat needs a backing plate.",
                     "offers": [{"accessory": "L1_type", "price": "12.00", "minutes": 15.0}]}],
    }  # fmt: skip
    text = " ".join(report(sheet, found).split())
    for shown in (
        "Draft amidships 109 to 131 mm 118 mm",
        "Trim, stern down 34 mm",
        "Load for one centimetre more draft 18.9 kg",
        "Greatest load that floats 251 kg",
        "A 1 Cleat x 1,200 mm y −350 mm 5.2 mm 205 mm Openings in all 1",
        "1 m trim −4 mm drops pass best",
        "1 Cleat must have: A cleat needs a backing plate. Cleat 12.00 15 min",
    ):
        assert shown in text
    assert "Heel" not in text and "Floor above water" not in text


def test_an_amount_keeps_every_digit_and_its_sign():
    assert [money(amount) for amount in ("1234567890123.45", "-0.50", "2400", None)] == [
        "1,234,567,890,123.45",
        "−0.50",
        "2,400",
        "not known",
    ]


def test_nothing_that_was_typed_can_command_the_terminal():
    assert plain("a\x1b[31mb\nc\u202fd ") == "a [31mb c d"
    sheet = sheet_of([part("1.00", name="Cleat\x1b]0;x\x07")], ticket={"title": "A\r\nB"})
    assert all(row.isprintable() for row in reported(sheet).splitlines())
