"""Who may do what: the one table that every view, action and template asks."""

from functools import wraps

from django.core.exceptions import PermissionDenied

COUNTER, TECH, OWNER = "counter", "tech", "owner"
ROLES = (COUNTER, TECH, OWNER)
# One who does not sign in: the holder of a link to one quote.
CUSTOMER = "customer"

# Where each role starts its day.
DOORS = {COUNTER: "/counter/", TECH: "/bench/", OWNER: "/office/"}

MAY = {
    action: frozenset(roles)
    for action, roles in {
        "enter_counter": (COUNTER, OWNER),
        "enter_bench": (TECH, OWNER),
        "enter_office": (OWNER,),
        "enter_admin": (OWNER,),
        "see_prices": (COUNTER, OWNER),
        "see_costs": (OWNER,),
        "write_ticket": (COUNTER, OWNER),
        "issue_quote": (COUNTER, OWNER),
        "override_stop": (OWNER,),
        "record_acceptance": (COUNTER, OWNER),
        "sign_quote": (CUSTOMER,),
        "issue_work_order": (COUNTER, OWNER),
        "record_work": (TECH, OWNER),
        "note_used": (COUNTER, TECH, OWNER),
        "see_calendar": (COUNTER, TECH, OWNER),
        "plan_bench": (TECH, OWNER),
        "set_bench_hours": (OWNER,),
        "hand_over": (COUNTER, OWNER),
        "record_payment": (COUNTER, OWNER),
        "order_parts": (COUNTER, OWNER),
        "receive_parts": (COUNTER, OWNER),
        "count_stock": (COUNTER, OWNER),
        "record_own_part": (COUNTER, TECH, OWNER),
        "find_part": (COUNTER, TECH, OWNER),
        "edit_catalogue": (OWNER,),
        "edit_rates": (OWNER,),
        "edit_people": (OWNER,),
        "export_customer": (OWNER,),
        "erase_customer": (OWNER,),
    }.items()
}


def may(user, action: str) -> bool:
    """Whether `user` may do `action`, a name in MAY; an unknown action is a mistake of ours and raises KeyError."""
    return user.is_active and getattr(user, "role", None) in MAY[action]


def door_of(user) -> str:
    """The page where the user's role starts."""
    return DOORS[user.role]


def allow(*roles: str):
    """Decorate a view with the roles it belongs to; the owner enters every door, everyone else gets a 403."""
    allowed = frozenset(roles) | {OWNER}
    if not allowed <= set(ROLES):
        raise ValueError(f"unknown role in {sorted(allowed)}")

    def decorate(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            if not request.user.is_active or getattr(request.user, "role", None) not in allowed:
                raise PermissionDenied
            return view(request, *args, **kwargs)

        guarded.allowed_roles = allowed
        return guarded

    return decorate
