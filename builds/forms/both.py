"""Two people at one form: the later one sees both versions, side by side, and nothing that was typed is lost."""

from django import forms


def show_both(mine: forms.Form, theirs: forms.Form, revision: int) -> None:
    """Put what is saved now beside each field that differs, and let the form be saved over it by a second press."""
    for name, field in mine.fields.items():
        if name in theirs.fields and not isinstance(field.widget, forms.HiddenInput):
            saved, typed = shown(theirs[name]), shown(mine[name])
            field.theirs = (saved or "nothing") if saved != typed else ""
    mine.data = mine.data.copy()
    mine.data[mine.add_prefix("revision")] = str(revision)


def shown(bound: forms.BoundField) -> str:
    """Return a field's value as a reader sees it."""
    value = bound.value()
    words = {str(key): str(word) for key, word in getattr(bound.field, "choices", ())}
    values = value if isinstance(value, list | tuple) else [value]
    return ", ".join(words.get(str(one), str(one)) for one in values if one not in (None, "", False))
