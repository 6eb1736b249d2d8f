"""Papers laid out beside all else: the press hears of each while the year is rehearsed, then hands each one out."""

from collections.abc import Callable
from concurrent.futures import Executor, Future
from typing import Any

from builds.documents import PaperFacts

Render = Callable[..., bytes]


class Press:
    """Lays papers out by a pool, each known by what it says."""

    def __init__(self, pool: Executor):
        self.pool = pool
        self.ordered: dict[tuple[str, ...], Future[bytes]] = {}

    def order(self, render: Render, facts: PaperFacts, sheet: Any, estimate: Any, *more: Any) -> bytes:
        """Begin to lay a paper out, and return no bytes yet."""
        mark = mark_of(render, facts, estimate, more)
        self.ordered[mark] = self.pool.submit(render, facts, sheet, estimate, *more)
        return b""

    def deliver(self, render: Render, facts: PaperFacts, sheet: Any, estimate: Any, *more: Any) -> bytes:
        """Return a paper's bytes; one that was not ordered is laid out here."""
        ordered = self.ordered.pop(mark_of(render, facts, estimate, more), None)
        return ordered.result() if ordered else render(facts, sheet, estimate, *more)


def mark_of(render: Render, facts: PaperFacts, estimate: Any, more: tuple[Any, ...]) -> tuple[str, ...]:
    """Return what tells a paper from others: its kind, its facts, the sheet behind its estimate, and the rest."""
    return render.__name__, repr(facts), estimate["sheet_sha256"], repr(more)
