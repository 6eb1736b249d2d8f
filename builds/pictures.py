"""The drawings of a ticket, filled from its estimate."""

from builds.estimator.estimate import Estimate
from builds.models import Ticket


def board_drawings(ticket: Ticket, found: Estimate, selected: str, units: str) -> dict:
    """Return the drawings beside a ticket as SVG text."""
    return {}
