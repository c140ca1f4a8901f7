"""Who works here."""

import secrets
from datetime import datetime, timedelta

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils import timezone
from django.utils.crypto import salted_hmac


def new_salt() -> str:
    return secrets.token_hex(8)


class Person(AbstractUser):
    class Role(models.TextChoices):
        OWNER = "owner", "Owner"
        HELPER = "helper", "Helper"

    role = models.CharField(max_length=10, choices=Role.choices, default=Role.HELPER)
    session_salt = models.CharField(max_length=16, default=new_salt)

    @property
    def is_owner(self) -> bool:
        return self.role == self.Role.OWNER

    @property
    def shown_name(self) -> str:
        return self.get_full_name() or self.username

    @classmethod
    def normalize_username(cls, username: str) -> str:
        """ "Anna" and "anna" are one, for signing in and for counting failed tries."""
        return super().normalize_username(username).casefold()

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """Ties sessions to the password and to a salt, so that a new salt signs out every device."""
        return salted_hmac(
            "curelog.session", self.password + self.session_salt, secret=secret, algorithm="sha256"
        ).hexdigest()


class Invitation(models.Model):
    """A link that makes one account, once."""

    LIFETIME = timedelta(days=7)

    token = models.CharField(max_length=64, unique=True)
    role = models.CharField(max_length=10, choices=Person.Role.choices, default=Person.Role.HELPER)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    used_at = models.DateTimeField(null=True, blank=True)

    @classmethod
    def open_at(cls, now: datetime) -> "models.QuerySet[Invitation]":
        return cls.objects.filter(used_at=None, made_at__gt=now - cls.LIFETIME)

    @property
    def open_until(self) -> datetime:
        return self.made_at + self.LIFETIME
