"""The states of a ticket, and from which state each act is open."""

DRAFT, QUOTED, ACCEPTED, BENCH, CHECKED, HANDED_OVER = "draft", "quoted", "accepted", "bench", "checked", "handed_over"
DECLINED, LAPSED, CANCELLED = "declined", "lapsed", "cancelled"

STATES = [
    (DRAFT, "draft"),
    (QUOTED, "quoted"),
    (ACCEPTED, "accepted"),
    (BENCH, "on the bench"),
    (CHECKED, "checked"),
    (HANDED_OVER, "handed over"),
    (DECLINED, "declined"),
    (LAPSED, "lapsed"),
    (CANCELLED, "cancelled"),
]
STATE_WORDS = dict(STATES)
OPEN = (DRAFT, QUOTED, ACCEPTED, BENCH, CHECKED)

# act: (states it is open in, state it leads to or None for the same, what a person must be allowed: shop/roles.py)
ACTS: dict[str, tuple[tuple[str, ...], str | None, str]] = {
    "change": ((DRAFT, QUOTED), DRAFT, "write_ticket"),
    "issue_quote": ((DRAFT, QUOTED), QUOTED, "issue_quote"),
    "accept": ((QUOTED,), ACCEPTED, "record_acceptance"),
    "decline": ((QUOTED,), DECLINED, "write_ticket"),
    "lapse": ((QUOTED,), LAPSED, "write_ticket"),
    "reopen": ((DECLINED, LAPSED, CANCELLED), DRAFT, "write_ticket"),
    "issue_work_order": ((ACCEPTED, BENCH), BENCH, "issue_work_order"),
    "record_work": ((BENCH,), None, "record_work"),
    "check": ((BENCH,), CHECKED, "record_work"),
    "hand_over": ((CHECKED,), HANDED_OVER, "hand_over"),
    "cancel": ((DRAFT, QUOTED, ACCEPTED), CANCELLED, "write_ticket"),
}


def is_open(act: str, state: str) -> bool:
    """Return whether an act is open in a state."""
    return state in ACTS[act][0]


def state_after(act: str, state: str) -> str:
    """Return the state that an act leads to."""
    return ACTS[act][1] or state
