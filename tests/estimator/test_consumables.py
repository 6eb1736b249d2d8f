"""Rules of consumables and of the cut list: what the bench takes from the drawer for one ticket."""

import math
from decimal import Decimal

import pytest

from builds.estimator.accessory import Opening
from builds.estimator.consumables import base_outline_mm, cautions_of, consumables_of, rim_mm, sealant_ml, ties_on
from builds.estimator.consumables import workings_of as consumable_workings
from builds.estimator.cut_list import cut_list
from builds.estimator.fitted import fit_lines
from builds.estimator.power import size_systems
from builds.estimator.runs import route_loads
from tests.estimator.electrics import battery, block, kind, load, motor, panel, reference_rows, sheet_of


def hole(diameter_mm, dx=0.0, dy=0.0, fastener=None):
    purpose = "fastener" if fastener else "cable"
    return Opening(shape="round", diameter_mm=diameter_mm, dx_mm=dx, dy_mm=dy, purpose=purpose, fastener=fastener)


def cut_out(width_mm, height_mm, corner_mm=None, shape="rectangle"):
    return Opening(shape=shape, width_mm=width_mm, height_mm=height_mm, corner_mm=corner_mm, purpose="cut-out")


FOUR_BOLTS = tuple(hole(5.2, dx, dy, "M5") for dx in (-30, 30) for dy in (-20, 20))


def taken(parts, lines=None, **changes):
    """(consumables by item, cut list) of a sheet."""
    sheet = sheet_of(parts, lines, **changes)
    fitted = fit_lines(sheet)
    systems = size_systems(sheet, fitted, route_loads(sheet, fitted))
    pieces = cut_list(fitted, systems)
    return {line.item: line for line in consumables_of(sheet, fitted, systems, pieces)}, pieces


# Sealant


def test_the_bead_of_a_single_round_opening_follows_its_circle_grown_by_ten_millimetres():
    assert base_outline_mm((hole(30),)) == pytest.approx(math.pi * 50)


def test_the_bead_of_several_openings_follows_the_rectangle_round_them_grown_by_ten_millimetres():
    # Holes of 5.2 mm at +/- 30 and +/- 20 mm: 65.2 x 45.2 mm, grown 85.2 x 65.2 mm.
    assert base_outline_mm(FOUR_BOLTS) == pytest.approx(2 * (85.2 + 65.2))


def test_a_base_with_four_bolts_takes_its_bead_and_three_tenths_of_a_millilitre_a_bolt():
    # 19.635 mm2 of bead over 300.8 mm is 5.906 ml; four bolts 1.2 ml; 15 % on top.
    assert sealant_ml(FOUR_BOLTS, 5.0) == pytest.approx((5.9062 + 1.2) * 1.15, abs=1e-3)


def test_the_rim_of_an_opening_that_is_no_fastener_is_bedded_too():
    # 12.566 mm2 over 157.08 + 94.25 mm.
    assert sealant_ml((hole(30),), 4.0) == pytest.approx(12.566 * 251.33 / 1000 * 1.15, abs=1e-3)


def test_the_rim_of_a_slot_has_round_ends_and_that_of_a_rectangle_its_corners():
    assert rim_mm(cut_out(60, 20, shape="slot")) == pytest.approx(2 * 40 + math.pi * 20)
    assert rim_mm(cut_out(20, 60, shape="slot")) == pytest.approx(2 * 40 + math.pi * 20)
    assert rim_mm(cut_out(60, 20)) == 160
    assert rim_mm(cut_out(60, 20, corner_mm=5)) == pytest.approx(100 + 20 + 2 * math.pi * 5)
    assert rim_mm(cut_out(20, 20, corner_mm=10)) == pytest.approx(math.pi * 20)


BOLT_HOLE = {"shape": "round", "diameter_mm": 5.2, "purpose": "fastener", "fastener": "M5"}


def sealed(seal="bead"):
    openings = [{**BOLT_HOLE, "dx_mm": dx} for dx in (-30, 30)]
    return kind(mountings=["through_bolt"], openings=openings, seal={"kind": seal, "bead_mm": 5.0})


@pytest.mark.parametrize(("seal", "sealant"), [("bead", True), ("insert", True), ("gasket", False), ("none", False)])
def test_beads_and_inserts_are_bedded_in_sealant_gaskets_are_not(seal, sealant):
    assert ("marine_sealant" in taken({"L1": sealed(seal)})[0]) is sealant


