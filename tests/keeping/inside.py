"""What the tests of whole shops do inside one: run in a process of that shop, the answer printed as JSON."""

import contextlib
import json
import sys

import django
from django.core.management import call_command
from django.db import connection

ODD = "Ein “Boot” für Ö\u0301lüfter \u2603 \U0001f6f6 100 % 'x' \\ \t"


def make():
    """A small shop: three people, the catalogue, one signed ticket and one draft, and figures that are hard to copy."""
    import builds.documents
    from builds import querysets
    from builds.actions import lines, money, papers, signing, tickets
    from catalog.models import AccessoryType, HullType
    from shop.models import User
    from tests.builds.conftest import blank_page

    # What papers look like is tested elsewhere; their bytes are kept all the same.
    builds.documents.pdf = lambda html, paper: blank_page()
    call_command("migrate", verbosity=0)
    call_command("load_catalogue", verbosity=0, stdout=sys.stderr)
    cora = User.objects.create_user("cora", name="Cora Counter", initials="CC", role="counter")
    User.objects.create_user("tam", name="Tam Tech", initials="TT", role="tech")
    User.objects.create_user("olga", name="Olga Owner", initials="OO", role="owner")
    hull = HullType.objects.get(code="sot_3_7_angler")
    signed = tickets.open_ticket(cora, hull_type=hull, title="Signed rig")
    kind = AccessoryType.objects.get(code="rod_holder_flush_tube")
    lines.add_line(cora, signed, kind, station="rear_deck_port", quantity=1, mounting="rivet")
    quote = papers.issue_quote(cora, querysets.for_counter().get(pk=signed.pk))
    drawing = [[[100, 150], [300, 80]]]
    yes = signing.Yes("Customer 0412", signing.places_of(quote), "C", drawing, agreed_electronically=True, note=ODD)
    signing.accept(cora, signed, yes, way="counter")
    from decimal import Decimal

    fresh = querysets.for_counter().get(pk=signed.pk)
    money.take_money(cora, fresh, kind="deposit", way="cash", amount=Decimal("1.07"))
    draft = tickets.open_ticket(cora, hull_type=hull, title=ODD[:60])
    aboard = [{"is_person": True, "name": "Paddler", "mass_kg": 0.1 + 0.2, "station": "seat"}]
    tickets.set_afloat(cora, draft, aboard=aboard, water="sea", air_temp_c=-0.0)
    return {"signed": signed.number, "draft": draft.number}


def sign_in_path(username):
    from django.urls import reverse

    from shop import sign_in_links
    from shop.models import User

    return reverse("sign_in_link", args=[sign_in_links.make_link(User.objects.get(username=username))])


def verified():
    """What verify finds, and the journal's head."""
    from shop.keeping import sound

    report = sound.verify()
    return {"findings": report.findings, "head": report.head, "entries": report.entries}


def dump():
    """Every table as plain rows: its count, its SHA-256 and the last key given."""
    from shop.keeping import filling, rows

    return {rows.label_of(model): filling.table_of("default", model) for model in rows.kept_models()}


def written():
    """As `dump`; PostgreSQL never gives a key again, not even after a failed change, so there without the last one."""
    without = {"last_key"} if connection.vendor == "postgresql" else set()
    return {label: {name: table[name] for name in table.keys() - without} for label, table in dump().items()}


def backups_counted():
    from shop.models import Backup

    return Backup.objects.count()


OLDER = (("shop", "0002_sent_forms"), ("builds", "0010_hand_over_written_once"))


