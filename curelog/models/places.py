"""Racks, shelves and trays, and which loaf lies where."""

import uuid

from django.db import models

from curelog.models.fact import Fact


class Place(models.Model):
    """Somewhere bars lie, in the order in which a round walks along."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    name = models.CharField(max_length=80)
    order = models.PositiveSmallIntegerField(default=0, help_text="In a round, lower comes first.")
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["order", "name"]

    def __str__(self) -> str:
        return self.name


class Move(Fact):
    """The loaf, its bars or the samples kept back of them were put somewhere."""

    class Part(models.TextChoices):
        BARS = "bars", "The bars"
        SAMPLE = "sample", "The retained sample"

    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, related_name="moves", help_text="Where it was put."
    )
    part = models.CharField(
        max_length=6, choices=Part.choices, default=Part.BARS, help_text="What was put there."
    )

    @property
    def words(self) -> str:
        return f"{'Sample put' if self.part == self.Part.SAMPLE else 'Put'} on {self.place.name}"
