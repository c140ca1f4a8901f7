"""The day's review: every reminder of a day that did not reach somebody in time, and why."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import F, Q

from curelog.models import Delivery, Reminder
from curelog.models.reminders import ON_TIME


@dataclass(frozen=True)
class ReviewLine:
    at: datetime
    reminder: Reminder
    why: str


def review(since: datetime, until: datetime) -> list[ReviewLine]:
    """From `since` up to `until`, oldest first."""
    return sorted([*_not_told(since, until), *_troubled(since, until)], key=lambda line: line.at)


def _not_told(since: datetime, until: datetime) -> Iterator[ReviewLine]:
    outcomes = (Reminder.Outcome.NOBODY, Reminder.Outcome.DROPPED)
    rows = Reminder.objects.filter(outcome__in=outcomes, outcome_at__gte=since, outcome_at__lt=until)
    for row in rows.select_related("loaf__batch"):
        why = row.outcome_why or "Nobody to tell: no device or mailbox takes this kind."
        yield ReviewLine(row.outcome_at or row.until, row, why)


def _troubled(since: datetime, until: datetime) -> Iterator[ReviewLine]:
    """Sent late, or given up. What the facts made needless is no trouble."""
    late = Q(state=Delivery.State.SENT, ended_at__gt=F("due_at") + ON_TIME)
    lost = Q(state=Delivery.State.FAILED) | Q(
        state=Delivery.State.DROPPED, reminder__until__lte=F("ended_at")
    )
    rows = Delivery.objects.filter(late | lost, ended_at__gte=since, ended_at__lt=until)
    for row in rows.select_related("reminder__loaf__batch", "receiver"):
        why = row.trouble or "The server was not running when it was due."
        word = "sent late" if row.state == Delivery.State.SENT else "not sent"
        yield ReviewLine(row.ended_at or row.due_at, row.reminder, f"{row.receiver.name}: {word}. {why}")
