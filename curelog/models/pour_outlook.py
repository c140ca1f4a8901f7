"""What a pour would come to before it is made: when its loaves want cutting, and whether somebody is awake then."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from curelog.domain import cutting
from curelog.domain.lifecycle import CutTimes
from curelog.domain.pour_time import CutSpan, better_pour_time, can_cut_awake
from curelog.models import evidence
from curelog.models.outlook import once
from curelog.models.workshop import Workshop

# A pour noted later than this has been made: advice on a better time comes too late.
STILL_TO_COME = timedelta(hours=1)


@dataclass(frozen=True)
class LoafOutlook:
    name: str
    window: cutting.CutWindow
    times: CutTimes

    def span(self, poured_at: datetime) -> CutSpan:
        return CutSpan(
            evidence.hours_after(poured_at, self.times.cut_from),
            evidence.hours_after(poured_at, self.times.cut_by),
        )


@dataclass(frozen=True)
class PourOutlook:
    """`better` are the same loaves poured at `better_at`, when that lets them be cut awake."""

    poured_at: datetime
    loaves: tuple[LoafOutlook, ...]
    is_awake: bool = True
    better_at: datetime | None = None
    better: tuple[LoafOutlook, ...] = ()


def pour_outlook(
    named_facts: Sequence[tuple[str, cutting.PourFacts]],
    workshop: Workshop,
    poured_at: datetime,
    now: datetime,
) -> PourOutlook:
    """Of loaves that will be cut, by name."""
    past = evidence.Experience.of(workshop).cuts_before(now)
    windows = [(name, once(cutting.cut_window, facts, (), past)) for name, facts in named_facts]
    loaves = _on_clock(windows, poured_at)
    quiet = workshop.quiet_hours
    spans = [loaf.span(poured_at) for loaf in loaves]
    if all(can_cut_awake(poured_at, span, quiet) for span in spans):
        return PourOutlook(poured_at, loaves)
    is_to_come = poured_at > now - STILL_TO_COME
    better_at = better_pour_time(max(poured_at, now), spans, quiet) if is_to_come else None
    return PourOutlook(
        poured_at, loaves, False, better_at, _on_clock(windows, better_at) if better_at else ()
    )


def _on_clock(
    windows: Sequence[tuple[str, cutting.CutWindow]], poured_at: datetime
) -> tuple[LoafOutlook, ...]:
    return tuple(LoafOutlook(name, window, CutTimes.of(poured_at, window)) for name, window in windows)
