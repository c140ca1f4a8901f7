"""Recipes. One that has been poured is never changed: an edit makes the next version."""

import uuid
from functools import cached_property

from django.db import models
from django.utils import timezone

from curelog.domain import batch, fats
from curelog.domain.limits import Limited, OverLimit, over_limit
from curelog.domain.mixture import Mixture
from curelog.models.people import Person


class OwnFat(models.Model):
    """A fat that the table does not have, with the maker's own values."""

    name = models.CharField(max_length=60, unique=True)
    inci = models.CharField(max_length=120, blank=True)
    saponification_value = models.FloatField()
    iodine_value = models.FloatField(null=True, blank=True)
    is_wax = models.BooleanField(default=False)
    fatty_acids = models.JSONField(default=dict, blank=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def as_fat(self) -> fats.Fat:
        return fats.own_fat(
            self.name,
            self.saponification_value,
            iodine_value=self.iodine_value,
            fatty_acids=self.fatty_acids,
            is_wax=self.is_wax,
            inci=self.inci,
        )


class Recipe(models.Model):
    class Kind(models.TextChoices):
        MIXED = "mixed", "Mixed fats"
        HARD = "hard", "Mostly hard fats"
        SALT = "salt", "Salt bar"
        OLIVE = "olive", "Mostly olive"

    class WaterMode(models.TextChoices):
        LYE_CONCENTRATION = "lye_concentration", "Lye concentration, %"
        WATER_TO_LYE = "water_to_lye", "Water : lye"
        PERCENT_OF_FATS = "percent_of_fats", "Water, % of fats"

    # Least cure days by type: common practice, no source.
    LEAST_CURE_DAYS = {Kind.MIXED: 28, Kind.HARD: 28, Kind.SALT: 42, Kind.OLIVE: 180}

    name = models.CharField(max_length=80)
    family = models.UUIDField(default=uuid.uuid4, editable=False)
    version = models.PositiveSmallIntegerField(default=1)
    is_current = models.BooleanField(default=True)
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.MIXED)
    superfat = models.FloatField(default=0.05)
    naoh_share = models.FloatField(default=1.0)
    naoh_purity = models.FloatField(default=1.0)
    koh_purity = models.FloatField(default=0.9)
    water_mode = models.CharField(
        max_length=20, choices=WaterMode.choices, default=WaterMode.LYE_CONCENTRATION
    )
    water_value = models.FloatField(default=0.33)
    least_cure_days = models.PositiveSmallIntegerField(default=28)
    settled_pct = models.FloatField(null=True, blank=True)
    settled_days = models.PositiveSmallIntegerField(null=True, blank=True)
    bar_thickness_mm = models.FloatField(default=25.0)
    note = models.TextField(blank=True)
    assessor_reference = models.CharField(
        max_length=80, blank=True, help_text="Under which reference an assessor looked at it."
    )
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["family", "version"], name="one_row_per_version")]

    def __str__(self) -> str:
        return f"{self.name}, version {self.version}" if self.version > 1 else self.name

    @cached_property
    def portions(self) -> list[batch.FatPortion]:
        return [batch.FatPortion(part.fat, part.mass_g) for part in self.fats.all()]

    @property
    def fat_shares(self) -> list[tuple[batch.FatPortion, float]]:
        """The fats, most of all first, with their shares of all fats."""
        fats_g = sum(portion.mass_g for portion in self.portions)
        ordered = sorted(self.portions, key=lambda portion: -portion.mass_g)
        return [(portion, portion.mass_g / fats_g) for portion in ordered]

    @property
    def is_poured(self) -> bool:
        return self.batches.exists()

    @property
    def alkali(self) -> batch.Alkali:
        return batch.Alkali(self.naoh_share, 1 - self.naoh_share, self.naoh_purity, self.koh_purity)

    @property
    def water(self) -> batch.Water:
        return batch.Water(self.water_mode, self.water_value)  # type: ignore[arg-type]

    @property
    def mixture(self) -> Mixture:
        return self.mixture_of(self.portions)

    def mixture_of(self, portions: list[batch.FatPortion]) -> Mixture:
        """With other values of its fats, such as those of their lots."""
        additives = [part.as_additive() for part in self.additives.all()]
        return Mixture(portions, self.superfat, self.alkali, self.water, additives)

    @cached_property
    def sums(self) -> batch.Batch:
        return self.mixture.work_out()

    @property
    def over_limits(self) -> list[OverLimit]:
        limited = [part.limited for part in self.additives.all() if part.limited]
        return list(over_limit(limited, self.sums.fats_g, self.sums.dry_g))

    def role_on_fats(self, role: "AdditiveRole") -> float:
        return sum(part.share_of_fats for part in self.additives.all() if part.role == role)


class RecipeFat(models.Model):
    recipe = models.ForeignKey(Recipe, on_delete=models.CASCADE, related_name="fats")
    key = models.CharField(max_length=60, blank=True)
    own = models.ForeignKey(OwnFat, null=True, blank=True, on_delete=models.PROTECT)
    mass_g = models.FloatField()

    class Meta:
        ordering = ["id"]

    @property
    def choice(self) -> str:
        """As the recipe's form names a fat."""
        return f"own:{self.own_id}" if self.own_id else self.key

    @property
    def fat(self) -> fats.Fat:
        return self.own.as_fat() if self.own else fats.find(self.key)


class AdditiveRole(models.TextChoices):
    SALT = "salt", "Salt"
    LACTATE = "lactate", "Sodium lactate"
    SUGAR = "sugar", "Sugar or honey"
    MILK = "milk", "Milk, juice or puree"
    FRAGRANCE = "fragrance", "Fragrance"
    CLAY = "clay", "Clay or colour"
    OTHER = "other", "Other"


class LimitOf(models.TextChoices):
    """What a supplier's limit is a share of."""

    FINISHED = "finished", "the finished soap"
    FATS = "fats", "the fats"


class RecipeAdditive(models.Model):
    """Something stirred in, in per cent of the fats' mass."""

    recipe = models.ForeignKey(Recipe, on_delete=models.CASCADE, related_name="additives")
    name = models.CharField(max_length=60)
    role = models.CharField(max_length=10, choices=AdditiveRole.choices, default=AdditiveRole.OTHER)
    share_of_fats = models.FloatField()
    water_share = models.FloatField(default=0.0)
    limit_share = models.FloatField(
        null=True, blank=True, help_text="The most of it by its supplier, as a share of limit_of."
    )
    limit_of = models.CharField(
        max_length=10,
        choices=LimitOf.choices,
        default=LimitOf.FINISHED,
        help_text="What the supplier's limit is a share of.",
    )
    allergens = models.TextField(blank=True, help_text="Allergens that its supplier declares.")

    class Meta:
        ordering = ["id"]

    @property
    def mass_g(self) -> float:
        return self.share_of_fats * sum(part.mass_g for part in self.recipe.fats.all())

    @property
    def limited(self) -> Limited | None:
        if self.limit_share is None:
            return None
        return Limited(self.name, self.mass_g, self.limit_share, self.limit_of == LimitOf.FATS)

    def as_additive(self) -> batch.Additive:
        return batch.Additive(self.name, self.mass_g, self.water_share)
