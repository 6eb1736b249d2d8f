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
AGREED = (ACCEPTED, BENCH, CHECKED, HANDED_OVER)
OPEN = (DRAFT, QUOTED, ACCEPTED, BENCH, CHECKED)

# act: (states it is open in, state it leads to or None for the same, what a person must be allowed: shop/roles.py)
ACTS: dict[str, tuple[tuple[str, ...], str | None, str]] = {
    "change": ((DRAFT, QUOTED), DRAFT, "write_ticket"),
    "issue_quote": ((DRAFT, QUOTED), QUOTED, "issue_quote"),
    "send_quote": ((QUOTED,), None, "issue_quote"),
    "accept": ((QUOTED,), ACCEPTED, "record_acceptance"),
    "sign": ((QUOTED,), ACCEPTED, "sign_quote"),
    "decline": ((QUOTED,), DECLINED, "write_ticket"),
    "lapse": ((QUOTED,), LAPSED, "write_ticket"),
    "reopen": ((DECLINED, LAPSED, CANCELLED), DRAFT, "write_ticket"),
    "begin_change": ((ACCEPTED, BENCH), None, "write_ticket"),
    "change_agreed": ((ACCEPTED, BENCH), None, "write_ticket"),
    "drop_change": ((ACCEPTED, BENCH), None, "write_ticket"),
    "agree_change": ((ACCEPTED, BENCH), None, "record_acceptance"),
    "issue_work_order": ((ACCEPTED, BENCH), BENCH, "issue_work_order"),
    "record_work": ((BENCH,), None, "record_work"),
    "record_test": ((BENCH, CHECKED), None, "record_work"),
    "note_found": ((BENCH, CHECKED), None, "record_work"),
    "note_used": ((BENCH, CHECKED, HANDED_OVER), None, "note_used"),
    "keep_photo": ((BENCH, CHECKED), None, "record_work"),
    "answer_found": ((BENCH, CHECKED), None, "write_ticket"),
    "move_at_bench": ((ACCEPTED, BENCH), None, "plan_bench"),
    "check": ((BENCH,), CHECKED, "record_work"),
    "tell_ready": ((CHECKED,), None, "write_ticket"),
    "hand_over": ((CHECKED,), HANDED_OVER, "hand_over"),
    "open_come_back": ((HANDED_OVER,), None, "write_ticket"),
    "estimate_come_back": ((HANDED_OVER,), None, "record_work"),
    "work_come_back": ((HANDED_OVER,), None, "record_work"),
    "end_come_back": ((HANDED_OVER,), None, "record_work"),
    "cancel": ((DRAFT, QUOTED, ACCEPTED), CANCELLED, "write_ticket"),
    "take_deposit": ((QUOTED, ACCEPTED, BENCH, CHECKED), None, "record_payment"),
    "take_payment": ((ACCEPTED, BENCH, CHECKED, HANDED_OVER), None, "record_payment"),
    "pay_back": ((QUOTED, ACCEPTED, BENCH, CHECKED, HANDED_OVER, DECLINED, LAPSED, CANCELLED), None, "record_payment"),
    "issue_invoice": ((ACCEPTED, BENCH, CHECKED, HANDED_OVER), None, "record_payment"),
    "credit_invoice": ((ACCEPTED, BENCH, CHECKED, HANDED_OVER, CANCELLED), None, "record_payment"),
    "record_own_part": ((DRAFT, QUOTED, ACCEPTED, BENCH), None, "record_own_part"),
    "miss_part": ((BENCH,), None, "record_work"),
    "find_part": ((BENCH,), None, "find_part"),
}
# Open only while a change order is being written, or only while none is.
WHILE_CHANGING = ("change_agreed", "drop_change", "agree_change")
NOT_WHILE_CHANGING = ("begin_change", "issue_work_order", "cancel", "check", "issue_invoice")


def is_open(act: str, state: str, changing: bool = False) -> bool:
    """Return whether an act is open in a state, and while a change order is being written or not."""
    if act in (NOT_WHILE_CHANGING if changing else WHILE_CHANGING):
        return False
    return state in ACTS[act][0]


def state_after(act: str, state: str) -> str:
    """Return the state that an act leads to."""
    return ACTS[act][1] or state
