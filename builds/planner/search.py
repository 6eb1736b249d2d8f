"""Sequences of tickets: by rule, and bettered by moving one ticket, or a part of one, at a time."""

import random
from collections.abc import Iterator, Sequence

from .placing import Bench, Draft, Portion
from .workload import DAY_MIN, BenchTicket

PLACINGS = 24_000
"""How many stretches a search places at most: the bound of its time."""
DEALT_SEED, DEALT = 1, 600
"""Which sequences are dealt beside those by rule, the same ones each time, and how many."""
HURT_MOST = 1
"""How many tickets every draft is bettered by before the best are looked at closely."""


def found(bench: Bench, placings: int = PLACINGS) -> Draft:
    """Return the best draft of the rules and the dealt ones, bettered: each by its tickets that hurt most, then by all.

    Where days were promised and the order of acceptance keeps every one, its draft is taken as it is: nobody's week
    changes for a ticket that comes later. Where it does not, a day that it keeps stays kept. Every tie goes by the
    order of acceptance.
    """
    told = bench.built(as_accepted(bench))
    if told and any(ticket.promised_on for ticket in bench.tickets):
        if told.cost[:3] == (0, 0, 0):
            return told
        bench.keep_days_of(told)
    made = [bench.built(sequence) for sequence in by_rule(bench)]
    drafts = sorted((draft for draft in made if draft), key=lambda draft: draft.cost)
    drafts = [*dealt(bench, drafts[0], placings // 3), *drafts]
    for looked_at in (HURT_MOST, len(bench.tickets)):
        drafts = [bettered(bench, draft, looked_at, placings) for draft in drafts]
        drafts.sort(key=lambda draft: draft.cost)
    return drafts[0]


def as_accepted(bench: Bench) -> list[Portion]:
    """Return the tickets in the order of acceptance."""
    return in_order(bench, range(len(bench.tickets)))


def by_rule(bench: Bench) -> list[list[Portion]]:
    """Return the sequences by rule, each once.

    By the day that is due, by slack, by the longest tail (what has to cure longest begins first), by the longest work
    with its tail, by the day on which parts are here, by the least work, by acceptance. Rules of list scheduling
    (Jackson 1955, Graham 1966), from memory.
    """
    tickets, every = bench.tickets, range(len(bench.tickets))
    due = [min(bench.float_day[i], bench.promised_day[i]) for i in every]
    tail = [tail_of(ticket) for ticket in tickets]
    work = [ticket.minutes for ticket in tickets]
    rules: list[list[tuple[int, ...]]] = [
        [(due[i],) for i in every],
        [(due[i] * DAY_MIN - tail[i] - work[i],) for i in every],
        [(-tail[i],) for i in every],
        [(-tail[i] - work[i],) for i in every],
        [(bench.earliest[i], -tail[i] - work[i]) for i in every],
        [(work[i],) for i in every],
        [(0,) for i in every],
    ]
    sequences: list[list[Portion]] = []
    for rule in rules:
        sequence = in_order(bench, sorted(every, key=lambda i: (rule[i], i)))
        if sequence not in sequences:
            sequences.append(sequence)
    sequences.append(by_what_follows(bench))
    return sequences


def dealt(bench: Bench, best: Draft, placings: int) -> list[Draft]:
    """Return the best of sequences that are dealt like cards, always the same ones, where one beats the rules.

    The rules share their blind spots; what is dealt shares none of them.
    """
    cards = random.Random(DEALT_SEED)
    counts = [len(ticket.stretches) for ticket in bench.tickets]
    turns = [i for i, count in enumerate(counts) for _ in range(max(1, count))]
    found: list[Draft] = []
    for _ in range(DEALT):
        if bench.placings >= placings:
            break
        cards.shuffle(turns)
        given = {i: cards.choice(may) for i, may in enumerate(bench.may) if len(may) > 1}
        done = [0] * len(counts)
        sequence: list[Portion] = []
        for i in sorted(turns, key=lambda i: bench.group[i]):
            sequence.append((i, done[i], min(done[i] + 1, counts[i])))
            done[i] += 1
        sequence = joined(sequence)
        if keeps(bench, sequence) and (draft := bench.built(sequence, given, best.cost)) and draft.cost < best.cost:
            best, found = draft, [draft]
    return found


def by_what_follows(bench: Bench) -> list[Portion]:
    """Return the stretches of all tickets, those after which most cure and work follows first."""
    portions = [
        (bench.group[i], -rest, i, first)
        for i, ticket in enumerate(bench.tickets)
        for first, rest in enumerate(what_follows(ticket) or [0])
    ]
    counts = [len(ticket.stretches) for ticket in bench.tickets]
    sequence = joined([(i, first, min(first + 1, counts[i])) for *_, i, first in sorted(portions)])
    if keeps(bench, sequence):
        return sequence
    return in_order(bench, [i for *_, i, first in sorted(portions) if first == 0])


def what_follows(ticket: BenchTicket) -> list[int]:
    """Return what cures and is worked after the begin of each stretch, by one tech without a break [min]."""
    rests: list[int] = []
    for first in range(len(ticket.stretches)):
        at = cured = 0
        for stretch in ticket.stretches[first:]:
            at = (max(at, cured) if stretch.wet else at) + stretch.minutes
            cured = max(cured, at + stretch.cure_min)
        rests.append(max(at, cured))
    return rests


def tail_of(ticket: BenchTicket) -> int:
    """Return what of a ticket comes after its bench work: the longest cure and the wet tests [min]."""
    cure = max((stretch.cure_min for stretch in ticket.stretches), default=0)
    return cure + sum(stretch.minutes for stretch in ticket.stretches if stretch.wet)


def in_order(bench: Bench, wished: Sequence[int]) -> list[Portion]:
    """Return whole tickets in a wished order, changed as little as groups and held pairs ask."""
    left = sorted(wished, key=lambda i: bench.group[i])
    sequence: list[Portion] = []
    done: set[int] = set()
    while left:
        following = next(i for i in left if done.issuperset(bench.behind[i]))
        left.remove(following)
        sequence.append((following, 0, len(bench.tickets[following].stretches)))
        done.add(following)
    return sequence


def keeps(bench: Bench, sequence: Sequence[Portion]) -> bool:
    """Return whether tickets begin in the order of their groups and held pairs, and go on in their own order."""
    done: dict[int, int] = {}
    last = 0
    for i, first, until in sequence:
        if first != done.get(i, 0):
            return False
        if first == 0:
            if bench.group[i] < last or not all(j in done for j in bench.behind[i]):
                return False
            last = bench.group[i]
        done[i] = until
    return True


def bettered(bench: Bench, best: Draft, looked_at: int, placings: int) -> Draft:
    """Take the first move of so many tickets that betters a draft, until none does or so much was placed."""
    better = True
    while better:
        better = False
        for sequence, given in moves(bench, best, looked_at):
            if bench.placings >= placings:
                return best
            draft = bench.built(sequence, given, best.cost)
            if draft and draft.cost < best.cost:
                best, better = draft, True
                break
    return best


def moves(bench: Bench, draft: Draft, looked_at: int) -> Iterator[tuple[list[Portion], dict[int, int]]]:
    """Yield a draft's neighbours, what hurts most first: another tech, another place, then parts of tickets."""
    order = by_hurt(bench, draft)[:looked_at]
    for i in order:
        place = draft.places[i]
        for tech in bench.may[i] if place and len(bench.may[i]) > 1 else ():
            if place and tech != place.tech:
                yield draft.sequence, {**draft.given, i: tech}
                for j in order:
                    other = draft.places[j]
                    if other and other.tech == tech and place.tech in bench.may[j]:
                        yield draft.sequence, {**draft.given, i: tech, j: place.tech}
        given = {key: tech for key, tech in draft.given.items() if key != i}
        for sequence in moved(bench, draft.sequence, i, 0, len(bench.tickets[i].stretches)):
            yield sequence, given
    for i in order:
        count = len(bench.tickets[i].stretches)
        for cut in range(1, count):
            for sequence in moved(bench, draft.sequence, i, cut, count):
                yield sequence, draft.given
            for sequence in moved(bench, draft.sequence, i, 0, cut):
                yield sequence, draft.given


def moved(bench: Bench, sequence: list[Portion], i: int, first: int, last: int) -> Iterator[list[Portion]]:
    """Yield a sequence with some stretches of a ticket together in another place, the earlier places first."""
    rest: list[Portion] = []
    for portion in sequence:
        j, begin, end = portion
        if j != i:
            rest.append(portion)
            continue
        if begin < first:
            rest.append((i, begin, min(end, first)))
        if end > last:
            rest.append((i, max(begin, last), end))
    for at in range(len(rest) + 1):
        changed = joined([*rest[:at], (i, first, last), *rest[at:]])
        if changed != sequence and keeps(bench, changed):
            yield changed


def joined(sequence: list[Portion]) -> list[Portion]:
    """Return a sequence with portions of one ticket that follow each other made one."""
    whole: list[Portion] = []
    for portion in sequence:
        if whole and whole[-1][0] == portion[0] and whole[-1][2] == portion[1]:
            whole[-1] = (portion[0], whole[-1][1], portion[2])
        else:
            whole.append(portion)
    return whole


def by_hurt(bench: Bench, draft: Draft) -> list[int]:
    """Return the tickets, those without a place first, then by days late, then by finish, the last first."""

    def hurt(i: int) -> tuple[int, ...]:
        place = draft.places[i]
        if place is None:
            return -1, 0, 0, 0
        late, broken = bench.days_late(i, place.finish)
        return 0, -late, -broken, -place.finish

    return sorted(range(len(bench.tickets)), key=lambda i: (hurt(i), i))
