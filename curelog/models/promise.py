"""What net weight a loaf's bars bear until a day, from what was weighed and the drying forecast."""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from curelog.domain import drying
from curelog.domain.content import Content, content
from curelog.domain.drying_draws import FAR_HORIZON_DAYS
from curelog.domain.lots import AllTogether, HandSpread, Sample, mean_to_cut_for, net_weight_of
from curelog.domain.net_rules import RuleName
from curelog.domain.netweight import Left, NetWeight
from curelog.models import evidence
from curelog.models.facts import Handling
from curelog.models.outlook import Outlook
from curelog.models.poured import fragrance_g, poured_of

# A spread that the maker types is taken as known about as well as from thirty bars.
TYPED_WORTH = 30.0
AT_THE_CUT_DAYS = 1.0
# Weather moves a bar's weight within weeks, not within days.
LOOK_EVERY_DAYS = 7.0


@dataclass(frozen=True)
class Wish:
    """What is to be promised. `weights_g`: every bar weighed now; empty: the test bars stand for the lot."""

    rule: RuleName
    hold_until: date
    bar_count: int
    weights_g: tuple[float, ...] = ()
    spread_share: float | None = None
    step_g: float = 1.0
    chance: float = 0.95


@dataclass(frozen=True)
class Promise:
    """`held` until the last day of sale, `packed` when it is packed today. `past_loaves` taught the spread."""

    wish: Wish
    held: NetWeight
    packed: NetWeight
    sample: Sample
    weighed_at: datetime
    past_loaves: int
    now: Content | None
    until: Content | None


@dataclass(frozen=True)
class NoPromise:
    reason: str
    remedy: str


@dataclass(frozen=True)
class NextCut:
    """Of a loaf like this one, for a wanted label weight."""

    mean_g: float
    thickness_mm: float
    pour_g: float


def promise(seen: Outlook, wish: Wish) -> Promise | NoPromise:
    view = _forecast_until(seen, wish.hold_until)
    if isinstance(view, NoPromise):
        return view
    forecast, until_day = view
    assert seen.cure_day is not None
    weighed = wish.weights_g or weighed_bars_g(seen, forecast)
    if not weighed:
        return NoPromise("No bar was weighed yet.", "Weigh the test bars, or every bar.")
    from_day = seen.cure_day if wish.weights_g else evidence.known_day(seen.record)
    spread, past_loaves = hand_spread(seen, wish.spread_share)
    count = max(wish.bar_count, len(weighed))
    sample = Sample(weighed, count, spread, all_together(seen, forecast, from_day, count))
    try:
        held, packed = (
            net_weight_of(
                sample, left_of(seen, forecast, from_day, days), wish.rule, wish.step_g, wish.chance
            )
            for days in ((seen.cure_day, until_day), (seen.cure_day, seen.cure_day))
        )
    except ValueError as error:
        return NoPromise(f"No weight can be promised: {error}.", "Choose another rule or a smaller step.")
    at = seen.now if wish.weights_g else evidence.last_known(seen.record)
    contents = [_content(seen, forecast, day) for day in (seen.cure_day, until_day)]
    return Promise(wish, held, packed, sample, seen.workshop.local(at), past_loaves, *contents)


def next_cut(seen: Outlook, wish: Wish, label_g: float) -> NextCut | NoPromise:
    """The other way round, with as many days from cut to last day of sale as this loaf has."""
    view = _forecast_until(seen, wish.hold_until)
    if isinstance(view, NoPromise):
        return view
    forecast, until_day = view
    cut = seen.record.cut
    assert cut
    assert seen.cure_day is not None
    left, spread = (
        left_of(seen, forecast, 0.0, (seen.cure_day, until_day)),
        hand_spread(seen, wish.spread_share)[0],
    )
    try:
        mean_g = mean_to_cut_for(label_g, cut.bar_count, spread, left, wish.rule, wish.chance)
    except ValueError as error:
        return NoPromise(f"Not under this rule: {error}.", "Choose another weight or rule.")
    at_cut_g = forecast.weight_at(0.0).p50
    bars_g = cut.all_bars_g or at_cut_g * cut.bar_count
    # What sticks to pot and mould, and trimmings, are poured as well.
    pour_g = mean_g * cut.bar_count * max(1.0, seen.loaf.poured_g / bars_g)
    return NextCut(mean_g, cut.bar_thickness_mm * mean_g / at_cut_g, pour_g)


