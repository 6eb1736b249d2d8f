"""Every address, asked by the owner: the headers stand on the answer, and nothing in the page runs or styles itself."""

import re

import pytest
from django.contrib import admin
from django.urls import reverse

from builds.models import Ticket
from shop import headers
from tests.builds.test_who_sees_what import every_path

INLINE = re.compile(
    r"\sstyle=|<style\b|<script(?![^>]*(?:\bsrc=|application/json))[^>]*>\s*\S|\son\w+=[\"']|javascript:|srcdoc=",
    re.IGNORECASE,
)


@pytest.fixture
def asked(rig, owner, client):
    Ticket.objects.update(state="bench")
    client.force_login(owner)
    client.get("/me/")
    session = client.session
    session["confirmed"] = session["began"]
    session.save()
    return client


def test_no_page_has_anything_inline_and_each_answer_has_its_policy(asked, rig):
    pages = 0
    for path in every_path(rig.number):
        answer = asked.get(path)
        assert answer["Content-Security-Policy"] in (headers.POLICY, headers.POLICY_OF_PDF), path
        assert answer["X-Frame-Options"] == "DENY", path
        if answer["Content-Type"].startswith("text/html") and not answer.streaming:
            found = INLINE.search(answer.content.decode())
            assert found is None, (path, answer.content.decode()[max(0, found.start() - 60) : found.end() + 60])
            pages += answer.status_code == 200
    assert pages > 35


def test_nor_has_the_admin(asked, catalogue):
    asked.get("/admin/")
    for model in admin.site._registry:
        name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
        row = model.objects.first()
        paths = [reverse(f"{name}_changelist")]
        paths += [reverse(f"{name}_change", args=[row.pk])] if row else []
        for path in paths:
            answer = asked.get(path)
            assert answer.status_code == 200, path
            found = INLINE.search(answer.content.decode())
            assert found is None, (path, found and found.group())
