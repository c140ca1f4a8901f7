"""A loaf's rows: moved to a new plan, ended, their waiting deliveries dropped."""

from datetime import UTC, date, datetime, time

from django.db.models import F, QuerySet
from django.utils import timezone

from curelog.domain.reminding import Kind, Wanted
from curelog.models import Delivery, Loaf, Reminder

Plan = list[tuple[Wanted, str, str]]


def carry_out(loaf: Loaf, plan: Plan, now: datetime) -> None:
    """Each wanted reminder with its words and its reason. What was told for its occasion is not told again."""
    rows = {(row.kind, row.series): row for row in Reminder.objects.filter(loaf=loaf).exclude(kind=Kind.OWN)}
    for want, words, why in plan:
        row = rows.pop((want.kind, want.series), None) or Reminder(
            loaf=loaf, kind=want.kind, series=want.series
        )
        if move(row, want, words, why):
            row.revision, row.changed_at = row.revision + 1, now
            row.save()
    end(Reminder.objects.filter(pk__in=[row.pk for row in rows.values()]), "Not needed any more.", now)


def move(row: Reminder, want: Wanted, words: str, why: str) -> bool:
    """Whether anything of the row changed."""
    due_at = None if row.told_occasion == want.occasion else want.due_at
    values = {
        "occasion": want.occasion,
        "due_at": due_at,
        "planned_at": due_at or row.planned_at,
        "begins_at": moment_of(want.begins),
        "ends_at": want.ends,
        "is_all_day": not isinstance(want.begins, datetime),
        "until": want.until,
        "shift": want.shift,
        "words": words,
        "why": why,
        "is_over": False,
    }
    if row.pk and row.occasion != want.occasion:
        drop_waiting(row.deliveries.all(), "Overtaken by what was found since.", timezone.now())
    is_changed = row.pk is None or any(getattr(row, name) != value for name, value in values.items())
    for name, value in values.items():
        setattr(row, name, value)
    return is_changed


def moment_of(begins: datetime | date) -> datetime:
    """A date is stored as its midnight in UTC: it is read back as a date, never as a moment."""
    return begins if isinstance(begins, datetime) else datetime.combine(begins, time(), UTC)


def end(rows: QuerySet[Reminder], why: str, now: datetime) -> None:
    """Takes reminders out of plan and calendar. What waited until it was no longer true stays for the review."""
    mine = Reminder.objects.filter(pk__in=list(rows.filter(is_over=False).values_list("pk", flat=True)))
    drop_waiting(Delivery.objects.filter(reminder__in=mine), why, now)
    mine.filter(due_at__isnull=False, until__lte=now).update(
        outcome=Reminder.Outcome.DROPPED,
        outcome_why="Nobody could be told in time.",
        outcome_at=now,
        told_occasion=F("occasion"),
    )
    mine.filter(told_occasion=None).delete()
    mine.update(due_at=None, is_over=True, changed_at=now)


def drop_waiting(deliveries: QuerySet[Delivery], why: str, now: datetime) -> None:
    waiting = deliveries.filter(state=Delivery.State.WAITING)
    waiting.update(state=Delivery.State.DROPPED, trouble=why, ended_at=now)
