"""What every fact has. Facts are added, never changed: a correction points at what it corrects."""

import uuid

from django.db import models
from django.utils import timezone

from curelog.models.loaves import Loaf
from curelog.models.people import Person


class Fact(models.Model):
    """When and by whom, when it arrived, and what it corrects. `id` is made where the fact was typed."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    loaf = models.ForeignKey(Loaf, on_delete=models.CASCADE)
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    origin = models.CharField(max_length=20, default="page")
    misplaced = models.CharField(
        max_length=120, blank=True, help_text="Why the loaf's stage did not allow it."
    )
    corrects = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.CASCADE, related_name="corrections"
    )
    withdrawn = models.CharField(
        max_length=200, blank=True, help_text="Set on the fact that withdraws: the reason."
    )
    note = models.TextField(blank=True)

    corrects_id: uuid.UUID | None  # made by Django for each concrete kind

    class Meta:
        abstract = True
        ordering = ["happened_at", "received_at"]

    @property
    def words(self) -> str:
        raise NotImplementedError

    def words_in(self, unit: str) -> str:
        """For kinds that tell a mass: in the workshop's unit."""
        return self.words

    @property
    def kind_name(self) -> str:
        return str(self._meta.model_name)
