"""Work at the bench: steps ticked and taken back, the clock, minutes worked, tests, the checked boat."""

import datetime

from builds import bench, parts, stock
from builds.actions import holding, hulls
from builds.actions.ground import Refused, acting, require
from builds.models import BenchReading, ClockMark, Found, StepMark, Ticket, WorkEntry
from shop import clock

LONGEST_SPELL_MIN = 240.0
"""A clock that ran on over lunch or the night counts no longer than this towards one step."""
OLDEST_SENT = datetime.timedelta(hours=24)


def record_work(
    actor,
    ticket: Ticket,
    *,
    phase: str,
    minutes: float,
    line_key: str = "",
    accessory_code: str = "",
    operation_code: str = "",
    revision: int | None = None,
) -> WorkEntry:
    """Write down minutes that the tech worked in one phase."""
    said = {
        "phase": phase,
        "minutes": minutes,
        "line_key": line_key,
        "accessory_code": accessory_code,
        "operation_code": operation_code,
    }
    with acting(actor, ticket, "record_work", "record work", revision, said=said) as changed:
        changed.tech = changed.tech or actor
        return WorkEntry.objects.create(ticket=changed, tech=actor, at=clock.now(), **said)


def mark_step(
    actor,
    ticket: Ticket,
    n: int,
    *,
    done: bool,
    key: str,
    reading: str = "",
    sent_at: datetime.datetime | None = None,
) -> StepMark:
    """Tick a step of the latest work order, or take its tick back; a mark that is sent again counts once.

    Where the person's clock runs, the minutes since the last mark go to the step. Raises Refused for a step that may
    not be done yet.
    """
    require(actor, "record_work")
    if known := StepMark.objects.filter(key=key).first():
        return known
    step = next((step for step in bench.steps_of(ticket) if step.n == n), None)
    if step is None:
        raise Refused("That step is not on the latest work order. Look at the steps again.")
    if done and step.locked:
        raise Refused(step.locked)
    at = moment_of(sent_at)
    said = {"step": n, "text": step.said["text"], "done": done, "reading": reading}
    with acting(actor, ticket, "record_work", "tick step" if done else "take step back", said=said) as changed:
        if known := StepMark.objects.filter(key=key).first():
            return known
        changed.tech = changed.tech or actor
        minutes = minutes_since(actor, changed, at) if done else 0.0
        if minutes:
            worked(actor, changed, step.said, minutes, at)
        return StepMark.objects.create(
            ticket=changed, by=actor, at=at, key=key, step=step.name, n=n, done=done, reading=reading.strip()
        )


def moment_of(sent_at: datetime.datetime | None) -> datetime.datetime:
    """Return when a mark was made: the phone's own time where it waited to be sent, within a day; else now."""
    now = clock.now()
    return sent_at if sent_at and now - OLDEST_SENT <= sent_at <= now else now


def worked(actor, ticket: Ticket, step, minutes: float, at: datetime.datetime) -> None:
    line = ticket.lines.select_related("accessory").filter(key=step["line"]).first()
    WorkEntry.objects.create(
        ticket=ticket,
        tech=actor,
        at=at,
        phase=step["phase"],
        minutes=minutes,
        line_key=line.key if line else "",
        accessory_code=line.accessory.code if line else "",
        operation_code="" if line else step["line"],
    )


def minutes_since(actor, ticket: Ticket, at: datetime.datetime) -> float:
    """Return the minutes since the person's last mark on the ticket, or nothing while the clock does not run."""
    started = ClockMark.objects.filter(ticket=ticket, by=actor).last()
    if started is None or not started.running:
        return 0.0
    last = StepMark.objects.filter(ticket=ticket, by=actor, at__gte=started.at).last()
    spell = (at - (last.at if last else started.at)).total_seconds() / 60
    return min(max(0.0, spell), LONGEST_SPELL_MIN)


def set_clock(actor, ticket: Ticket, *, running: bool, key: str, sent_at: datetime.datetime | None = None) -> ClockMark:
    """Start or stop a person's clock on a ticket; what ran since the last tick goes to the next open step."""
    if known := ClockMark.objects.filter(key=key).first():
        return known
    at = moment_of(sent_at)
    name = "start clock" if running else "stop clock"
    with acting(actor, ticket, "record_work", name, said={"running": running}) as changed:
        changed.tech = changed.tech or actor
        minutes = 0.0 if running else minutes_since(actor, changed, at)
        step = bench.next_step(bench.steps_of(changed)) if minutes else None
        if step is not None:
            worked(actor, changed, step.said, minutes, at)
        return ClockMark.objects.create(ticket=changed, by=actor, at=at, key=key, running=running)


def record_test(
    actor,
    ticket: Ticket,
    *,
    test: str,
    line: str,
    key: str,
    figure: float | None = None,
    verdict: str = "",
    note: str = "",
    load_kg: float | None = None,
) -> BenchReading:
    """Write down what a test came to. A figure with limits gives the verdict itself; one left out needs a reason.

    A draft read with a load aboard [kg] becomes the boat's float test, by which it is floated from then on.
    """
    require(actor, "record_test")
    if known := BenchReading.objects.filter(key=key).first():
        return known
    row = next((one for one in bench.tests_of(ticket) if (one.kind.word, one.row.line) == (test, line)), None)
    if row is None:
        raise Refused("That test is not on the latest work order. Look at the tests again.")
    verdict = bench.verdict_of(row.row, figure) or verdict
    if verdict not in BenchReading.Verdict.values:
        raise Refused("Say whether it passed, failed or is left out.")
    if row.locked and verdict != BenchReading.Verdict.SKIPPED:
        raise Refused(row.locked)
    if verdict == BenchReading.Verdict.SKIPPED and not note.strip():
        raise Refused("Why the test is left out is missing. Write it in a few words.")
    floats = test == "float_and_trim" and figure is not None and load_kg is not None
    sheet = bench.agreed_sheet(ticket) if floats else None
    said = {"test": test, "line": line, "figure": figure, "verdict": verdict}
    with acting(actor, ticket, "record_test", "record test", why=note, said=said) as changed:
        if sheet is not None and figure is not None and load_kg is not None:
            hulls.keep_float_test(actor, changed, sheet, figure / 1000, load_kg)
        return BenchReading.objects.create(
            ticket=changed,
            by=actor,
            at=clock.now(),
            key=key,
            test=test,
            line=line,
            figure=figure,
            verdict=verdict,
            note=note.strip(),
        )


def check(actor, ticket: Ticket, *, why: str = "", revision: int | None = None) -> Ticket:
    """Say that the boat is checked. Steps that are not ticked need a written reason; open questions an answer."""
    require(actor, "check")
    if question := Found.objects.filter(ticket=ticket, answer=None).first():
        raise Refused(f"The counter has not answered yet: {question.words}")
    left = [step for step in bench.steps_of(ticket) if not step.done]
    if left and not why.strip():
        raise Refused(f"{len(left)} steps are not ticked, the first is step {left[0].n}. Tick them, or write why not.")
    if missing := stock.open_missing().filter(ticket=ticket).first():
        raise Refused(f"{parts.waits_words(missing)} Say that it is here, or take it off by a change order.")
    with acting(actor, ticket, "check", "check", revision, why) as changed:
        holding.use(actor, changed)
    return changed
