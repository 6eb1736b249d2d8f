"""Change orders: after the yes nothing changes without the customer's consent, which nobody edits."""

import datetime
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied
from django.db import Error as DatabaseError
from django.db import connection, transaction
from django.utils import timezone

from builds import bridge
from builds.actions import changes, lines, papers
from builds.actions.ground import Refused
from builds.agreed import agreed_of
from builds.models import ChangeOrder, TicketTotals
from catalog.models import AccessoryType
from catalog.models.version import CatalogueVersion
from shop.append_only import AppendOnlyError
from tests.builds.conftest import agreed_on_paper, fresh, whole

pytestmark = pytest.mark.usefixtures("blank_papers")

CALLED = changes.Consent("Customer 0412", "telephone", "555-0142")


@pytest.fixture
def accepted(rig, counter):
    agreed_on_paper(counter, rig)
    return fresh(rig)


@pytest.fixture
def changing(accepted, counter):
    changes.begin_change(counter, accepted)
    return fresh(accepted)


def agree(counter, ticket, **more):
    ticket = whole(ticket)
    places = [place.letters for place in changes.proposed(ticket).new_places] if ticket.changing else []
    said = {"why": "A larger screen is wanted", "consent": CALLED, "places": places, **more}
    return changes.agree_change(counter, ticket, **said)


LARGER = [("display_7in", "display_10in"), ("ball_base_25mm", "ball_base_38mm")]


def take_the_larger_screen(counter, ticket, kind):
    """The larger screen asks for the larger base."""
    for key, (_, new) in zip(("L1", "L3"), LARGER, strict=True):
        lines.replace_accessory(counter, ticket, key, kind(new))


def test_an_accepted_ticket_does_not_change_without_a_change_order(accepted, counter):
    with pytest.raises(Refused, match="Write a change order"):
        lines.change_line(counter, accepted, "L1", quantity=2)
    with pytest.raises(Refused, match="Write a change order"):
        lines.undo(counter, accepted)


def test_a_change_order_says_what_it_adds_and_keeps_who_agreed(changing, counter, kind):
    before = agreed_of(whole(changing))
    take_the_larger_screen(counter, changing, kind)
    entry = agree(counter, changing)
    after = bridge.estimate_of(whole(changing))
    assert entry.number == f"C-{changing.number[2:]}-1"
    assert entry.total == after.price.total
    assert entry.added_total == after.price.total - before.total
    gain = sum(kind(new).price - kind(old).price for old, new in LARGER)
    assert entry.added_parts == gain
    assert entry.replaces == before.number
    assert any("instead of" in sentence and "850.00" in sentence for sentence in entry.sentences)
    assert not any("850" in deed for deed in entry.deeds)
    assert (entry.consent_name, entry.number_called, entry.recorded_by) == ("Customer 0412", "555-0142", counter)
    assert bytes(entry.pdf).startswith(b"%PDF")
    assert (fresh(changing).changing, agreed_of(whole(changing)).number) == (False, entry.number)


def test_what_was_agreed_keeps_its_price_whatever_the_catalogue_says_by_then(changing, counter, kind):
    AccessoryType.objects.exclude(code="anchor_trolley").update(price="9999.00")
    CatalogueVersion.move_on()
    lines.add_line(counter, changing, kind("anchor_trolley"), mounting="rivet")
    new = changes.proposed(whole(changing))
    assert new.added["parts"] == kind("anchor_trolley").price


def test_a_second_change_follows_the_first(changing, counter, kind):
    lines.add_line(counter, changing, kind("anchor_trolley"), mounting="rivet")
    first = agree(counter, changing)
    changes.begin_change(counter, fresh(changing))
    lines.remove_line(counter, changing, "L7")
    second = agree(counter, changing)
    assert (second.n, second.replaces) == (2, first.number)
    assert second.total - first.total == second.added_total


def test_the_next_work_order_replaces_the_one_before_and_says_why(changing, counter, kind):
    changes.drop_change(counter, changing)
    papers.issue_work_order(counter, whole(changing))
    changes.begin_change(counter, fresh(changing))
    with pytest.raises(Refused, match="change order is being written"):
        papers.issue_work_order(counter, whole(changing))
    lines.add_line(counter, changing, kind("anchor_trolley"), mounting="rivet")
    entry = agree(counter, changing)
    order = papers.issue_work_order(counter, whole(changing))
    assert (order.version, order.change_order, order.agreed) == (2, entry, entry)


