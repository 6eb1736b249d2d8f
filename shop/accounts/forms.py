"""Forms of the way in, and of the people who work here."""

from django import forms
from django.contrib.auth.forms import UsernameField

from shop import roles
from shop.accounts.passwords import LONGEST, has_none
from shop.models import User

NEW_PASSWORD_HINT = (
    "At least 15 characters; any kind, spaces too. Four or five words that have nothing to do with each other do well."
)


def password_field(label: str, complete: str, **kwargs) -> forms.CharField:
    return forms.CharField(
        label=label,
        strip=False,
        max_length=LONGEST,
        widget=forms.PasswordInput(attrs={"autocomplete": complete}),
        **kwargs,
    )


class SignInForm(forms.Form):
    username = UsernameField(label="User name", max_length=60, widget=forms.TextInput(attrs={"autofocus": True}))
    password = password_field("Password", "current-password")


class PasswordForm(forms.Form):
    """The password of the one who is signed in; nothing to type for one who has none."""

    password = password_field("Password", "current-password")

    def __init__(self, data=None, *, user: User):
        super().__init__(data)
        if has_none(user):
            self.fields["password"] = forms.CharField(required=False, widget=forms.HiddenInput)


class CodeForm(forms.Form):
    code = forms.CharField(
        label="Code",
        max_length=40,
        help_text="The six figures that your phone shows now, or one of your recovery codes.",
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autofocus": True}),
    )


class NewPasswordForm(forms.Form):
    """A new password, twice."""

    password = password_field("New password", "new-password", help_text=NEW_PASSWORD_HINT)
    again = password_field("The same again", "new-password")

    def clean(self):
        data = super().clean()
        if "password" in data and "again" in data and data["password"] != data["again"]:
            self.add_error("again", "The two passwords differ. Type both again.")
        return data


class ChangePasswordForm(NewPasswordForm):
    current = password_field("Password until now", "current-password")
    field_order = ("current", "password", "again")


class JoinForm(NewPasswordForm):
    """What a new person writes about herself."""

    name = forms.CharField(label="Your name", max_length=120, widget=forms.TextInput(attrs={"autocomplete": "name"}))
    initials = forms.CharField(
        label="Initials", max_length=5, required=False, help_text="As they stand beside your work."
    )
    username = UsernameField(
        label="User name",
        max_length=60,
        validators=[User.username_validator],
        help_text="What you type to sign in: letters, figures and @ . + - _",
    )
    field_order = ("name", "initials", "username", "password", "again")


class BeginForm(JoinForm):
    secret = forms.CharField(
        label="Secret",
        max_length=60,
        help_text="The server printed it when it started.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autofocus": True}),
    )
    field_order = ("secret", *JoinForm.field_order)


class InviteForm(forms.Form):
    name = forms.CharField(label="Who", max_length=120)
    role = forms.ChoiceField(label="Role", choices=User.Role.choices, initial=roles.COUNTER)


class PersonForm(forms.ModelForm):
    class Meta:
        model = User
        fields = ["name", "initials", "email", "role"]
