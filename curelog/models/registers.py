"""What a workshop that sells is asked to keep: complaints with what was done, scale checks, cleaning."""

import uuid
from datetime import datetime

from django.db import models
from django.utils import timezone

from curelog.models.loaves import Batch
from curelog.models.people import Person


class Complaint(models.Model):
    """What somebody said about a bar. Only `who` is ever erased; the rest is answered by steps."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    at = models.DateTimeField(help_text="When it was told.")
    received_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    batch = models.ForeignKey(
        Batch,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="complaints",
        help_text="The batch it is about, when known.",
    )
    who = models.CharField(max_length=120, blank=True, help_text="Who told it. An owner can erase this.")
    what = models.TextField(help_text="What was told.")
    is_adverse = models.BooleanField(default=False, help_text="An adverse effect on somebody.")

    class Meta:
        ordering = ["-at"]

    @property
    def closed_at(self) -> datetime | None:
        return next((step.at for step in self.steps.all() if step.closes), None)


class ComplaintStep(models.Model):
    """What was done about a complaint."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    complaint = models.ForeignKey(
        Complaint, on_delete=models.CASCADE, related_name="steps", help_text="The complaint."
    )
    at = models.DateTimeField(help_text="When it was done.")
    received_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    done = models.TextField(help_text="What was done.")
    closes = models.BooleanField(default=False, help_text="Nothing is left to do about it.")

    class Meta:
        ordering = ["at", "received_at"]


class LogEntry(models.Model):
    """A scale held against a known mass, or something cleaned."""

    class Kind(models.TextChoices):
        SCALE = "scale", "Scale check"
        CLEANING = "cleaning", "Cleaning"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    at = models.DateTimeField(help_text="When it was done.")
    received_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    what = models.CharField(max_length=120, help_text="Which scale, or what was cleaned.")
    reference_g = models.FloatField(null=True, blank=True, help_text="Mass of the reference.")
    shown_g = models.FloatField(null=True, blank=True, help_text="What the scale showed.")
    tolerance_g = models.FloatField(null=True, blank=True, help_text="How far it may be off.")
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-at"]

    @property
    def off_g(self) -> float | None:
        """How much too much the scale shows."""
        if self.shown_g is None or self.reference_g is None:
            return None
        return self.shown_g - self.reference_g

    @property
    def is_within(self) -> bool:
        off_g, tolerance_g = self.off_g, self.tolerance_g
        # The last digit of a sum must not fail a scale.
        return off_g is None or tolerance_g is None or abs(off_g) <= tolerance_g + 1e-9
