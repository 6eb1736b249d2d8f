"""Where figures and rules come from: id -> title, section, year and kind."""

from dataclasses import dataclass

PUBLISHED, COMMON_PRACTICE, FROM_MEMORY, POLICY = "published", "common practice", "from memory", "shop policy"


@dataclass(frozen=True)
class Source:
    """A source as a reader sees it."""

    title: str
    section: str = ""
    year: str = ""
    kind: str = PUBLISHED


SOURCES: dict[str, Source] = {
    "common_practice": Source("Common practice of the trade, no source", kind=COMMON_PRACTICE),
    "from_memory": Source("From memory", kind=FROM_MEMORY),
    "shop_policy": Source("The shop's own rule", kind=POLICY),
    "sheet": Source("What was typed on the ticket", kind=POLICY),
    "catalogue": Source("The shop's catalogue", kind=POLICY),
    # labour and order of work
    "pert": Source(
        "PERT: mean (a + 4m + b) / 6, standard deviation (b - a) / 6",
        "Malcolm et al., Operations Research 7(5)",
        "1959",
    ),
    # money
    "ssuta_324": Source("Streamlined Sales and Use Tax Agreement", "section 324, rounding", "as enacted"),
    "iso_4217": Source("ISO 4217, currency minor units"),
    # weights, flotation
    "cfr_183_31": Source("33 CFR 183 subpart B, C", "183.31: not for canoes and kayaks", "2015"),
    "archimedes": Source("Hydrostatics: displaced mass equals mass afloat", "general physics"),
    "wigley": Source("Parabolic hull form, closed forms derived", kind=FROM_MEMORY),
    # openings
    "iso_1478": Source("ISO 1478, tapping screw thread"),
    "drill_sizes": Source("Number, letter and fraction drill sizes"),
    "rivet_holes": Source("US Army TM 10-5410-221-14, blind rivet holes", "Table 4-3"),
    # power
    "abyc_e11": Source("ABYC E-11, as quoted: CM = K I L / E, 3 % and 10 %", "Table IX, K = 10.75"),
    "abyc_e11_support": Source("ABYC E-11, as quoted: conductors held every 18 in", "conductor support"),
    "cfr_183_425": Source("33 CFR 183.425, conductor ampacity", "Table 5 and notes", "2015"),
    "cfr_183_455": Source("33 CFR 183.455, overcurrent protection", "(b)(1), (c)(1)", "2015"),
    "cfr_183_420": Source("33 CFR 183.420, batteries", "", "2015"),
    "iso_8820_3": Source("ISO 8820-3, blade fuses: ratings, colours, breaking capacity 1000 A", "", "2015"),
    "sae_areas": Source("SAE minimum conductor areas, as quoted"),
    "peukert": Source("Peukert's law on the rated hour basis", kind=FROM_MEMORY),
    "battery_temperature": Source("Battery capacity against temperature, makers' statements as seen"),
    "watt_hours": Source("49 CFR 173.185, 175.10: watt-hour limits", "", "2015"),
    # duties
    "colregs_23": Source("33 CFR 83.23(d); COLREGS Rule 23(d)(ii)"),
    "colregs_25": Source("33 CFR 83.25(d), 83.20(b), 88.05; COLREGS Rule 25(d)"),
    "colregs_25_ready": Source("33 CFR 83.25(d)(ii); COLREGS Rule 25(d)(ii), white light ready to show"),
    "cfr_173_11": Source("33 CFR 173.11, numbering of every boat with a motor", "", "2015"),
    "cfr_175_15": Source(
        "33 CFR 175.15, wearable personal flotation devices; 33 CFR 83.33(b), sound signal", "", "2015"
    ),
    "cfr_181_25": Source("33 CFR 181.25, hull identification number", "", "2015"),
    "cfr_393_87": Source("49 CFR 393.87, projecting loads of commercial vehicles"),
    # lifting
    "niosh_lifting": Source(
        "Revised NIOSH lifting equation, load constant 23 kg (51 lb)",
        "Waters et al., Ergonomics 36(7); NIOSH publication 94-110",
        "1993, 1994",
    ),
}
