"""What the bench found and the estimate did not know: a question to the counter, its answer, and photos."""

import hashlib

from django.db import transaction

from builds import bench
from builds.actions import changes
from builds.actions.ground import Refused, acting, require
from builds.actions.work import moment_of
from builds.models import BenchPhoto, Found, FoundAnswer, Ticket
from shop import clock
from shop.photos import KeptPhoto

MOST_PHOTOS = 60
"""Of one ticket: about 20 MB."""


def note_found(
    actor, ticket: Ticket, *, words: str, key: str, n: int = 0, photo: KeptPhoto | None = None, sent_at=None
) -> Found:
    """Write down what was found, with a photo where there is one; sent twice with one key it counts once."""
    require(actor, "note_found")
    if known := Found.objects.filter(key=key).first():
        return known
    if not words.strip():
        raise Refused("What was found is missing. Write it in a few words.")
    step = next((step.name for step in bench.steps_of(ticket) if step.n == n), "")
    at = moment_of(sent_at)
    said = {"step": n, "words": words.strip(), "photo": photo is not None}
    with acting(actor, ticket, "note_found", "note found", said=said) as changed:
        if known := Found.objects.filter(key=key).first():
            return known
        found = Found.objects.create(
            ticket=changed, by=actor, at=at, key=key, step=step, n=n if step else 0, words=words.strip()
        )
        if photo:
            kept(actor, changed, photo, key=key, n=found.n, found=found, at=at)
    return found


def keep_photo(actor, ticket: Ticket, photo: KeptPhoto, *, key: str, n: int = 0, note: str = "") -> BenchPhoto:
    """Keep a photo of a step (0: of the boat); sent twice with one key it is kept once."""
    require(actor, "keep_photo")
    if known := BenchPhoto.objects.filter(key=key).first():
        return known
    with acting(actor, ticket, "keep_photo", "keep photo", said={"step": n, "note": note.strip()}) as changed:
        if known := BenchPhoto.objects.filter(key=key).first():
            return known
        return kept(actor, changed, photo, key=key, n=n, note=note.strip(), at=clock.now())


def kept(actor, ticket: Ticket, photo: KeptPhoto, **more) -> BenchPhoto:
    """Return the photo as a row; call inside the transaction of its act."""
    if BenchPhoto.objects.filter(ticket=ticket).count() >= MOST_PHOTOS:
        raise Refused(f"The ticket has {MOST_PHOTOS} photos, the most that are kept.")
    return BenchPhoto.objects.create(
        ticket=ticket,
        by=actor,
        jpeg=photo.jpeg,
        sha256=hashlib.sha256(photo.jpeg).hexdigest(),
        width_px=photo.width_px,
        height_px=photo.height_px,
        **more,
    )


def answer_found(
    actor, ticket: Ticket, found: Found, *, words: str, change: bool = False, revision: int | None = None
) -> FoundAnswer:
    """Answer what the bench found; with `change` a change order is begun, which the customer then agrees to."""
    require(actor, "answer_found")
    if not words.strip() and not change:
        raise Refused("The answer is missing. Write what the bench should do.")
    told = words.strip() or "A change order is being written. Go on with what it does not touch."
    with transaction.atomic():
        with acting(actor, ticket, "answer_found", "answer found", revision, said={"words": told}) as changed:
            if FoundAnswer.objects.filter(found=found).exists():
                raise Refused("Someone answered it already. Look at the answer.")
            answer = FoundAnswer.objects.create(found=found, by=actor, at=clock.now(), words=told, changes=change)
        if change and not changed.changing:
            changes.begin_change(actor, changed)
    return answer
