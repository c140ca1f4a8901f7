"""What the workshop wants to be reminded of, planned from the facts, and the rules it is planned by."""

from datetime import datetime, time, timedelta

from django.db import models
from django.utils import timezone

from curelog.domain.reminding import RULES, Kind, Rule, Shift
from curelog.models.loaves import Loaf
from curelog.models.people import Person
from curelog.models.recipes import Recipe

# Told late within this is told in time.
ON_TIME = timedelta(minutes=10)


class ReminderKind(models.TextChoices):
    CHECK = Kind.CHECK, "Check firmness"
    CUT = Kind.CUT, "Cut soon"
    CUT_BY = Kind.CUT_BY, "Cut by"
    WEIGH = Kind.WEIGH, "Weigh"
    TURN = Kind.TURN, "Turn the bars"
    SPOTS = Kind.SPOTS, "Look for spots"
    SETTLED = Kind.SETTLED, "Weight settled"
    READY = Kind.READY, "Ready"
    HELD = Kind.HELD, "Held back, waiting"
    OWN = Kind.OWN, "Your own"


class ReminderRule(models.Model):
    """Where the workshop departs from the usual rule: for all recipes, or for one type."""

    kind = models.CharField(max_length=8, choices=ReminderKind.choices)
    recipe_kind = models.CharField(max_length=10, choices=Recipe.Kind.choices, blank=True)
    is_on = models.BooleanField(default=True)
    lead_minutes = models.PositiveIntegerField(default=0)
    clock = models.TimeField(default=time(18, 0))

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "recipe_kind"], name="one_rule_per_kind_and_type")
        ]

    def as_rule(self) -> Rule:
        return Rule(self.is_on, timedelta(minutes=self.lead_minutes), self.clock)


def rules_for(recipe_kind: str) -> dict[Kind, Rule]:
    """A rule for the type goes before one for all, that before the usual one."""
    stored = ReminderRule.objects.filter(recipe_kind__in=["", recipe_kind]).order_by("recipe_kind")
    return {**RULES, **{Kind(rule.kind): rule.as_rule() for rule in stored}}


class Reminder(models.Model):
    """One thing to be reminded of. `due_at` is set as long as it waits to be told: the one moment that is stored.
    The calendar shows the row from the first plan on until it is over."""

    class Outcome(models.TextChoices):
        GIVEN = "given", "Told"
        NOBODY = "nobody", "Nobody to tell"
        DROPPED = "dropped", "Dropped"
        DONE = "done", "Done"

    loaf = models.ForeignKey(Loaf, on_delete=models.CASCADE, related_name="reminders")
    kind = models.CharField(max_length=8, choices=ReminderKind.choices)
    series = models.CharField(max_length=36, blank=True)
    occasion = models.CharField(max_length=12, blank=True)
    due_at = models.DateTimeField(null=True, blank=True, db_index=True)
    planned_at = models.DateTimeField(null=True, help_text="What `due_at` was, or is.")
    begins_at = models.DateTimeField()
    ends_at = models.DateTimeField(null=True)
    is_all_day = models.BooleanField(default=False)
    until = models.DateTimeField()
    shift = models.CharField(
        max_length=8, choices=[(shift.value, shift.value) for shift in Shift], blank=True
    )
    words = models.CharField(max_length=200)
    why = models.CharField(max_length=200)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    is_over = models.BooleanField(default=False)
    outcome = models.CharField(max_length=8, choices=Outcome.choices, blank=True)
    outcome_why = models.CharField(max_length=200, blank=True)
    outcome_at = models.DateTimeField(null=True)
    told_occasion = models.CharField(max_length=12, null=True)  # noqa: DJ001 (null: never told; "" is an occasion)
    revision = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["due_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["loaf", "kind", "series"], name="one_reminder_per_series")
        ]

    def __str__(self) -> str:
        return self.words

    def is_late(self, now: datetime) -> bool:
        return self.planned_at is not None and now - self.planned_at > ON_TIME


class ToReplan(models.Model):
    """A loaf of which something is known that its reminders do not know yet. Until they do, none of them goes out."""

    loaf = models.OneToOneField(Loaf, on_delete=models.CASCADE, primary_key=True, related_name="to_replan")
    since = models.DateTimeField(default=timezone.now)
    tries = models.PositiveSmallIntegerField(default=0)
