"""Every act in every state by every role: the program answers as the one table in builds/states.py says."""

import itertools
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied

from builds import querysets
from builds.actions import (
    changes,
    coming_back,
    finding,
    handing,
    missing,
    money,
    papers,
    planning,
    signing,
    tickets,
    using,
    work,
)
from builds.actions.ground import Refused
from builds.actions.signing import TheCustomer
from builds.models import ComeBack, Found, PartMissing, Ticket
from builds.planner.workload import Held
from builds.states import ACTS, NOT_WHILE_CHANGING, STATE_WORDS, WHILE_CHANGING, is_open
from shop import clock
from shop.once import new_token
from shop.photos import KeptPhoto
from shop.roles import CUSTOMER, MAY, ROLES
from tests.builds.conftest import agreed_on_paper

pytestmark = pytest.mark.usefixtures("blank_papers")

A_PHOTO = KeptPhoto(b"\xff\xd8\xff", 4, 3)
# act: (address under the ticket, whether it is the counter's or the bench's door, what is sent)
ADDRESSES = {
    "change": ("undo/", "counter", {}),
    "issue_quote": ("papers/quote/", "counter", {}),
    "send_quote": ("papers/send/", "counter", {"address": ""}),
    "accept": ("papers/accept/", "counter", {"name": "Customer 0412", "note": "The scanner is broken."}),
    "decline": ("close/decline/", "counter", {}),
    "lapse": ("close/lapse/", "counter", {}),
    "cancel": ("close/cancel/", "counter", {}),
    "reopen": ("close/reopen/", "counter", {}),
    "begin_change": ("change/begin/", "counter", {}),
    "issue_work_order": ("papers/work-order/", "counter", {}),
    "take_deposit": ("money/take/", "counter", {"kind": "deposit", "amount": "1.00", "way": "cash"}),
    "take_payment": ("money/take/", "counter", {"kind": "payment", "amount": "1.00", "way": "cash"}),
    "issue_invoice": ("money/invoice/", "counter", {}),
    "check": ("check/", "bench", {}),
    "tell_ready": ("ready/", "counter", {"way": "counter", "name": "Customer 0412"}),
    "open_come_back": ("come-backs/", "counter", {"cause": "leak", "words": "Wet inside"}),
    "note_found": ("found/", "bench", {"words": "A crack"}),
    "keep_photo": ("photos/", "bench", {}),
    "note_used": ("consumables/", "bench", {"used_marine_sealant": "12"}),
}


@pytest.fixture
def agreed(rig, counter):
    agreed_on_paper(counter, rig)
    return Ticket.objects.get(pk=rig.pk)


def put(ticket, state, changing=False):
    Ticket.objects.filter(pk=ticket.pk).update(state=state, changing=changing)
    return querysets.for_counter().get(pk=ticket.pk)


def a_find(ticket):
    return Found.objects.create(ticket=ticket, by=ticket.counter, at=clock.now(), key=new_token(), words="A crack")


def a_come_back(ticket):
    said = {"n": 1, "cause": "leak", "words": "Wet inside", "opened_at": clock.now(), "opened_by": ticket.counter}
    return ComeBack.objects.create(ticket=ticket, **said)


def an_own_line(ticket):
    """The ticket, the part of its first line brought by the customer."""
    ticket.lines.filter(key="L1").update(supplied_by="customer")
    return ticket


def a_wait(ticket):
    said = {"line_key": "L1", "name": "a part", "words": "Not in its bin", "key": new_token(), "at": clock.now()}
    return PartMissing.objects.create(ticket=ticket, by=ticket.counter, **said)


