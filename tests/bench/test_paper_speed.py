"""A work order costs little more than the library that lays it out, and grows with its steps.

Processor time of this process and of the printers, as ratios within one run, so that a slow machine fails nobody. `-s`
shows the figures of a run. Measured when this was written, on two busy cores: 300 steps 2.6 s, 30 steps 0.7 s.
"""

import ctypes
import os
import time

import pytest
import weasyprint

from builds.documents import html_of, work_order_pdf
from shop.printer import STATIC
from shop.printing import printers_of
from tests.builds import hand_made
from tests.builds.printed import estimate_of

MOST_OVER_THE_LIBRARY, MOST_TEN_TIMES, TRIES = 1.15, 14.0, 3


def least_s(work, count: int = TRIES) -> float:
    tries = []
    for _ in range(count):
        before = processor_s()
        work()
        tries.append(processor_s() - before)
    return min(tries)


def processor_s() -> float:
    """Return the processor time of this process and of its printers, of these by the clocks that POSIX gives them."""
    spent, clock = time.process_time(), ctypes.c_int()
    for printer in printers_of(os.getpid()).free:
        assert ctypes.CDLL(None).clock_getcpuclockid(printer.process.pid, ctypes.byref(clock)) == 0
        spent += time.clock_gettime(clock.value)
    return spent


def of_steps(count: int):
    """Return the facts, sheet and estimate of a work order of at least so many steps."""
    lines = 1
    while len(estimate_of(lines)["labour"]["order"]) < count:
        lines += 1
    return hand_made.facts(), hand_made.sheet(lines), estimate_of(lines)


def by_the_library_alone(html: str) -> bytes:
    sheet = weasyprint.CSS(url=(STATIC / "print" / "print.css").as_uri())
    return weasyprint.HTML(string=html).write_pdf(stylesheets=[sheet])


@pytest.mark.timing
def test_a_work_order_of_30_steps_takes_little_more_than_its_layout_alone(capsys):
    about = of_steps(30)
    html = html_of("work_order", *about)
    work_order_pdf(*about, "a4"), by_the_library_alone(html)
    ours, alone = least_s(lambda: work_order_pdf(*about, "a4")), least_s(lambda: by_the_library_alone(html))
    with capsys.disabled():
        print(f"\nwork order of 30 steps: {ours:.2f} s, the library alone {alone:.2f} s")
    assert ours <= MOST_OVER_THE_LIBRARY * alone


@pytest.mark.timing
def test_ten_times_the_steps_take_little_more_than_ten_times_as_long(capsys):
    short, long = of_steps(30), of_steps(300)
    work_order_pdf(*short, "a4")
    few, many = least_s(lambda: work_order_pdf(*short, "a4")), least_s(lambda: work_order_pdf(*long, "a4"), 2)
    with capsys.disabled():
        print(f"\nwork order of 300 steps: {many:.2f} s, of 30 steps {few:.2f} s")
    assert many <= MOST_TEN_TIMES * few
