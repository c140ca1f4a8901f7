"""A batch as it was poured, and the loaves it filled."""

import uuid
from functools import cached_property
from typing import Any

from django.db import models
from django.utils import timezone

from curelog.domain.fats import Fat
from curelog.models.lots import Lot
from curelog.models.people import Person
from curelog.models.recipes import AdditiveRole, Recipe
from curelog.models.workshop import Mould


class Heat(models.TextChoices):
    NONE = "none", "Leave cool"
    INSULATED = "insulated", "Insulate"
    OVEN = "oven", "Warm oven"


class Batch(models.Model):
    """One pour: what was really weighed, copied here so that a later recipe does not rewrite history."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    number = models.CharField(max_length=20, unique=True)
    recipe = models.ForeignKey(Recipe, null=True, on_delete=models.PROTECT, related_name="batches")
    name = models.CharField(max_length=80)
    poured_at = models.DateTimeField()
    received_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    superfat = models.FloatField()
    naoh_g = models.FloatField(default=0.0)
    koh_g = models.FloatField(default=0.0)
    water_g = models.FloatField()
    lye_lot = models.CharField(max_length=60, blank=True)
    koh_lot = models.CharField(
        max_length=60,
        blank=True,
        help_text="Supplier's lot of the potassium hydroxide, beside another alkali.",
    )
    lye_from = models.ForeignKey(
        Lot,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="lye_uses",
        help_text="The known lot of lye_lot.",
    )
    koh_from = models.ForeignKey(
        Lot,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="koh_uses",
        help_text="The known lot of koh_lot.",
    )
    lye_temperature_c = models.FloatField(null=True, blank=True)
    fats_temperature_c = models.FloatField(null=True, blank=True)
    trace_minutes = models.FloatField(null=True, blank=True)
    heat = models.CharField(max_length=10, choices=Heat.choices, default=Heat.NONE)
    room_c = models.FloatField(null=True, blank=True)
    least_cure_days = models.PositiveSmallIntegerField(default=28)
    settled_pct = models.FloatField(default=4.0)
    settled_days = models.PositiveSmallIntegerField(default=28)
    bar_thickness_mm = models.FloatField(default=25.0)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-poured_at"]
        verbose_name_plural = "batches"

    def __str__(self) -> str:
        return self.number

    @cached_property
    def fats_g(self) -> float:
        return sum(part.weighed_g for part in self.fats.all())

    @cached_property
    def poured_g(self) -> float:
        additives_g = sum(part.weighed_g for part in self.additives.all())
        return self.fats_g + self.naoh_g + self.koh_g + self.water_g + additives_g

    @property
    def is_melted_again(self) -> bool:
        """Rebatched: soap and water went into the pot, no fat and no lye."""
        return not self.fats.all()

    @property
    def total_water_g(self) -> float:
        return self.water_g + sum(part.weighed_g * part.water_share for part in self.additives.all())

    @property
    def water_share(self) -> float:
        return self.total_water_g / self.poured_g

    @property
    def lye_concentration(self) -> float:
        alkali_g = self.naoh_g + self.koh_g
        return alkali_g / (alkali_g + self.water_g)

    def role_g(self, role: AdditiveRole) -> float:
        return sum(part.weighed_g for part in self.additives.all() if part.role == role)

    def role_on_fats(self, role: AdditiveRole) -> float:
        return self.role_g(role) / self.fats_g


class BatchFat(models.Model):
    """A fat as weighed, with the values it had that day."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="fats")
    facts = models.JSONField()
    weighed_g = models.FloatField()
    lot = models.CharField(max_length=60, blank=True)
    from_lot = models.ForeignKey(
        Lot,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="fat_uses",
        help_text="The known lot of this code.",
    )

    class Meta:
        ordering = ["id"]

    @property
    def fat(self) -> Fat:
        known: dict[str, Any] = dict(self.facts)
        for name in ("saponification_range", "iodine_range"):
            known[name] = tuple(known[name]) if known[name] else None
        return Fat(**known)


class BatchAdditive(models.Model):
    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="additives")
    name = models.CharField(max_length=60)
    role = models.CharField(max_length=10, choices=AdditiveRole.choices, default=AdditiveRole.OTHER)
    weighed_g = models.FloatField()
    water_share = models.FloatField(default=0.0)
    lot = models.CharField(max_length=60, blank=True)
    from_lot = models.ForeignKey(
        Lot,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="additive_uses",
        help_text="The known lot of this code.",
    )

    class Meta:
        ordering = ["id"]


class Loaf(models.Model):
    """What one mould holds of a batch."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="loaves")
    letter = models.CharField(max_length=2, blank=True)
    mould = models.ForeignKey(Mould, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    poured_g = models.FloatField()
    length_mm = models.FloatField(null=True, blank=True)
    width_mm = models.FloatField(null=True, blank=True)
    height_mm = models.FloatField(null=True, blank=True)
    cavities = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["-batch__poured_at", "letter"]
        constraints = [models.UniqueConstraint(fields=["batch", "letter"], name="one_loaf_per_letter")]

    def __str__(self) -> str:
        return self.number

    @property
    def sets_to_be_cut(self) -> bool:
        """Soap in single cavities is not cut; soap melted again sets by cooling, of which no window is known."""
        return not self.cavities and not self.batch.is_melted_again

    @property
    def number(self) -> str:
        return f"{self.batch.number}{self.letter}"
