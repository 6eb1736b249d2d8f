"""A line for the owner while no backup of the last day was read back."""

from django import template

from shop.keeping import backups

register = template.Library()


@register.inclusion_tag("partials/backup_warning.html")
def backup_warning():
    last = backups.latest()
    return {"backup": last, "late": backups.is_late(last)}
