"""Accepted tickets hold parts in the order of their acceptance; the shelf is a sum of entries.

Facts of the trade: common practice, no source.
"""

from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied
from django.db import Error as DatabaseError
from django.db import transaction
from django.db.models import F

from builds import parts, stock
from builds.actions import changes, lines, papers, shelf, signing, tickets, work
from builds.actions.ground import Refused
from builds.models import Line, Movement, Need, Quote, StockItem, Ticket
from catalog.models import Consumable
from shop import journal
from shop.append_only import AppendOnlyError
from tests.builds.at_once import all_at_once
from tests.builds.shelf_of import accepted, counted, draft, held, item, kind, on_the_bench, standing, whole

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("blank_papers", "catalogue")]

CALLED = changes.Consent("Customer 0412", "telephone", "555-0142")


def test_what_is_on_hand_is_the_sum_of_its_entries_and_each_says_what_it_led_to(counter):
    counted(counter, anchor_trolley=5)
    shelf.write(counter, item("anchor_trolley"), "damaged", Decimal(2), why="Crushed in the box")
    shelf.write(counter, item("anchor_trolley"), "returned", Decimal(1), why="Left over from T-0007")
    row = item("anchor_trolley")
    entries = list(Movement.objects.filter(item=row).values_list("kind", "quantity", "on_hand_after"))
    assert entries == [("counted", 5, 5), ("damaged", -2, 3), ("returned", 1, 4)]
    assert row.on_hand == stock.sums()[row.pk] == 4


def test_an_entry_is_never_changed_by_the_program_or_the_database(counter):
    counted(counter, anchor_trolley=5)
    entry = Movement.objects.get()
    with pytest.raises(AppendOnlyError):
        entry.save()
    with pytest.raises(DatabaseError), transaction.atomic():
        Movement.objects.all()._chain()._raw_delete("default")


def test_the_shelf_never_falls_below_nothing(counter):
    counted(counter, anchor_trolley=1)
    with pytest.raises(Refused, match="the shelf has 1; 2 cannot go"):
        shelf.write(counter, item("anchor_trolley"), "damaged", Decimal(2), why="Crushed")
    with pytest.raises(DatabaseError), transaction.atomic():
        StockItem.objects.update(on_hand=F("on_hand") - 2000)
    assert item("anchor_trolley").on_hand == 1


def test_a_count_that_differs_needs_a_reason_and_the_figure_that_the_page_showed(counter):
    counted(counter, anchor_trolley=5)
    key = item("anchor_trolley").pk
    with pytest.raises(Refused, match="why the count differs"):
        shelf.count(counter, {key: (Decimal(4), Decimal(5))})
    with pytest.raises(Refused, match="from 6 to 5 since this page was shown"):
        shelf.count(counter, {key: (Decimal(4), Decimal(6))}, why="One is gone")
    shelf.count(counter, {key: (Decimal(5), Decimal(5))})
    assert Movement.objects.latest("id").why == "counted, as it should be"


def test_an_entry_is_taken_back_once_by_its_opposite(counter):
    counted(counter, anchor_trolley=5)
    first = Movement.objects.get()
    back = shelf.take_back(counter, first, why="Counted the wrong bin")
    assert (back.quantity, back.takes_back, item("anchor_trolley").on_hand) == (-5, first, 0)
    with pytest.raises(Refused, match="taken back already"):
        shelf.take_back(counter, first)
    with pytest.raises(Refused, match="takes another one back"):
        shelf.take_back(counter, back)


def test_a_tech_counts_nothing(tech, counter):
    counted(counter, anchor_trolley=5)
    for act in (
        lambda: counted(tech, anchor_trolley=4),
        lambda: shelf.write(tech, item("anchor_trolley"), "damaged", Decimal(1), why="Crushed"),
        lambda: shelf.take_back(tech, Movement.objects.get()),
    ):
        with pytest.raises(PermissionDenied):
            act()


# Held.


