"""A small bench for the tests: from Monday, 30 November 2026, at nine; techs of six hours, Monday to Friday."""

import datetime

from builds.planner.workload import BenchTicket, Stretch, Tech

MONDAY = datetime.datetime(2026, 11, 30, 9)
SIX_HOURS = (360, 360, 360, 360, 360, 0, 0)


def december(day, hour=0, minute=0):
    return datetime.datetime(2026, 12, day, hour, minute)


def tech(name="Tam", week=SIX_HOURS, off=()):
    return Tech(name, name, week, days_off=frozenset(off))


def ticket(key, minutes=180, *, cure_h=0, after_min=0, **given):
    """A ticket of some work, a cure after it, and tests after the cure; `place` follows from the key's last digit."""
    stretches = (Stretch(minutes, 60 * cure_h), *([Stretch(after_min, wet=True)] if after_min else []))
    return BenchTicket(**{"key": key, "place": int(key[-1]), "stretches": stretches, **given})
