"""Generated posts over all forms, and raw requests at a real server: no server error. Seeded.

HULLBENCH_FUZZ multiplies: 1 is what every run does, 40 the long run of 10 000 posts and 5 000 raw requests.
"""

import contextlib
import logging
import os
import random
import socket
import subprocess
import sys
import time

import pytest
from django.db import transaction
from django.test import Client

from builds import querysets
from builds.actions import alternatives, changes, lines, papers, signing
from builds.models import Ticket
from shop import sign_in_links
from tests.builds.hostile import STRINGS, forms_of, typed
from tests.builds.test_who_sees_what import every_path
from tests.test_house import HOUSE

TIMES = int(os.environ.get("HULLBENCH_FUZZ", "1"))
POSTS, RAW = 250 * TIMES, 125 * TIMES
SEED = 20261125


@pytest.fixture
def full_shop(rig, counter, owner, kind, blank_papers):
    """A draft with two ways; a ticket quoted and sent; one on the bench with a change order begun."""
    from builds.actions import tickets
    from catalog.models import HullType

    alternatives.copy_current(counter, rig, "leaner")
    hull_type = HullType.objects.get(code="sot_3_7_angler")
    made = [rig]
    for title in ("Quoted", "Agreed"):
        ticket = tickets.open_ticket(counter, hull_type=hull_type, title=title, name="Customer 0412")
        lines.add_line(counter, ticket, kind("rod_holder_flush_tube"), station="rear_deck_port", mounting="rivet")
        quote = papers.issue_quote(counter, querysets.for_counter().get(pk=ticket.pk))
        made.append(ticket)
    given = signing.Yes("Customer 0412", signing.places_of(quote), note="The scanner is broken.")
    signing.accept(counter, made[2], given, way="paper")
    papers.issue_work_order(counter, querysets.for_counter().get(pk=made[2].pk))
    changes.begin_change(counter, made[2])
    _, secret = signing.make_link(counter, made[1])
    return [ticket.number for ticket in made], secret


def client_at_work(person):
    client = Client(raise_request_exception=False)
    client.force_login(person)
    client.get("/me/")
    session = client.session
    session["confirmed"] = session["began"] + 1e6
    session.save()
    return client


def all_forms(client, numbers, secret):
    """Every form that this person finds on any page, and every address as a form without fields."""
    found = []
    for number in numbers:
        for path in every_path(number):
            path = path.replace("/sign/1/", f"/sign/{secret}/")
            answer = client.get(path)
            if answer.status_code == 200 and "html" in answer["Content-Type"]:
                found += forms_of(answer.content.decode(), path)
            found += forms_of(f'<form method="post" action="{path}"><input name="revision"></form>', path)
    kept = {(form.action, tuple(form.fields)): form for form in found if "sign-out" not in form.action}
    return list(kept.values())


def test_no_generated_post_is_a_server_error(full_shop, cast, caplog):
    numbers, secret = full_shop
    logging.getLogger("django.request").setLevel(logging.ERROR)
    clients = {role: client_at_work(person) for role, person in cast.items()}
    cookies = {role: client.cookies["sessionid"].value for role, client in clients.items()}
    forms = all_forms(clients["owner"], numbers, secret)
    assert len(forms) > 100 and sum(bool(form.fields) for form in forms) > 60
    chance, statuses, faults = random.Random(SEED), {}, []
    for n in range(POSTS):
        form = forms[n % len(forms)] if n < len(forms) else chance.choice(forms)
        role, sent = chance.choice(("owner", "owner", "counter", "tech")), typed(form, chance)
        by_htmx = {"hx-request": "true"} if chance.random() < 0.3 else {}
        # What a post did is taken back, so that each meets the same shop, and the same person signed in.
        clients[role].cookies.load({"sessionid": cookies[role]})
        with transaction.atomic():
            status = clients[role].post(form.action.partition("#")[0], sent, headers=by_htmx).status_code
            transaction.set_rollback(True)
        statuses[status] = statuses.get(status, 0) + 1
        if status >= 500 and status != 502:
            faults.append((role, form.action, sent))
    print(f"{POSTS} posts over {len(forms)} forms: {dict(sorted(statuses.items()))}")
    assert [(role, action) for role, action, _ in faults] == [], faults[0]
    assert Ticket.objects.count() == 3


