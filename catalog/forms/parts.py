"""Rows that belong to a type or a hull type, edited as a list: changed, added, taken away, put in order."""

from django import forms
from django.utils.text import capfirst

from catalog.forms.fields import LONG, MIDDLE, NARROW, CatalogueForm, with_units
from catalog.records import record_of

BLANK_ROWS = 3


class BasePartFormSet(forms.BaseFormSet):
    """The rows of one kind. They are read as a whole and replace what stood there."""

    hint = ""

    def __init__(self, *args, parent, model, **kwargs):
        self.parent, self.model = parent, model
        super().__init__(*args, **kwargs)

    @property
    def noun(self):
        return capfirst(self.model._meta.verbose_name)

    @property
    def heading(self):
        return capfirst(self.model._meta.verbose_name_plural)

    def add_fields(self, form, index):
        super().add_fields(form, index)
        if "ORDER" in form.fields:
            form.fields["ORDER"].label, form.fields["ORDER"].width = "Place", NARROW
            form.fields["ORDER"].widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
        form.fields["DELETE"].label, form.fields["DELETE"].width = "Take away", MIDDLE

    def clean(self):
        if not any(self.errors) and self.management_form.is_valid():
            self.parent.clean_parts({self.model.RELATED: self.rows()})

    def rows(self) -> list:
        """Return the rows that stay, in their order."""
        kept = self.ordered_forms if self.can_order else [f for f in self.forms if f not in self.deleted_forms]
        return [form.instance for form in kept if form.has_changed() or form.initial]

    def records(self) -> list[dict]:
        return [record_of(row) for row in self.rows()]


class PartForm(CatalogueForm):
    """One row; its short fields stand side by side, its long ones below."""

    @property
    def is_blank(self):
        """Whether the row is offered for a new entry."""
        return self.empty_permitted

    def short_fields(self):
        return [self[name] for name, field in self.fields.items() if field.width != LONG]

    def long_fields(self):
        return [self[name] for name, field in self.fields.items() if field.width == LONG]


def part_formset(model, parent, data=None, form=PartForm):
    """Return the formset of the rows of one kind that belong to a row."""
    single = model.RELATED in ("load", "battery", "converter")
    own = [column.name for column in model._meta.fields if column.related_model is not type(parent)]
    form = forms.modelform_factory(
        model, form=form, fields=[name for name in own if name not in ("id", "place")], formfield_callback=with_units
    )
    factory = forms.formset_factory(
        form,
        formset=BasePartFormSet,
        extra=1 if single else BLANK_ROWS,
        max_num=1 if single else 500,
        validate_max=True,
        can_delete=True,
        can_order=not single,
    )
    related = getattr(parent, model.RELATED, None) if parent.pk else None
    held = [] if related is None else [related] if single else list(related.all())
    initial = [{name: getattr(row, name) for name in form.base_fields} for row in held]
    return factory(data, initial=initial, prefix=model.RELATED, parent=parent, model=model)
