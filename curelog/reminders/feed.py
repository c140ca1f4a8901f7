"""The calendar's entries: the same rows that the worker tells."""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime, timedelta

from curelog.calendar_text import Entry
from curelog.domain.reminding import Kind
from curelog.models import Reminder
from curelog.reminders.composing import TITLES, path_of

# A calendar shows a little of what was.
KEPT = timedelta(days=30)
CHECK_TAKES = timedelta(minutes=30)


def rows(now: datetime) -> Iterable[Reminder]:
    wanted = Reminder.objects.filter(is_over=False, begins_at__gte=now - KEPT)
    return wanted.select_related("loaf__batch").order_by("pk")


def entries(found: Iterable[Reminder], absolute: Callable[[str], str]) -> Iterator[Entry]:
    """`absolute` makes an address out of a path. The cut is one entry, from "cut from" to "cut by"."""
    every = list(found)
    with_window = {row.loaf_id for row in every if row.kind == Kind.CUT}
    for row in every:
        if row.kind != Kind.CUT_BY or row.loaf_id not in with_window:
            yield entry(row, absolute)


def entry(row: Reminder, absolute: Callable[[str], str]) -> Entry:
    title = (
        f"{row.loaf.number}: {row.note}"
        if row.kind == Kind.OWN
        else f"{TITLES[Kind(row.kind)]}: {row.loaf.number}"
    )
    ends = row.begins_at + CHECK_TAKES if row.kind == Kind.CHECK else row.ends_at
    return Entry(
        uid=f"{row.kind}-{row.series or 0}-{row.loaf_id}@curelog",
        begins=row.begins_at.date() if row.is_all_day else row.begins_at,
        ends=ends,
        title=title,
        text=f"{row.words}\n{row.why}",
        url=absolute(path_of(row)),
        revision=row.revision,
        changed_at=row.changed_at,
    )