def make_older():
    """A shop as it was before its journal sealed rows, in the tables of then."""
    import hashlib
    import zlib

    from django.db.migrations.loader import MigrationLoader

    from shop import clock, journal
    from shop.models import JournalEntry

    for target in (*OLDER, ("auth",), ("sessions",), ("admin",)):
        call_command("migrate", *target, verbosity=0)
    older = MigrationLoader(connection).project_state(list(OLDER)).apps
    olga = older.get_model("shop.User").objects.create(username="olga", name="Olga Owner", role="owner")
    kept = {"sha256": hashlib.sha256(b"{}").hexdigest(), "packed": zlib.compress(b"{}")}
    older.get_model("builds.KeptCatalogue").objects.create(**kept)
    said = {"number": 1, "at": clock.now(), "actor_id": olga.pk, "actor_name": "Olga Owner", "action": "greet"}
    said |= {"subject_kind": "shop.user", "subject_key": "1", "subject_name": "Olga Owner"}
    said |= {"before_json": "{}", "after_json": "{}", "previous_hash": journal.FIRST_HASH}
    entry_hash = journal.hash_of(JournalEntry(**said))
    older.get_model("shop.JournalEntry").objects.create(**said, entry_hash=entry_hash)
    return "older"


def open_tickets(count):
    """Drafts for writers."""
    from builds.actions import tickets
    from catalog.models import HullType
    from shop.models import User

    cora, hull = User.objects.get(username="cora"), HullType.objects.get(code="sot_3_7_angler")
    return [tickets.open_ticket(cora, hull_type=hull, title="new").number for _ in range(int(count))]


def commits(count):
    """Change a ticket so many times, one commit each."""
    from builds.actions import tickets
    from builds.models import Ticket
    from shop.models import User

    ticket, cora = Ticket.objects.get(number="T-0002"), User.objects.get(username="cora")
    for n in range(int(count)):
        tickets.set_customer(cora, ticket, name=f"Customer {n}")
    return int(count)


def titles_in(entries):
    from builds import personal

    texts = personal.texts_of(entries)
    return [personal.words(entry.after["title"], texts) for entry in entries if "title" in entry.after]


def titles(number):
    """What a ticket was called, as the journal tells it; the last one is what it is called now."""
    from builds.models import Ticket
    from shop import journal

    ticket = Ticket.objects.get(number=number)
    told = titles_in(journal.history(ticket).order_by("number"))
    assert told[-1] == ticket.title
    return told


def compared(path):
    """Hold the shop to what was acknowledged: each change once in the journal, the ticket as its last entry says."""
    from pathlib import Path

    from builds.models import Ticket
    from shop import journal

    lost, twice, halves, extra = [], [], [], 0
    for number, acknowledged in json.loads(Path(path).read_text()).items():
        ticket = Ticket.objects.get(number=number)
        entries = list(journal.history(ticket).order_by("number"))
        titles = titles_in(entries)[1:]
        lost += [title for title in acknowledged if title not in titles]
        twice += [title for title in acknowledged if titles.count(title) > 1]
        extra += len(titles) - len(acknowledged)
        in_order = [title for title in titles if title in set(acknowledged)] == acknowledged
        if ticket.title != (titles[-1] if titles else "new") or ticket.revision != len(entries) or not in_order:
            halves.append(f"{number}: {ticket.title}, revision {ticket.revision} of {len(entries)}, order {in_order}")
    return {"lost": lost, "twice": twice, "halves": halves, "unacknowledged": extra, **verified()}


