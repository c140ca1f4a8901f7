"""Where a loaf stands, what may be done with it and what wants doing: from facts and the moment asked about."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from enum import IntEnum, StrEnum
from math import ceil, sqrt

from curelog.domain.cutting import CutWindow
from curelog.domain.quantiles import Quantiles


class Stage(StrEnum):
    MOULD = "mould"
    UNMOULDED = "unmoulded"
    CURING = "curing"
    SETTLED = "settled"
    READY = "ready"
    RELEASED = "released"
    FINISHED = "finished"

    @property
    def words(self) -> str:
        return STAGE_WORDS[self]


STAGE_WORDS = {
    Stage.MOULD: "In the mould",
    Stage.UNMOULDED: "Unmoulded, not cut",
    Stage.CURING: "Curing",
    Stage.SETTLED: "Weight settled",
    Stage.READY: "Ready",
    Stage.RELEASED: "Released",
    Stage.FINISHED: "Finished",
}

# Released early on purpose: a maker may have reasons, and says which.
CURE_ACTS = ("weigh", "photo", "check", "move", "handling", "note", "gel", "release", "finish")
# A fact typed for a loaf whose stage does not list it is kept all the same, and marked.
ACTS = {
    Stage.MOULD: ("firmness", "unmould", "gel", "cut", "photo", "move", "note"),
    Stage.UNMOULDED: ("cut", "firmness", "gel", "photo", "move", "note"),
    Stage.CURING: CURE_ACTS,
    Stage.SETTLED: CURE_ACTS,
    Stage.READY: ("release", *(act for act in CURE_ACTS if act != "release")),
    Stage.RELEASED: ("leave", "check", "weigh", "photo", "move", "note", "handling", "finish"),
    Stage.FINISHED: ("note", "photo", "check"),
}


class Need(IntEnum):
    """What wants doing, in order of what is lost by waiting."""

    CUT_NOW = 1
    PAST_CUT_BY = 2
    CHECK_FIRMNESS = 3
    WEIGH = 4
    HELD_BACK = 5
    READY = 6


@dataclass(frozen=True, slots=True)
class CutTimes:
    """The cut window on the clock."""

    check_from: datetime
    cut_from: datetime
    cut_by: datetime
    hard_from: datetime

    @classmethod
    def of(cls, poured_at: datetime, window: CutWindow) -> "CutTimes":
        def after(hours: float) -> datetime:
            return poured_at + timedelta(hours=hours)

        opens, closes = window.opens, window.closes
        cut_by = closes.p10
        if cut_by <= opens.p50:
            # So much doubt that it may be too hard before it is likely firm: half-way (in log time) between likely
            # firm and likely too hard is the best that can be said, until a finger check narrows it down.
            cut_by = sqrt(opens.p50 * closes.p50)
        return cls(after(opens.p10), after(opens.p50), after(cut_by), after(max(closes.p50, cut_by)))


@dataclass(frozen=True, slots=True)
class LoafFacts:
    """What the stage of a loaf follows from: `window` until the cut, `settled_day` after it. Moments are in UTC."""

    poured_at: datetime
    zone: tzinfo
    unmoulded_at: datetime | None = None
    cut_at: datetime | None = None
    released_at: datetime | None = None
    finished_at: datetime | None = None
    weighed_at: datetime | None = None
    window: CutWindow | None = None
    settled_day: Quantiles | None = None
    weigh_again_day: float | None = None
    least_cure_days: int = 28
    open_fails: int = 0

    def local_date(self, moment: datetime) -> date:
        return moment.astimezone(self.zone).date()

    def cure_date(self, day: float) -> date | None:
        """The date shown for a fractional day after the cut: rounded up, in the workshop's zone."""
        return self.local_date(self.cut_at) + timedelta(days=ceil(day)) if self.cut_at else None


@dataclass(frozen=True, slots=True)
class Standing:
    stage: Stage
    is_held_back: bool = False
    cut_times: CutTimes | None = None
    past_cut_by: timedelta | None = None
    settled_likely: date | None = None
    settled_safe: date | None = None
    old_enough: date | None = None
    weigh_again: date | None = None
    needs: tuple[Need, ...] = ()
    is_settled: bool = False  # by a weighing; a loaf released early is not

    @property
    def acts(self) -> tuple[str, ...]:
        return ACTS[self.stage]


def standing(facts: LoafFacts, now: datetime) -> Standing:
    if facts.finished_at:
        return Standing(Stage.FINISHED, is_held_back=facts.open_fails > 0)
    return _of_bars(facts, now) if facts.cut_at else _of_loaf(facts, now)


def _of_loaf(facts: LoafFacts, now: datetime) -> Standing:
    """A loaf that is not cut yet."""
    stage = Stage.UNMOULDED if facts.unmoulded_at else Stage.MOULD
    times = CutTimes.of(facts.poured_at, facts.window) if facts.window else None
    needs = [Need.HELD_BACK] if facts.open_fails else []
    if times and now > times.cut_by:
        needs.insert(0, Need.PAST_CUT_BY)
    elif times and now >= times.cut_from:
        needs.insert(0, Need.CUT_NOW)
    elif times and now >= times.check_from:
        needs.insert(0, Need.CHECK_FIRMNESS)
    past = now - times.cut_by if times and now > times.cut_by else None
    return Standing(stage, facts.open_fails > 0, times, past, needs=tuple(needs))


def _of_bars(facts: LoafFacts, now: datetime) -> Standing:
    """Cut bars, from the first day of the cure on."""
    settled = facts.settled_day
    likely = facts.cure_date(settled.p50) if settled else None
    safe = facts.cure_date(settled.p90) if settled else None
    old_enough = facts.cure_date(facts.least_cure_days)
    again = facts.cure_date(facts.weigh_again_day) if facts.weigh_again_day is not None else None
    today = facts.local_date(now)
    # The forecast that still names the safe date already knows the weighing made after it: that confirms it.
    is_settled = bool(safe and facts.weighed_at and facts.local_date(facts.weighed_at) >= safe)
    is_ready = bool(is_settled and old_enough and today >= old_enough and not facts.open_fails)
    stage = Stage.READY if is_ready else Stage.SETTLED if is_settled else Stage.CURING
    if facts.released_at:
        stage, again = Stage.RELEASED, None
    needs = []
    if stage is Stage.CURING and any(day and today >= day for day in (safe, again)):
        needs.append(Need.WEIGH)
    if facts.open_fails:
        needs.append(Need.HELD_BACK)
    if stage is Stage.READY:
        needs.append(Need.READY)
    days = likely, safe, old_enough, again
    return Standing(stage, facts.open_fails > 0, None, None, *days, tuple(needs), is_settled)
