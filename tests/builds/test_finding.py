"""What the bench finds becomes a question to the counter; nothing more is drilled than the customer agreed to."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db.models import QuerySet
from PIL import Image

from builds import bench
from builds.actions import changes, finding, lines, papers, signing, work
from builds.actions.ground import Refused
from builds.documents.places import openings_of
from builds.models import Acceptance, BenchPhoto, Found, FoundAnswer
from shop.once import new_token
from shop.photos import KeptPhoto
from tests.builds.conftest import agreed_on_paper, fresh, whole
from tests.conftest import triggers_off

pytestmark = pytest.mark.usefixtures("blank_papers")

PHOTO = KeptPhoto(b"\xff\xd8\xff", 4, 3)


@pytest.fixture
def job(rig, counter):
    agreed_on_paper(counter, rig)
    papers.issue_work_order(counter, whole(rig))
    return fresh(rig)


def find(tech, job, **more):
    return finding.note_found(tech, job, words="The old well leaks", key=more.pop("key", new_token()), **more)


def test_a_find_sent_twice_counts_once(job, tech):
    key = new_token()
    assert find(tech, job, key=key, n=1, photo=PHOTO) == find(tech, job, key=key, n=1, photo=PHOTO)
    assert (Found.objects.count(), BenchPhoto.objects.count()) == (1, 1)


def test_the_boat_is_not_checked_while_a_question_is_open(job, tech, counter):
    found = find(tech, job)
    with pytest.raises(Refused, match="The counter has not answered yet: The old well leaks"):
        work.check(tech, job, why="Ticked on paper.")
    finding.answer_found(counter, job, found, words="Leave it, she knows.")
    work.check(tech, fresh(job), why="Ticked on paper.")
    assert fresh(job).state == "checked"


def test_a_question_is_answered_once(job, tech, counter):
    found = find(tech, job)
    finding.answer_found(counter, job, found, words="Leave it.")
    with pytest.raises(Refused, match="Someone answered it already"):
        finding.answer_found(counter, fresh(job), found, words="Mend it.")
    assert FoundAnswer.objects.get().words == "Leave it."


def test_a_find_becomes_a_change_order(job, tech, counter):
    finding.answer_found(counter, job, find(tech, job), words="", change=True)
    assert fresh(job).changing
    assert "change order is being written" in FoundAnswer.objects.get().words


def test_an_answer_says_something(job, tech, counter):
    with pytest.raises(Refused, match="The answer is missing"):
        finding.answer_found(counter, job, find(tech, job), words=" ")
    with pytest.raises(Refused, match="What was found is missing"):
        finding.note_found(tech, job, words="  ", key=new_token())


def test_a_ticket_keeps_sixty_photos_and_says_so(job, tech, monkeypatch):
    monkeypatch.setattr(finding, "MOST_PHOTOS", 2)
    for _ in range(2):
        finding.keep_photo(tech, fresh(job), PHOTO, key=new_token())
    with pytest.raises(Refused, match="has 2 photos, the most"):
        finding.keep_photo(tech, fresh(job), PHOTO, key=new_token())


def test_the_pages_ask_answer_and_show_the_photo(job, tech, counter, client):
    picture = io.BytesIO()
    Image.new("RGB", (40, 30), "teal").save(picture, "JPEG")
    client.force_login(tech)
    base = f"/bench/ticket/{job.number}/"
    sent = {"words": "A crack", "n": "1", "key": new_token()}
    photo = SimpleUploadedFile("../../x.jpg", picture.getvalue())
    assert client.post(f"{base}found/", {**sent, "photo": photo}).headers["Location"].endswith("/step/1/")
    kept = BenchPhoto.objects.get()
    answer = client.get(f"{base}photo-{kept.pk}.jpg")
    assert (answer.headers["Content-Type"], answer.content[:2]) == ("image/jpeg", b"\xff\xd8")
    refused = client.post(f"{base}photos/", {"photo": SimpleUploadedFile("boat.jpg", b"MZ, no picture")})
    assert (refused.status_code, "The file is no photo" in refused.content.decode()) == (422, True)
    client.force_login(counter)
    assert "A crack" in client.get("/counter/").content.decode()
    page = f"/counter/ticket/{job.number}/bench/"
    assert f"photo-{kept.pk}.jpg" in client.get(page).content.decode()
    said = {"words": "Seal it", "revision": fresh(job).revision}
    assert client.post(f"{page}{Found.objects.get().pk}/answer/", said).status_code == 302
    client.force_login(tech)
    assert "Seal it" in client.get(f"{base}step/1/").content.decode()


def test_a_photo_is_shown_under_its_own_ticket_only(job, tech, client):
    kept = finding.keep_photo(tech, job, PHOTO, key=new_token())
    client.force_login(tech)
    assert client.get(f"/bench/ticket/T-9999/photo-{kept.pk}.jpg").status_code == 404


# Places that a change order adds.


def add_a_tube(counter, job, kind):
    changes.begin_change(counter, job)
    lines.add_line(counter, job, kind("anchor_trolley"), mounting="rivet")


def agree(counter, job, places):
    consent = changes.Consent("Customer 0412", "telephone", "555-0142")
    return changes.agree_change(counter, whole(job), why="Wanted after all", consent=consent, places=places)


def test_each_new_place_is_agreed_to_by_itself(job, counter, kind):
    add_a_tube(counter, job, kind)
    new = [place.letters for place in changes.proposed(whole(job)).new_places]
    assert new
    with pytest.raises(Refused, match=f"Not agreed to yet: {new[0]}"):
        agree(counter, job, new[1:])
    entry = agree(counter, job, new)
    places = openings_of(entry.estimate, {}).places
    assert entry.initialled == [place.letters for place in places]


def test_drilling_stays_shut_at_a_place_that_the_quote_missed(job, tech, counter, kind):
    """Initials go with the place, not with its letter, which a change order may move."""
    with triggers_off():
        QuerySet(Acceptance).update(initialled=signing.places_of(job.agreed_quote)[1:])
    add_a_tube(counter, job, kind)
    entry = agree(counter, job, [place.letters for place in changes.proposed(whole(job)).new_places])
    papers.issue_work_order(counter, whole(job))
    places = [place.letters for place in openings_of(entry.estimate, {}).places]
    [missed] = set(places) - set(entry.initialled)
    drill = next(step for step in bench.steps_of(fresh(job)) if step.said["phase"] == "drill")
    assert drill.locked.startswith(f"No initials at {missed}")
