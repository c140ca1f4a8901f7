"""The forecast of a loaf in a few numbers, small enough to keep for every loaf of a list."""

from dataclasses import dataclass

import numpy as np

from curelog.domain import drying
from curelog.domain.quantiles import Quantiles
from curelog.domain.weighing_plan import NextWeighing, next_weighing

# Days after the cut on which the median weight is noted; dense where it falls fast.
NOTED_DAYS = (0.0, 2.0, 5.0, 10.0, 15.0, 21.0, 28.0, 35.0, 42.0, 56.0, 75.0, 100.0, 140.0, 180.0)


@dataclass(frozen=True, slots=True)
class CureSummary:
    settled_day: Quantiles
    ceiling_g: float
    median_weights_g: tuple[float, ...]
    rests_on: drying.RestsOn
    next_weighing: NextWeighing | None

    def share_left(self, day: float) -> float:
        """Likely weight on a day as a share of that at the cut."""
        weight_g = float(np.interp(day, NOTED_DAYS, self.median_weights_g))
        return weight_g / self.median_weights_g[0]

    def water_gone(self, day: float) -> float:
        """Share of the water at the cut that has left by a day, 0 to 1."""
        at_cut_g = self.median_weights_g[0]
        weight_g = float(np.interp(day, NOTED_DAYS, self.median_weights_g))
        return min(1.0, max(0.0, (at_cut_g - weight_g) / (at_cut_g - self.ceiling_g)))


def summary(question: drying.DryingQuestion) -> CureSummary | drying.NoForecast:
    forecast = drying.forecast(question)
    if isinstance(forecast, drying.NoForecast):
        return forecast
    medians = tuple(forecast.weight_at(day).p50 for day in NOTED_DAYS)
    again = next_weighing(question, forecast)
    return CureSummary(forecast.settled_day, forecast.ceiling_g, medians, forecast.rests_on, again)
