"""Forms read from pages, and what nobody should type into them."""

import random
from dataclasses import dataclass, field
from html.parser import HTMLParser

STRINGS = [
    "",
    " ",
    "0",
    "-1",
    "1e309",
    "nan",
    "-inf",
    "9" * 40,
    "1/0",
    "1 5/0 in",
    "٣٫٥ m",
    "１２",
    "½",
    "\x00",
    "a\x00b",
    "\ud7ff\u202e\u2066",
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "\"'><svg onload=alert(1)>",
    "{{ 7|add:7 }}{% debug %}",
    "'; DROP TABLE shop_user; --",
    '=HYPERLINK("http://x.example")',
    "../../../../etc/passwd",
    "%00%0d%0aSet-Cookie: a=b",
    "line\r\nBcc: x@y.example",
    "x" * 5000,
    "ß" * 300,
    "\N{FAMILY}" * 50,
    "[]",
    "{}",
    "[[[1e999, null]]]",
    '[[["1", {}]]]',
    "null",
    "true",
    "2026-02-30",
    "0000-00-00",
    "9999-12-31T23:59",
    "2026-11-25 99:99",
    "123456789012345678901234567890.123456789",
    "1,234.56",
    "−5 mm",
    "L1",
    "L999",
    "T-0001",
]


@dataclass
class FoundForm:
    """A form as it stands on a page: where it goes, and what each field offers."""

    action: str
    method: str
    fields: dict[str, list[str]] = field(default_factory=dict)


class Forms(HTMLParser):
    """Collects the forms of a page, and what htmx posts beside them."""

    def __init__(self, here: str):
        super().__init__()
        self.here, self.found, self.open, self.select = here, [], None, ""

    def handle_starttag(self, tag, attrs):
        said = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.open = FoundForm(said.get("action") or self.here, said.get("method", "get").lower())
            self.found.append(self.open)
        elif said.get("hx-post"):
            self.found.append(FoundForm(said["hx-post"], "post"))
        if self.open is None:
            return
        if tag in ("input", "textarea", "select", "button") and said.get("name"):
            self.open.fields.setdefault(said["name"], []).append(said.get("value", ""))
            self.select = said["name"] if tag == "select" else self.select
        elif tag == "option" and self.select:
            self.open.fields[self.select].append(said.get("value", ""))

    def handle_endtag(self, tag):
        if tag == "form":
            self.open = None
        elif tag == "select":
            self.select = ""


def forms_of(html: str, here: str) -> list[FoundForm]:
    reader = Forms(here)
    reader.feed(html)
    return [form for form in reader.found if form.method == "post"]


def typed(form: FoundForm, chance: random.Random) -> dict[str, list[str] | str]:
    """Return what is sent: most fields as offered, some hostile, some missing, twice, or never asked for."""
    sent = {}
    share = chance.choice((0.1, 0.4, 1.0))
    for name, offered in form.fields.items():
        roll = chance.random()
        if roll < 0.05:
            continue
        value = chance.choice(STRINGS) if chance.random() < share else chance.choice(offered)
        sent[name] = [value, chance.choice(STRINGS)] if roll > 0.95 else value
    if chance.random() < 0.1:
        sent[chance.choice(("revision", "pk", "is_active", "role", "once", "next", "x\x00", "ü" * 50))] = chance.choice(
            STRINGS
        )
    return sent
