"""A supplier's price list taken by the owner: every cost that it changes, or none."""

from django.core.exceptions import PermissionDenied

from builds import price_list
from catalog import actions as catalogue
from catalog.models import WaitingFile
from shop import clock, roles


def take(actor, waiting: WaitingFile) -> int:
    """Write what a list changes, each record with its entry; returns how many. Raises as `write_waiting` does."""
    if not roles.may(actor, "edit_catalogue"):
        raise PermissionDenied
    why = f"Price list of {waiting.supplier}: {waiting.name}"
    return catalogue.write_waiting(
        actor, waiting, lambda row: price_list.price_list(row.supplier, row.text, clock.today()).proposals, why
    )
