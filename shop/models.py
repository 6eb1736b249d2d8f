"""People and what they did: users with their role, sign-in links of the demo, the journal."""

import json

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.db import models
from django.utils import timezone

from shop import roles
from shop.append_only import AppendOnly


class UserManager(BaseUserManager):
    def create_user(self, username, email="", password=None, **fields):
        user = self.model(username=self.model.normalize_username(username), email=self.normalize_email(email), **fields)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_superuser(self, username, email="", password=None, **fields):
        """The owner is the one who may do everything; there is no rank above."""
        return self.create_user(username, email, password, **{**fields, "role": roles.OWNER})


class User(AbstractBaseUser):
    """One who works in the shop. What a person may do follows from the role alone (shop/roles.py)."""

    class Role(models.TextChoices):
        COUNTER = roles.COUNTER, "Counter"
        TECH = roles.TECH, "Tech"
        OWNER = roles.OWNER, "Owner"

    class Units(models.TextChoices):
        METRIC = "metric", "Metric"
        US = "us", "US customary"

    username_validator = UnicodeUsernameValidator()
    username = models.CharField(
        "user name",
        max_length=60,
        unique=True,
        validators=[username_validator],
        error_messages={"unique": "Someone has this user name already."},
    )
    name = models.CharField(max_length=120)
    initials = models.CharField(max_length=5, blank=True)
    email = models.EmailField(blank=True)
    role = models.CharField(max_length=10, choices=Role, default=Role.COUNTER)
    units = models.CharField(max_length=10, choices=Units, default=Units.METRIC)
    slash_key = models.BooleanField(
        "the key / puts the cursor into the search field",
        default=True,
        help_text="Take the tick away where a voice program types for you.",
    )
    is_active = models.BooleanField(
        "may sign in", default=True, help_text="Take the tick away when someone leaves; what they did stays on record."
    )
    joined = models.DateTimeField(default=timezone.now, editable=False)

    USERNAME_FIELD = "username"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    objects = UserManager()

    class Meta:
        ordering = ["name", "username"]

    def __str__(self):
        return self.name or self.username

    def get_full_name(self):
        return self.name

    def get_short_name(self):
        return self.initials or self.name

    # Django's admin asks in these words; the answer is the role's.
    @property
    def is_staff(self):
        return roles.may(self, "enter_admin")

    is_superuser = is_staff

    def has_perm(self, perm, obj=None):
        return self.is_staff

    def has_perms(self, perms, obj=None):
        return self.is_staff

    def has_module_perms(self, app_label):
        return self.is_staff


class SignInLink(models.Model):
    """Lets one person in without a password, in the demo only; the secret itself is not kept."""

    user = models.ForeignKey(User, models.CASCADE)
    secret_sha256 = models.CharField(max_length=64, unique=True)
    expires = models.DateTimeField()

    def __str__(self):
        return f"link for {self.user}"


class SentForm(models.Model):
    """A form that did its work; written by shop.once in the transaction of that work."""

    token = models.CharField(max_length=64, unique=True)
    mark = models.CharField(max_length=16)
    at = models.DateTimeField(db_index=True)
    where = models.CharField(max_length=200, blank=True)

    def __str__(self):
        return self.where or self.token


class JournalEntry(AppendOnly):
    """One thing that someone did, linked to the entry before it by its hash; written by journal.record alone."""

    SEALED = False  # the chain holds it

    number = models.PositiveBigIntegerField(unique=True)
    at = models.DateTimeField()
    actor = models.ForeignKey(User, models.PROTECT, null=True, related_name="+")
    actor_name = models.CharField(max_length=120)
    action = models.CharField(max_length=60)
    subject_kind = models.CharField(max_length=80)
    subject_key = models.CharField(max_length=60)
    subject_name = models.CharField(max_length=200)
    # The very text that was hashed: a JSON column of PostgreSQL would give numbers and keys back in its own way.
    before_json = models.TextField()
    after_json = models.TextField()
    why = models.TextField(blank=True)
    # The hashes of the rows written once in the same transaction, by table and key.
    seals_json = models.TextField(blank=True, default="")
    previous_hash = models.CharField(max_length=64)
    entry_hash = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["number"]
        verbose_name_plural = "journal"
        indexes = [models.Index(fields=["subject_kind", "subject_key", "number"], name="journal_subject")]

    def __str__(self):
        return f"{self.number} {self.action} {self.subject_name}"

    @property
    def before(self):
        return json.loads(self.before_json)

    @property
    def after(self):
        return json.loads(self.after_json)

    @property
    def seals(self):
        return json.loads(self.seals_json or "{}")


class Backup(AppendOnly):
    """A backup that was read back and found whole; written by shop.keeping.backups alone."""

    made_at = models.DateTimeField()
    verified_at = models.DateTimeField(db_index=True)
    file = models.CharField(max_length=200)
    bytes = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    journal_number = models.PositiveBigIntegerField()
    journal_hash = models.CharField(max_length=64)

    class Meta:
        ordering = ["-verified_at"]

    def __str__(self):
        return self.file


# Django finds the models of an app here.
from shop.accounts.models import (  # noqa: E402
    Bucket,
    Invitation,
    OpenSession,
    RecoveryCode,
    SecondFactor,
    SignInNote,
)

__all__ = [
    "Backup",
    "Bucket",
    "Invitation",
    "JournalEntry",
    "OpenSession",
    "RecoveryCode",
    "SecondFactor",
    "SentForm",
    "SignInLink",
    "SignInNote",
    "User",
]
