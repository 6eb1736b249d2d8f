"""What a browser would send back for a form as it stands, with some fields typed anew."""


def typed(*forms, **changes):
    """The fields of forms and formsets by their names in the page."""
    sent = {}
    for form in forms:
        parts = [form.management_form, *form.forms] if hasattr(form, "management_form") else [form]
        for part in parts:
            for bound in part:
                value = bound.field.prepare_value(bound.value())
                if value is not None and value is not False:
                    sent[bound.html_name] = value
    return sent | changes


def typed_in_admin(page, **changes):
    forms = [page.context["adminform"].form, *(inline.formset for inline in page.context["inline_admin_formsets"])]
    return typed(*forms, **changes)


def typed_on_page(page, **changes):
    """The page's own form or formsets, with the mark of the record it was opened on."""
    forms = list(page.context["formsets"]) if "formsets" in page.context else [page.context["form"]]
    if "head" in page.context:
        forms.append(page.context["head"])
    return typed(*forms, seen=page.context["seen"]) | changes