# Raw requests.

METHODS = [
    "GET",
    "POST",
    "HEAD",
    "PUT",
    "DELETE",
    "OPTIONS",
    "PATCH",
    "TRACE",
    "get",
    "G\x00T",
    "",
    "PROPFIND",
    "A" * 300,
]
VERSIONS = ["HTTP/1.1"] * 30 + ["HTTP/1.0", "HTTP/0.9", "HTTP/2.0", "HTTP/9", "", "JUNK"]
PIECES = [
    "counter",
    "ticket",
    "T-0001",
    "office",
    "bench",
    "sign",
    "invitation",
    "me",
    "%00",
    "%ff%fe",
    "%2e%2e",
    "..",
    "//",
    "é",
    "{}",
    "<x>",
    "?",
    "&q=",
    "%",
    "%zz",
    "'",
    ";",
    "\\",
    "admin",
    "static",
    "shop",
    "x" * 3000,
]
HEADERS = [
    "Host",
    "Cookie",
    "Content-Type",
    "Content-Length",
    "Transfer-Encoding",
    "HX-Request",
    "HX-Target",
    "Accept",
    "Referer",
    "X-Forwarded-Proto",
    "X-Forwarded-For",
    "Range",
    "If-None-Match",
    "If-Modified-Since",
    "Origin",
    "X-CSRFToken",
    "Expect",
    "Accept-Encoding",
]
VALUES = [
    "",
    "x",
    "127.0.0.1",
    "evil.example",
    "a, b",
    "chunked",
    "gzip, chunked",
    "-1",
    "99999999999",
    "0",
    "5",
    "application/json",
    "multipart/form-data",
    "multipart/form-data; boundary=x",
    "multipart/form-data; boundary=" + "b" * 500,
    "application/x-www-form-urlencoded; charset=utf-99",
    "text/html; charset=\xff",
    "bytes=0-,5-1",
    "sessionid=x; csrftoken=y",
    "sessionid=" + "z" * 4000,
    "true",
    "\x01",
    "http://[::1",
    "%ff",
]
BODIES = [
    "",
    "a=1&b=%ff%fe&c",
    "{" * 100,
    '--x\r\nContent-Disposition: form-data; name="a"\r\n\r\n1\r\n--x--',
    "--x\r\n\r\n",
    "\xff" * 200,
    "5\r\nhello\r\n0\r\n\r\n",
    "zz\r\n",
]

PREPARE = """
import django; django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from catalog import exchange; exchange.load()
from catalog.models import HullType
from builds.actions import tickets
from shop.models import User
from shop.accounts.sessions import SessionStore
owner = User.objects.create_user("olga", name="Olga Owner", role="owner")
tickets.open_ticket(owner, hull_type=HullType.objects.first(), title="Raw")
kept = SessionStore(); kept["_auth_user_id"] = str(owner.pk)
kept["_auth_user_backend"] = "django.contrib.auth.backends.ModelBackend"
kept["_auth_user_hash"] = owner.get_session_auth_hash(); kept.save()
print(kept.session_key)
"""


