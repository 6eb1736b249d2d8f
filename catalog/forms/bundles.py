"""The form of a bundle and its lines, both on one page."""

from itertools import groupby

from catalog import rules, shelf
from catalog.forms.fields import WIDEST
from catalog.forms.parts import PartForm, part_formset
from catalog.forms.records import RecordForm, record_form
from catalog.models import AccessoryType, Bundle, BundleLine
from catalog.vocabulary import Mounting, spoken


class WordsForm(RecordForm):
    def clean_craft(self):
        return self.in_order("craft")

    def clean_uses(self):
        return self.in_order("uses")


BundleForm = record_form(
    Bundle, ("What it is", "code name note place withdrawn"), ("Whom it is for", "craft uses"), form=WordsForm
)


HINT = (
    "Mounting and station are the usual ones where none is given. A station is named by its code, or by what the code "
    "starts with: console, rear_deck."
)


class LineForm(PartForm):
    def clean(self):
        cleaned = super().clean()
        kind = cleaned.get("accessory")
        if kind is not None:
            asked = shelf.records()["accessories"].get(kind.code)
            problem = rules.bundle_line_problem(asked, kind.code, cleaned.get("mounting", ""), cleaned.get("drive"))
            if problem:
                self.add_error(*problem)
        return cleaned


def line_formset(bundle: Bundle, data=None):
    """Return the formset of a bundle's lines; types that are withdrawn are offered only where a line has one."""
    formset = part_formset(BundleLine, bundle, data, form=LineForm)
    formset.hint = HINT
    choices = type_choices({line.accessory_id for line in bundle.lines.all()} if bundle.pk else set())
    for form in formset:
        form.fields["accessory"].choices, form.fields["accessory"].width = choices, WIDEST
        form.fields["mounting"].choices = [("", "the one it starts with"), *Mounting.choices]
    return formset


def type_choices(held: set[str]) -> list[tuple]:
    """Return the accessory types by category, those of these codes among them even where they are withdrawn."""
    kinds = AccessoryType.objects.order_by("category", "name").values_list("code", "name", "category", "withdrawn")
    offered = [kind for kind in kinds if not kind[3] or kind[0] in held]
    groups = groupby(offered, key=lambda kind: kind[2])
    return [("", "–"), *((spoken(word), [(code, name) for code, name, *_ in group]) for word, group in groups)]
