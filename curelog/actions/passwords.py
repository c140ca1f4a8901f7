"""A forgotten password: a link that sets a new one, once."""

from axes.models import AccessAttempt
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.db import transaction

from curelog.models import Person
from curelog.models.people import new_salt


class _Tokens(PasswordResetTokenGenerator):
    """Void after PASSWORD_RESET_TIMEOUT, once the person signs in or changes the password, and after signing out
    everywhere: nothing about it has to be kept."""

    key_salt = "curelog.new-password"

    def _make_hash_value(self, user: Person, timestamp: int) -> str:
        return super()._make_hash_value(user, timestamp) + user.session_salt


_tokens = _Tokens()


def token_for(person: Person) -> str:
    return _tokens.make_token(person)


def person_by(pk: int, token: str) -> Person | None:
    person = Person.objects.filter(pk=pk, is_active=True).first()
    return person if person and _tokens.check_token(person, token) else None


@transaction.atomic
def set_new(person: Person, password: str) -> None:
    """Whoever was signed in is so no longer, and earlier tries to sign in are forgiven."""
    person.set_password(password)
    person.session_salt = new_salt()
    person.save(update_fields=["password", "session_salt"])
    AccessAttempt.objects.filter(username=person.username).delete()
