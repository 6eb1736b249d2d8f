"""{% once %}: the hidden field that lets a form do its work once."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.once import FIELD, new_token

register = template.Library()


@register.simple_tag
def once() -> SafeString:
    return format_html('<input type="hidden" name="{}" value="{}">', FIELD, new_token())
