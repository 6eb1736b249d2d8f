"""Every row that is written once has its hash in the journal: changed, swapped, gone or slipped in, it is found."""

import contextlib

import pytest
from django.db import connection, transaction

from builds import querysets
from builds.actions import changes, handing, lines, papers, signing, tickets, work
from builds.actions.ground import Refused
from builds.actions.signing import TheCustomer
from builds.models import Acceptance, PersonalText, Quote, WorkEntry
from builds.states import ACTS, WHILE_CHANGING
from shop import journal
from shop.append_only import protected_models
from shop.keeping import sound
from shop.once import new_token
from tests.builds.conftest import fresh
from tests.builds.test_states import doings, put
from tests.shop.test_verify import found, tamper

pytestmark = pytest.mark.usefixtures("blank_papers")


def yes(quote):
    return signing.Yes("Customer 0412", signing.places_of(quote), "C", [[[1, 1], [90, 90]]], agreed_electronically=True)


@pytest.fixture
def signed(rig, counter):
    """Quoted, and signed on the counter's screen."""
    quote = papers.issue_quote(counter, querysets.for_counter().get(pk=rig.pk))
    signing.accept(counter, rig, yes(quote), way="counter")
    return fresh(rig)


def a_byte_more(column):
    return f"CAST({column} || x'00' AS BLOB)" if connection.vendor == "sqlite" else rf"{column} || '\x00'::bytea"


@pytest.fixture
def two_quotes(signed, counter):
    put(signed, "quoted")
    papers.issue_quote(counter, querysets.for_counter().get(pk=signed.pk))
    return list(Quote.objects.order_by("pk"))


# What the acts' own test makes by hand before it acts on it; no entry tells of that one.
BY_HAND = {"answer_found": "The found ", "work_come_back": "The come back ", "end_come_back": "The come back "}
BY_HAND |= {"estimate_come_back": "The come back "}


def test_every_act_leaves_the_shop_sound(signed, cast):
    """Each act of the table in each state that it is open in: whatever it wrote once stands in its journal entry."""
    wrote = set()
    for act, (states, _, right) in ACTS.items():
        who = TheCustomer("Customer 0412") if right == "sign_quote" else cast["owner"]
        for state in states:
            with transaction.atomic():
                ticket = put(signed, state, changing=act in WHILE_CHANGING)
                with contextlib.suppress(Refused):
                    doings(ticket)[act](who)
                findings = sound.verify().findings
                assert [one for one in findings if not one.startswith(BY_HAND.get(act, "No "))] == [], (act, state)
                wrote |= {model for model in protected_models() if model.objects.exists()}
                transaction.set_rollback(True)
    assert len(wrote) >= 14


def test_one_changed_byte_of_a_paper_is_found_and_named(two_quotes):
    first = two_quotes[0]
    tamper(f"UPDATE builds_quote SET pdf = {a_byte_more('pdf')} WHERE id = {first.pk}", table="builds_quote")
    assert found(f"The paper of quote {first.pk} does not give its SHA-256") is True


def test_a_paper_that_was_replaced_together_with_its_hash_is_found(two_quotes):
    first = two_quotes[0]
    forged = papers.sha256(bytes(first.pdf) + b"\0")
    tamper(
        f"UPDATE builds_quote SET pdf = {a_byte_more('pdf')}, pdf_sha256 = '{forged}' WHERE id = {first.pk}",
        table="builds_quote",
    )
    assert found(f"The quote {first.pk} is not what journal entry") is True
    assert found("does not give its SHA-256") is not True


@pytest.mark.parametrize("column", ["estimate_json", "sheet_json", "override_reason", "disclaimer_version"])
def test_one_more_sign_in_what_a_quote_keeps_is_found(two_quotes, column):
    tamper(f"UPDATE builds_quote SET {column} = {column} || '1' WHERE id = {two_quotes[0].pk}", table="builds_quote")
    assert found(f"The quote {two_quotes[0].pk} is not what journal entry") is True


