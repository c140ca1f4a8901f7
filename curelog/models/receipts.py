"""That an entry of a phone's outbox was taken in, and what it said."""

import uuid

from django.db import models
from django.utils import timezone


class Receipt(models.Model):
    """Written with the fact, so that a repeat is known again although forms, scales or forecasts have changed since."""

    key = models.UUIDField(primary_key=True, default=uuid.uuid4)
    digest = models.CharField(max_length=64, help_text="SHA-256 of what was typed, files included.")
    received_at = models.DateTimeField(default=timezone.now)