def left_of(seen: Outlook, forecast: drying.CureForecast, from_day: float, days: tuple[float, float]) -> Left:
    """The least that is left of a weight on any of the days: a bar may weigh less in a dry month than at the end."""
    looked_at = [*np.arange(days[0], days[1], LOOK_EVERY_DAYS), days[1]]
    least = np.min([_shares_left(seen, forecast, from_day, float(day)) for day in looked_at], axis=0)
    shares = drying.quantiles(least)
    return Left(shares.p05, shares.p50, shares.p95)


def _shares_left(
    seen: Outlook, forecast: drying.CureForecast, from_day: float, to_day: float
) -> NDArray[np.float64]:
    """Draws of what all bars weigh on one day over what they weigh on an earlier one."""
    assert seen.question
    names = [bar.bar_id for bar in seen.question.bars]
    return forecast.drawn_weight(names, to_day) / forecast.drawn_weight(names, from_day)


def weighed_bars_g(seen: Outlook, forecast: drying.CureForecast) -> tuple[float, ...]:
    """Each bar that was ever weighed, as the forecast sees it on the day of the last weighing."""
    assert seen.question
    on_trays = {bar for tray in seen.question.trays for bar in tray.bars}
    names = [bar.bar_id for bar in seen.question.bars if bar.weighings or bar.bar_id in on_trays]
    day = evidence.known_day(seen.record)
    return tuple(float(np.median(forecast.drawn_weight([name], day))) for name in names)


def all_together(seen: Outlook, forecast: drying.CureForecast, day: float, count: int) -> AllTogether | None:
    """All bars as weighed at the cut, less what the test bars lost since. Where soap was taken off bars by hand, those
    are no measure of the others; nor is a cut of fewer bars than are to be sold."""
    cut = seen.record.cut
    assert cut
    if not cut.all_bars_g or cut.bar_count < count or seen.record.standing(Handling):
        return None
    kept = float(np.median(_shares_left(seen, forecast, 0.0, day)))
    return AllTogether(cut.all_bars_g * kept, cut.bar_count)


def hand_spread(seen: Outlook, typed: float | None) -> tuple[HandSpread, int]:
    """Typed, or the usual one taught by the test bars of past cuts; and how many loaves taught it."""
    if typed is not None:
        return HandSpread(typed, TYPED_WORTH), 0
    at_cut: dict[str, list[float]] = defaultdict(list)
    for bar in seen.experience.bars_before(seen.now, seen.loaf, seen.record.cut_at):
        first = bar.weighings[0]
        if first.day <= AT_THE_CUT_DAYS:
            at_cut[bar.loaf].append(first.weight_g)
    loaves = [bars for bars in at_cut.values() if len(bars) > 1]
    return HandSpread().taught_by(loaves), len(loaves)


def _forecast_until(seen: Outlook, day: date) -> tuple[drying.CureForecast, float] | NoPromise:
    if seen.question is None:
        return NoPromise("The loaf is not cut yet.", "A weight can be promised when there are bars.")
    end = datetime.combine(day + timedelta(days=1), time(), seen.workshop.zone)
    until_day = evidence.days_after(seen.record.cut_at, end)
    if until_day > FAR_HORIZON_DAYS:
        years = FAR_HORIZON_DAYS / 365
        return NoPromise(f"The forecast reaches {years:.0f} years after the cut.", "Choose an earlier day.")
    forecast = drying.forecast(replace(seen.question, reach_day=until_day))
    if isinstance(forecast, drying.NoForecast):
        return NoPromise(f"There is no drying forecast: {forecast.reason}.", forecast.remedy)
    return forecast, until_day


def _content(seen: Outlook, forecast: drying.CureForecast, day: float) -> Content | None:
    poured = poured_of(seen.loaf.batch)
    if poured is None:
        return None
    return content(poured.sums, _shares_left(seen, forecast, 0.0, day), fragrance_g(seen.loaf.batch))
