"""A forgotten password: a link that sets a new one, once."""

from axes.models import AccessAttempt
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.db import transaction

from curelog.models import Person
from curelog.models.people import new_salt


class LinkClosed(Exception):
    """The link was used by somebody else in the same moment."""


class _Tokens(PasswordResetTokenGenerator):
    """Void after PASSWORD_RESET_TIMEOUT, once the person signs in or changes the password, and after signing out
    everywhere: nothing about it has to be kept. Void, too, once the owners are others: whoever is one no longer could
    else come back by a link for one who still is."""

    key_salt = "curelog.new-password"

    def _make_hash_value(self, user: Person, timestamp: int) -> str:
        owners = Person.objects.filter(role=Person.Role.OWNER).order_by("pk").values_list("pk", flat=True)
        return f"{super()._make_hash_value(user, timestamp)}{user.session_salt} {list(owners)}"


_tokens = _Tokens()


def token_for(person: Person) -> str:
    return _tokens.make_token(person)


def person_by(pk: int, token: str) -> Person | None:
    person = Person.objects.filter(pk=pk, is_active=True).first()
    return person if person and _tokens.check_token(person, token) else None


@transaction.atomic
def set_new(pk: int, token: str, password: str) -> Person:
    """Whoever was signed in is so no longer, and earlier tries to sign in are forgiven. Of two who come at once, one
    gets through: the other finds the link closed."""
    Person.objects.select_for_update().filter(pk=pk).first()
    person = person_by(pk, token)
    if person is None:
        raise LinkClosed
    person.set_password(password)
    person.session_salt = new_salt()
    person.save(update_fields=["password", "session_salt"])
    AccessAttempt.objects.filter(username=person.username).delete()
    return person
