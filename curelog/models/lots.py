"""Ingredient lots: delivered, or made here of other lots and batches."""

import uuid
from typing import Any

from django.db import models
from django.db.models.functions import Lower
from django.utils import timezone

from curelog.domain import fats, shelf_life
from curelog.models.people import Person
from curelog.models.recipes import OwnFat

ALKALI_NAMES = {"naoh": "Sodium hydroxide", "koh": "Potassium hydroxide"}


# What was made here is followed so far down: two lots may have been entered in a ring.
DEEPEST = 6


class Lot(models.Model):
    """One delivery of one thing. Stock lye, premixed fats, trimmings and rebatch are lots that were made here."""

    class Kind(models.TextChoices):
        FAT = "fat", "Fat"
        ALKALI = "alkali", "Alkali"
        ADDITIVE = "additive", "Additive or fragrance"
        LYE = "lye", "Stock lye"
        MIX = "mix", "Premixed fats"
        SOAP = "soap", "Trimmings or rebatch"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    key = models.CharField(
        max_length=60, blank=True, help_text="A fat's key in the table; naoh or koh for alkali and stock lye."
    )
    own = models.ForeignKey(
        OwnFat,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="lots",
        help_text="A fat of the maker's own.",
    )
    name = models.CharField(max_length=60, help_text="What it is, in words.")
    supplier = models.CharField(max_length=80, blank=True)
    code = models.CharField(max_length=60, help_text="The supplier's lot code, or the maker's own.")
    received_on = models.DateField(null=True, blank=True, help_text="Received, or made here, on.")
    opened_on = models.DateField(null=True, blank=True)
    best_before = models.DateField(null=True, blank=True)
    received_g = models.FloatField(help_text="Mass received, or made.")
    price = models.FloatField(
        null=True, blank=True, help_text="Of all that was received, in the workshop's currency."
    )
    saponification_value = models.FloatField(null=True, blank=True, help_text="By the lot's certificate.")
    peroxide_value = models.FloatField(
        null=True, blank=True, help_text="By the lot's certificate, in milliequivalents of oxygen per kg."
    )
    strength = models.FloatField(
        null=True, blank=True, help_text="Of stock lye: the share that is alkali as weighed."
    )
    went_to = models.TextField(blank=True, help_text="Of rebatched soap: to whom it went.")
    note = models.TextField(blank=True)
    is_retired = models.BooleanField(default=False, help_text="Used up, or taken off the shelf.")
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")

    own_id: int | None

    class Meta:
        ordering = ["name", "received_on", "made_at"]
        indexes = [models.Index(Lower("code"), name="lots_by_code")]
        constraints = [
            models.UniqueConstraint(
                "kind",
                "key",
                Lower("name"),
                Lower("code"),
                name="one_lot_per_code",
                condition=models.Q(own=None),
            ),
            models.UniqueConstraint(
                "own", Lower("code"), name="one_lot_per_code_of_own", condition=models.Q(own__isnull=False)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.code}"

    @property
    def choice(self) -> str:
        """As the recipe's form names a fat."""
        return f"own:{self.own_id}" if self.own_id else self.key

    @property
    def fat(self) -> fats.Fat | None:
        if self.kind != self.Kind.FAT:
            return None
        return self.own.as_fat() if self.own else fats.find(self.key)

    @property
    def is_made_here(self) -> bool:
        return self.kind in (self.Kind.LYE, self.Kind.MIX, self.Kind.SOAP)

    def certificate_of(self, choice: str) -> float | None:
        """Saponification value of a fat in it: its own, or in a mix that of the lot the fat came from."""
        if self.kind == self.Kind.FAT:
            return self.saponification_value if self.choice == choice else None
        sources = (part.source for part in self.parts.all() if part.source)
        return next((lot.saponification_value for lot in sources if lot.choice == choice), None)

    @property
    def fatty_acids(self) -> dict[str, float]:
        """Shares; of a mix, in the proportions of its parts."""
        if fat := self.fat:
            return dict(fat.fatty_acids)
        parts = [
            (part.source.fat, part.mass_g) for part in self.parts.all() if part.source and part.source.fat
        ]
        mass_g = sum(mass for _, mass in parts)
        acids: dict[str, float] = {}
        for fat, part_g in parts:
            for name, share in fat.fatty_acids.items():
                acids[name] = acids.get(name, 0.0) + share * part_g / mass_g
        return acids

    @property
    def keeping(self) -> shelf_life.Keeping:
        return shelf_life.Keeping(self.fatty_acids, self.opened_on, self.best_before, self.peroxide_value)


class LotPart(models.Model):
    """What a lot made here was made of: some of another lot, or of a batch."""

    lot = models.ForeignKey(Lot, on_delete=models.CASCADE, related_name="parts", help_text="The lot made.")
    source = models.ForeignKey(
        Lot,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="uses",
        help_text="Made of this lot.",
    )
    batch: "models.ForeignKey[Any, Any]" = models.ForeignKey(
        "curelog.Batch",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="lots_made",
        help_text="Made of soap of this batch.",
    )
    mass_g = models.FloatField(help_text="How much of it went in.")

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(source__isnull=False, batch=None)
                | models.Q(source=None, batch__isnull=False),
                name="made_of_a_lot_or_a_batch",
            )
        ]


class StockCount(models.Model):
    """What is really left of a lot. It corrects what the pours leave on paper from its moment on."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    lot = models.ForeignKey(
        Lot, on_delete=models.CASCADE, related_name="counts", help_text="The lot counted."
    )
    counted_at = models.DateTimeField(help_text="When it was weighed.")
    received_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    counted_g = models.FloatField(help_text="What the scale showed, without the vessel.")
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["counted_at", "received_at"]
