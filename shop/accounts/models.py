"""What coming in leaves behind: throttles, open sessions, invitations, second factors, and notes for the owner."""

from django.conf import settings
from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models

from shop import roles


class Bucket(models.Model):
    """Wrong tries of one account, address, device or code; the next counts from `free_from` on."""

    key_sha256 = models.CharField(max_length=64, unique=True)
    failures = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField(db_index=True)
    free_from = models.DateTimeField()

    def __str__(self):
        return f"{self.failures} until {self.free_from:%H:%M:%S}"


class SignInNote(models.Model):
    """A sign-in; or what went wrong at the door within an hour, counted. Nothing that was typed is kept."""

    class Kind(models.TextChoices):
        SIGNED_IN = "signed_in", "signed in"
        WRONG = "wrong", "wrong password"
        SLOWED = "slowed", "slowed down, not looked at"
        WRONG_CODE = "wrong_code", "wrong code"
        RECOVERED = "recovered", "signed in with a recovery code"

    kind = models.CharField(max_length=12, choices=Kind)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="+")
    address = models.CharField(max_length=45, blank=True)
    first_at = models.DateTimeField()
    last_at = models.DateTimeField(db_index=True)
    count = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["-last_at", "-id"]

    def __str__(self):
        return f"{self.get_kind_display()} {self.count}"


class OpenSession(AbstractBaseSession):
    """A session that knows whose it is, so that all of a person's can be shown and ended."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="open_sessions")
    began = models.DateTimeField(null=True)
    address = models.CharField(max_length=45, blank=True)

    @classmethod
    def get_session_store_class(cls):
        from shop.accounts.sessions import SessionStore

        return SessionStore


class Invitation(models.Model):
    """A link, for one use: to a new person's account, or to a new password of `person`. Its secret is not kept."""

    secret_sha256 = models.CharField(max_length=64, unique=True)
    role = models.CharField(max_length=10, choices=[(role, role) for role in roles.ROLES])
    name = models.CharField(max_length=120, blank=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="+")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    made_at = models.DateTimeField()
    expires = models.DateTimeField()

    class Meta:
        ordering = ["-made_at"]

    def __str__(self):
        return f"invitation of {self.name or self.role}"


class SecondFactor(models.Model):
    """The secret that a person's phone shares with the shop; in force once a code of it was typed."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, related_name="second_factor")
    secret = models.CharField(max_length=64)
    confirmed_at = models.DateTimeField(null=True)
    last_step = models.BigIntegerField(default=0)

    def __str__(self):
        return f"second factor of {self.user}"


class RecoveryCode(models.Model):
    """One way in without the phone; used once, then gone."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    code_sha256 = models.CharField(max_length=64, unique=True)

    def __str__(self):
        return f"recovery code of {self.user}"
