"""A sheet and an estimate made by hand, of any length, for papers. Every figure here is invented and easy to follow."""

import datetime
from decimal import Decimal

from builds.documents import Change, HandOver, Invoice, Measured, PaperFacts, Receipt, Signing, Tested
from builds.documents.figures import place_in_alphabet

HOLES_A_LINE = 4
LONG_NAME = (
    "Flush-mount tube rod holder, angled, closed end, with gasket, cap and lanyard, for a very long name that has to "
    "fold on every paper that it is printed on"
)
COST, MARGIN = "4321.09", 0.31717
ROD_TUBE = {
    "id": "rod_tube",
    "name": "Flush rod tube, closed end",
    "mountings": ["rivet"],
    "load": {"typical_a": 0.9, "max_a": 1.5},
    "seal": {"kind": "bead", "bead_mm": 5},
    "bench_tests": ["polarity", "running_current", "voltage_drop_under_load", "leak_test", "pull_test"],
    "price": "22.00",
    "cost": "12.34",
}


def facts(**given) -> PaperFacts:
    usual = {
        "ticket_number": "T-0412",
        "title": "Dawn fishing rig",
        "hull_name": "3.8 m sit-on-top",
        "hull_number": "H-0187",
        "hull_material": "Polyethylene",
        "customer": "Customer 0412",
        "shop_name": "Example Paddle Outfitting",
        "shop_address": "1 Slipway\nExample Harbour",
        "number": "Q-0412-2",
        "version": 2,
        "replaces": 1,
        "quote_number": "Q-0412-2",
        "issued_at": datetime.datetime(2026, 11, 25, 14, 58),
        "valid_until": datetime.date(2026, 12, 9),
        "ready_on": datetime.date(2026, 12, 1),
        "accepted_at": datetime.datetime(2026, 11, 26, 8, 10),
        "accepted_by": "Customer 0412",
        "workmanship_days": 90,
        "base_url": "https://bench.example.test",
        "bins": {"rod_tube": "A10"},
    }
    return PaperFacts(**(usual | given))


def letter(place: int) -> str:
    """Return the letter of an opening by its place from 1: A, B … Z, AA."""
    text = ""
    while place:
        place, rest = divmod(place - 1, 26)
        text = chr(ord("A") + rest) + text
    assert place_in_alphabet(text)
    return text


def sheet(lines: int = 1, name: str = ROD_TUBE["name"], **hull) -> dict:
    return {
        "ticket": {"number": "T-0412", "title": "Dawn fishing rig"},
        "hull": {
            "name": "3.8 m sit-on-top",
            "length_m": 3.8,
            "beam_m": 0.84,
            "depth_m": 0.36,
            "waterplane_exponent": 2.6,
            "section_exponent": 4.0,
            "rated_load_kg": 172.0,
            "stations": [
                {"id": "rear", "name": "Rear deck, port", "x_m": 2.6, "y_m": -0.29, "z_m": 0.36, "surface": "deck"}
            ],
            **hull,
        },
        "people": [{"name": "paddler", "mass_kg": 95.0}],
        "gear": [{"name": "kit", "mass_kg": 18.0}],
        "lines": [
            {"id": f"L{n}", "accessory": "rod_tube", "quantity": 1, "station": "rear"} for n in range(1, lines + 1)
        ],
        "operations": [],
        "discount": {"fraction": "0"},
        "fees": [],
        "accessories": {"rod_tube": ROD_TUBE | {"name": name}},
        "shop_operations": {},
        "shop": {
            "currency": "USD",
            "labour_rate_per_h": "95.00",
            "tax": {"parts": "0.06", "labour": "0", "consumables": "0.06", "fees": "0"},
        },
    }


def steps(lines: int, each: int = 1) -> list[dict]:
    """Return four steps a line, each so many times, phase by phase; the text of a step begins and ends with its n."""
    phases = {
        "mark": ("Mark", None, "An opening cannot be moved once it is cut.", True),
        "drill": ("Drill and cut", "54 mm hole saw, then 5.2 mm", None, False),
        "bed": ("Bed and mount", None, None, False),
        "test": ("Test", None, None, True),
    }
    found = []
    for phase, (heading, bit, caution, check) in phases.items():
        for line in [line for line in range(1, lines + 1) for _ in range(each)]:
            n = len(found) + 1
            found.append(
                {
                    "n": n,
                    "phase": phase,
                    "line": f"L{line}",
                    "text": f"Begin{n} with the part in hand, look twice at its place from the bow, do it, and end{n}.",
                    "minutes": 3.4,
                    "heading": heading,
                    "bit": bit,
                    "caution": caution,
                    "check": check,
                    "quantity": 1,
                    "name": "Flush rod tube, closed end",
                    "waits_cure": phase == "test",
                    "cure_h": 24.0 if phase == "bed" else 0.0,
                }
            )
    return found