def test_a_part_that_is_already_bedded_takes_no_sealant():
    assert "marine_sealant" not in taken({"L1": sealed()}, {"L1": {"supplied_by": "already_fitted"}})[0]


def test_a_mounting_that_makes_no_opening_takes_no_sealant():
    part = kind(
        mountings=["gear_track_t_bolt", "through_bolt"],
        openings=[{**BOLT_HOLE, "mountings": ["through_bolt"]}],
        seal={"kind": "bead", "bead_mm": 5.0},
    )
    assert "marine_sealant" not in taken({"L1": part})[0]
    assert "marine_sealant" in taken({"L1": part}, {"L1": {"mounting": "through_bolt"}})[0]


def test_every_unit_takes_its_sealant():
    one, three = (taken({"L1": sealed()}, {"L1": {"quantity": n}})[0]["marine_sealant"].quantity for n in (1, 3))
    assert three == pytest.approx(3 * one)


def test_a_bead_takes_the_volume_that_tables_of_bead_length_say():
    # sealant_bead_length_computed.csv: metres of round bead from a 300 ml cartridge.
    for row in reference_rows("sealant_bead_length_computed"):
        length_mm = 1000 * float(row["length_300ml_m"])
        side_mm = (length_mm - 80) / 8  # a square of this side has rim + grown outline = 8 * side + 80 mm
        ml = sealant_ml((cut_out(side_mm, side_mm),), float(row["bead_diameter_mm"]))
        assert ml / 1.15 == pytest.approx(300, rel=1e-3)


def test_a_cartridge_lays_the_twelve_feet_of_bead_that_a_maker_publishes():
    # sealant_yield_published.csv, s1: 300 ml as a round bead of 3/8 in (10 mm) is 12 ft (3.7 m); published, rounded.
    (row,) = [row for row in reference_rows("sealant_yield_published") if row["id"] == "s1"]
    assert row["published_length"] == "12 ft (3.7 m)"
    side_mm = (12 * 304.8 - 80) / 8
    assert sealant_ml((cut_out(side_mm, side_mm),), 10.0) / 1.15 == pytest.approx(300, rel=0.05)


# Ties


def test_ties_hold_a_run_every_450_mm_and_at_its_start():
    assert [ties_on(run_m) for run_m in (0.1, 0.45, 0.46, 0.9, 3.0)] == [2, 2, 3, 3, 8]
    assert ties_on(21 * 0.45) == 22  # the float is a hair above 9.45


def test_no_run_is_held_more_widely_than_abyc_e11_allows():
    # cable_support_heatshrink_insert.csv: ABYC E-11, conductors held at least every 18 in.
    (row,) = [row for row in reference_rows("cable_support_heatshrink_insert") if "E-11, at least" in row["quantity"]]
    widest_m = float(row["value"]) * 0.0254
    for millimetres in range(50, 20_000, 37):
        run_m = millimetres / 1000
        assert run_m / (ties_on(run_m) - 1) <= widest_m


# Conductors. Places are on the centreline at 0, 1, 2 ... m: a run is 1.15 m a metre and 0.60 m.


def test_a_load_takes_two_conductors_four_terminals_heat_shrink_and_a_fuse_with_its_spare():
    items, pieces = taken({"battery": battery(), "lamp": load(1.0)}, {"lamp": {"station": "x2"}})
    assert [(piece.label, piece.colour, round(piece.length_m, 6)) for piece in pieces] == [
        ("2+", "red", 2.9),
        ("2-", "black", 2.9),
    ]
    assert items["wire_18_awg"].quantity == pytest.approx(5.8)
    assert items["ring_terminal"].quantity == 4
    assert items["adhesive_heat_shrink"].quantity == pytest.approx(4 * 0.060)
    assert items["blade_fuse"].quantity == 2
    assert items["cable_tie"].quantity == math.ceil(2.9 / 0.45) + 1


