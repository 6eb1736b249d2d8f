"""Customers: a name is enough."""

import re

from django.db import models

from catalog.fields import FoldedField


class Customer(models.Model):
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    phone_digits = models.CharField(max_length=40, blank=True, editable=False, db_index=True)
    email = models.EmailField(blank=True)
    note = models.TextField(max_length=2000, blank=True)
    since = models.DateField(auto_now_add=True)
    erased_at = models.DateTimeField(null=True, editable=False)
    folded = FoldedField(sources=("name", "email"))

    class Meta:
        ordering = ["name", "id"]

    def __str__(self):
        return self.name

    @property
    def journal_name(self):
        """No name: what stands in the journal stays."""
        return f"customer {self.pk}"

    def correct(self, *, name: str, phone: str, email: str) -> None:
        """Save the name and how to reach the customer; the phone number can be found by its digits."""
        self.name, self.phone, self.email = name.strip(), phone.strip(), email.strip()
        self.phone_digits = digits_of(self.phone)
        self.save()


def digits_of(phone: str) -> str:
    """Return the digits of a phone number, however it was spelled."""
    return re.sub(r"\D", "", phone)