def openings(lines: int) -> list[dict]:
    """Return four openings a line: the body of 54 mm and three fasteners of 5.2 mm."""
    found = []
    for n in range(lines * HOLES_A_LINE):
        body = n % HOLES_A_LINE == 0
        found.append(
            {
                "letter": letter(n + 1),
                "line": f"L{n // HOLES_A_LINE + 1}",
                "x_mm": 600.0 + 4 * n,
                "y_mm": -290.0,
                "z_mm": 360.0,
                "shape": "round",
                "diameter_mm": 54.0 if body else 5.2,
                "bit": "54 mm, 2 1/8 in hole saw" if body else "5.2 mm, no. 5",
                "seal": "bead",
                "height_above_water_mm": 201.0,
                "fastener": None if body else "M5",
                "purpose": "tube body" if body else "fastener",
                "surface": "deck",
            }
        )
    return found


def caution(code: str, severity: str, sentence: str, **figures) -> dict:
    return {
        "code": code,
        "severity": severity,
        "sentence": sentence,
        "figures": figures,
        "source": "common_practice",
        "mend": None,
    }


def power(lines: int) -> list[dict]:
    legs = [
        {
            "line": f"L{n}",
            "run_m": 1.5,
            "current_a": 1.5,
            "awg": "18",
            "drop_v": 0.19,
            "drop_fraction": 0.016,
            "limit_fraction": 0.03,
            "origin": "L1",
            "switch": None,
        }
        for n in range(1, lines + 1)
    ]
    circuit = {
        "circuit": "deck_lights",
        "fuse_a": 7.5,
        "fuse_colour": "brown",
        "legs": legs,
        "volts_v": 12.0,
        "design_current_a": 1.5 * lines,
    }
    return [
        {
            "battery": "L1",
            "role": "house",
            "system_v": 12.0,
            "rated_ah": 20.0,
            "main_fuse_a": 10.0,
            "feed": None,
            "circuits": [circuit],
        }
    ]


def piece(label: str, colour: str, length_m: float, start: str, end: str) -> dict:
    return {
        "label": label,
        "awg": "18",
        "colour": colour,
        "length_m": length_m,
        "from": start,
        "to": end,
        "battery": "L1",
        "circuit": "deck_lights",
        "serves": "L1",
    }


def estimate(lines: int = 1, **given) -> dict:
    """Return the estimate of `sheet(lines)`; a section is replaced by keyword, and left out where it is None."""
    parts = 22 * lines
    document = {
        "weights": {"added_in_use_kg": 8.9},
        "labour": {
            "quoted_min": 630.0,
            "p50_min": 619.0,
            "p80_min": 668.0,
            "order": steps(lines),
        },
        "openings": openings(lines),
        "power": power(lines),
        "cut_list": [
            piece("1+", "red", 1.502, "2 Block", "1 Tube"),
            piece("1-", "black", 1.5, "1 Tube", "2 Block"),
        ],
        "consumables": [
            {"item": "marine_sealant", "quantity": 34.53, "unit": "ml", "price": "2.76", "cost": "1.55"},
            {"item": "cable_tie", "quantity": 24.0, "unit": "each", "price": "9.60", "cost": "3.60"},
        ],
        "price": {
            "parts": f"{parts}.00",
            "labour": "997.50",
            "consumables": "12.36",
            "fees": "0.00",
            "discount": "0.00",
            "tax": {"parts": "1.32", "labour": "0.00", "consumables": "0.74", "fees": "0.00"},
            "total": "1033.92",
            "deposit": "11.00",
            "cost": COST,
            "gross_profit": "327.91",
            "margin": MARGIN,
            "currency": "USD",
            "lines": [
                {
                    "line": f"L{n}",
                    "quantity": 1,
                    "unit_price": "22.00",
                    "amount": "22.00",
                    "unit_cost": "12.34",
                    "cost": "12.34",
                }
                for n in range(1, lines + 1)
            ],
        },
        "missing": [],
        "cautions": [
            caution("capacity_high", "caution", "Loaded with 122 kg of the 172 kg that the maker allows: 71 %."),
            caution("cure_before_float", "caution", "Not afloat before 24 h of cure after the last bed.", cure_h=24.0),
            caution("margin_low", "caution", "The margin is 31.7 %, below the floor of 35.0 %.", staff_only=True),
            caution("no_float_test", "note", "No float test is recorded. Heights above the water are estimates."),
        ],
    }
    return {name: value for name, value in (document | given).items() if value is not None}


# What goes into the papers that follow a quote

SHA256 = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
"""The SHA-256 of "abc": the worked example of FIPS 180-2, appendix B.1 (2002)."""


def marked(n: int) -> str:
    """Return a text of so many lines that it could be split, which begins and ends with its n."""
    return f"Begin{n} with the part in hand, {'look twice at its place from the bow, ' * 14}and end{n}"


