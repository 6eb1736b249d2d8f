"""A file that someone sent for the catalogue, kept until it is written or sent anew."""

from django.conf import settings
from django.db import models


class WaitingFile(models.Model):
    kind = models.CharField(max_length=20)
    supplier = models.CharField(max_length=80, blank=True, help_text="Whose price list it is.")
    name = models.CharField(max_length=120)
    text = models.TextField()
    seen = models.CharField(max_length=40, help_text="The version of the catalogue that it was compared with.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    at = models.DateTimeField()

    def __str__(self):
        return f"{self.name} for {self.kind}"
