"""The words of the trade as this program uses them, where its figures come from, and the method in plain words."""

import ast
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from builds import estimator
from builds.estimator.sources import COMMON_PRACTICE, FROM_MEMORY, POLICY, PUBLISHED, SOURCES

GLOSSARY = {
    "Acceptance": "The customer's yes to one quote, in writing: on the screen, on paper, or by a link.",
    "Accessory type": "A generic part that can be fitted: what it needs, weighs, draws and takes to fit.",
    "Actuals": "The minutes that were worked and what was read at the bench.",
    "Average cost": "What one part on the shelf cost: the weighted average of all that came (IAS 2, from memory).",
    "Build sheet": "Everything that an estimate needs, in one document: boat, lines, people, rates.",
    "Cable cut list": "Each piece of conductor to cut: gauge, colour, length, and the part at each end.",
    "Change order": "What changes after the acceptance, with its price and the customer's consent.",
    "Circuit": "One fuse and every line that it protects.",
    "Come-back": "A boat that returns after the hand-over, kept on its original ticket with the cause.",
    "Cure": "The hours a bead or an adhesive needs before water may reach it; nights count.",
    "Drive battery": "A battery for propulsion only.",
    "Estimate": "What is computed from a build sheet. It is not agreed and not kept until it is quoted.",
    "Floor above water": "How high a self-draining floor lies above the loaded waterline; below 0 it floods.",
    "Fuse schedule": "Every fuse of the boat: rating, colour, and what it protects.",
    "Hand-over sheet": "What the owner takes home: fuses, care, readings, what was not done, the terms.",
    "Hole schedule": "Every opening with its letter, place, bit and seal, in the order of the boat.",
    "House battery": "A battery for everything but propulsion.",
    "Hull record": "This customer's boat, begun from a hull type and corrected by what was measured.",
    "Hull type": "The model of a boat: its main dimensions and stations.",
    "Labour recovery": "How much of the labour that was paid for the quotes brought in.",
    "Line": "One accessory type on a ticket: how many, where, how it is mounted.",
    "Margin": "Gross profit divided by revenue before tax. Mark-up is not margin: it divides by cost.",
    "Old price": "A price of the catalogue older than the owner wants: ask before quoting. It stops nothing.",
    "Opening": "Any drilled hole or cut-out. It cannot be undone, so each is shown and initialled.",
    "Pick list": "What is taken from the store before the work begins, bin by bin.",
    "Price list": "What a supplier asks for each part number; taken into the catalogue whole or not at all.",
    "Quote": "An estimate fixed, numbered and handed over. It stays as it was.",
    "Run": "A length of cable from one place to another.",
    "Station": "A named place on the hull where things are fitted.",
    "Step": "One thing to do at the bench, with one box.",
    "Ticket": "The shop's job: one boat, its lines, its papers, its state.",
    "Trim": "How much deeper the stern floats than the bow.",
    "Work order": "The bench's paper: steps in their order, holes, wiring, tests. No price.",
}
"""Each word with its meaning, in the order of the alphabet."""
OFFICE_ONLY = ("Average cost", "Labour recovery", "Margin", "Price list")

UNITS = ("kg", "mm", "m", "deg", "min", "h", "a", "v", "cm")
KINDS = {
    PUBLISHED: "Published",
    COMMON_PRACTICE: "Common practice, no source",
    FROM_MEMORY: "From memory",
    POLICY: "The shop's own",
}


@dataclass(frozen=True)
class Cited:
    """A source, and the parts of the method that use it."""

    title: str
    where: str
    kind: str
    used_by: tuple[str, ...]


@cache
def sources_cited() -> tuple[Cited, ...]:
    """Return every source of the estimator with what uses it, published ones first."""
    used = users_of_sources()
    cited = [
        Cited(
            source.title,
            ", ".join(filter(None, (source.section, source.year))),
            KINDS[source.kind],
            tuple(sorted(used[key])),
        )
        for key, source in SOURCES.items()
    ]
    order = list(KINDS.values())
    return tuple(sorted(cited, key=lambda one: (order.index(one.kind), one.title)))


def users_of_sources() -> dict[str, set[str]]:
    """Return for each source the modules of the estimator that name it, as words."""
    used: dict[str, set[str]] = defaultdict(set)
    for path in sorted(Path(estimator.__file__).parent.glob("*.py")):
        if path.stem == "sources":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and node.value in SOURCES:
                used[str(node.value)].add(path.stem.replace("_", " "))
    return used


def spoken(figure: str) -> str:
    """Return a figure's path as words: `weights.added_dry_kg` is "added dry, kg"."""
    *names, last = figure.partition(".")[2].replace(".", "_").split("_")
    return " ".join(names) + f", {last}" if last in UNITS and names else " ".join([*names, last])


@dataclass(frozen=True)
class Chapter:
    """A part of the method: its heading, what it does in plain words, and the figures that it gives."""

    heading: str
    words: str
    figures: str


CHAPTERS = (
    Chapter(
        "Weights",
        "What is aboard is added up where it lies. The load is held against the maker's rating, which the shop never "
        "raises. Without a rating no share is guessed.",
        "weights.",
    ),
    Chapter(
        "Afloat",
        "The hull is a form with the boat's length, beam and depth. It sinks and tips until it displaces its own mass "
        "and balances. Without a float test every figure has a band; a draft read afloat makes it narrow.",
        "flotation.",
    ),
    Chapter(
        "Openings",
        "Each hole's lowest edge is held against the water, at the worst of the band. Below the water nothing is "
        "drilled unless the part is made for it.",
        "openings.",
    ),
    Chapter(
        "Power",
        "A conductor is thick enough for its drop and for its heat. A fuse carries what it feeds and protects the "
        "conductor. The day's plan is taken from what the battery really gives.",
        "power.",
    ),
    Chapter(
        "Labour",
        "A type's minutes are split over its phases. Set-up is spent once a phase, a further unit takes less, and each "
        "adds a spread: the percentile you quote comes from all of them together.",
        "labour.",
    ),
    Chapter(
        "Ready day",
        "The steps are put into the hours that agreed tickets leave at the bench, when the parts are here; days off "
        "count, and what cures keeps nobody. The minutes suffice for as many of such jobs as you quote for. The week "
        "has the ticket ready on that day.",
        "ready.",
    ),
    Chapter(
        "Consumables",
        "Sealant by the length of its bead, ties and conductor by the run, fuses one fitted and one spare. Charged by "
        "use, bought in packs.",
        "consumables.",
    ),
    Chapter(
        "Price",
        "Parts by their price or by the mark-up scale, labour by the quoted minutes, tax by kind. Margin is gross "
        "profit divided by revenue before tax.",
        "price.",
    ),
)
