"""The rules a shop starts with: the defaults that the build sheet names, and an invented working week."""

from copy import deepcopy

PHASE_SETUP_MIN = {
    "check": 4, "mark": 6, "dry_fit": 4, "drill": 6, "route": 8, "bed": 5,
    "mount": 4, "terminate": 8, "set": 4, "test": 8, "finish": 5,
}  # fmt: skip
FACTORS = {"no_hand_reach": 1.45, "laminate": 1.2, "old_hull": 1.2, "salt_corroded": 1.3}
MARKUP_SCALE = [
    {"below": "5", "factor": "2.5"},
    {"below": "25", "factor": "2.0"},
    {"below": "100", "factor": "1.7"},
    {"below": "500", "factor": "1.4"},
    {"below": None, "factor": "1.2"},
]
TAX = {"parts": "0", "labour": "0", "consumables": "0", "fees": "0"}
DEPOSIT = {"parts": "0.50", "labour": "0"}
USABLE_DEPTH = {"lfp": 0.80, "agm": 0.50, "gel": 0.50, "flooded": 0.50}
PEUKERT = {"lfp": 1.05, "agm": 1.10, "gel": 1.15, "flooded": 1.25}
DROP_LIMITS = {"critical": 0.03, "general": 0.10, "propulsion": 0.05}
FUSE_FACTOR = {"general": 1.25, "propulsion": 1.10}
# ISO 8601 numbers of the days: 1 is Monday.
WORKING_DAYS = [1, 2, 3, 4, 5]


def phase_setup_min():
    return deepcopy(PHASE_SETUP_MIN)


def factors():
    return deepcopy(FACTORS)


def markup_scale():
    return deepcopy(MARKUP_SCALE)


def tax():
    return deepcopy(TAX)


def deposit():
    return deepcopy(DEPOSIT)


def usable_depth():
    return deepcopy(USABLE_DEPTH)


def peukert():
    return deepcopy(PEUKERT)


def drop_limits():
    return deepcopy(DROP_LIMITS)


def fuse_factor():
    return deepcopy(FUSE_FACTOR)


def working_days():
    return deepcopy(WORKING_DAYS)
