"""Changes of who works in the shop: one transaction, one journal entry each."""

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from shop import journal, once, roles
from shop.models import User

# What the journal tells of a person; a password only that it changed.
TOLD = ("username", "name", "initials", "email", "role", "units", "slash_key", "is_active")


def make_person(actor: User | None, *, username: str, name: str, role: str, initials: str = "", password: str) -> User:
    """Write a new person down. Raises ValidationError on a taken user name, an unknown role or a weak password."""
    person = User(username=username, name=name, role=role, initials=initials)
    validate_password(password, person)
    person.set_password(password)
    person.full_clean()
    save_person(actor, person)
    return person


def save_person(actor: User | None, person: User) -> None:
    """Save a person, new or changed, and write down what is different. Raises ValidationError for the last owner."""
    with transaction.atomic():
        once.spend()
        old = User.objects.filter(pk=person.pk).first()
        if old and is_owner(old) and not is_owner(person):
            refuse_last_owner(old)
        person.save()
        before, after = (tell(old) if old else {}), tell(person)
        if old and old.password != person.password:
            before["password"], after["password"] = "one", "another"
        changed = {key: value for key, value in after.items() if before.get(key) != value}
        if changed:
            said_before = {key: before[key] for key in changed if key in before}
            journal.record(actor, "change_person" if old else "make_person", person, said_before, changed)


def is_owner(person: User) -> bool:
    return person.is_active and person.role == roles.OWNER


def refuse_last_owner(person: User) -> None:
    """Raise ValidationError where nobody else would be owner; two owners who end each other wait for one another."""
    journal.one_writer_at_a_time()
    if not User.objects.filter(role=roles.OWNER, is_active=True).exclude(pk=person.pk).exists():
        raise ValidationError(f"{person} is the only owner. Make someone else an owner first.")


def tell(person: User) -> dict:
    return {field: getattr(person, field) for field in TOLD}
