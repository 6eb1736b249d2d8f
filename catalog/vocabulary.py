"""The words the catalogue accepts, each with its label for a reader. The words are those of the build sheet."""

import re

from django.db.models import TextChoices


class Craft(TextChoices):
    SIT_ON_TOP = "sit_on_top_kayak", "sit-on-top kayak"
    SIT_INSIDE = "sit_inside_kayak", "sit-inside kayak"
    TOURING = "touring_kayak", "touring kayak"
    CANOE = "canoe", "canoe"


class Material(TextChoices):
    POLYETHYLENE = "polyethylene", "polyethylene"
    ABS = "abs", "ABS"
    LAMINATE = "laminate", "laminate"
    WOOD = "wood", "wood"
    INFLATABLE = "inflatable", "inflatable"


class Surface(TextChoices):
    DECK = "deck", "deck"
    SIDE = "side", "side"
    BOTTOM = "bottom", "bottom"
    INSIDE = "inside", "inside"


class Mounting(TextChoices):
    THROUGH_BOLT = "through_bolt", "through bolt"
    RIVET = "rivet", "rivet"
    WELL_NUT = "well_nut", "well nut"
    FLUSH_CUTOUT = "flush_cutout", "flush cut-out"
    TRACK = "gear_track_t_bolt", "T-bolt on a gear track"
    BRASS_INSERT = "brass_insert", "brass insert"
    EXISTING_FASTENER = "existing_fastener", "existing fastener"
    SCUPPER = "scupper", "scupper"
    CLAMP = "clamp", "clamp"
    STRAP = "strap", "strap"
    LASHING = "lashing", "lashing"
    ADHESIVE = "adhesive", "adhesive"
    IN_HULL = "in_hull", "inside the hull"
    DROP_IN = "drop_in", "dropped in"


class Use(TextChoices):
    FISHING = "fishing", "fishing"
    NIGHT = "night", "in the dark"
    TOURING = "touring", "touring"
    WHITEWATER = "whitewater", "whitewater"
    FAMILY = "family", "family outings"
    HUNTING = "hunting", "hunting and pictures"
    MOTOR = "motor", "under motor"


class QuoteRule(TextChoices):
    NOT_TO_EXCEED = "not_to_exceed", "the price is not exceeded"
    TOLERANCE = "tolerance", "up to a tolerance above"


class Phase(TextChoices):
    CHECK = "check", "check"
    MARK = "mark", "mark"
    DRY_FIT = "dry_fit", "dry fit"
    DRILL = "drill", "drill"
    ROUTE = "route", "route"
    BED = "bed", "bed"
    MOUNT = "mount", "mount"
    TERMINATE = "terminate", "terminate"
    SET = "set", "set"
    TEST = "test", "test"
    FINISH = "finish", "finish"


class OpeningShape(TextChoices):
    ROUND = "round", "round"
    SLOT = "slot", "slot"
    RECTANGLE = "rectangle", "rectangle"


class SealKind(TextChoices):
    NONE = "none", "none"
    BEAD = "bead", "bead of sealant"
    GASKET = "gasket", "gasket"
    INSERT = "insert", "insert"


class InsideAccess(TextChoices):
    NO = "no", "not needed"
    PREFERRED = "preferred", "preferred"
    YES = "yes", "needed"


class Chemistry(TextChoices):
    LFP = "lfp", "LFP"
    AGM = "agm", "AGM lead-acid"
    GEL = "gel", "gel lead-acid"
    FLOODED = "flooded", "flooded lead-acid"


class DropClass(TextChoices):
    CRITICAL = "critical", "critical"
    GENERAL = "general", "general"
    PROPULSION = "propulsion", "propulsion"


class Strength(TextChoices):
    MUST = "must", "must"
    USUALLY = "usually", "usually"


class BenchTest(TextChoices):
    POLARITY = "polarity", "polarity: meter the plug before anything is connected"
    RUNNING_CURRENT = "running_current", "running current: beside the quoted figure"
    FUSE_PULL = "fuse_pull", "fuse pull: this item dies and nothing else does"
    VOLTAGE_DROP = "voltage_drop_under_load", "voltage drop: volts with the load on"
    NOISE = "noise_with_all_loads", "noise: sonar on, then every other item in turn"
    KILL = ("kill_test", "kill test: the motor stops by its kill and on loss of the remote")
    LEAK = "leak_test", "leak test: after cure"
    HOSE = "hose_test", "hose test: water on the fitting from outside"
    FLOOD = "flood_test", "flood test: water standing on the deck"
    WATER_IN_TUBE = "water_in_tube", "water poured into the tube"
    BUCKET = "bucket_test", "bucket test: 10 L in, time to empty"
    HAND_LOAD = "hand_load_or_shake_test", "hand load: no movement"
    PULL = "pull_test", "pull test: no movement"
    ROLL = "roll_test", "roll test: the hull on its side, nothing moves"
    STEERING = "steering_full_lock", "steering: full lock both ways, equal"
    SONAR = "tub_or_float_sonar_return", "sonar: a stable bottom return"
    FLOAT = "float_and_trim", "float and trim: trim and freeboard read"


class ConsumableUnit(TextChoices):
    EACH = "each", "each"
    METRE = "m", "m"
    MILLILITRE = "ml", "ml"
    GRAM = "g", "g"


def labels(choices: type[TextChoices], words: list[str]) -> list[str]:
    """Return the labels of some words; a word that is not known stands for itself."""
    known = dict(choices.choices)
    return [str(known.get(word, word)) for word in words]


def fits(words: list[str]) -> str:
    """Return the craft that a type fits in few words: `sit-on-top, canoe`."""
    return ", ".join(label.removesuffix(" kayak") for label in labels(Craft, words))


def spoken(word: str) -> str:
    """Return a word of the record as a reader says it: `12v_supply` becomes `12 V supply`."""
    return re.sub(r"\b(\d+)v\b", r"\1 V", word.replace("_", " "))


TEXTS = {
    "warranty": "Statement: the hull maker's warranty",
    "not_undone": "Statement: an opening cannot be undone",
    "local_law": "Statement: the law of the place",
    "cure": "Statement: the cure",
    "old_hull": "Statement: an old hull",
    "own_parts": "Statement: the customer's own parts",
    "workmanship": "Statement: the shop's own work, {days} for the days",
    "rights": "Statement: rights that stay",
    "own": "Statement: the shop's own lines, one below the other",
    "hand_over": "Hand-over sheet: coming back, {days} for the days",
}
"""Texts that the owner may word anew; an empty one is the program's own."""
LONGEST_TEXT = 600
