"""Moments in the maker's words: never more exact than they are known."""

from datetime import date, datetime, timedelta

from django import template
from django.utils import timezone
from django.utils.formats import date_format

register = template.Library()


def step_for(ahead: timedelta) -> timedelta:
    """How finely a moment is told, by how far away it is."""
    if abs(ahead) < timedelta(hours=6):
        return timedelta(minutes=15)
    return timedelta(minutes=30) if abs(ahead) < timedelta(hours=36) else timedelta(hours=1)


def rounded(moment: datetime, step: timedelta, up: bool) -> datetime:
    midnight = moment.replace(hour=0, minute=0, second=0, microsecond=0)
    steps, rest = divmod(moment - midnight, step)
    return midnight + step * (steps + (1 if up and rest else 0))


def day_words(day: date, today: date) -> str:
    near = {-1: "yesterday", 0: "today", 1: "tomorrow"}.get((day - today).days)
    return near or date_format(day, "D j M" if abs((day - today).days) < 200 else "j M Y")


def told(moment: datetime | None, up: bool) -> str:
    if moment is None:
        return "–"
    now = timezone.localtime()
    shown = rounded(timezone.localtime(moment), step_for(moment - now), up)
    if shown - now > timedelta(days=3) or now - shown > timedelta(days=2):
        return day_words(shown.date(), now.date())
    return f"{day_words(shown.date(), now.date())} {shown:%H:%M}"


@register.filter
def clock_from(moment: datetime | None) -> str:
    """For "from": rounded up."""
    return told(moment, up=True)


@register.filter
def clock_by(moment: datetime | None) -> str:
    """For "by": rounded down, so that the word is kept."""
    return told(moment, up=False)


@register.filter
def happened(moment: datetime) -> str:
    """A moment that was noted: to the minute, with its day."""
    local = timezone.localtime(moment)
    return f"{day_words(local.date(), timezone.localdate())} {local:%H:%M}"


@register.filter
def on_day(day: date | None) -> str:
    """A date of the forecast."""
    return day_words(day, timezone.localdate()) if day else "–"


@register.filter
def lasted(span: timedelta | None) -> str:
    """ "40 minutes", "5 hours", "3 days"."""
    if span is None:
        return ""
    minutes = int(span.total_seconds() // 60)
    for size, word in ((1440, "day"), (60, "hour"), (1, "minute")):
        if minutes >= 2 * size or size == 1:
            count = minutes // size
            return f"{count} {word}{'' if count == 1 else 's'}"
    return ""