def test_a_switched_positive_is_two_pieces_and_its_run_is_tied_once():
    items, pieces = taken(
        {"battery": battery(), "panel": panel(), "lamp": load(1.0)},
        {"panel": {"station": "x1"}, "lamp": {"station": "x3", "switch": "panel"}},
    )
    assert [(piece.label, round(piece.length_m, 6), piece.from_line, piece.to_line) for piece in pieces] == [
        ("3+a", 1.75, "battery", "panel"),
        ("3+b", 2.9, "panel", "lamp"),
        ("3-", 4.05, "lamp", "battery"),
    ]
    assert items["ring_terminal"].quantity == 6
    assert items["cable_tie"].quantity == 4.05 / 0.45 + 1  # exactly nine spaces


def test_a_feed_has_its_conductors_and_a_main_fuse_without_a_spare():
    items, pieces = taken(
        {"battery": battery(), "block": block(), "lamp": load(1.0)},
        {"block": {"station": "x1"}, "lamp": {"station": "x2"}},
    )
    assert [(piece.label, piece.from_, piece.to) for piece in pieces[:2]] == [
        ("F2+", "1 Battery 100 Ah", "2 Fuse block"),
        ("F2-", "2 Fuse block", "1 Battery 100 Ah"),
    ]
    assert items["blade_fuse"].quantity == 3  # the circuit's, its spare, the main fuse
    wire_m = sum(line.quantity for item, line in items.items() if item.startswith("wire_"))
    assert wire_m == pytest.approx(2 * 1.75 + 2 * 1.75)


def test_a_single_direct_circuit_has_one_fuse_and_its_spare_and_no_main_fuse_besides():
    items, _ = taken({"battery": battery(), "motor": motor(40.0)}, {"motor": {"station": "x1"}})
    fuses = {item: line.quantity for item, line in items.items() if item.endswith("fuse")}
    assert fuses == {"maxi_fuse": 2}  # 40 A * 1.10 -> 50 A


def test_thick_conductors_take_lugs():
    items, pieces = taken({"battery": battery(), "motor": motor(40.0)}, {"motor": {"station": "x3"}})
    assert int(pieces[0].awg) <= 8
    assert items["heavy_lug"].quantity == 4
    assert "ring_terminal" not in items


@pytest.mark.parametrize(
    ("design_a", "item"), [(32.0, "blade_fuse"), (32.1, "maxi_fuse"), (80.0, "maxi_fuse"), (80.1, "bolt_down_fuse")]
)
def test_fuses_are_blades_to_40_amperes_large_blades_to_100_and_bolted_above(design_a, item):
    items, _ = taken({"battery": battery(limit_a=500.0), "winch": load(design_a)}, {"winch": {"station": "x1"}})
    assert {name for name in items if name.endswith("fuse")} == {item}


def test_loads_of_one_circuit_share_a_fuse_but_each_has_its_conductors():
    items, pieces = taken(
        {"battery": battery(), "a": load(1.0), "b": load(1.0)},
        {"a": {"station": "x1", "circuit": "lights"}, "b": {"station": "x1", "circuit": "lights"}},
    )
    assert (items["blade_fuse"].quantity, len(pieces)) == (2, 4)


def test_what_is_already_fitted_takes_nothing():
    lamp = {**load(1.0), "consumables": [{"item": "grommet", "quantity": 1}]}
    items, pieces = taken({"battery": battery(), "lamp": lamp}, {"lamp": {"supplied_by": "already_fitted"}})
    assert (items, pieces) == ({}, ())


def test_a_customer_s_own_part_takes_as_much_as_the_shop_s():
    parts = {"battery": battery(), "lamp": {**load(1.0), "consumables": [{"item": "grommet", "quantity": 1}]}}
    own, shops = (taken(parts, {"lamp": {"supplied_by": by}})[0] for by in ("customer", "shop"))
    assert own == shops
    assert own["grommet"].quantity == 1


def test_a_new_load_on_a_fitted_block_takes_its_own_run_but_no_feed():
    items, pieces = taken(
        {"battery": battery(), "block": block(), "lamp": load(1.0)},
        {"block": {"supplied_by": "already_fitted"}, "lamp": {"station": "x1"}},
    )
    assert [piece.label for piece in pieces] == ["3+", "3-"]
    assert items["blade_fuse"].quantity == 2


def test_a_load_that_no_conductor_can_feed_takes_none():
    items, pieces = taken({"battery": battery(limit_a=5000.0), "lamp": load(900.0)}, {"lamp": {"station": "x4"}})
    assert pieces == ()
    assert not {"cable_tie", "ring_terminal", "heavy_lug"} & set(items)


