"""After the check: told and stored, and boats that come back on their original ticket."""

import datetime
from decimal import Decimal

import pytest

from builds.actions import coming_back, handing, papers, work
from builds.actions.ground import Refused
from builds.balance import storage_of
from builds.models import ComeBack, WorkEntry
from tests.builds.conftest import agreed_on_paper, fresh, whole

pytestmark = pytest.mark.usefixtures("blank_papers")


@pytest.fixture
def checked(rig, counter, tech):
    agreed_on_paper(counter, rig)
    papers.issue_work_order(counter, whole(rig))
    work.check(tech, fresh(rig), why="Ticked on paper.")
    return fresh(rig)


@pytest.fixture
def gone(checked, owner):
    handing.hand_over(owner, whole(checked), why="Tested on paper.", unpaid="On account")
    return fresh(checked)


def test_storage_is_free_for_the_days_of_the_shop_and_then_costs_by_the_day():
    """Told on 1 December, 14 days free: free until the 15th; on the 18th three days at 5.00 are due."""
    told, fee = datetime.date(2026, 12, 1), Decimal("5.00")
    free = storage_of(told, datetime.date(2026, 12, 15), 14, fee)
    assert (free.free_until, free.days_due, free.due) == (datetime.date(2026, 12, 15), 0, 0)
    late = storage_of(told, datetime.date(2026, 12, 18), 14, fee)
    assert (late.days_due, late.due) == (3, Decimal("15.00"))


def test_the_days_count_from_the_first_time_the_customer_was_told(checked, counter, client):
    client.force_login(counter)
    said = {"name": "Customer 0412", "way": "telephone", "revision": checked.revision}
    assert client.post(f"/counter/ticket/{checked.number}/ready/", said).status_code == 302
    page = client.get(f"/counter/ticket/{checked.number}/papers/").content.decode()
    assert "Told that it is ready: Customer 0412, by telephone" in page and "Stored free until" in page
    unnamed = client.post(f"/counter/ticket/{checked.number}/ready/", {"way": "telephone", "name": ""})
    assert (unnamed.status_code, "Who was told is missing" in unnamed.content.decode()) == (409, True)


def test_a_boat_that_is_not_paid_leaves_with_a_reason_only_and_it_is_kept(checked, owner):
    with pytest.raises(Refused, match="is left to pay"):
        handing.hand_over(owner, whole(checked), why="Tested on paper.")
    sheet = handing.hand_over(owner, whole(checked), why="Tested on paper.", unpaid="Pays on Friday")
    assert sheet.unpaid == "Pays on Friday"


def test_come_backs_are_counted_on_their_ticket_and_ended_once(gone, counter, tech):
    one = coming_back.open_come_back(counter, gone, cause="leak", words="Wet after an hour")
    two = coming_back.open_come_back(counter, fresh(gone), cause="noise", words="Hum on the screen")
    assert (one.n, two.n) == (1, 2)
    coming_back.work_on(tech, one, minutes=25.0)
    coming_back.end_come_back(tech, one, words="New bead at hole C")
    for again in (
        lambda: coming_back.end_come_back(tech, one, words="Again"),
        lambda: coming_back.work_on(tech, one, minutes=5.0),
    ):
        with pytest.raises(Refused, match="done and closed already"):
            again()
    assert [back.open for back in ComeBack.objects.order_by("n").select_related("end")] == [False, True]
    assert WorkEntry.objects.get(come_back=one).minutes == 25.0
    assert fresh(gone).state == "handed_over"


def test_a_cause_and_words_are_asked_for(gone, counter):
    with pytest.raises(Refused, match="The cause is missing"):
        coming_back.open_come_back(counter, gone, cause="bad luck", words="Wet")
    with pytest.raises(Refused, match="What is wrong is missing"):
        coming_back.open_come_back(counter, gone, cause="leak", words=" ")


def test_the_pages_open_work_and_end_a_come_back(gone, counter, tech, client):
    client.force_login(counter)
    page = f"/counter/ticket/{gone.number}/come-backs/"
    wrong = client.post(page, {"cause": "", "words": "Wet inside"})
    assert (wrong.status_code, "Wet inside" in wrong.content.decode()) == (409, True)
    assert client.post(page, {"cause": "leak", "words": "Wet inside"}).status_code == 302
    client.force_login(tech)
    assert "Wet inside" in client.get("/bench/").content.decode()
    base = f"/bench/ticket/{gone.number}/come-back-1/"
    assert "Cost of its parts" not in client.get(base).content.decode()
    assert client.post(f"{base}minutes/", {"minutes": "soon"}).status_code == 422
    assert client.post(f"{base}minutes/", {"minutes": "20"}).status_code == 302
    assert client.post(f"{base}end/", {"words": "Sealed", "parts_cost": "99.00"}).status_code == 302
    back = ComeBack.objects.get()
    assert (back.end.words, back.end.parts_cost) == ("Sealed", 0)
    assert "Wet inside" not in client.get("/bench/").content.decode()
    assert client.get(f"/bench/ticket/{gone.number}/come-back-7/").status_code == 404
