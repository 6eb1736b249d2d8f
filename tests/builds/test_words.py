"""Words, sources and method: each word has one meaning, each source is used, each example is a real figure."""

from builds import words
from builds.estimator.sources import SOURCES


def test_the_words_stand_in_the_order_of_the_alphabet_and_none_twice():
    known = [word.lower() for word in words.GLOSSARY]
    assert known == sorted(known)
    assert all(meaning.endswith(".") and "!" not in meaning for meaning in words.GLOSSARY.values())


def test_every_source_is_used_and_every_use_is_named():
    assert {key for key, users in words.users_of_sources().items() if users} == set(SOURCES)
    assert all(cited.used_by for cited in words.sources_cited())


def test_the_pages_are_read_by_everyone_and_the_method_by_the_owner(rig, cast, client):
    for role, allowed in (("counter", False), ("tech", False), ("owner", True)):
        client.force_login(cast[role])
        assert "Change order" in client.get("/words/").content.decode()
        assert "33 CFR 183.425" in client.get("/words/sources/").content.decode()
        assert client.get("/words/method/").status_code == (200 if allowed else 403)


def test_the_method_shows_the_figures_of_a_ticket(rig, owner, client):
    client.force_login(owner)
    page = client.get("/words/method/", {"ticket": rig.number.lower()}).content.decode()
    assert "quoted, min" in page and "total</summary>" in page
    missing = client.get("/words/method/", {"ticket": "T-9999"})
    assert (missing.status_code, "There is no ticket T-9999" in missing.content.decode()) == (404, True)


def test_without_a_ticket_the_method_is_words_alone(owner, client):
    client.force_login(owner)
    assert "How every figure is computed" in client.get("/words/method/").content.decode()


def test_the_page_of_a_type_shows_its_openings_and_its_needs_as_pictures(rig, counter, tech, client):
    client.force_login(counter)
    for code, picture in (("rod_holder_flush_tube", "openings"), ("display_7in", "needs")):
        page = client.get(f"/office/catalogue/types/{code}/").content.decode()
        address = f"/pictures/types/{code}/{picture}.svg"
        assert address in page
        answer = client.get(address)
        assert (answer.headers["Content-Type"], b"<svg" in answer.content) == ("image/svg+xml", True)
    assert client.get("/pictures/types/no_such_type/needs.svg").status_code == 404
    client.force_login(tech)
    assert client.get("/pictures/types/display_7in/needs.svg").status_code == 403
