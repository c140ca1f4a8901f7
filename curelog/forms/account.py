"""Signing in, joining by a link, one's own name and password."""

from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.forms import AuthenticationForm, UsernameField
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.http import HttpRequest

from curelog.actions.people import Newcomer
from curelog.forms.base import WorkshopForm
from curelog.forms.settings import workshop_name, zone_field
from curelog.models import Person

PASSWORD_RULES = (
    "At least 10 characters, not one that many people use, and not like your name. "
    "Four words in a row are easy to keep in mind."
)
NAME_TAKEN = "Somebody here signs in with this name already."


def password_field(label: str, autocomplete: str, help_text: str = "") -> forms.CharField:
    widget = forms.PasswordInput(attrs={"autocomplete": autocomplete})
    return forms.CharField(label=label, strip=False, widget=widget, max_length=128, help_text=help_text)


def name_to_sign_in(**attrs: str) -> UsernameField:
    # Phones like to begin with a capital and to correct what is no word.
    attrs = {"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"} | attrs
    return UsernameField(label="Name to sign in with", max_length=60, widget=forms.TextInput(attrs=attrs))


class SignInForm(AuthenticationForm):
    use_required_attribute = False
    error_messages = {
        "invalid_login": "This name and password do not go together. Capitals count in the password.",
        "inactive": "This account is closed.",
    }

    username = name_to_sign_in(autofocus="")
    password = password_field("Password", "current-password")

    def __init__(self, request: HttpRequest | None = None, *args: Any, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs | {"label_suffix": ""})

    def clean_username(self) -> str:
        return Person.normalize_username(self.cleaned_data["username"])


class NewPasswordForm(WorkshopForm):
    """A password typed twice, checked against the rules for the person that it is for."""

    password = password_field("Password", "new-password", PASSWORD_RULES)
    password_again = password_field("The same password again", "new-password")

    def whose(self) -> Person:
        raise NotImplementedError

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        first, again = data.get("password"), data.get("password_again")
        if first and again and first != again:
            self.add_error("password_again", "The two passwords differ.")
        elif first:
            self.check_rules(first)
        return data

    def check_rules(self, password: str) -> None:
        try:
            password_validation.validate_password(password, self.whose())
        except forms.ValidationError as error:
            self.add_error("password", error)


class JoinForm(NewPasswordForm):
    name = forms.CharField(
        label="Your name",
        max_length=60,
        help_text="Stands beside what you weigh and note.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    username = name_to_sign_in()

    field_order = ["workshop_name", "time_zone", "name", "username", "password", "password_again"]

    def clean_username(self) -> str:
        username = Person.normalize_username(self.cleaned_data["username"])
        UnicodeUsernameValidator(message="Letters, digits and @ . + - _ only, no spaces.")(username)
        if Person.objects.filter(username=username).exists():
            raise forms.ValidationError(NAME_TAKEN)
        return username

    def whose(self) -> Person:
        data = self.cleaned_data
        return Person(username=data.get("username", ""), first_name=data.get("name", ""))

    def newcomer(self) -> Newcomer:
        data = self.cleaned_data
        return Newcomer(data["name"], data["username"], data["password"])


class FirstOwnerForm(JoinForm):
    workshop_name = workshop_name()
    time_zone = zone_field(help_text="Times to cut are told on this clock.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not self.is_bound:
            self.fields["time_zone"].widget.attrs["data-guess-zone"] = ""


class NameForm(WorkshopForm):
    name = forms.CharField(
        label="Your name",
        max_length=60,
        help_text="Stands beside what you weigh and note.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )


class ForgottenForm(NewPasswordForm):
    """The link stands for the old password."""

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def whose(self) -> Person:
        return self.person


class PasswordForm(NewPasswordForm):
    """A new password needs the old one: a phone left lying about is not enough."""

    old_password = password_field("Password until now", "current-password")

    field_order = ["old_password", "password", "password_again"]

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        self.fields["password"].label = "New password"
        self.fields["password_again"].label = "The new password again"

    def clean_old_password(self) -> str:
        old = str(self.cleaned_data["old_password"])
        if not self.person.check_password(old):
            raise forms.ValidationError("This is not your password until now.")
        return old

    def whose(self) -> Person:
        return self.person