def test_a_change_that_is_dropped_leaves_what_was_agreed(changing, counter, kind):
    before = bridge.build_sheet(whole(changing))
    lines.add_line(counter, changing, kind("anchor_trolley"))
    lines.change_line(counter, changing, "L1", quantity=3)
    lines.undo(counter, changing)
    changes.drop_change(counter, changing)
    assert bridge.build_sheet(whole(changing)) == before
    assert not fresh(changing).changing


def test_undo_in_a_change_order_stops_at_what_was_agreed(changing, counter, kind):
    lines.add_line(counter, changing, kind("anchor_trolley"))
    lines.undo(counter, changing)
    with pytest.raises(Refused, match="nothing to undo"):
        lines.undo(counter, changing)


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"why": " "}, "Why the work changes"),
        ({"consent": changes.Consent("", "counter")}, "Who agreed is missing"),
        ({"consent": changes.Consent("Customer 0412", "telephone")}, "number that was called"),
        (
            {"consent": changes.Consent("Customer 0412", "counter", at=timezone.now() + datetime.timedelta(days=1))},
            "cannot be later",
        ),
        (
            {"consent": changes.Consent("Customer 0412", "counter", at=timezone.now() - datetime.timedelta(days=1))},
            "cannot be earlier",
        ),
    ],
)
def test_a_consent_that_is_not_whole_is_refused(said, sentence, changing, counter, kind):
    lines.add_line(counter, changing, kind("anchor_trolley"), mounting="rivet")
    with pytest.raises(Refused, match=sentence):
        agree(counter, changing, **said)


def test_nothing_changed_is_no_change_order(changing, counter):
    with pytest.raises(Refused, match="Nothing differs"):
        agree(counter, changing)


def test_a_stop_keeps_a_change_back_until_the_owner_gives_a_reason(changing, counter, owner, kind):
    lines.remove_line(counter, changing, "L6")
    with pytest.raises(Refused, match="A stop keeps"):
        agree(counter, changing)
    with pytest.raises(PermissionDenied):
        agree(counter, changing, override_reason="the box is on the boat already")
    entry = agree(owner, changing, override_reason="the box is on the boat already")
    assert entry.override_reason == "the box is on the boat already"


def test_a_consent_is_refused_any_later_change_by_the_program_and_by_the_database(changing, counter, kind):
    lines.add_line(counter, changing, kind("anchor_trolley"), mounting="rivet")
    entry = agree(counter, changing)
    with pytest.raises(AppendOnlyError):
        entry.save()
    with pytest.raises(AppendOnlyError):
        ChangeOrder.objects.update(consent_name="Someone")
    for statement in ('UPDATE "builds_changeorder" SET "why" = "why"', 'DELETE FROM "builds_changeorder"'):
        with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)


def test_the_margin_follows_what_was_agreed_last(changing, counter, kind):
    take_the_larger_screen(counter, changing, kind)
    entry = agree(counter, changing)
    price = entry.estimate["price"]
    assert TicketTotals.objects.get(ticket=changing).agreed_cost == Decimal(price["cost"])


def test_the_pages_write_a_change_order(accepted, counter, client, kind):
    client.force_login(counter)
    base = f"/counter/ticket/{accepted.number}/"
    assert client.get(f"{base}change/").status_code == 302
    client.post(f"{base}change/begin/")
    client.post(f"{base}lines/", {"part": "anchor_trolley", "where": "", "quantity": "1"})
    page = client.get(f"{base}change/").content.decode()
    assert "Anchor trolley" in page
    wrong = client.post(f"{base}change/", {"why": "", "way": "counter", "name": "Customer 0412"})
    assert (wrong.status_code, "Why the work changes is missing" in wrong.content.decode()) == (422, True)
    said = {"why": "Wanted after all", "way": "counter", "name": "Customer 0412"}
    unread = client.post(f"{base}change/", said)
    assert (unread.status_code, "Read each new place out, then tick it" in unread.content.decode()) == (409, True)
    said["places"] = [place.letters for place in changes.proposed(whole(accepted)).new_places]
    assert client.post(f"{base}change/", said).status_code == 302
    entry = ChangeOrder.objects.get()
    assert client.get(f"/counter/change/{entry.number}.pdf").content == bytes(entry.pdf)
    assert entry.number in client.get(f"{base}papers/").content.decode()