def test_the_first_to_accept_holds_and_held_and_free_make_what_is_on_hand(counter):
    counted(counter, anchor_trolley=3)
    first = accepted(counter, ("anchor_trolley", 2))
    second = accepted(counter, ("anchor_trolley", 2))
    assert (held(first, "anchor_trolley"), held(second, "anchor_trolley")) == (2, 1)
    one = standing("anchor_trolley")
    assert (one.held, one.free, one.on_hand, one.needed, one.short) == (3, 0, 3, 4, 1)
    assert parts.line_words(first) == {"L1": "held"}
    assert parts.line_words(second) == {"L1": "1 of 2 held, the rest to order"}


def test_a_draft_and_a_quote_hold_nothing_and_hear_what_lies_free(counter):
    counted(counter, anchor_trolley=3)
    ticket = draft(counter, ("anchor_trolley", 2), ("pedal_drive_retrofit", 1))
    assert Need.objects.count() == 0
    assert parts.line_words(ticket) == {"L1": "on the shelf", "L2": "to order, 14 days"}
    accepted(counter, ("anchor_trolley", 2))
    assert parts.line_words(ticket)["L1"] == "to order"


def test_only_what_the_shop_supplies_and_fits_is_held(counter):
    ticket = accepted(
        counter,
        ("anchor_trolley", 2),
        ("rod_holder_track_mount", 1, "customer"),
        ("gear_track_300mm", 1, "already_fitted"),
    )
    needs = Need.objects.filter(ticket=ticket).values_list("line_key", "item__accessory__code", "quantity")
    assert list(needs) == [("L1", "anchor_trolley", 2)]


def test_a_consumable_is_needed_from_its_first_count_on_and_laid_out_rounded_up(counter):
    first = accepted(counter, ("anchor_trolley", 1))
    used = {one["item"]: one["quantity"] for one in first.agreed_quote.estimate["consumables"]}
    code = next(code for code, quantity in used.items() if quantity)
    assert not Need.objects.filter(item__consumable__isnull=False).exists()
    shelf.count(counter, {shelf.item_of(Consumable.objects.get(code=code)).pk: (Decimal(100), None)})
    second = accepted(counter, ("anchor_trolley", 1))
    [need] = Need.objects.filter(item__consumable__isnull=False)
    assert (need.ticket, need.line_key) == (second, "")
    assert 0 <= float(need.quantity) - used[code] < 0.01


def test_cancelling_lets_go_and_the_next_one_holds(counter):
    counted(counter, anchor_trolley=1)
    first, second = accepted(counter, ("anchor_trolley", 1)), accepted(counter, ("anchor_trolley", 1))
    tickets.close(counter, first, "cancel")
    assert (held(second, "anchor_trolley"), Need.objects.filter(ticket=first).count()) == (1, 0)
    assert parts.parts_of_ticket(second).words == "parts here"


def test_a_change_order_keeps_its_turn_for_what_it_had_and_queues_for_what_is_more(counter):
    counted(counter, anchor_trolley=3)
    first = accepted(counter, ("anchor_trolley", 1))
    second = accepted(counter, ("anchor_trolley", 2))
    changes.begin_change(counter, first)
    lines.change_line(counter, first, "L1", quantity=3)
    changes.agree_change(counter, whole(first), why="Wants more", consent=CALLED)
    assert (held(first, "anchor_trolley"), held(second, "anchor_trolley")) == (1, 2)
    changes.begin_change(counter, first)
    lines.replace_accessory(counter, first, "L1", kind("reflective_tape_kit"))
    lines.change_line(counter, first, "L1", quantity=1)
    changes.agree_change(counter, whole(first), why="Wants another", consent=CALLED)
    assert list(Need.objects.filter(ticket=first).values_list("item__accessory__code", "quantity")) == [
        ("reflective_tape_kit", 1)
    ]


def test_the_check_takes_what_was_held_off_the_shelf_once(counter, tech):
    counted(counter, anchor_trolley=3)
    ticket = on_the_bench(counter, ("anchor_trolley", 2))
    work.check(tech, ticket, why="On paper.")
    assert (item("anchor_trolley").on_hand, standing("anchor_trolley").needed) == (1, 0)
    entry = Movement.objects.latest("id")
    assert (entry.kind, entry.quantity, entry.ticket, entry.by) == ("used", -2, ticket, tech)
    assert journal.verify() is None


