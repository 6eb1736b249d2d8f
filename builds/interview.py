"""What each answer of the interview did: to the build sheet, to the cautions, to the catalogue."""

from collections.abc import Iterator

from builds.answers import Answers
from builds.estimator.estimate import Estimate
from builds.models import Interview, Ticket
from builds.suiting import asked_of, reasons_against, records
from shop import units

# The cautions that follow from each question; the first question that has a caution's code says it.
CODES = {
    "paddler": ("capacity_exceeded", "capacity_high", "does_not_fit", "deck_awash", "deck_low"),
    "water": (),
    "hours_dark": ("dark_without_light", "lights_after_dark"),
    "hours_afloat": ("energy_short", "energy_marginal"),
    "motor": ("motor_later", "motor_duties"),
    "transport": ("overhang", "lift_heavy"),
    "storage": ("frost_battery", "lithium_care"),
    "battery_now": ("battery_brought",),
    "holes": ("holes_unwanted",),
    "own_parts": ("own_parts_unlisted", "customer_parts"),
    "float_by": ("ready_too_late",),
}


def effects(ticket: Ticket, answers: Answers, units_of: str) -> dict[str, list[str]]:
    """Return, by question, what its answer changed; a question that was not answered has nothing."""
    asked = asked_of(ticket)
    said = {name: list(words) for name, words in changes(ticket, asked, answers.estimate, units_of)}
    severities = {one.caution.code: one.word for one in reversed(answers.warned)}
    for name, codes in CODES.items():
        words = [severities[code] for code in codes if code in severities]
        if answered(asked, name) and words:
            # The sentence stands beside the questions; here it would move them when it comes and goes.
            said.setdefault(name, []).append(f"{' and '.join(dict.fromkeys(words))} beside.")
    return said


def answered(asked: Interview | None, name: str) -> bool:
    if name in ("paddler", "water"):
        return True
    return asked is not None and getattr(asked, name) not in (None, "", [])


def changes(ticket: Ticket, asked: Interview | None, found: Estimate, system: str) -> Iterator[tuple[str, list[str]]]:
    """Yield the answers that change the build sheet or narrow the catalogue, each with what it does in words."""
    weights = found.weights
    load = units.format_mass(weights.load_kg, system)
    rated = ticket.hull.rated_load_kg
    yield "paddler", [f"Load {load}" + (f" of {units.format_mass(rated, system)}." if rated else ", no rating known.")]
    yield "hull_type", [narrowed(ticket, Interview(), "not made for this craft")]
    if asked is None:
        return
    if asked.hours_afloat or asked.hours_dark:
        spells = " and ".join(f"{spell.hours:g}{units.THIN}h {spell.name}" for spell in found.sheet.day_plan)
        yield "hours_afloat", [f"The battery day is {spells}." if spells else "The battery day is as it was written."]
    if asked.motor == Interview.Motor.NO:
        yield "motor", [narrowed(ticket, Interview(motor="no"), "motors")]
    if asked.holes == Interview.Holes.NONE:
        yield "holes", [narrowed(ticket, Interview(holes="none"), "they need a hole")]
    if asked.side:
        yield "side", [f"New parts go to {asked.get_side_display()} first."]
    if asked.uses:
        yield "uses", ["The bundles for it come first."]
    if asked.approver:
        number = f" on {asked.approver_phone}" if asked.approver_phone else ""
        yield "approver", [f"Change orders ask {asked.approver}{number}."]


def narrowed(ticket: Ticket, asked: Interview, why: str) -> str:
    """Return how many types of the catalogue come last for one answer."""
    known = records()
    against = sum(1 for record in known.values() if reasons_against(record, ticket.hull, asked))
    return f"{against} of {len(known)} part types come last: {why}."
