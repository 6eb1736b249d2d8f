"""What every answer tells the browser, what is refused unread, and a log without secrets."""

import io
import logging
import os
import subprocess
import sys

import pytest
from django.http import QueryDict
from django.test import Client

from shop import headers, limits, log, sign_in_links
from shop.access_log import AccessLogger
from tests.shop.accounts_at_work import sign_in, with_password
from tests.test_house import HOUSE

pytestmark = pytest.mark.django_db


def test_the_policy_lets_nothing_run_or_show_that_is_not_the_shop_s_own():
    said = dict(part.split(" ", 1) for part in headers.POLICY.split("; "))
    assert said["default-src"] == said["frame-ancestors"] == said["base-uri"] == "'none'"
    assert {value for name, value in said.items() if value != "'none'"} == {"'self'"}


@pytest.mark.parametrize("path", ["/sign-in/", "/health/", "/nowhere/", "/sign/x/", "/static/shop/page.js", "/admin/"])
def test_every_answer_carries_the_headers_refusals_and_files_too(client, path):
    answer = client.get(path)
    assert answer["Content-Security-Policy"] == headers.POLICY
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Cross-Origin-Opener-Policy"] == answer["Cross-Origin-Resource-Policy"] == "same-origin"
    assert answer["Referrer-Policy"] == "same-origin"
    assert "camera=()" in answer["Permissions-Policy"]
    answer.close()


def test_a_page_of_a_person_is_asked_for_again_each_time_and_goes_with_the_sign_out(client_of, tech):
    client = client_of(tech)
    assert client.get("/bench/")["Cache-Control"] == "private, no-cache"
    assert client.post("/sign-out/")["Clear-Site-Data"] == '"cache"'


