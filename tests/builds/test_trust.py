"""Who gets in where, address by address; and the rows of tests/asvs.csv that nothing else proves."""

import ast
import base64
import csv
import itertools
import logging
import re
import smtplib
import ssl
import subprocess
import sys
from math import log2

import pytest
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.contrib.sessions.backends.base import VALID_KEY_CHARS
from django.core import signing
from django.core.mail.backends.smtp import EmailBackend
from django.db import transaction
from django.test import Client
from django.urls import get_resolver

from builds import post
from builds.models import Ticket
from shop import log
from shop.accounts import carried, devices, invitations, second_factor, totp
from shop.accounts.forms import BeginForm, ChangePasswordForm, JoinForm, NewPasswordForm, SignInForm
from shop.accounts.sessions import SessionStore
from shop.models import User
from shop.roles import COUNTER, OWNER, ROLES, TECH
from tests.builds.test_fuzz import client_at_work
from tests.builds.test_who_sees_what import walk
from tests.shop.accounts_at_work import sign_in, with_password
from tests.shop.test_every_page import PUBLIC, pages
from tests.test_house import HOUSE, dotted, listed, modules

# Whose door an address lies behind; the longest beginning counts. The owner enters every door.
DOORS = {
    "": set(ROLES),
    "counter/": {COUNTER},
    "bench/": {TECH},
    "office/": set(),
    "pictures/": {COUNTER},
    "bench/hours/<int:pk>/": set(),
    "bench/hours/<int:pk>/day-off/": {TECH},
    "words/method/": set(),
    "admin/": set(),
}
# Addresses that open to more than their door: the counter looks at the catalogue, a tech's papers and photos are read
# at the counter too.
BENCH = "bench/ticket/<str:number>/"
SHARED = {
    "office/catalogue/": {COUNTER},
    "office/catalogue/types/<str:code>/": {COUNTER},
    "office/catalogue/hulls/": {COUNTER},
    "office/catalogue/hulls/<str:code>/": {COUNTER},
    f"{BENCH}photo-<int:pk>.jpg": {COUNTER},
    f"{BENCH}work-order-<int:version>.pdf": {COUNTER},
    f"{BENCH}papers.pdf": {COUNTER},
    f"{BENCH}hand-over.pdf": {COUNTER},
    f"{BENCH}hole-templates.pdf": {COUNTER},
    "bench/week/": {COUNTER},
    "bench/week.pdf": {COUNTER},
    "bench/hours/": {COUNTER},
    "bench/feed/": {COUNTER},
}


def door_of(route):
    return DOORS[max((door for door in DOORS if route.startswith(door)), key=len)]


def test_each_address_opens_to_the_roles_of_its_door():
    wrong = []
    for route, page in pages(get_resolver()):
        if page.name in PUBLIC:
            continue
        allowed = set(page.callback.allowed_roles)
        if allowed != door_of(route) | SHARED.get(route, set()) | {OWNER}:
            wrong.append((route, sorted(allowed)))
    assert wrong == []


def addresses(number):
    """Each address with what leads somewhere, and with what leads nowhere."""
    kinds = {"date": ("2026-01-01", "1999-01-01"), "int": ("1", "999999")}
    here = {"number": number, "key": "L1", "n": "1", "version": "1", "act": "cancel", "quote": f"Q-{number[2:]}-1"}
    for pattern in get_resolver().url_patterns:
        for route in walk(pattern, ""):
            page = re.sub(r"<(\w+):(\w+)>", lambda m: here.get(m[2], kinds.get(m[1], "1")[0]), f"/{route}")
            gone = re.sub(r"<(\w+):\w+>", lambda m: kinds.get(m[1], ("", "T-9999"))[1], f"/{route}")
            yield route, page, gone


