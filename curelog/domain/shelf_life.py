"""What to look at before an ingredient lot goes into the pot: its date, how long it has been open, its certificate."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from curelog.domain.acids import by_saturation

# Common practice, no source: time enough to use a lot up before its date.
NEAR_DATE = timedelta(days=60)
# Days open after which a fat is looked at again, by its least polyunsaturated share: air turns linoleic and
# linolenic acid rancid first. Common practice, no source.
OPEN_LONG_DAYS = ((0.30, 180), (0.05, 365), (0.0, 730))
RICH = OPEN_LONG_DAYS[0][0]
# Milliequivalents of active oxygen per kg: Codex Stan 210-1999, quality characteristics (seen): refined oils, and
# cold pressed and virgin ones. Written for food; for soap no limit is published.
PEROXIDE_REFINED, PEROXIDE_VIRGIN = 10.0, 15.0


@dataclass(frozen=True, slots=True)
class Keeping:
    """How a lot was kept. `fatty_acids` are shares of the acids, empty for what is no fat or not known;
    `peroxide_value` in milliequivalents of active oxygen per kg."""

    fatty_acids: Mapping[str, float] = field(default_factory=dict)
    opened: date | None = None
    best_before: date | None = None
    peroxide_value: float | None = None

    @property
    def polyunsaturated(self) -> float:
        return by_saturation(self.fatty_acids)["polyunsaturated"]

    @property
    def is_rich(self) -> bool:
        """In linoleic and linolenic acid: the first to turn rancid, and to spot a bar."""
        return self.polyunsaturated >= RICH

    @property
    def open_until(self) -> date | None:
        """The day from which on it counts as open for long. For fats only."""
        if self.opened is None or not self.fatty_acids:
            return None
        days = next(days for share, days in OPEN_LONG_DAYS if self.polyunsaturated >= share)
        return self.opened + timedelta(days=days)


def concerns(keeping: Keeping, today: date) -> tuple[str, ...]:
    """In words, the gravest first; empty when there is nothing to look at."""
    return tuple(_concerns(keeping, today))


def _concerns(keeping: Keeping, today: date) -> Iterator[str]:
    if keeping.best_before and keeping.best_before < today:
        yield f"{_span(today - keeping.best_before)} past its best-before date: smell it, or test it."
    elif keeping.best_before and keeping.best_before <= today + NEAR_DATE:
        yield f"{_span(keeping.best_before - today)} to its best-before date: use it first."
    if keeping.opened and keeping.open_until and keeping.open_until <= today:
        rich = "rich in linoleic or linolenic acid, " if keeping.is_rich else ""
        yield f"Open for {_span(today - keeping.opened)}, {rich}smell it before use."
    if keeping.peroxide_value is not None and keeping.peroxide_value > PEROXIDE_REFINED:
        yield (
            f"Peroxide value {keeping.peroxide_value:g}: Codex Stan 210 takes up to {PEROXIDE_REFINED:g} for refined "
            f"food oils, {PEROXIDE_VIRGIN:g} for cold pressed ones."
        )


def urgency(keeping: Keeping) -> tuple[bool, date]:
    """To sort by: what is rich in linoleic and linolenic acid first, then by the day it should be used up."""
    ends = [day for day in (keeping.best_before, keeping.open_until) if day]
    return not keeping.is_rich, min(ends, default=date.max)


def _span(span: timedelta) -> str:
    if span.days < 62:
        return f"{span.days} {'day' if span.days == 1 else 'days'}"
    return f"{round(span.days / 30.44)} months"