def test_what_was_fitted_beyond_the_count_is_counted_in_first_and_nobody_elses_is_taken(counter, tech):
    counted(counter, anchor_trolley=1)
    first = accepted(counter, ("anchor_trolley", 1))
    second = on_the_bench(counter, ("anchor_trolley", 2))
    work.check(tech, second, why="On paper.")
    entries = Movement.objects.filter(ticket=second).values_list("kind", "quantity")
    assert list(entries) == [("counted", 2), ("used", -2)]
    assert (item("anchor_trolley").on_hand, held(first, "anchor_trolley")) == (1, 1)


def test_a_type_that_was_never_counted_has_no_entries(counter, tech):
    ticket = on_the_bench(counter, ("anchor_trolley", 2))
    work.check(tech, ticket, why="On paper.")
    assert Movement.objects.count() == 0
    assert not item("anchor_trolley").kept


FIFTY = 50


@pytest.fixture
def fifty(catalogue, counter):
    """Fifty tickets of the same quote, each wanting the last anchor trolley."""
    counted(counter, anchor_trolley=1)
    first = draft(counter, ("anchor_trolley", 1))
    quote = papers.issue_quote(counter, first)
    row = Ticket.objects.get(pk=first.pk)
    copies = [copy_of(row, number=f"X-{n:04d}") for n in range(1, FIFTY)]
    Ticket.objects.bulk_create(copies)
    others = list(Ticket.objects.filter(number__startswith="X-"))
    [line] = first.lines.all()
    Line.objects.bulk_create(copy_of(line, ticket=one) for one in others)
    Quote.objects.bulk_create(copy_of(quote, ticket=one, number=f"Q-{one.number}-1") for one in others)
    return [row, *others]


def copy_of(row, **other):
    same = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields if not field.primary_key}
    copy = type(row)(**same)
    for name, value in other.items():
        setattr(copy, name, value)
    return copy


def yes_to(counter, ticket):
    quote = signing.latest_quote(ticket)
    given = signing.Yes("Customer 0412", signing.places_of(quote), note="The scanner is broken.")
    signing.accept(counter, ticket, given, way="paper")
    return parts.line_words(whole(ticket))["L1"]


def check_that_one_got_it(said):
    assert sorted(map(str, said)) == ["held"] + ["to order"] * (FIFTY - 1)
    one = standing("anchor_trolley")
    assert (one.held, one.free, one.needed, one.short) == (1, 0, FIFTY, FIFTY - 1)


def test_the_last_part_goes_to_one_of_fifty_and_the_others_hear_that_it_is_ordered(fifty, counter):
    check_that_one_got_it([yes_to(counter, ticket) for ticket in fifty])


@pytest.mark.django_db(transaction=True)
def test_the_last_part_goes_to_one_of_fifty_who_accept_at_the_same_moment(fifty, counter):
    check_that_one_got_it(all_at_once([lambda ticket=ticket: yes_to(counter, ticket) for ticket in fifty]))


@pytest.mark.django_db(transaction=True)
def test_counts_checks_and_acceptances_at_once_leave_the_sum_of_their_entries(fifty, counter):
    def write():
        shelf.write(counter, item("anchor_trolley"), "returned", Decimal(1), why="Came back")

    acts = [lambda ticket=ticket: yes_to(counter, ticket) for ticket in fifty[:12]] + [write] * 8
    found = all_at_once(acts)
    assert not [one for one in found if isinstance(one, Exception)]
    row = item("anchor_trolley")
    assert row.on_hand == stock.sums()[row.pk] == 9
    assert standing("anchor_trolley").held == 9


def test_everything_kept_in_the_process_follows_each_change(counter):
    counted(counter, anchor_trolley=1)
    ticket = accepted(counter, ("anchor_trolley", 1))
    before = stock.the_shelf()
    assert stock.the_shelf() is before
    shelf.write(counter, item("anchor_trolley"), "damaged", Decimal(1), why="Crushed")
    assert stock.the_shelf() is not before
    assert parts.line_words(ticket) == {"L1": "to order"}