def doings(ticket):
    """Each act of the table, done as directly as the program does it."""
    some = {"amount": Decimal("1.00"), "way": "cash"}
    yes = signing.Yes("Customer 0412", [], "C", agreed_electronically=True, note="On paper.")
    return {
        "change": lambda who: tickets.set_customer(who, ticket, name="Customer 0413"),
        "issue_quote": lambda who: papers.issue_quote(who, ticket),
        "send_quote": lambda who: signing.make_link(who, ticket),
        "accept": lambda who: signing.accept(who, ticket, yes, way="paper"),
        "sign": lambda who: signing.record(who, signing.latest_quote(ticket), "sign", yes, way="paper"),
        "decline": lambda who: tickets.close(who, ticket, "decline"),
        "lapse": lambda who: tickets.close(who, ticket, "lapse"),
        "cancel": lambda who: tickets.close(who, ticket, "cancel"),
        "reopen": lambda who: tickets.reopen(who, ticket),
        "begin_change": lambda who: changes.begin_change(who, ticket),
        "change_agreed": lambda who: tickets.set_customer(who, ticket, name="Customer 0413"),
        "drop_change": lambda who: changes.drop_change(who, ticket),
        "agree_change": lambda who: changes.agree_change(
            who, ticket, why="Wanted", consent=changes.Consent("Customer 0412", "counter")
        ),
        "issue_work_order": lambda who: papers.issue_work_order(who, ticket),
        "record_work": lambda who: work.record_work(who, ticket, phase="drill", minutes=3.0),
        "check": lambda who: work.check(who, ticket, why="On paper."),
        "record_test": lambda who: work.record_test(
            who, ticket, test="polarity", line="L1", key=new_token(), verdict="passed"
        ),
        "move_at_bench": lambda who: planning.move_ticket(who, ticket, Held(day=clock.today())),
        "note_found": lambda who: finding.note_found(who, ticket, words="A crack", key=new_token()),
        "note_used": lambda who: using.note_used(who, ticket, {"marine_sealant": Decimal(12)}),
        "keep_photo": lambda who: finding.keep_photo(who, ticket, A_PHOTO, key=new_token()),
        "answer_found": lambda who: finding.answer_found(who, ticket, a_find(ticket), words="Leave it"),
        "tell_ready": lambda who: handing.tell_ready(who, ticket, way="counter", name="Customer 0412"),
        "open_come_back": lambda who: coming_back.open_come_back(who, ticket, cause="leak", words="Wet inside"),
        "estimate_come_back": lambda who: coming_back.estimate_come_back(who, a_come_back(ticket), minutes=45.0),
        "work_come_back": lambda who: coming_back.work_on(who, a_come_back(ticket), minutes=5.0),
        "end_come_back": lambda who: coming_back.end_come_back(who, a_come_back(ticket), words="Sealed"),
        "hand_over": lambda who: handing.hand_over(who, ticket, why="On paper.", unpaid="On account"),
        "take_deposit": lambda who: money.take_money(who, ticket, kind="deposit", **some),
        "take_payment": lambda who: money.take_money(who, ticket, kind="payment", **some),
        "pay_back": lambda who: money.take_money(who, ticket, kind="refund", note="Back", **some),
        "issue_invoice": lambda who: money.issue_invoice(who, ticket),
        "credit_invoice": lambda who: money.credit_invoice(who, ticket, why="Back"),
        "record_own_part": lambda who: missing.record_own_part(
            who, an_own_line(ticket), line_key="L1", condition="good"
        ),
        "miss_part": lambda who: missing.miss_part(who, ticket, line_key="L1", words="Not in bin", key=new_token()),
        "find_part": lambda who: missing.find_part(who, ticket, a_wait(ticket), how="found"),
    }


def test_every_act_of_the_table_is_tried_and_every_right_exists(agreed):
    assert set(doings(agreed)) == set(ACTS)
    assert {right for _, _, right in ACTS.values()} <= set(MAY)
    assert set(WHILE_CHANGING) | set(NOT_WHILE_CHANGING) <= set(ACTS)


@pytest.mark.parametrize("act", ACTS)
def test_who_may_and_when_is_what_the_table_says(act, agreed, cast):
    """By role a denial, by state a refusal before anything else; an act that is open fails on its matter at most."""
    people = {**cast, CUSTOMER: TheCustomer("Customer 0412")}
    for changing, state, role in itertools.product((False, True), STATE_WORDS, (*ROLES, CUSTOMER)):
        ticket = put(agreed, state, changing)
        before = (ticket.state, ticket.revision)
        answer = answer_of(doings(ticket)[act], people[role])
        after = Ticket.objects.get(pk=ticket.pk)
        allowed = role in MAY[ACTS[act][2]]
        asked = "change_agreed" if act == "change" and changing else act
        asked = "change" if act == "change_agreed" and not changing else asked
        if not allowed:
            assert answer is PermissionDenied, (state, role)
        if not (allowed and is_open(asked, state, changing)):
            assert answer in (PermissionDenied, Refused), (state, role, answer)
            assert (after.state, after.revision) == before, (state, role)
        else:
            assert answer is not PermissionDenied, (state, role)
        Ticket.objects.filter(pk=ticket.pk).update(revision=before[1])


def answer_of(do, who):
    from django.db import transaction

    try:
        with transaction.atomic():
            do(who)
            transaction.set_rollback(True)
    except (PermissionDenied, Refused) as error:
        return PermissionDenied if isinstance(error, PermissionDenied) else Refused
    return None


@pytest.mark.parametrize("act", ADDRESSES)
def test_the_addresses_answer_as_the_table_says(act, agreed, cast, client):
    path, door, sent = ADDRESSES[act]
    doors = {"counter": ("counter", "owner"), "bench": ("tech", "owner")}[door]
    for role in ROLES:
        client.force_login(cast[role])
        # The door is asked for before the ticket is.
        for state in STATE_WORDS if role in doors else list(STATE_WORDS)[:1]:
            put(agreed, state)
            status = client.post(f"/{door}/ticket/{agreed.number}/{path}", sent).status_code
            after = Ticket.objects.get(pk=agreed.pk)
            if role not in doors:
                assert status == 403, (state, role)
            elif not is_open(act, state):
                assert status in (409, 422, 404), (state, role, status)
            if role not in doors or not is_open(act, state):
                assert after.state == state, (state, role)


def test_the_way_through_the_states_is_the_trades(agreed):
    """Common practice, no source: nothing is worked on before the yes, nothing handed over before the check."""
    assert ACTS["issue_work_order"][0] == ("accepted", "bench")
    assert ACTS["hand_over"][0] == ("checked",)
    assert ACTS["change"][0] == ("draft", "quoted")
    assert "handed_over" not in {state for act in ("change", "cancel", "begin_change") for state in ACTS[act][0]}
