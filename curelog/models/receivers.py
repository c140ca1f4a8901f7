"""Where people are told, and what was sent there."""

import secrets
from datetime import datetime

from django.db import models
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac

from curelog.models.people import Person
from curelog.models.reminders import Reminder


class Receiver(models.Model):
    """A browser on one device, or a mailbox. Closed when it is gone for good: its address is then forgotten."""

    class Channel(models.TextChoices):
        PUSH = "push", "Notification"
        MAIL = "mail", "E-mail"

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="receivers")
    channel = models.CharField(max_length=4, choices=Channel.choices)
    name = models.CharField(max_length=60)
    address = models.CharField(max_length=2000)
    keys = models.JSONField(default=dict, blank=True)
    origin = models.CharField(max_length=200, help_text="The app's own address as this person knows it.")
    kinds_off = models.JSONField(default=list, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.name

    def wants(self, kind: str) -> bool:
        return kind not in self.kinds_off

    def close(self, now: datetime, why: str) -> None:
        self.address, self.keys, self.closed_at, self.closed_why = "", {}, now, why
        self.save(update_fields=["address", "keys", "closed_at", "closed_why"])


class Delivery(models.Model):
    """One reminder on its way to one receiver. Rows of one `message` went out together."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        SENDING = "sending", "Being sent"
        SENT = "sent", "Sent"
        DROPPED = "dropped", "Dropped"
        FAILED = "failed", "Failed"

    reminder = models.ForeignKey(Reminder, on_delete=models.CASCADE, related_name="deliveries")
    receiver = models.ForeignKey(Receiver, on_delete=models.CASCADE, related_name="deliveries")
    occasion = models.CharField(max_length=12, blank=True)
    words = models.CharField(max_length=260, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    made_at = models.DateTimeField(default=timezone.now)
    due_at = models.DateTimeField(help_text="When it should have gone out first.")
    next_try_at = models.DateTimeField()
    tries = models.PositiveSmallIntegerField(default=0)
    message = models.UUIDField(null=True, blank=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    was_recovered = models.BooleanField(default=False)
    was_asked_again = models.BooleanField(default=False, help_text="Somebody said: in an hour.")
    ended_at = models.DateTimeField(null=True, blank=True)
    trouble = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["reminder", "receiver", "occasion"], name="one_delivery_per_occasion"
            )
        ]
        indexes = [models.Index(fields=["state", "next_try_at"], name="waiting_deliveries")]


def new_salt() -> str:
    return secrets.token_hex(16)


class FeedAddress(models.Model):
    """A person's secret calendar address. Only the salt is stored: a copy of the database does not open the feed."""

    person = models.OneToOneField(
        Person, on_delete=models.CASCADE, primary_key=True, related_name="feed_address"
    )
    salt = models.CharField(max_length=32, default=new_salt)
    renewed_at = models.DateTimeField(default=timezone.now)

    @property
    def secret(self) -> str:
        return salted_hmac("curelog.feed", f"{self.person_id}:{self.salt}", algorithm="sha256").hexdigest()[
            :40
        ]

    def opens_with(self, secret: str) -> bool:
        return constant_time_compare(self.secret, secret)

    def renew(self, now: datetime) -> None:
        self.salt, self.renewed_at = new_salt(), now
        self.save(update_fields=["salt", "renewed_at"])
