"""What changes to a boat mean: the statement that the customer initials and signs, as data with its version.

A change of a sentence is a new VERSION; a paper keeps the text that was signed.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from .facts import PaperFacts
from .figures import bound, counted, day, for_left_edge, for_right_edge, trimmed, with_unit
from .parts import parts_of
from .places import Openings, openings_of

Document = Mapping[str, Any]


@dataclass(frozen=True)
class Context:
    """What the sentences are about."""

    facts: PaperFacts
    sheet: Document
    estimate: Document
    openings: Openings

    @property
    def codes(self) -> set[str]:
        return {caution["code"] for caution in self.estimate.get("cautions", ())}


def warranty(about: Context) -> str:
    return (
        "Drilling, cutting and fitting may end or limit the hull maker's warranty for what they touch. "
        "The hull maker decides, and I may ask before I agree."
    )


def shown(about: Context) -> str:
    openings = about.openings
    if not openings.known:
        return "Each opening is shown to me, with its place and size, before it is made, and not without my initials."
    if not openings.count:
        return "No opening is made in the boat. None is added without my yes."
    return (
        "I was shown the place and size of each opening on the list, and I agree to them. "
        f"There are {openings.count_words}. None is added without my yes."
    )


def not_undone(about: Context) -> str:
    if about.openings.known and not about.openings.count:
        return ""
    return "An opening cannot be undone. Where one is closed again, the plug or weld shows."


def capacity(about: Context) -> str:
    added = about.estimate.get("weights", {}).get("added_in_use_kg")
    rated = about.sheet["hull"].get("rated_load_kg")
    aboard = [*(about.sheet.get("people") or ()), *(about.sheet.get("gear") or ())]
    weights = ", ".join(f"{one['name']} {trimmed(one['mass_kg'], 1, 'kg')}" for one in aboard)
    given = f"I gave these weights: {weights}. " if weights else ""
    parts = f"The parts add {with_unit(added, 1, 'kg')}. " if added is not None else ""
    rating = (
        f"The shop does not raise the hull maker's rated load of {trimmed(rated, 1, 'kg')}."
        if rated
        else "The hull maker's rated load is not known, and the shop does not set one."
    )
    return f"{given}{parts}{rating} How much the boat carries, people and gear included, is my duty."


def floats(about: Context) -> str:
    basis = "rest on a float test" if about.sheet["hull"].get("float_test") else "are estimates without a float test"
    return f"The boat sits lower and may trim differently. The figures that I was shown {basis}."


def battery(about: Context) -> str:
    if "lithium_care" in about.codes:
        return (
            "I charge the lithium battery ashore, out of the boat, above 0 °C, with its own charger, and keep it "
            "strapped down and dry. The battery maker's instructions come first."
        )
    if about.estimate.get("power"):
        return "Charging, fastening and care of the battery are my duty. The battery maker's instructions come first."
    return ""


def local_law(about: Context) -> str:
    return (
        "Lights, registration, safety equipment, and how the boat is carried on a road are my duty under the law of "
        "the place."
    )


def cure(about: Context) -> str:
    if "cure_before_float" not in about.codes:
        return ""
    return "I keep the boat off the water until the time on its tag."


def old_hull(about: Context) -> str:
    if not about.sheet["hull"].get("old"):
        return ""
    return "The hull is old, and old plastic may crack when it is worked. I accept that risk at the places listed."


def own_parts(about: Context) -> str:
    if not any(line.get("supplied_by") == "customer" for line in about.sheet.get("lines", ())):
        return ""
    return "Parts that I brought are fitted as they are. The shop answers for the fitting, not for the parts."


def workmanship(about: Context) -> str:
    days = about.facts.workmanship_days
    span = f"for {counted(days, 'day')}" if days else "for the time that the law of the place gives"
    return (
        f"The shop answers for its own work {span}: its openings, seals, wiring and fixings. It does not answer for "
        "impact, neglect, wear, or work by others."
    )


def rights(about: Context) -> str:
    return "Nothing here takes away a right that the law of the place gives me."


class Disclaimer:
    """The default text. Each clause returns its sentences, or nothing where the ticket does not call for it."""

    VERSION = "1"
    TITLE = "What changes to the boat mean"
    OPENING = "Put your initials to each line. Ask about any that you do not agree with, before you sign."
    TEMPLATE = "This text is a template, to be checked by a licensed adviser for the shop's place before it is used."
    CLAUSES: tuple[Callable[[Context], str], ...] = (
        warranty,
        shown,
        not_undone,
        capacity,
        floats,
        battery,
        local_law,
        cure,
        old_hull,
        own_parts,
        workmanship,
        rights,
    )


@dataclass(frozen=True)
class Statement:
    """The text as one customer signs it."""

    version: str
    title: str
    opening: str
    clauses: tuple[tuple[int, str], ...]
    template: str


def clauses_of(about: Context) -> Iterator[str]:
    """Yield the sentences in their order; the shop's own wording stands in its place, its own lines before the last."""
    own = [line.strip() for line in about.facts.texts.get("own", "").splitlines() if line.strip()]
    for clause in Disclaimer.CLAUSES:
        if clause is rights:
            yield from (bound(line) for line in own)
        if text := clause(about):
            yield bound(worded(about.facts, clause.__name__) or text)


def worded(facts: PaperFacts, name: str) -> str:
    """Return the shop's own wording of a text, or nothing where the program's holds."""
    return facts.texts.get(name, "").replace("{days}", counted(facts.workmanship_days, "day"))


def statement_version(facts: PaperFacts) -> str:
    """Return the version of the text: the program's, and the day from which the shop's wording holds."""
    return f"{Disclaimer.VERSION}/{facts.texts_from}" if facts.texts_from else Disclaimer.VERSION


def statement(facts: PaperFacts, sheet: Document, estimate: Document, openings: Openings) -> Statement:
    """Return the statement for a ticket, with the clauses that its sheet and estimate call for."""
    about = Context(facts, sheet, estimate, openings)
    return Statement(
        version=statement_version(facts),
        title=Disclaimer.TITLE,
        opening=Disclaimer.OPENING,
        clauses=tuple(enumerate(clauses_of(about), start=1)),
        template=Disclaimer.TEMPLATE,
    )


def disclaimer_context(facts: PaperFacts, sheet: Document, estimate: Document) -> dict[str, Any]:
    """Return what the template of the statement shows when it is a paper of its own: with the list of openings."""
    openings = openings_of(estimate, parts_of(sheet))
    quote = f" It goes with quote {facts.quote_number or facts.number}." if facts.quote_number or facts.number else ""
    printed = f" Printed {day(facts.issued_at)}." if facts.issued_at else ""
    return {
        "facts": facts,
        "left": for_left_edge(f"{facts.ticket_number}  {facts.title}"),
        "right": for_right_edge(facts.boat_in_short),
        "foot": f"Statement, text version {statement_version(facts)}.{quote}{printed}",
        "openings": openings,
        "statement": statement(facts, sheet, estimate, openings),
    }
