"""Parts at the bench: one that is missing stops its line, until it is here; the customer's own are looked over."""

import datetime

from builds import bench, parts, stock
from builds.actions.ground import Refused, acting, require
from builds.actions.shelf import counter_entry, locked, move, note
from builds.actions.work import minutes_since, worked
from builds.models import ClockMark, Line, Movement, Need, OwnPart, PartFound, PartMissing, Ticket
from shop import clock
from shop.once import new_token

LARGEST_COUNT = 999


def miss_part(
    actor, ticket: Ticket, *, line_key: str, words: str, key: str, quantity: int = 1, step: int | None = None
) -> PartMissing:
    """Write down that a part is not there: its line stands still, every clock on the ticket stops.

    Where the count had it, it goes off the count: that is how the order list hears of it.
    """
    require(actor, "miss_part")
    if known := PartMissing.objects.filter(key=key).first():
        return known
    if not words.strip():
        raise Refused("A few words are missing: what is not there, and where you looked.")
    if not 1 <= quantity <= LARGEST_COUNT:
        raise Refused(f"How many is a whole number from 1 to {LARGEST_COUNT}.")
    said = {"line": line_key, "quantity": quantity, "step": step}
    with acting(actor, ticket, "miss_part", "miss part", why=words, said=said) as changed:
        if known := PartMissing.objects.filter(key=key).first():
            return known
        line = line_of(changed, line_key)
        if stock.open_missing().filter(ticket=changed, line_key=line_key).exists():
            raise Refused(f"The ticket waits for {line.accessory.name} already.")
        need, movement = Need.objects.filter(ticket=changed, line_key=line_key, used=False).first(), None
        if need is not None:
            movement = take_off_the_count(actor, changed, need, min(quantity, line.quantity), words.strip())
        stop_clocks(changed, step)
        missing = PartMissing.objects.create(
            ticket=changed,
            by=actor,
            at=clock.now(),
            key=key,
            line_key=line_key,
            item=need.item if need else None,
            name=line.accessory.name,
            quantity=quantity,
            step=step,
            words=words.strip(),
            movement=movement,
        )
        stock.moved()
    return missing


def line_of(ticket: Ticket, key: str) -> Line:
    line = ticket.lines.select_related("accessory").filter(key=key).first()
    if line is None or line.supplied_by == Line.SuppliedBy.ALREADY_FITTED:
        raise Refused("That part is not on the ticket. Look at its parts again.")
    return line


def take_off_the_count(actor, ticket: Ticket, need: Need, quantity: int, words: str) -> Movement | None:
    """Write the entry that takes what the ticket held, and is not there, off the count; nothing where it held none."""
    items = locked([need.item_id])
    standing = stock.standings(items.values())[need.item_id]
    mine = (
        one.held for one in standing.needs if one.need.ticket_id == ticket.pk and one.need.line_key == need.line_key
    )
    gone = min(sum(mine, stock.NOTHING), quantity)
    if not gone:
        return None
    why = f"missing at the bench, {ticket.number}: {words}"[:300]
    entry = move(actor, items[need.item_id], Movement.Kind.COUNTED, -gone, why=why, ticket=ticket)
    note(actor, "miss part", entry)
    return entry


def stop_clocks(ticket: Ticket, n: int | None) -> None:
    """Stop everyone's clock on the ticket; what ran goes to the step at which the part is missing, or the next one."""
    running = [mark for mark in latest_marks(ticket).values() if mark.running]
    if not running:
        return
    steps, now = bench.steps_of(ticket), clock.now()
    step = next((one for one in steps if one.n == n), None) or bench.next_step(steps)
    for mark in running:
        minutes = minutes_since(mark.by, ticket, now)
        if minutes and step is not None:
            worked(mark.by, ticket, step.said, minutes, now)
        ClockMark.objects.create(ticket=ticket, by=mark.by, at=now, key=new_token(), running=False)


def latest_marks(ticket: Ticket) -> dict[int, ClockMark]:
    """Return the latest mark of each person's clock on the ticket."""
    return {mark.by_id: mark for mark in ClockMark.objects.filter(ticket=ticket).select_related("by")}


def find_part(actor, ticket: Ticket, missing: PartMissing, *, how: str, words: str = "") -> PartFound:
    """End a wait: the part was here after all, and is on the count again, or the matter was solved in another way."""
    require(actor, "find_part")
    if how not in (PartFound.How.FOUND, PartFound.How.OTHER):
        raise Refused("Say whether it was here after all, or how it was solved.")
    if how == PartFound.How.OTHER and not words.strip():
        raise Refused("How it was solved is missing. Write it in a few words.")
    said = {"part": missing.name, "how": how}
    with acting(actor, ticket, "find_part", "find part", why=words, said=said) as changed:
        missing = stock.open_missing().filter(pk=missing.pk, ticket=changed).first()
        if missing is None:
            raise Refused("That wait has ended already.")
        if how == PartFound.How.FOUND and missing.movement_id:
            put_back(actor, missing)
        found = PartFound.objects.create(missing=missing, how=how, words=words.strip(), at=clock.now(), by=actor)
        stock.moved()
    return found


def put_back(actor, missing: PartMissing) -> None:
    """Put on the count again what was taken off it, unless someone did."""
    items = locked([missing.item_id])
    if not Movement.objects.filter(takes_back=missing.movement).exists():
        entry = counter_entry(actor, items[missing.item_id], missing.movement, f"found, {missing.ticket.number}")
        note(actor, "find part", entry)


def record_own_part(
    actor,
    ticket: Ticket,
    *,
    line_key: str,
    condition: str,
    powered: str = OwnPart.Powered.NOT_TRIED,
    received_on: datetime.date | None = None,
    reading: str = "",
    note: str = "",
) -> OwnPart:
    """Write down how a part of the customer's own came, in which condition, and whether it ran on the bench."""
    require(actor, "record_own_part")
    if condition not in OwnPart.Condition.values or powered not in OwnPart.Powered.values:
        raise Refused("Say in which condition the part is, and whether it was powered.")
    if condition == OwnPart.Condition.MISSING and powered != OwnPart.Powered.NOT_TRIED:
        raise Refused("A part that is not here cannot have been powered.")
    if received_on and received_on > clock.today():
        raise Refused("The day on which it was received lies ahead.")
    if condition != OwnPart.Condition.MISSING and received_on is None:
        received_on = clock.today()
    said = {"line": line_key, "condition": condition, "powered": powered, "reading": reading}
    with acting(actor, ticket, "record_own_part", "look over own part", why=note, said=said) as changed:
        if not parts.is_own(line_of(changed, line_key)):
            raise Refused("That part is not the customer's own.")
        own = OwnPart.objects.create(
            ticket=changed,
            line_key=line_key,
            received_on=received_on,
            condition=condition,
            powered=powered,
            reading=reading.strip(),
            note=note.strip(),
            at=clock.now(),
            by=actor,
        )
        stock.moved()
    return own
