"""Bars leave the rack: released for sale with a promise, then gone one way or another."""

from django.db import models

from curelog import units
from curelog.models.fact import Fact
from curelog.models.places import Place


class Release(Fact):
    """Which bars may be sold, and what was promised of their weight. `basis` keeps the words of that day: a forecast
    made later may say something else, the promise stays."""

    bar_count = models.PositiveSmallIntegerField(help_text="Bars for sale, without retained samples.")
    retained_count = models.PositiveSmallIntegerField(default=1)
    sample_place = models.ForeignKey(
        Place, null=True, blank=True, on_delete=models.PROTECT, related_name="samples"
    )
    early_why = models.CharField(max_length=200, blank=True, help_text="Why it went before it was ready.")
    declared_g = models.FloatField(null=True, blank=True)
    rule = models.CharField(max_length=12, blank=True)
    hold_until = models.DateField(null=True, blank=True)
    weights_g = models.JSONField(default=list, blank=True, help_text="Each bar, when all were weighed.")
    basis = models.TextField(blank=True)
    questioned = models.CharField(max_length=300, blank=True, help_text="What was asked before it was kept.")

    @property
    def words(self) -> str:
        return self.words_in("g")

    def words_in(self, unit: str) -> str:
        early = f", early: {self.early_why}" if self.early_why else ""
        weight = f", net weight {units.mass_words(self.declared_g, unit, 2)}" if self.declared_g else ""
        return f"Released: {self.bar_count} {'bar' if self.bar_count == 1 else 'bars'}{weight}{early}"


class Leaving(Fact):
    """Bars of a released loaf that are gone, and to whom."""

    class Kind(models.TextChoices):
        SOLD = "sold", "Sold"
        GIVEN = "given", "Given away"
        KEPT = "kept", "Kept for own use"
        TESTS = "tests", "Used for tests"
        THROWN = "thrown", "Thrown away"

    kind = models.CharField(max_length=8, choices=Kind.choices, default=Kind.SOLD)
    bar_count = models.PositiveSmallIntegerField()
    to_whom = models.CharField(max_length=80, blank=True, help_text="A market, a shop, the name of a day.")
    questioned = models.CharField(max_length=300, blank=True, help_text="What was asked before it was kept.")

    @property
    def words(self) -> str:
        to = f", {self.to_whom}" if self.to_whom else ""
        return f"{self.get_kind_display()}: {self.bar_count} {'bar' if self.bar_count == 1 else 'bars'}{to}"
