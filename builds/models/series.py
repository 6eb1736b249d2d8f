"""Numbers without gaps: one row a series, taken inside the transaction that uses the number."""

from django.db import models


class NumberSeries(models.Model):
    """The last number given in a series (ticket, hull)."""

    name = models.CharField(max_length=20, unique=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self):
        return f"{self.name} {self.last}"

    @classmethod
    def coming(cls, name: str) -> int:
        """Return the number that comes next, for a paper that is laid out before it is taken."""
        return (cls.objects.filter(name=name).values_list("last", flat=True).first() or 0) + 1

    @classmethod
    def take(cls, name: str) -> int:
        """Return the next number of a series; a transaction that fails gives it back."""
        cls.objects.get_or_create(name=name)
        row = cls.objects.select_for_update().get(name=name)
        row.last += 1
        row.save(update_fields=["last"])
        return row.last