def test_a_price_that_was_changed_by_a_cent_is_found(two_quotes):
    tamper(f"UPDATE builds_quote SET total = total + 1 WHERE id = {two_quotes[0].pk}", table="builds_quote")
    assert found(f"The quote {two_quotes[0].pk} is not what journal entry") is True


def test_two_quotes_that_changed_places_are_found(two_quotes):
    one, other = (quote.pk for quote in two_quotes)
    tamper(
        f"UPDATE builds_acceptance SET quote_id = {other} WHERE quote_id = {one}",
        table="builds_acceptance",
    )
    assert found("The acceptance") is True


def test_a_signature_that_is_gone_is_found(signed):
    acceptance = Acceptance.objects.get()
    tamper(f"DELETE FROM builds_acceptance WHERE id = {acceptance.pk}", table="builds_acceptance")
    assert found(f"Gone: builds.acceptance {acceptance.pk}") is True


def test_minutes_that_were_slipped_in_are_found(signed, tech):
    row = WorkEntry.objects.create(ticket=signed, phase="drill", minutes=9.0, tech=tech, at=signed.opened_at)
    assert found(f"The work entry {row.pk} stands in no journal entry") is True


def test_a_personal_text_that_was_changed_beside_the_journal_is_found_and_one_that_was_erased_is_no_finding(
    rig, counter
):
    tickets.set_customer(counter, rig, name="Customer 0413")
    text = PersonalText.objects.last()
    PersonalText.objects.filter(pk=text.pk).update(text_json='"Customer 0999"')
    assert found("A personal text beside journal entry") is True
    PersonalText.objects.filter(pk=text.pk).delete()
    assert sound.verify().findings == []


def test_a_row_that_was_taken_back_leaves_no_seal(signed, tech, owner):
    """What a rolled back savepoint wrote is not sealed by the entry that comes after it."""
    said = {"ticket": signed, "phase": "drill", "tech": tech, "at": signed.opened_at}
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        WorkEntry.objects.create(minutes=9.0, **said)
        raise ZeroDivisionError
    row = WorkEntry.objects.create(minutes=3.0, **said)
    assert list(journal.record(owner, "note", signed).seals) == [f"builds.workentry:{row.pk}"]
    assert sound.verify().findings == []


def test_an_entry_may_say_that_a_row_was_taken_away():
    """The latest word of the journal on a row holds: an erasure that the law asks for leaves the shop sound."""
    chain = sound.Chain(seals={"builds.acceptance:1": (7, None)})
    assert list(sound.lost(chain)) == []


def test_the_head_stands_on_each_paper_that_is_signed(rig, counter, cast, monkeypatch):
    """The quote that is signed by hand, the signed page, the change order, the hand-over sheet."""
    printed = []
    for module in (papers, signing, changes, handing):
        monkeypatch.setattr(module, "with_head", lambda pdf, head, paper: printed.append(head) or pdf)
    heads = [journal.head()]
    quote = papers.issue_quote(counter, querysets.for_counter().get(pk=rig.pk))
    heads.append(journal.head())
    signing.accept(counter, rig, yes(quote), way="counter")
    changes.begin_change(counter, rig)
    lines.change_line(counter, fresh(rig), "L1", quantity=2)
    heads.append(journal.head())
    consent = changes.Consent("Customer 0412", "counter")
    changes.agree_change(counter, querysets.for_counter().get(pk=rig.pk), why="Wanted", consent=consent)
    papers.issue_work_order(counter, querysets.for_counter().get(pk=rig.pk))
    work.set_clock(cast["tech"], fresh(rig), running=True, key=new_token())
    work.check(cast["tech"], fresh(rig), why="On paper.")
    heads.append(journal.head())
    handing.hand_over(cast["owner"], fresh(rig), why="On paper.", unpaid="Agreed.")
    assert sound.verify().findings == []
    assert printed == heads
    assert [len(head.split()[1]) for head in heads] == [16] * 4
