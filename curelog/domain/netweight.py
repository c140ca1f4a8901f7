"""The weight that may be declared: bars as weighed, what of them will be left, and a named rule."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from curelog.domain.net_rules import RULES, RuleName, Weights

# Distance from the median to the 5 % point of a normal distribution, in standard deviations.
Z05 = NormalDist().inv_cdf(0.95)
GRID = (np.arange(400) + 0.5) / 400


@dataclass(frozen=True, slots=True)
class Left:
    """Share of the weighed mass still there on the last day of the promise; all bars share its doubt."""

    p05: float
    p50: float
    p95: float

    def quantile(self, chance: float) -> float:
        """The share that is undercut with this chance: two half normals that meet in the median."""
        z = NormalDist().inv_cdf(chance)
        return self.p50 + z / Z05 * (self.p95 - self.p50 if z > 0 else self.p50 - self.p05)

    def grid(self) -> NDArray[np.float64]:
        """Equally likely values, for averages over the doubt."""
        return np.array([self.quantile(float(chance)) for chance in GRID])


@dataclass(frozen=True, slots=True)
class NetWeight:
    """A weight to declare; `expected_mean_g` and `share_below` are of the bars on the promise's last day."""

    declare_g: float
    expected_mean_g: float
    share_below: float
    basis: str
    caution: str


def net_weight(
    bars_g: Sequence[float], left: Left, rule: RuleName, step_g: float = 1.0, chance: float = 0.95
) -> NetWeight:
    """The greatest multiple of `step_g` that these bars, taken as the whole lot, bear with at least `chance`.

    ValueError if they bear none. More mass left never breaks a rule: so it is enough to ask at the share left
    that is undercut with a chance of 1 - `chance`.
    """
    weighed_g = np.sort(np.asarray(bars_g, dtype=float))
    declare_g = _greatest_g(weighed_g * left.quantile(1 - chance), rule, step_g)
    shares_left = left.grid()
    return NetWeight(
        declare_g=declare_g,
        expected_mean_g=float(weighed_g.mean() * shares_left.mean()),
        share_below=float(np.mean(np.outer(shares_left, weighed_g) < declare_g - 1e-9)),
        basis=RULES[rule].basis,
        caution=RULES[rule].caution,
    )


def _greatest_g(bars_g: Weights, rule: RuleName, step_g: float) -> float:
    """Steps down from the average: tolerances jump between table rows, so halving could miss the greatest."""
    steps = math.floor(float(bars_g.mean()) / step_g + 1e-9)
    for step in range(steps, 0, -1):
        # Rounded, because 1131 x 0.1 would print as 113.10000000000001.
        label_g = round(step * step_g, 9)
        if RULES[rule].bears(label_g, bars_g):
            return label_g
    raise ValueError(f"these bars bear no label weight in steps of {step_g:g} g")
