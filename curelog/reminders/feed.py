"""The calendar's entries: the same rows that the worker tells."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from django.db.models import CharField
from django.db.models.functions import Concat

from curelog.calendar_text import Entry
from curelog.domain.reminding import Kind
from curelog.models import Reminder
from curelog.reminders.composing import TITLES, path_of

# A calendar shows a little of what was.
KEPT = timedelta(days=30)
CHECK_TAKES = timedelta(minutes=30)
NOT_SHOWN = ("due_at", "planned_at", "until", "outcome", "outcome_why", "outcome_at", "told_occasion", "by")


def rows(now: datetime) -> list[Reminder]:
    """Without the loaf's and the batch's own columns but the number: a calendar asks every hour, for all loaves."""
    wanted = Reminder.objects.filter(is_over=False, begins_at__gte=now - KEPT)
    number = Concat("loaf__batch__number", "loaf__letter", output_field=CharField())
    return list(wanted.annotate(number=number).defer(*NOT_SHOWN).order_by("pk"))


def entries(found: Sequence[Reminder], origin: str) -> Iterator[Entry]:
    """The cut is one entry, from "cut from" to "cut by". `origin`: where the app is, without a slash at the end."""
    with_window = {row.loaf_id for row in found if row.kind == Kind.CUT}
    for row in found:
        if row.kind != Kind.CUT_BY or row.loaf_id not in with_window:
            yield entry(row, row.number, origin)  # type: ignore[attr-defined]


def entry(row: Reminder, number: str, origin: str) -> Entry:
    title = f"{number}: {row.note}" if row.kind == Kind.OWN else f"{TITLES[Kind(row.kind)]}: {number}"
    ends = row.begins_at + CHECK_TAKES if row.kind == Kind.CHECK else row.ends_at
    return Entry(
        uid=f"{row.kind}-{row.series or 0}-{row.loaf_id}@curelog",
        begins=row.begins_at.date() if row.is_all_day else row.begins_at,
        ends=ends,
        title=title,
        text=f"{row.words}\n{row.why}",
        url=f"{origin}{path_of(row)}",
        revision=row.revision,
        changed_at=row.changed_at,
    )
