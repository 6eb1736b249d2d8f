"""Passwords: how they are checked at the door, and which new ones are taken.

New passwords follow NIST SP 800-63B-4, section 3.1.1.2 (from memory): fifteen characters and more, no rules of which
kinds of characters, compared with a list of common ones and of words that belong to the shop.
"""

import re
from collections.abc import Iterable

from django.apps import apps
from django.conf import settings
from django.contrib.auth import authenticate
from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from shop.accounts import devices, notes, throttle
from shop.accounts.addresses import address_of, network_of
from shop.accounts.throttle import Door, TooEarly
from shop.models import User

LONGEST = 200
"""A limit for the form; no password is cut short."""
LEAST_OWN = 8
PROGRAM_WORDS = ("hullbench", "password", "kayak", "canoe")
ROWS = ("1234567890", "abcdefghijklmnopqrstuvwxyz", "qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "azertyuiop")
SHORTEST_RUN = 4


class Wrong(Exception):
    """The user name and the password do not go together."""


def check(request: HttpRequest, username: str, password: str) -> User:
    """Return the person whom user name and password let in. Raises Wrong, or TooEarly without having looked.

    A user name that nobody has takes the same way and the same time.
    """
    person = User.objects.filter(username=username).first()
    address = address_of(request)
    doors = doors_of(request, username, person)
    try:
        throttle.count(*doors)
    except TooEarly:
        notes.note(notes.Kind.SLOWED, person, address)
        raise
    user = authenticate(request, username=username, password=password)
    if user is None:
        notes.note(notes.Kind.WRONG, person, address)
        raise Wrong
    throttle.forgive(*doors)
    return user


def check_own(request: HttpRequest, password: str) -> User:
    """Return the person who is signed in where the password is theirs. Raises Wrong or TooEarly.

    The demo's people have no password: a press of the button does.
    """
    if has_none(request.user):
        return request.user
    return check(request, request.user.username, password)


def has_none(user: User) -> bool:
    return settings.DEMO and not user.has_usable_password()


def doors_of(request: HttpRequest, username: str, person: User | None) -> list[Door]:
    """Return what a try is counted against: a device that is known for the person, else the account and the address."""
    device = devices.knows(request, person) if person else ""
    if device:
        return [Door("device", f"{device}:{person.pk}")]
    return [Door("account", username.casefold()), Door("address", network_of(address_of(request)))]


class OwnWordsValidator:
    """Refuses a password that is little more than words of the shop, runs of the keyboard and repetitions."""

    def __init__(self):
        self.common = CommonPasswordValidator().passwords

    def validate(self, password: str, user: User | None = None) -> None:
        left = own_part(password, [*PROGRAM_WORDS, *shop_words(), *words_of(user)])
        if len(left) < LEAST_OWN or left in self.common:
            raise ValidationError(
                "This password is easy to guess: little is left of it without the shop's words, names, runs of keys "
                "and repetitions. Four or five words that have nothing to do with each other are better.",
                code="password_easy",
            )

    def get_help_text(self) -> str:
        return "Not made of the shop's name, yours, or neighbouring keys."


def own_part(password: str, known: Iterable[str]) -> str:
    """Return what is left of a password without the known words, runs of keys and repetitions; letters folded."""
    left = re.sub(r"[\W_]", "", password.casefold())
    for word in sorted({re.sub(r"[\W_]", "", word.casefold()) for word in known}, key=len, reverse=True):
        if len(word) > 3:
            left = left.replace(word, "")
    left = without_runs(left)
    return re.sub(r"(.+?)\1+", r"\1", left)


def without_runs(text: str) -> str:
    """Return a text without four and more neighbours of a row of keys or of the alphabet, in either direction."""
    rows = [line for row in ROWS for line in (row + row[:SHORTEST_RUN], (row + row[:SHORTEST_RUN])[::-1])]
    kept, at = "", 0
    while at < len(text):
        run = SHORTEST_RUN
        if any(text[at : at + run] in row for row in rows) and len(text) - at >= run:
            while at + run < len(text) and any(text[at : at + run + 1] in row for row in rows):
                run += 1
            at += run
        else:
            kept, at = kept + text[at], at + 1
    return kept


def words_of(user: User | None) -> list[str]:
    if user is None:
        return []
    return [user.username, *user.name.split(), user.email.partition("@")[0]]


def shop_words() -> list[str]:
    """Return the words of the shop's name, where one is written down."""
    rates = apps.get_model("catalog", "ShopRates").objects.order_by("-pk").values_list("shop_name", flat=True).first()
    return [rates or "", *(rates or "").split()]