def production(code):
    """Run code with the settings of a shop on its server."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("HULLBENCH", "DJANGO", "DATABASE"))}
    kept |= {"HULLBENCH_HOSTS": "bench.example", "HULLBENCH_PROXY": "1", "DJANGO_SETTINGS_MODULE": "shop.settings"}
    kept |= {"HULLBENCH_DATA": os.environ["HULLBENCH_DATA"] + "/production"}
    start = "import django; django.setup()\nfrom django.conf import settings as s\nfrom django.test import Client\n"
    start += "s.STORAGES['staticfiles'] = {'BACKEND': 'django.contrib.staticfiles.storage.StaticFilesStorage'}\n"
    done = subprocess.run([sys.executable, "-c", start + code], cwd=HOUSE, env=kept, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


def test_a_shop_s_cookies_go_to_its_host_alone_over_https_and_to_no_script():
    said = production(
        "print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE and s.CSRF_COOKIE_SECURE,"
        " s.SESSION_COOKIE_HTTPONLY and s.CSRF_COOKIE_HTTPONLY, s.SESSION_COOKIE_SAMESITE, s.SESSION_COOKIE_DOMAIN,"
        " s.SESSION_COOKIE_PATH)"
    )
    assert said == ["__Host-sessionid", "__Host-csrftoken", "True", "True", "Lax", "None", "/"]


def test_a_shop_answers_for_its_own_host_over_https_with_hsts():
    said = production(
        "c = Client(headers={'x-forwarded-proto': 'https'})\n"
        "a = c.get('/health/', headers={'host': 'bench.example'})\n"
        "print(a['Strict-Transport-Security'].replace(' ', ''))\n"
        "print(c.get('/sign-in/', headers={'host': 'elsewhere.example'}).status_code)\n"
        "print(Client().get('/sign-in/', headers={'host': 'bench.example'})['Location'])"
    )
    assert said == ["max-age=31536000", "400", "https://bench.example/sign-in/"]


def test_plain_http_is_for_this_machine_alone(client, settings):
    for address, status in (("127.0.0.1", 200), ("::1", 200), ("::ffff:127.0.0.1", 200), ("", 200), ("192.0.2.7", 403)):
        assert client.get("/sign-in/", REMOTE_ADDR=address).status_code == status, address
    assert client.get("/sign-in/", headers={"host": "bench.example"}).status_code == 400


class NeverRead(io.BytesIO):
    def read(self, *args):
        raise AssertionError("the request was read")


def test_a_request_that_is_too_large_is_refused_before_it_is_read(client):
    sent = {"CONTENT_LENGTH": "16000001", "wsgi.input": NeverRead()}
    answer = client.generic("POST", "/sign-in/", b"", **sent)
    assert answer.status_code == 413
    assert "may have 16 MB" in answer.content.decode()
    assert client.generic("POST", "/sign-in/", b"", HTTP_TRANSFER_ENCODING="chunked").status_code == 411


@pytest.mark.parametrize("body", ["username=" + "x" * 2_600_000, "&".join(f"a{n}=1" for n in range(1001))])
def test_too_much_in_a_form_is_refused_in_words(client, body):
    answer = client.post("/sign-in/", body, content_type="application/x-www-form-urlencoded")
    assert answer.status_code == 400 and "cannot be read" in answer.content.decode()


def test_a_fault_shows_a_reference_and_no_detail_and_the_log_has_both(client, monkeypatch):
    out = io.StringIO()
    handler = logging.StreamHandler(out)
    handler.setFormatter(log.QuietFormatter("{levelname} [{reference}] {message}", style="{"))
    logger = logging.getLogger("django.request")
    logger.addHandler(handler)

    def failing(secret):
        raise ZeroDivisionError("a detail that is nobody's business")

    monkeypatch.setattr("shop.views.user_of", failing)
    client.raise_request_exception = False
    try:
        answer = client.get("/sign-in/link/TopSecretLink/")
    finally:
        logger.removeHandler(handler)
    page, entry = answer.content.decode(), out.getvalue()
    reference = answer.context["reference"]
    assert answer.status_code == 500 and len(reference) == 8
    assert reference in page and "nobody's business" not in page and "Traceback" not in page
    assert f"[{reference}]" in entry and "Traceback" in entry and "nobody's business" in entry
    assert "TopSecretLink" not in entry and "/sign-in/link/…/" in entry


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("GET /sign/aB3-_x/ HTTP/1.1", "GET /sign/…/ HTTP/1.1"),
        ("GET /sign/aB3-_x/quote.pdf HTTP/1.1", "GET /sign/…/quote.pdf HTTP/1.1"),
        ("Gone: /invitation/aB3-_x/", "Gone: /invitation/…/"),
        ("GET /counter/?q=555-0142 HTTP/1.1", "GET /counter/?… HTTP/1.1"),
        ("https://bench.example/counter/?q=Ann+Example", "https://bench.example/counter/?…"),
        ("DETAIL:  Key (email)=(ann@example.org) exists", "DETAIL: …"),
        ("Cookie: sessionid=abc; csrftoken=def", "Cookie: sessionid=…; csrftoken=…"),
        ("GET /counter/ticket/T-0001/papers/sign/ HTTP/1.1", "GET /counter/ticket/T-0001/papers/sign/ HTTP/1.1"),
    ],
)
def test_secrets_never_stand_in_the_log(text, shown):
    assert log.without_secrets(text) == shown


def test_gunicorn_logs_no_secret_of_an_address_nor_of_the_page_before():
    from gunicorn.config import Config

    out = io.StringIO()
    config = Config()
    config.set("accesslog", "-")
    logger = AccessLogger(config)
    logger.access_log.handlers = [logging.StreamHandler(out)]
    environ = {
        "REQUEST_METHOD": "GET",
        "RAW_URI": "/sign/aB3-_x/?why=secret",
        "PATH_INFO": "/sign/aB3-_x/",
        "QUERY_STRING": "why=secret",
        "SERVER_PROTOCOL": "HTTP/1.1",
        "HTTP_REFERER": "https://bench.example/invitation/cD4/",
    }
    from datetime import timedelta
    from types import SimpleNamespace

    answer = SimpleNamespace(status="200 OK", sent=12, headers=[])
    logger.access(answer, SimpleNamespace(headers=[]), environ, timedelta(seconds=1))
    line = out.getvalue()
    assert "aB3" not in line and "cD4" not in line and "why=" not in line
    assert "GET /sign/…/?… HTTP/1.1" in line


def test_a_form_sent_by_htmx_needs_the_token_too(tech):
    with_password(tech)
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(tech)
    page = strict.get("/me/").content.decode()
    token = page.split('"X-CSRFToken": "')[1].split('"')[0]
    by_htmx = {"hx-request": "true"}
    assert strict.post("/me/", {"units": "us"}, headers=by_htmx).status_code == 403
    assert strict.post("/me/", {"units": "us"}, headers=by_htmx | {"X-CSRFToken": token}).status_code == 302
    assert sign_in(Client(enforce_csrf_checks=True), "tam").status_code == 403


def test_a_link_s_secret_is_told_to_no_other_site(client, tech):
    secret = sign_in_links.make_link(tech)
    answer = client.get(f"/sign-in/link/{secret}/")
    assert answer["Referrer-Policy"] == "same-origin" and secret not in answer["Location"]


def test_a_zero_byte_is_taken_out_of_what_is_typed_before_anyone_reads_it():
    """PostgreSQL's text types hold no byte of zero (its manual, character types; from memory)."""
    sent = QueryDict("name=a%00b&name=%00&plain=x&k%00=1")
    clean = limits.without_zero_bytes(sent)
    assert dict(clean.lists()) == {"name": ["ab", ""], "plain": ["x"], "k": ["1"]}
    assert limits.without_zero_bytes(QueryDict("plain=x")).get("plain") == "x"