def test_every_address_by_every_method_role_and_object_answers_as_the_table_says(rig, cast):
    """One who may not come in learns nothing: not even whether there is such a ticket."""
    allowed = {route: getattr(page.callback, "allowed_roles", None) for route, page in pages(get_resolver())}
    public = {route for route, page in pages(get_resolver()) if page.name in PUBLIC}
    clients = {role: client_at_work(person) for role, person in cast.items()} | {"nobody": Client()}
    cookies = {role: client.cookies.output(header="") for role, client in clients.items()}
    Ticket.objects.update(state="bench")
    asked = 0

    def answer(role, method, path):
        nonlocal asked
        asked += 1
        clients[role].cookies.load(cookies[role])
        with transaction.atomic():
            status = getattr(clients[role], method)(path).status_code
            transaction.set_rollback(True)
        return status

    for route, here, gone in addresses(rig.number):
        if route in public or route not in allowed:
            continue
        for role, method in itertools.product((*ROLES, "nobody"), ("get", "post")):
            second = answer(role, method, gone)
            if role in allowed[route]:
                # That each opens where there is something is asked by the tests of the pages.
                assert second < 500 and second != 403, (role, method, route, second)
                continue
            first = answer(role, method, here)
            expected = (302,) if role == "nobody" else (403, 405)
            assert first == second and first in expected, (role, method, route, first, second)
        for method in ("put", "patch", "delete"):
            assert answer(OWNER, method, here) == 405, (method, route)
    assert asked > 900


# The CSV.


def rows_of_the_standard():
    lines = (HOUSE / "tests/asvs.csv").read_text().splitlines()
    return lines[0], list(csv.DictReader(lines[1:]))


def test_each_row_of_the_csv_names_a_test_that_exists_or_the_reason_why_it_does_not_apply():
    first, rows = rows_of_the_standard()
    assert first.startswith("#") and "from memory" in first
    known = {
        f"{path.relative_to(HOUSE)}::{node.name}"
        for path in modules("tests")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }
    assert [row["number"] for row in rows if row["proof"] and row["proof"] not in known] == []
    assert [row["number"] for row in rows if not row["proof"] and len(row["remark"]) < 4] == []


def test_the_csv_has_every_chapter_each_number_once_and_both_levels():
    _, rows = rows_of_the_standard()
    numbers = [row["number"] for row in rows]
    assert len(numbers) == len(set(numbers)) > 200
    assert {int(number.split(".")[0]) for number in numbers} == set(range(1, 18))
    assert {row["level"] for row in rows} == {"1", "2"}


# Rows that nothing else proves.


def calls(*rooms):
    """Every call in our code, by the dotted name that it is made with."""
    for path in modules(*rooms):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call):
                yield dotted(path), ast.unparse(node.func), node


def test_no_program_is_started_while_a_page_is_answered_but_our_own_printer():
    starting = re.compile(r"^(os\.(system|popen|exec\w*|spawn\w*)|subprocess\.\w+)$")
    found = {module for module, name, _ in calls("shop", "catalog", "builds") if starting.match(name)}
    assert {module for module in found if ".views" in module or ".forms" in module or ".actions" in module} == set()
    commands = {module for module in found if "management" in module}
    assert found <= {"shop.environment", "shop.server", "shop.printing"} | commands
    (printer,) = [
        node for module, name, node in calls("shop") if (module, name) == ("shop.printing", "subprocess.Popen")
    ]
    assert [ast.unparse(word) for word in printer.args[0].elts] == [
        "sys.executable", "'-m'", "'shop.printer'", "str(most_mb)", "str(int(self.longest_s))", "self.folder"
    ]  # fmt: skip


def test_nothing_is_evaluated_or_unpickled():
    dangerous = re.compile(r"^(eval|exec|compile|pickle\.\w+|marshal\.loads|yaml\.load|shelve\.open)$")
    assert [(m, name) for m, name, _ in calls("shop", "catalog", "builds") if dangerous.match(name)] == []


def test_no_pattern_is_made_from_what_a_person_typed():
    made = re.compile(r"^re\.(compile|match|search|fullmatch|sub|findall|split)$")
    wrong = [
        (module, ast.unparse(node)[:80])
        for module, name, node in calls("shop", "catalog", "builds")
        if made.match(name) and not is_constant(node.args[0])
    ]
    assert wrong == []


