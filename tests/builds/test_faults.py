"""The database fails at the first, second, third ... query of every act: the shop is as before or as after it."""

import hashlib
import os
from decimal import Decimal

import pytest
from django.db import OperationalError, connection, transaction

from builds import bench, querysets
from builds.actions import changes, lines, money, papers, signing, work
from builds.actions.ground import Refused
from builds.actions.signing import TheCustomer
from builds.documents.bench_tests import KINDS
from builds.states import ACTS, WHILE_CHANGING
from shop import journal, people
from shop.keeping import rows
from shop.once import new_token
from tests.builds import test_states
from tests.builds.conftest import agreed_on_paper, fresh
from tests.builds.test_states import doings, put

pytestmark = pytest.mark.usefixtures("blank_papers")

# Every query in the long run; in the short one the first, and those that write.
EVERY = bool(os.environ.get("HULLBENCH_LONG"))
WRITES = ("INSERT", "UPDATE", "DELETE", "SAVEPOINT", "RELEASE")
# What an act of a ticket never touches.
LEFT_ALONE = ("catalog", "auth", "contenttypes", "admin")


class Fault:
    """Lets the database fail at the query of one number, and counts."""

    def __init__(self, at=0):
        self.at, self.queries, self.hit = at, [], False

    def __call__(self, execute, sql, params, many, context):
        self.queries.append(sql)
        if len(self.queries) == self.at:
            self.hit = True
            raise OperationalError("the disk is gone")
        return execute(sql, params, many, context)


def whole_shop():
    """One hash over every row that an act could touch."""
    digest = hashlib.sha256()
    for model in rows.kept_models():
        if model._meta.app_label not in LEFT_ALONE:
            for row in rows.rows_of(model):
                digest.update(rows.canonical([rows.label_of(model), rows.plain(row)]).encode())
    return digest.hexdigest()


def places(queries):
    """The numbers of the queries to fail at."""
    return [n for n, sql in enumerate(queries, 1) if EVERY or n == 1 or sql.lstrip().upper().startswith(WRITES)]


def failing_everywhere(do):
    """Do an act once for each of its queries, failing there; return how many failed, and what stood in between."""
    before = whole_shop()
    for _ in range(2):  # the first time reads what the process then keeps
        count = Fault()
        with transaction.atomic():
            with connection.execute_wrapper(count):
                refused = outcome_of(do)
            transaction.set_rollback(True)
    between, failed = [], 0
    for n in places(count.queries):
        fault = Fault(at=n)
        with transaction.atomic():
            with connection.execute_wrapper(fault):
                raised = outcome_of(do)
            after = whole_shop()
            # Told: whoever pressed sees that it failed, and nothing of it is there.
            if fault.hit and not (raised is OperationalError and after == before):
                between.append((n, count.queries[n - 1][:120], raised, after == before))
            failed += fault.hit
            transaction.set_rollback(True)
    return failed, between, refused


def outcome_of(do):
    try:
        do()
    except (OperationalError, Refused) as error:
        return type(error)
    return None


@pytest.fixture
def agreed(rig, counter):
    agreed_on_paper(counter, rig)
    return fresh(rig)


# What these acts are done on, made as their own test makes it.
LEFT_BY_OTHERS = {"answer_found": "a_find", "work_come_back": "a_come_back", "end_come_back": "a_come_back"}
LEFT_BY_OTHERS |= {"estimate_come_back": "a_come_back", "record_own_part": "an_own_line", "find_part": "a_wait"}


def doing(act, ticket, cast, monkeypatch):
    """The act on a ticket that is ready for it; what earlier acts left is there before the first fault."""
    counter, pk = cast["counter"], ticket.pk
    prepared = {
        "accept": prepare_yes,
        "sign": prepare_yes,
        "agree_change": prepare_change,
        "record_test": prepare_order,
    }
    prepared |= {"hand_over": prepare_order, "pay_back": prepare_money, "credit_invoice": prepare_invoice}
    if act in prepared:
        prepared[act](counter, put(ticket, "quoted" if prepared[act] is prepare_yes else "accepted"))
        states, _, _ = ACTS[act]
        ticket = put(ticket, states[0], changing=act in WHILE_CHANGING)
    if act in ("accept", "sign"):
        quote = signing.latest_quote(ticket)
        yes = signing.Yes("Customer 0412", signing.places_of(quote), "C", note="On paper.")
        return lambda who: signing.record(who, quote, act, yes, way="paper")
    if act in LEFT_BY_OTHERS:
        left = getattr(test_states, LEFT_BY_OTHERS[act])(ticket)
        monkeypatch.setattr(test_states, LEFT_BY_OTHERS[act], lambda ticket: left)
    if act == "record_test":
        row = bench.tests_of(ticket)[0]
        test = next(name for name, kind in KINDS.items() if kind.name == row.kind.name)
        said = {"test": test, "line": row.row.line, "key": new_token(), "verdict": "skipped", "note": "No meter."}
        return lambda who: work.record_test(who, ticket, **said)
    return doings(querysets.for_counter().get(pk=pk))[act]


def prepare_yes(counter, ticket):
    papers.issue_quote(counter, ticket)


def prepare_change(counter, ticket):
    changes.begin_change(counter, ticket)
    lines.change_line(counter, fresh(ticket), "L1", quantity=2)


def prepare_order(counter, ticket):
    papers.issue_work_order(counter, ticket)


def prepare_money(counter, ticket):
    money.take_money(counter, ticket, kind="deposit", way="cash", amount=Decimal("5.00"))


def prepare_invoice(counter, ticket):
    money.issue_invoice(counter, ticket)


@pytest.mark.parametrize("act", ACTS)
def test_an_act_that_fails_on_the_way_leaves_nothing(act, agreed, cast, monkeypatch):
    states, _, right = ACTS[act]
    who = TheCustomer("Customer 0412") if right == "sign_quote" else cast["owner"]
    ticket = put(agreed, states[-1], changing=act in WHILE_CHANGING)
    do = doing(act, ticket, cast, monkeypatch)
    failed, between, refused = failing_everywhere(lambda: do(who))
    print(f"{act}: failed at {failed} queries in turn")
    assert between == []
    assert (refused, failed >= 2) == (None, True)
    assert journal.verify() is None


def test_a_person_is_written_down_whole_or_not_at_all(owner):
    said = {"username": "nina", "name": "Nina New", "role": "tech", "password": "a paddle in the long grass"}
    failed, between, _ = failing_everywhere(lambda: people.make_person(owner, **said))
    assert between == []
    assert failed >= 3


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("arrived", [False, True])
def test_a_commit_that_fails_or_whose_answer_is_lost_is_told_and_the_form_sent_again_has_one_effect(
    arrived, agreed, counter, client, monkeypatch
):
    """Before or after: where the answer is lost nobody can know which, and the page says so."""
    client.force_login(counter)
    client.raise_request_exception = False
    path = f"/counter/ticket/{agreed.number}/money/take/"
    form = {"kind": "deposit", "amount": "12.00", "way": "cash", "once": new_token()}
    real, before = connection._commit, whole_shop()

    def failing():
        if arrived:
            real()
        raise OperationalError("the connection is lost")

    monkeypatch.setattr(connection, "_commit", failing)
    told = client.post(path, form)
    monkeypatch.undo()
    assert told.status_code == 503
    assert "whether this was saved is not certain" in told.content.decode()
    assert (whole_shop() == before) is not arrived
    assert client.post(path, form).status_code == (303 if arrived else 302)
    assert list(agreed.money.values_list("amount", flat=True)) == [Decimal("12.00")]
    assert journal.verify() is None