def pressed_in_trouble(trouble, wait_ms):
    """A form is sent while another holds the database or the disk is full, and again from the page that says so."""
    import html
    import re

    from django.test import Client

    from builds.models import Ticket
    from shop import server
    from shop.models import User
    from shop.once import new_token

    server.collect_static()
    client = Client(raise_request_exception=False, headers={"Host": "127.0.0.1"})
    client.force_login(User.objects.get(username="cora"))
    client.get("/me/")
    # A minute later, so that the session notes a sign of life.
    session = client.session
    session["seen"] -= 60
    session.save()
    path, typed = "/counter/ticket/T-0002/about/", 'Typed <b>"once"</b> & kept, 100 %'
    revision = Ticket.objects.get(number="T-0002").revision
    with in_trouble(trouble, int(wait_ms)):
        # Pages of the database that have room take a few more forms before the disk counts as full.
        for n in range(40):
            said = {"title": f"{typed} {n}", "asked": "x" * 480, "revision": revision, "once": new_token()}
            before = written() if trouble == "full" else None
            answer = client.post(path, said)
            if answer.status_code != 302:
                break
            revision += 1
        reading = client.get(path).status_code
        unchanged = trouble != "full" or written() == before
    page = answer.content.decode()
    fields = re.findall(r'<textarea name="([^"]+)" hidden>\n(.*?)</textarea>', page, re.S)
    for _ in range(2):
        again = client.post(path, {name: html.unescape(value) for name, value in fields})
    ticket = Ticket.objects.get(number="T-0002")
    return {
        "status": answer.status_code,
        "words": re.search(r"<p>(.*?)</p>", page, re.S)[1] if "<p>" in page else page,
        "reading": reading,
        "unchanged": unchanged,
        "again": again.status_code,
        "saved": ticket.title == said["title"],
        "times": ticket.revision - revision,
        "findings": verified()["findings"],
    }


@contextlib.contextmanager
def in_trouble(trouble, wait_ms):
    import sqlite3

    from django.conf import settings

    if connection.vendor == "postgresql" and trouble == "full":
        with a_journal_that_finds_no_room():
            yield
        return
    if connection.vendor == "postgresql":
        import psycopg

        here = connection.settings_dict
        with connection.cursor() as cursor:
            cursor.execute(f"SET lock_timeout = {wait_ms}")
        with psycopg.connect(host=here["HOST"], user=here["USER"], dbname=here["NAME"]) as other:
            other.execute("LOCK TABLE builds_ticket IN ACCESS EXCLUSIVE MODE")
            yield
        return
    connection.ensure_connection()
    if trouble == "full":
        with connection.cursor() as cursor:
            pages = cursor.execute("PRAGMA page_count").fetchone()[0]
            cursor.execute(f"PRAGMA max_page_count = {pages}")
            # Nothing is left in pages that were in use before.
            assert cursor.execute("PRAGMA freelist_count").fetchone()[0] < 3
            yield
            cursor.execute("PRAGMA max_page_count = 1073741823")
        return
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA busy_timeout = {wait_ms}")
    other = sqlite3.connect(settings.DATABASES["default"]["NAME"], isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    yield
    other.execute("ROLLBACK")
    other.close()


@contextlib.contextmanager
def a_journal_that_finds_no_room():
    """The server's process of this connection is told that the disk is full as it makes the journal's file longer."""
    import subprocess
    import time

    file = "current_setting('data_directory') || '/' || pg_relation_filepath('shop_journalentry')"
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT pg_backend_pid(), {file}")
        pid, path = cursor.fetchone()
    writes = "pwrite64,pwritev,fallocate"
    no_room = ["-e", f"trace={writes}", "-e", f"inject={writes}:error=ENOSPC"]
    watcher = subprocess.Popen(["strace", "-qq", "-p", str(pid), "-P", path, *no_room], stderr=subprocess.DEVNULL)
    time.sleep(0.5)
    try:
        yield
    finally:
        watcher.terminate()
        watcher.wait(timeout=30)


def delete_last_customer():
    """A key that was given and is in no row any more must not be given again."""
    from builds.models import Customer

    Customer.objects.create(name="Customer 0999").delete()
    return "gone"


def work_goes_on():
    from builds.actions import tickets
    from builds.models import Customer, Ticket
    from shop import append_only
    from shop.models import User

    ticket, cora = Ticket.objects.get(number="T-0002"), User.objects.get(username="cora")
    tickets.set_customer(cora, ticket, name="Customer 0777")
    key = Customer.objects.get(name="Customer 0777").pk
    return {**verified(), "key": key, "triggers": append_only.missing_triggers(connection)}


def main(name, *words):
    django.setup()
    print(json.dumps(globals()[name](*words)))
    connection.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