def is_constant(node):
    """A pattern written out, or put together from constants of the module."""
    whole = [part for part in ast.walk(node) if isinstance(part, ast.Call) and ast.unparse(part.func) != "re.escape"]
    return not whole and not isinstance(node, ast.Attribute | ast.Subscript)


def test_secrets_come_from_the_system_s_generator():
    random_ones = {m for m, name, _ in calls("shop", "catalog", "builds") if name.startswith("random.")}
    # The planner's search and the invented year repeat themselves from a seed, and are no secrets.
    assert {module for module in random_ones if not module.startswith(("builds.demo", "builds.planner"))} == set()
    assert invitations.SECRET_BYTES * 8 == 128


@pytest.mark.django_db
def test_a_session_s_name_holds_128_bits():
    assert len(SessionStore()._get_new_session_key()) * log2(len(VALID_KEY_CHARS)) >= 128


def test_signed_texts_run_out_and_serve_one_purpose(counter, rf, monkeypatch):
    request = rf.post("/me/", {"units": "us"})
    request.user = counter
    text = carried.fields_of(request)
    assert carried.unpacked(request, text)[0] == "/me/"
    request.COOKIES[devices.cookie_name()] = text
    assert devices.read(request) == ("", {})
    assert carried.unpacked(request, signing.dumps([counter.pk, "/me/", "{}"], salt=devices.SALT)) == ("", [])
    monkeypatch.setattr(carried, "KEPT_S", -1)
    assert carried.unpacked(request, text) == ("", [])


def test_a_password_is_taken_as_it_is_to_the_last_letter(tech):
    long = "  ünïcode and spaces  " + "x" * 150
    with_password(tech, long)
    assert sign_in(Client(), "tam", long).status_code == 302
    assert [sign_in(Client(), "tam", near).status_code for near in (long.strip(), long[:-1], long.upper())] == [422] * 3
    assert PBKDF2PasswordHasher().verify(long, PBKDF2PasswordHasher().encode(long, "salt" * 6, iterations=1))


def test_password_fields_hide_and_let_a_manager_fill_them():
    for form in (SignInForm, NewPasswordForm, JoinForm, BeginForm, ChangePasswordForm):
        for name in ("password", "again", "current"):
            field = form.base_fields.get(name)
            if field:
                assert field.widget.input_type == "password", (form, name)
                assert field.widget.attrs["autocomplete"] in ("current-password", "new-password"), (form, name)
    assert not [
        path for path in listed("shop/static/*.js") if "onpaste" in path.read_text() or '"paste"' in path.read_text()
    ]


def test_a_link_to_a_new_password_still_asks_for_the_code(owner, moved_clock):
    factor = second_factor.begin(owner)
    code = totp.hotp(base64.b32decode(factor.secret), totp.step_at(moved_clock.at.timestamp()))
    second_factor.take_on(owner, code)
    secret = invitations.link_to_new_password(owner, owner)
    client = Client()
    answer = client.post(f"/invitation/{secret}/", {"password": "eleven-wet-paddles", "again": "eleven-wet-paddles"})
    assert answer.url == "/sign-in/code/"
    assert client.get("/office/").status_code == 302


def test_every_page_has_the_way_out(rig, cast, client):
    pages_seen = {COUNTER: f"/counter/ticket/{rig.number}/", TECH: "/bench/", OWNER: "/office/"}
    for role, path in pages_seen.items():
        client.force_login(cast[role])
        page = client.get(path).content.decode()
        assert 'action="/sign-out/"' in page and 'action="/lock/"' in page, path


def test_every_page_says_its_type_and_its_letters(rig, counter, client):
    client.force_login(counter)
    for path in ("/counter/", f"/counter/ticket/{rig.number}/", "/me/", "/nowhere/"):
        assert client.get(path)["Content-Type"] == "text/html; charset=utf-8"