@pytest.fixture
def real_server(tmp_path):
    """gunicorn as the shop runs it, on a free port of this machine, with an owner's session; its log beside it."""
    ours = {k: v for k, v in os.environ.items() if not k.startswith(("HULLBENCH_", "DATABASE_URL", "DJANGO_"))}
    ours |= {"HULLBENCH_DATA": str(tmp_path), "HULLBENCH_DEMO": "1", "DJANGO_SETTINGS_MODULE": "shop.settings"}
    made = subprocess.run([sys.executable, "-c", PREPARE], cwd=HOUSE, env=ours, capture_output=True, text=True)
    assert made.returncode == 0, made.stderr
    subprocess.run(
        [sys.executable, "-c", "import django; django.setup()\nfrom shop import server; server.collect_static()"],
        cwd=HOUSE,
        env=ours,
        check=True,
    )
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [
        sys.executable,
        "-c",
        f"import django; django.setup()\nfrom shop import server; server.become_gunicorn('127.0.0.1:{port}')",
    ]
    with (tmp_path / "log").open("w") as log:
        process = subprocess.Popen(command, cwd=HOUSE, env=ours, stdout=log, stderr=log)
        try:
            wait_for(port)
            yield port, made.stdout.split()[-1], tmp_path / "log"
        finally:
            process.terminate()
            process.wait(timeout=20)


def wait_for(port):
    for _ in range(300):
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            return
        time.sleep(0.1)
    raise AssertionError("the server does not answer")


def raw_request(chance: random.Random, session: str) -> bytes:
    path = (
        "/"
        + "/".join(chance.choices(PIECES, k=chance.randint(0, 5)))
        + chance.choice(("", "/", "/", "?q=%ff", "?q=\x01"))
    )
    if chance.random() < 0.4:
        path = chance.choice(
            ("/counter/", "/counter/ticket/T-0001/", "/office/", "/counter/?q=", "/me/", "/lock/", "/sign-in/")
        )
        path += chance.choice(("", "?line=%00", "?page=-1", "?next=//x.example", "?q=" + "%f0%9f" * 40))
    kept = [f"{chance.choice(METHODS[:3] if chance.random() < 0.85 else METHODS)} {path} {chance.choice(VERSIONS)}"]
    kept.append(
        "Host: 127.0.0.1"
        if chance.random() < 0.9
        else chance.choice(("Host: evil.example", "Host: a b", "Host: [::1", ""))
    )
    if chance.random() < 0.7:
        kept.append(f"Cookie: sessionid={session}; csrftoken={'c' * 32}")
    for _ in range(chance.choice((0, 0, 0, 1, 1, 2, 4))):
        kept.append(f"{chance.choice(HEADERS)}: {chance.choice(VALUES + STRINGS[:20])}")
    body = chance.choice(BODIES)
    if chance.random() < 0.6:
        kept.append(f"Content-Length: {len(body) + chance.choice((0, 0, 0, 0, -1))}")
    text = "\r\n".join([*kept, "Connection: close", "", body])
    return text.encode("utf-8" if chance.random() < 0.5 else "latin-1", "replace")


def answer_to(port: int, request: bytes) -> str:
    """Return the status line; nothing where the server hangs up or waits for more than was sent."""
    with socket.create_connection(("127.0.0.1", port), timeout=20) as line, contextlib.suppress(OSError):
        line.sendall(request)
        line.shutdown(socket.SHUT_WR)
        return line.recv(200).split(b"\r\n")[0].decode("latin-1")
    return ""


def test_no_raw_request_is_a_server_error(real_server):
    """501 and 505 are refusals of a method, a coding or a version that the server does not know (RFC 9110, 15.6)."""
    port, session, log = real_server
    chance, statuses, faults = random.Random(SEED), {}, []
    for _ in range(RAW):
        request = raw_request(chance, session)
        words = answer_to(port, request).split(" ")
        status = words[1] if len(words) > 1 else "none"
        statuses[status] = statuses.get(status, 0) + 1
        if status[0] == "5" and status not in ("501", "505"):
            faults.append(request[:300])
    print(f"{RAW} raw requests: {dict(sorted(statuses.items()))}")
    assert faults == []
    assert " ERROR " not in log.read_text() and " CRITICAL " not in log.read_text()
    assert statuses.get("200", 0) > RAW / 20
    good = f"GET /counter/ HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: sessionid={session}\r\nConnection: close\r\n\r\n"
    assert answer_to(port, good.encode()) == "HTTP/1.1 200 OK"


def test_the_demo_link_of_nobody_opens_nothing(client, db):
    for text in STRINGS:
        assert sign_in_links.user_of(text) is None
