"""Which pour time lets a loaf be cut while people are awake."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from curelog.domain.quiet import QuietHours

STEP = timedelta(minutes=15)
# A loaf is unmoulded, cut and cleared away in an hour: common practice, no source.
TIME_TO_CUT = timedelta(hours=1)
# A proposal that only just clears the quiet hours is worth little: the span itself is an estimate.
ROOM_FOR_DOUBT = timedelta(hours=2)
LOOK_AHEAD = timedelta(hours=48)


@dataclass(frozen=True, slots=True)
class CutSpan:
    """First and last hour after the pour at which a loaf wants cutting."""

    from_h: float
    by_h: float

    def moments(self, poured_at: datetime) -> Iterator[datetime]:
        """The span on the clock in steps; a short one is given the time that cutting takes, ending with it.

        Hours are added in UTC: across a clock change the wall clock would be an hour off.
        """
        start = poured_at.astimezone(UTC)
        last = start + timedelta(hours=self.by_h)
        moment = max(start, min(start + timedelta(hours=self.from_h), last - TIME_TO_CUT))
        while moment < last:
            yield moment
            # On the quarters, where quiet hours begin and end.
            moment = _next_quarter(moment + timedelta.resolution)
        yield last


def can_cut_awake(poured_at: datetime, span: CutSpan, quiet: QuietHours) -> bool:
    """Whether the span leaves enough time outside the quiet hours in one piece, to a quarter of an hour."""
    awake_since: datetime | None = None
    for moment in span.moments(poured_at):
        if awake_since and moment - awake_since >= TIME_TO_CUT:
            return True
        awake_since = None if quiet.hold(moment) else awake_since or moment
    # What is shorter than a cut takes has to be awake as a whole.
    return awake_since == next(span.moments(poured_at))


def opens_awake(poured_at: datetime, span: CutSpan, quiet: QuietHours) -> bool:
    """Whether the span begins outside the quiet hours and stays there, as long as it lasts or doubt asks for."""
    moments = list(span.moments(poured_at))
    return not any(quiet.hold(moment) for moment in moments if moment <= moments[0] + ROOM_FOR_DOUBT)


def better_pour_time(after: datetime, spans: Sequence[CutSpan], quiet: QuietHours) -> datetime | None:
    """The first pour time from `after` on, itself outside the quiet hours, at which every loaf opens awake.

    On the quarter hour, in UTC. None when the next two days have none.
    """
    pour_at = _next_quarter(after.astimezone(UTC))
    while pour_at <= after + LOOK_AHEAD:
        if not quiet.hold(pour_at) and all(opens_awake(pour_at, span, quiet) for span in spans):
            return pour_at
        pour_at += STEP
    return None


def _next_quarter(moment: datetime) -> datetime:
    past = timedelta(minutes=moment.minute % 15, seconds=moment.second, microseconds=moment.microsecond)
    return moment + STEP - past if past else moment
