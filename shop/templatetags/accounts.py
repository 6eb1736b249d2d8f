"""What a page needs to know of the lock."""

from django import template

from shop.accounts.sessions import STAYS

register = template.Library()


@register.filter
def lock_after(user) -> int:
    """Seconds without a sign of life after which the screen locks."""
    return int(STAYS[user.role].locks_after.total_seconds())
