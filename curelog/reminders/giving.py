"""Giving out: due rows are claimed and become deliveries, one for each receiver that wants the kind, all or nothing."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet

from curelog.domain.quiet import QuietHours
from curelog.domain.reminding import TIME_TO_ACT, Kind, Shift
from curelog.models import Delivery, Receiver, Reminder, Workshop

# A transaction's worth: the pages' own writes come in between.
AT_ONCE = 100
# Reminders of a date come along when something else is told a little before them.
GATHER = timedelta(minutes=90)
BY_DATE = (Kind.WEIGH, Kind.TURN, Kind.SPOTS, Kind.SETTLED, Kind.READY, Kind.HELD)
# A loaf whose facts are ahead of its plan keeps silent, unless its plan cannot be worked out at all.
PLANNED = Q(loaf__to_replan=None) | Q(loaf__to_replan__tries__gt=0)

Outcome = Reminder.Outcome


def due_rows(now: datetime) -> QuerySet[Reminder]:
    planned = Reminder.objects.filter(PLANNED).select_related("loaf__batch").order_by("due_at", "pk")
    due = planned.filter(due_at__lte=now)
    return (
        planned.filter(Q(due_at__lte=now) | Q(kind__in=BY_DATE, due_at__lte=now + GATHER))
        if due.exists()
        else due
    )


def give_out(now: datetime) -> int:
    """How many rows were handled; 0 when nothing is due any more."""
    rows = list(due_rows(now)[:AT_ONCE])
    if rows:
        quiet = Workshop.current().quiet_hours
        receivers = list(Receiver.objects.filter(closed_at=None))
        with transaction.atomic():
            deliveries = [made for row in rows for made in give(row, receivers, quiet, now)]
            Delivery.objects.bulk_create(deliveries, ignore_conflicts=True)
    return len(rows)


def give(row: Reminder, receivers: Sequence[Receiver], quiet: QuietHours, now: datetime) -> list[Delivery]:
    if row.until <= now:
        claim(row, now, Outcome.DROPPED, "Nobody could be told while it was true.")
        return []
    if rest := rest_until(row, row.planned_at, quiet, now):
        as_seen(row).update(due_at=rest)
        return []
    wanting = [receiver for receiver in receivers if receiver.wants(row.kind)]
    if not claim(row, now, Outcome.GIVEN if wanting else Outcome.NOBODY):
        return []
    return [
        Delivery(
            reminder=row,
            receiver=receiver,
            occasion=row.occasion,
            made_at=now,
            due_at=max(row.planned_at or now, receiver.made_at),
            next_try_at=now,
        )
        for receiver in wanting
    ]


def as_seen(row: Reminder) -> QuerySet[Reminder]:
    """The row, as long as nobody else has claimed or moved it since it was read."""
    return Reminder.objects.filter(pk=row.pk, due_at=row.due_at, occasion=row.occasion)


def claim(row: Reminder, now: datetime, outcome: str, why: str = "") -> bool:
    changed = as_seen(row).update(
        due_at=None, told_occasion=row.occasion, outcome=outcome, outcome_why=why, outcome_at=now
    )
    return changed == 1


def rest_until(
    row: Reminder, planned_at: datetime | None, quiet: QuietHours, now: datetime
) -> datetime | None:
    """What missed its moment and now falls into quiet hours rests until they end, if it will still be in time then."""
    night = quiet.night_of(now)
    if night is None or row.shift == Shift.AT_NIGHT or planned_at is None or planned_at >= night.begins:
        return None
    # A cut-by that is past cannot be lost any more by waiting for the morning.
    is_ahead = row.kind == Kind.CUT_BY and row.begins_at > now
    last = row.begins_at if is_ahead else row.until
    return night.ends if last >= night.ends + TIME_TO_ACT else None
