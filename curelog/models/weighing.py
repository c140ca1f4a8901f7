"""What is known of a bar that goes on the scale: its last weight and what it should weigh now."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from curelog.domain import drying
from curelog.domain.quantiles import Quantiles
from curelog.domain.questioning import WeightContext
from curelog.models import evidence
from curelog.models.fact import Fact
from curelog.models.facts import Bar, Weighing
from curelog.models.outlook import Outlook


@dataclass(frozen=True)
class WeighingRow:
    """One test bar on the weigh screen."""

    bar: Bar
    last: Weighing | None
    expected: Quantiles | None
    least_g: float | None = None


def last_weights(
    seen: Outlook, until: datetime | None = None, apart_from: Fact | None = None
) -> dict[int, Weighing]:
    """By bar key, the latest standing weight of the bar alone; `apart_from` one that is being corrected."""
    found = {}
    for weighing in seen.record.standing(Weighing):
        if weighing == apart_from or (until and weighing.happened_at > until):
            continue
        bars = list(weighing.bars.all())
        if len(bars) == 1:
            found[bars[0].pk] = weighing
    return found


def expected(seen: Outlook, bar: Bar) -> Quantiles | None:
    if not isinstance(seen.forecast, drying.CureForecast) or seen.cure_day is None:
        return None
    return seen.forecast.expected_weight(str(bar.number), seen.cure_day)


def weighing_rows(seen: Outlook) -> list[WeighingRow]:
    last = last_weights(seen)
    return [weighing_row(seen, bar, last.get(bar.pk)) for bar in seen.loaf.bars.all()]


def weighing_row(seen: Outlook, bar: Bar, last: Weighing | None) -> WeighingRow:
    return WeighingRow(bar, last, expected(seen, bar), least(seen, last.weight_g) if last else None)


Known = Callable[[Sequence[Bar], datetime], WeightContext]


def known_of(seen: Outlook, corrects: Fact | None = None) -> Known:
    """What is known of the bars that lay on the scale together at a moment."""

    def known(bars: Sequence[Bar], at: datetime) -> WeightContext:
        last = last_weights(seen, at, apart_from=corrects)
        keys = {bar.pk for bar in bars}
        on_scale = [last[key].weight_g for key in keys if key in last]
        complete = len(on_scale) == len(keys)
        others = {
            str(bar.number): last[bar.pk].weight_g
            for bar in seen.loaf.bars.all()
            if bar.pk in last.keys() - keys
        }
        return WeightContext(
            last_g=sum(on_scale) if complete else None,
            expected=together(seen, bars, at),
            least_g=least(seen, sum(on_scale)) if complete else None,
            others_g=others if len(bars) == 1 else {},
            step_g=evidence.scale_step(seen.record),
        )

    return known


def together(seen: Outlook, bars: Sequence[Bar], at: datetime) -> Quantiles | None:
    if not isinstance(seen.forecast, drying.CureForecast):
        return None
    day = evidence.days_after(seen.record.cut_at, at)
    drawn = seen.forecast.drawn_weight([str(bar.number) for bar in bars], day)
    return drying.quantiles(drawn)


def least(seen: Outlook, last_g: float) -> float | None:
    """The water ceiling for these bars: what the mean bar could at least weigh, in proportion."""
    if not isinstance(seen.forecast, drying.CureForecast):
        return None
    known_g = seen.forecast.weight_at(evidence.known_day(seen.record)).p50
    return last_g * seen.forecast.ceiling_g / known_g