def places(count: int) -> list[tuple[str, str, str]]:
    """Return so many places of four openings each: letters, what, where."""
    return [
        (f"{letter(4 * n + 1)}–{letter(4 * n + 4)}", f"Flush rod tube {n + 1}", "Rear deck, port") for n in range(count)
    ]


def signing(count: int = 1, **given) -> Signing:
    """Return a signature by link with initials at each of so many places; the name was typed."""
    usual = {
        "quote_number": "Q-0412-2",
        "name": "Customer 0412",
        "way": "by a link",
        "at": datetime.datetime(2026, 11, 26, 8, 10),
        "quote_sha256": SHA256,
        "total": "1,033.92\u00a0USD",
        "sent_to": "customer@example.test",
        "recorded_by": "Counter One",
        "initials": "S. T.",
        "initialled": tuple(letters for letters, _, _ in places(count)),
        "agreed_electronically": True,
        "statement_version": "1",
        "places": tuple(places(count)),
    }
    return Signing(**(usual | given))


def change(**given) -> Change:
    """Return a change that adds a part of 40.00 with 6 % tax, 2.40, and 30 minutes at 95.00 an hour, 47.50."""
    usual = {
        "number": "C-0412-1",
        "n": 1,
        "what": ["1 flush rod tube more: +40.00, +30 min"],
        "why": "A second rod tube was wished for.",
        "added_parts": Decimal("40.00"),
        "added_labour": Decimal("47.50"),
        "added_minutes": 30.0,
        "added_total": Decimal("89.90"),
        "old_total": Decimal("1033.92"),
        "new_total": Decimal("1123.82"),
        "consent_name": "Customer 0412",
        "consent_way": "by telephone",
        "number_called": "555 0142",
        "consent_at": datetime.datetime(2026, 11, 27, 10, 5),
        "recorded_by": "Counter One",
        "replaces": "quote Q-0412-2",
        "new_places": [("E–H", "Flush rod tube 2", "Rear deck, port")],
    }
    return Change(**(usual | given))


def changed(**given) -> dict:
    """Return what the facts of a work order hold after `change()`."""
    usual = {
        "change_number": "C-0412-1",
        "changes": ["1 flush rod tube more"],
        "consent": "Customer 0412 agreed by telephone on 555 0142, 27 Nov 2026, 10:05.",
        "initialled": ["A–D"],
        "approver": "Customer 0412",
        "approver_number": "555 0142",
    }
    return usual | given


def invoice(**given) -> Invoice:
    """Return the invoice of `estimate()`, 1,033.92 with a deposit of 11.00 received: 1,022.92 is left."""
    usual = {
        "number": "I-0001",
        "at": datetime.datetime(2026, 12, 1, 16, 30),
        "kind": "invoice",
        "agreed": [("Quote Q-0412-2", Decimal("1033.92"))],
        "received": [("R-0001", datetime.date(2026, 11, 26), "deposit", Decimal("11.00"))],
        "balance": Decimal("1022.92"),
    }
    return Invoice(**(usual | given))


def credit_note(**given) -> Invoice:
    return invoice(number="I-0002", kind="credit note", cancels="I-0001", **given)


def receipt(**given) -> Receipt:
    """Return the receipt of a deposit of 11.00 for a total of 1,033.92."""
    usual = {
        "number": "R-0001",
        "kind": "deposit",
        "amount": Decimal("11.00"),
        "way": "card",
        "at": datetime.datetime(2026, 11, 26, 8, 15),
        "taken_by": "Counter One",
        "received_so_far": Decimal("11.00"),
        "total_agreed": Decimal("1033.92"),
        "balance": Decimal("1022.92"),
    }
    return Receipt(**(usual | given))


def handing(count: int = 1, **given) -> HandOver:
    """Return a hand-over at noon with a cure until the evening; the last of its tests failed and the owner says why."""
    tests = [Tested("Running current", f"Flush rod tube {n}", "0.95\u202fA", "passed") for n in range(1, count)]
    usual = {
        "at": datetime.datetime(2026, 12, 1, 12, 0),
        "by": "Counter One",
        "afloat_from": datetime.datetime(2026, 12, 1, 18, 30),
        "tests": [*tests, Tested("Leak", "the whole boat", "", "failed", "A drop at the gland.")],
        "why": "The customer seals the gland himself.",
    }
    return HandOver(**(usual | given))


def measured(count: int = 1) -> list[Measured]:
    """Return a test for each of so many lines, every second one not read yet."""
    return [
        Measured(
            "Running current",
            "Run the item alone and read its current.",
            n,
            f"Flush rod tube {n}",
            "about 0.9\u202fA, at most 1.5\u202fA",
            "A",
            **({} if n % 2 == 0 else {"reading": "0.93\u202fA", "verdict": "passed", "by": "Tam, 27 Nov 2026, 10:05"}),
        )
        for n in range(1, count + 1)
    ]
