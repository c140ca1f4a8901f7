"""Which reminders a loaf wants, and when: from what is known of it, the workshop's rules and its quiet hours."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from curelog.domain.lifecycle import Stage, Standing
from curelog.domain.quiet import Night, QuietHours, at_clock


class Kind(StrEnum):
    CHECK = "check"
    CUT = "cut"
    CUT_BY = "cut_by"
    WEIGH = "weigh"
    TURN = "turn"
    SPOTS = "spots"
    SETTLED = "settled"
    READY = "ready"
    HELD = "held"
    OWN = "own"


class Shift(StrEnum):
    """What quiet hours did to a reminder."""

    NONE = ""
    BEFORE = "before"
    AFTER = "after"
    AT_NIGHT = "at night"


# A loaf speaks once at a time: of several reminders for one moment the first of these stays.
CUT_KINDS = (Kind.CUT, Kind.CUT_BY, Kind.CHECK)
# Finding gloves and wire, warming up the cutter.
TIME_TO_ACT = timedelta(hours=1)
# Past its cut-by a loaf still wants cutting, for as long as warming it through may help.
STILL_WORTH_CUTTING = timedelta(hours=48)
# Days after the cut: common practice, no source.
TURN_DAYS = (7, 14, 21, 28)
# Orange spots come from 8 weeks to 16 months after the cut: common practice, no source.
SPOTS_DAYS = (56, 91, 182, 273, 365, 486)
HELD_DAYS = 2
# For how many days a reminder with a date stays true when nobody could be told.
TRUE_DAYS = {Kind.TURN: 4, Kind.WEIGH: 14, Kind.SPOTS: 14}
TRUE_DAYS_ELSE = 30


@dataclass(frozen=True, slots=True)
class Rule:
    """`lead`: how long before. `clock`: the time of day for reminders that have a date but no hour."""

    is_on: bool = True
    lead: timedelta = timedelta()
    clock: time = time(18, 0)


RULES: Mapping[Kind, Rule] = {kind: Rule() for kind in Kind} | {
    Kind.CUT: Rule(lead=timedelta(minutes=30)),
    Kind.CUT_BY: Rule(lead=timedelta(hours=2)),
}


@dataclass(frozen=True, slots=True)
class Story:
    """A loaf as far as reminders go. `felt_at`: the pour, or the last finger check; `open_fails`: key and moment."""

    standing: Standing
    felt_at: datetime
    checks: int = 0
    cut_day: date | None = None
    weighed_at: datetime | None = None
    weighings: int = 0
    looked_at: datetime | None = None
    open_fails: tuple[tuple[str, datetime], ...] = ()


@dataclass(frozen=True, slots=True)
class Wanted:
    """`begins` (to `ends`) is what it speaks of; after `until` it is not true any more. `series` tells reminders of one
    kind apart for good; with a new `occasion` it may be told again. Without `due_at` it is for the calendar only."""

    kind: Kind
    due_at: datetime | None
    begins: datetime | date
    until: datetime
    ends: datetime | None = None
    series: str = ""
    occasion: str = ""
    shift: Shift = Shift.NONE
    night: Night | None = None
    soft_before: datetime | None = None


def wanted(story: Story, rules: Mapping[Kind, Rule], quiet: QuietHours, now: datetime) -> list[Wanted]:
    if story.standing.stage is Stage.FINISHED:
        return []
    every = _one_at_a_time(_for_cutting(story, rules, quiet)) + _by_date(story, rules, quiet)
    return [want for want in every if rules[want.kind].is_on and want.until > now]


def _for_cutting(story: Story, rules: Mapping[Kind, Rule], quiet: QuietHours) -> list[Wanted]:
    times = story.standing.cut_times
    if times is None:
        return []
    moments = {
        Kind.CUT: (times.cut_from, times.cut_by, times.cut_by),
        Kind.CUT_BY: (times.cut_by, None, times.cut_by + STILL_WORTH_CUTTING),
        Kind.CHECK: (times.check_from, None, times.cut_by),
    }
    found = []
    for kind, (begins, ends, until) in moments.items():
        due_at, shift, night = _due(begins, times.cut_by, rules[kind].lead, story.felt_at, quiet)
        found.append(
            Wanted(kind, due_at, begins, until, ends, "", str(story.checks), shift, night, times.check_from)
        )
    return [want for want in found if rules[want.kind].is_on]


def _due(
    moment: datetime, last: datetime, lead: timedelta, since: datetime, quiet: QuietHours
) -> tuple[datetime | None, Shift, Night | None]:
    """When to tell of a moment that is over for good at `last`. Never for what was known already at `since`, when the
    maker stood before the loaf."""
    if moment <= since:
        return None, Shift.NONE, None
    due_at = moment - min(lead, (moment - since) / 2)
    night = quiet.night_of(moment) or quiet.night_of(due_at)
    if night is None:
        return due_at, Shift.NONE, None
    if last >= night.ends + TIME_TO_ACT:
        return night.ends, Shift.AFTER, night
    before = min(due_at, max(night.begins - TIME_TO_ACT, since))
    if before < night.begins:
        return before, Shift.BEFORE, night
    return due_at, Shift.AT_NIGHT, night


def _one_at_a_time(found: list[Wanted]) -> list[Wanted]:
    taken: set[datetime | None] = set()
    kept = []
    for want in sorted(found, key=lambda want: CUT_KINDS.index(want.kind)):
        kept.append(replace(want, due_at=None) if want.due_at in taken else want)
        taken.add(want.due_at)
    return kept


def _by_date(story: Story, rules: Mapping[Kind, Rule], quiet: QuietHours) -> list[Wanted]:
    days = [*_held(story, quiet), *_cure(story, quiet), *_looks(story, quiet)]
    return [_on_day(kind, day, series, occasion, rules[kind], quiet) for kind, day, series, occasion in days]


Dated = tuple[Kind, date, str, str]


def _held(story: Story, quiet: QuietHours) -> list[Dated]:
    wait = timedelta(days=HELD_DAYS)
    return [(Kind.HELD, at.astimezone(quiet.zone).date() + wait, key, "") for key, at in story.open_fails]


def _cure(story: Story, quiet: QuietHours) -> list[Dated]:
    """Weighing on until the weight has settled, then ready."""
    standing, occasion = story.standing, str(story.weighings)
    if standing.stage is Stage.CURING:
        safe, again = standing.settled_safe, standing.weigh_again
        days = [(Kind.SETTLED, safe, "", occasion)] if safe else []
        # The settled date asks for a weighing itself.
        if again and not (safe and safe <= again):
            days.append((Kind.WEIGH, again, "", occasion))
        return days
    if standing.stage not in (Stage.SETTLED, Stage.READY) or standing.is_held_back or not standing.old_enough:
        return []
    if not story.weighed_at:
        return []
    # Who weighed has just read it on the screen: this is for the others.
    next_day = story.weighed_at.astimezone(quiet.zone).date() + timedelta(days=1)
    return [(Kind.READY, max(next_day, standing.old_enough), "", "")]


def _looks(story: Story, quiet: QuietHours) -> list[Dated]:
    """Turning and looking for spots: each once, those from before the last look not any more."""
    if not story.cut_day:
        return []
    looked = story.looked_at.astimezone(quiet.zone).date() if story.looked_at else story.cut_day
    days = [(Kind.TURN, n) for n in TURN_DAYS] + [(Kind.SPOTS, n) for n in SPOTS_DAYS]
    dated = [(kind, story.cut_day + timedelta(days=n), str(n), "") for kind, n in days]
    return [entry for entry in dated if entry[0] is Kind.TURN or entry[1] > looked]


def _on_day(kind: Kind, day: date, series: str, occasion: str, rule: Rule, quiet: QuietHours) -> Wanted:
    due_at = at_clock(day - timedelta(days=rule.lead.days), rule.clock, quiet.zone)
    night = quiet.night_of(due_at)
    until = due_at + timedelta(days=TRUE_DAYS.get(kind, TRUE_DAYS_ELSE))
    shift = Shift.AFTER if night else Shift.NONE
    return Wanted(kind, night.ends if night else due_at, day, until, None, series, occasion, shift, night)
