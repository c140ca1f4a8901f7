"""What a reminder says, and why it has its time. Nothing but batch number, act and clock: it goes to locked screens."""

from datetime import datetime, timedelta, tzinfo

from django.utils.formats import date_format

from curelog.domain.reminding import TIME_TO_ACT, Kind, Shift, Story, Wanted
from curelog.models.reminders import Reminder
from curelog.templatetags.moments import rounded

BY_DATE = {
    Kind.WEIGH: "weigh",
    Kind.TURN: "turn the bars",
    Kind.SPOTS: "look for spots",
    Kind.SETTLED: "weight settled, weigh to confirm",
    Kind.READY: "ready",
    Kind.HELD: "held back, waiting for an answer",
}
SHIFTED = {
    Shift.NONE: "",
    Shift.BEFORE: ", told before the quiet hours",
    Shift.AFTER: ", told after the quiet hours",
    Shift.AT_NIGHT: ", told at night because waiting would lose it",
}
QUARTER = timedelta(minutes=15)
# Earlier than this on the clock is no morning.
MORNING_HOUR = 4


def clock(moment: datetime, zone: tzinfo, up: bool = False) -> str:
    """ "Tue 18:15": rounded up for "from", down for "by"."""
    return date_format(rounded(moment.astimezone(zone), QUARTER, up), "D H:i")


def act_words(want: Wanted, zone: tzinfo) -> str:
    if want.kind in BY_DATE:
        return BY_DATE[want.kind]
    assert isinstance(want.begins, datetime)
    if want.shift is Shift.BEFORE:
        return around_night(want, zone)
    begins = clock(want.begins, zone, up=want.kind is not Kind.CUT_BY)
    if want.kind is Kind.CHECK:
        return f"finger check from {begins}"
    if want.kind is Kind.CUT_BY:
        return f"cut by {begins}"
    return f"cut from {begins}, by {clock(want.ends, zone)}" if want.ends else f"cut from {begins}"


def around_night(want: Wanted, zone: tzinfo) -> str:
    """For what is over before the night is: "cut before Tue 22:00, or early at Wed 05:30"."""
    assert want.night
    last = want.ends or want.begins
    assert isinstance(last, datetime)
    act = "finger check" if want.kind is Kind.CHECK else "cut"
    early = last - TIME_TO_ACT
    ways = []
    if want.soft_before is None or want.soft_before < want.night.begins:
        ways.append(f"before {clock(want.night.begins, zone)}")
    if early > want.night.begins:
        is_morning = early.astimezone(zone).hour >= MORNING_HOUR and early.astimezone(zone).hour < 12
        ways.append(f"{'early ' if is_morning else ''}at {clock(early, zone)}")
    return f"{act} {', or '.join(ways) or f'by {clock(last, zone)}'}"


def why_words(story: Story, want: Wanted, zone: tzinfo) -> str:
    """ "From the finger check at Tue 07:40, told before the quiet hours"."""
    return f"From {basis(story, want, zone)}{SHIFTED[want.shift]}"


def basis(story: Story, want: Wanted, zone: tzinfo) -> str:
    def day(moment: datetime) -> str:
        return date_format(moment.astimezone(zone), "j M")

    if want.kind in (Kind.CHECK, Kind.CUT, Kind.CUT_BY):
        felt = date_format(story.felt_at.astimezone(zone), "D H:i")
        return f"the finger check at {felt}" if story.checks else f"the pour at {felt}"
    if want.kind in (Kind.TURN, Kind.SPOTS):
        return f"the cut, {want.series} days before"
    if want.kind is Kind.HELD:
        return f"the failed check of {day(dict(story.open_fails)[want.series])}"
    return f"the weighing of {day(story.weighed_at)}" if story.weighed_at else "the recipe and the cut"


def told_words(reminder: Reminder, due_at: datetime, is_late: bool, now: datetime, zone: tzinfo) -> str:
    """What is really sent: late is said so, and what is past is not promised any more."""
    words = reminder.words
    if reminder.kind == Kind.CUT_BY and now > reminder.begins_at:
        words = f"{reminder.loaf.number}: past its cut-by of {clock(reminder.begins_at, zone)}, cut it"
    return f"Late, due {date_format(due_at.astimezone(zone), 'D H:i')}. {words}" if is_late else words
