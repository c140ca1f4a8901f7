"""A round of weighing: the curing bars in the order they lie in, and what each should weigh now."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from curelog import units
from curelog.domain import drying
from curelog.domain.lifecycle import Need, Stage
from curelog.domain.quantiles import Quantiles
from curelog.models import evidence
from curelog.models.facts import Weighing
from curelog.models.outlook import Outlook, once
from curelog.models.places import Place
from curelog.models.weighing import WeighingRow, last_weights

# So finely is the day told to the forecast: it is kept for half a day, since a round asks it of every loaf.
DAY_STEPS = 2
ON_THE_RACKS = (Stage.CURING, Stage.SETTLED, Stage.READY)


@dataclass(frozen=True)
class KnownBars:
    """By bar number what the scale should show, and the share of the last weight that no drying goes below."""

    expected: Mapping[str, Quantiles]
    least_share: float | None


@dataclass(frozen=True)
class RoundLoaf:
    seen: Outlook
    place: Place | None
    rows: tuple[WeighingRow, ...]
    weighed_today: frozenset[int]
    step_g: float

    @property
    def is_due(self) -> bool:
        return Need.WEIGH in self.seen.standing.needs

    @property
    def together(self) -> tuple[str, ...]:
        """Numbers of the bars that want the scale together now."""
        return wanted_together(self.seen) if self.is_due else ()

    @property
    def advice(self) -> str:
        """The plan's words where it wants more than one bar weighed by itself."""
        again = self.seen.summary.next_weighing if self.seen.summary else None
        return again.words(units.written(self.seen.workshop.mass_unit)) if self.together and again else ""


def wanted_together(seen: Outlook) -> tuple[str, ...]:
    """Numbers of the bars that the plan wants on the scale at once; none where one by itself will do."""
    again = seen.summary.next_weighing if seen.summary else None
    return again.bar_ids if again and len(again.bar_ids) > 1 else ()


def known_bars(question: drying.DryingQuestion, day: float) -> KnownBars:
    forecast = drying.forecast(question)
    if isinstance(forecast, drying.NoForecast):
        return KnownBars({}, None)
    expected = {bar.bar_id: forecast.expected_weight(bar.bar_id, day) for bar in question.bars}
    return KnownBars(expected, forecast.ceiling_g / forecast.weight_at(question.now_day).p50)


def has_bars_to_weigh(seen: Outlook) -> bool:
    return seen.standing.stage in ON_THE_RACKS and bool(seen.loaf.bars.all())


def due_bars(all_seen: Iterable[Outlook]) -> int:
    """How many bars today's round has, without a forecast of each."""
    due = (seen for seen in all_seen if Need.WEIGH in seen.standing.needs and has_bars_to_weigh(seen))
    return sum(len(seen.loaf.bars.all()) - len(weighed_today(seen)) for seen in due)


def round_loaves(all_seen: Iterable[Outlook]) -> list[RoundLoaf]:
    """In rack order; what lies nowhere known comes last."""
    loaves = [round_loaf(seen) for seen in all_seen if has_bars_to_weigh(seen)]
    return sorted(loaves, key=_on_the_way)


def _on_the_way(loaf: RoundLoaf) -> tuple[bool, int, str, str]:
    place = loaf.place
    return place is None, place.order if place else 0, place.name if place else "", loaf.seen.loaf.number


def round_loaf(seen: Outlook) -> RoundLoaf:
    assert seen.question is not None
    assert seen.cure_day is not None
    known = once(known_bars, seen.question, round(DAY_STEPS * seen.cure_day) / DAY_STEPS)
    last = last_weights(seen)
    rows = tuple(
        WeighingRow(
            bar,
            last.get(bar.pk),
            known.expected.get(str(bar.number)),
            known.least_share * last[bar.pk].weight_g if known.least_share and bar.pk in last else None,
        )
        for bar in seen.loaf.bars.all()
    )
    return RoundLoaf(seen, seen.record.place, rows, weighed_today(seen), evidence.scale_step(seen.record))


def weighed_today(seen: Outlook) -> frozenset[int]:
    """Alone or together with others."""
    today = seen.workshop.local(seen.now).date()
    told = [w for w in seen.record.standing(Weighing) if seen.workshop.local(w.happened_at).date() == today]
    return frozenset(bar.pk for weighing in told for bar in weighing.bars.all())


@dataclass(frozen=True)
class Choice:
    """Which bars a round walks along: today's, all, those of a place or of a loaf."""

    which: str = "today"
    key: UUID | None = None

    def holds(self, loaf: RoundLoaf) -> bool:
        if self.which == "place":
            return loaf.place is not None and loaf.place.pk == self.key
        if self.which == "loaf":
            return loaf.seen.loaf.pk == self.key
        return self.which == "all" or loaf.is_due
