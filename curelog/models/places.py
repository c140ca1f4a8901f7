"""Racks, shelves and trays, and which loaf lies where."""

import uuid

from django.db import models

from curelog.models.fact import Fact


class Place(models.Model):
    """Somewhere bars lie, in the order in which a round walks along."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    name = models.CharField(max_length=40)
    order = models.PositiveSmallIntegerField(default=0, help_text="In a round, lower comes first.")
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["order", "name"]

    def __str__(self) -> str:
        return self.name


class Move(Fact):
    """The loaf, or its bars, was put somewhere."""

    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, related_name="moves", help_text="Where it was put."
    )

    @property
    def words(self) -> str:
        return f"Put on {self.place.name}"