def test_labels_are_unique_on_a_ticket_and_short_enough_for_a_sleeve():
    parts = {"battery": battery(), "block": block(), "panel": panel(), **{f"L{i}": load(0.5) for i in range(20)}}
    lines = {f"L{i}": {"station": f"x{i % 5}", **({"switch": "panel"} if i % 3 else {})} for i in range(20)}
    _, pieces = taken(parts, lines)
    labels = [piece.label for piece in pieces]
    assert len(set(labels)) == len(labels) == 2 + 7 * 2 + 13 * 3
    assert max(map(len, labels)) <= 5


def test_the_cut_list_holds_as_much_conductor_as_the_consumables_charge():
    items, pieces = taken(
        {"battery": battery(), "block": block(), "panel": panel(), "a": load(3.0), "b": load(12.0)},
        {"panel": {"station": "x1"}, "a": {"station": "x3", "switch": "panel"}, "b": {"station": "x4"}},
    )
    for item in [item for item in items if item.startswith("wire_")]:
        cut_m = sum(piece.length_m for piece in pieces if f"wire_{piece.awg}_awg" == item)
        assert items[item].quantity == pytest.approx(cut_m)


# The list and its price


def test_a_type_s_own_list_counts_for_each_unit_and_adds_to_what_is_computed():
    own = [{"item": "ring_terminal", "quantity": 3}, {"item": "grommet", "quantity": 0.5}]
    lamp = {**load(1.0), "consumables": own}
    items, _ = taken({"battery": battery(), "lamp": lamp}, {"lamp": {"quantity": 2, "station": "x1"}})
    assert items["ring_terminal"].quantity == 4 + 6
    assert items["grommet"].quantity == 1.0
    assert items["ring_terminal"].uses == (("lamp", 4.0), ("lamp, its own list", 6.0))


def test_computed_items_come_first_conductors_from_thin_to_thick():
    last = {**kind(), "consumables": [{"item": "aa", "quantity": 1}]}
    parts = {"battery": battery(), "a": load(12.0), "b": load(1.0), "c": last}
    items, _ = taken(parts, {"a": {"station": "x4"}, "b": {"station": "x1"}})
    wires = [item for item in items if item.startswith("wire_")]
    assert list(items) == ["cable_tie", *wires, "ring_terminal", "adhesive_heat_shrink", "blade_fuse", "aa"]
    assert wires[0] == "wire_18_awg" and len(wires) == 2


def test_a_consumable_is_charged_by_use_and_rounded_once():
    prices = {"cord": {"unit_price": "0.333", "unit_cost": "0.111", "unit": "m", "name": "Cord"}}
    part = {**kind(), "consumables": [{"item": "cord", "quantity": 2.5}]}
    items, _ = taken({"L1": part}, {"L1": {"quantity": 2}}, shop={"consumables": prices})
    cord = items["cord"]
    assert (cord.quantity, cord.unit, cord.name) == (5.0, "m", "Cord")
    assert (cord.price, cord.cost) == (Decimal("1.67"), Decimal("0.56"))  # 1.665 and 0.555, half up


def test_a_consumable_without_a_price_counts_as_nothing_and_is_named():
    items, _ = taken({"L1": {**kind(), "consumables": [{"item": "cord", "quantity": 1}]}})
    (caution,) = cautions_of(tuple(items.values()))
    assert (items["cord"].price, items["cord"].cost) == (Decimal("0.00"), Decimal("0.00"))
    assert (caution.code, caution.severity, caution.figures["items"]) == ("consumable_unpriced", "caution", ["cord"])


def test_without_an_unpriced_consumable_nobody_is_warned():
    assert cautions_of(()) == ()


def test_every_item_says_what_takes_it():
    items, _ = taken({"battery": battery(), "lamp": load(1.0)}, {"lamp": {"station": "x2"}})
    workings = {working.figure: working for working in consumable_workings(tuple(items.values()))}
    assert set(workings) == {f"consumables.{item}" for item in items}
    wire = workings["consumables.wire_18_awg"].inputs
    assert (wire["lamp, red [m]"], wire["lamp, black [m]"]) == (pytest.approx(2.9), pytest.approx(2.9))
    assert workings["consumables.cable_tie"].sources == ("abyc_e11_support",)