@pytest.mark.django_db
def test_no_other_origin_is_let_in(client, tech):
    client.force_login(tech)
    for method in (client.get, client.options):
        answer = method("/bench/", headers={"origin": "https://elsewhere.example"})
        assert not [name for name in answer.headers if name.startswith("Access-Control")]
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(tech)
    assert strict.post("/me/", {"units": "us"}, headers={"origin": "https://elsewhere.example"}).status_code == 403


@pytest.mark.django_db
@pytest.mark.parametrize(
    "path",
    ["/.git/config", "/static/", "/static/shop/", "/manage.py", "/.data/secret_key", "/static/../shop/settings.py"],
)
def test_no_file_of_the_house_is_served(client, path):
    assert client.get(path, follow=False).status_code in (302, 404)
    assert b"SECRET_KEY" not in client.get(path).content


@pytest.mark.django_db
def test_trace_is_refused(client, tech):
    client.force_login(tech)
    assert client.trace("/bench/").status_code == 405


def test_the_browser_s_store_holds_ticks_and_the_lock_alone():
    said = {}
    for path in listed("shop/static/*.js"):
        for name in re.findall(r"(?:local|session)Storage\.setItem\(([^,]+),", path.read_text()):
            said.setdefault(path.name, set()).add(name.strip())
    assert set(said) <= {"bench.js", "lock.js"}


@pytest.mark.django_db
def test_a_form_sets_no_field_that_it_does_not_show(client, tech):
    client.force_login(tech)
    more = {"role": "owner", "is_active": "on", "username": "root", "password": "x"}
    assert client.post("/me/", {"units": "us"} | more).status_code == 302
    after = User.objects.get(pk=tech.pk)
    assert (after.units, after.role, after.username, after.password) == ("us", TECH, tech.username, tech.password)


@pytest.mark.django_db
def test_a_refused_door_stands_in_the_log(client, tech, caplog):
    client.force_login(tech)
    with caplog.at_level(logging.WARNING, logger="django.request"):
        client.get("/office/")
    assert "/office/" in caplog.text and "Forbidden" in caplog.text


@pytest.mark.django_db
def test_a_line_break_in_an_address_makes_no_second_entry(client, caplog):
    with caplog.at_level(logging.WARNING, logger="django.request"):
        client.get("/nowhere%0AERROR forged/")
    line = log.QuietFormatter("%(message)s").format(caplog.records[-1])
    assert "\n" not in line.split("Traceback")[0].strip()


def test_a_mail_server_that_does_not_answer_is_said_in_words(rig, counter, client, blank_papers, monkeypatch):
    def failing(*args, **kwargs):
        raise smtplib.SMTPServerDisconnected("gone")

    client.force_login(counter)
    client.post(f"/counter/ticket/{rig.number}/papers/quote/")
    monkeypatch.setattr(post.Letter, "send", failing)
    answer = client.post(f"/counter/ticket/{rig.number}/papers/send/", {"address": "ann@example.org"})
    assert answer.status_code == 502
    assert client.get(f"/counter/ticket/{rig.number}/").status_code == 200


def test_the_mail_server_s_certificate_is_checked():
    context = EmailBackend(host="mail.example", use_tls=True).ssl_context
    assert context.verify_mode == ssl.CERT_REQUIRED and context.check_hostname


def test_it_is_written_down_how_soon_a_package_is_mended():
    text = (HOUSE / "DEVELOPERS.md").read_text()
    assert re.search(r"known fault.*within \w+ days", text, re.DOTALL)


def test_every_package_that_runs_has_its_licence_written_down():
    """Those that others bring stand in one line; what is written there is what each says of itself."""
    text = (HOUSE / "DEVELOPERS.md").read_text().lower()
    locked = re.findall(r"^([\w.-]+)(?:\[\w+\])?==", (HOUSE / "requirements.txt").read_text(), re.MULTILINE)
    assert [name for name in locked if not re.search(rf"(\| |[ (\n]){re.escape(name.lower())}\b", text)] == []


def test_the_program_starts_without_what_the_tests_need():
    code = "import sys, django; django.setup(); import shop.urls; sys.exit('pytest' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=HOUSE, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
