"""Lots that a few weighed bars may stand for: bars cut by hand differ, and those nobody weighed are not known.

The bars of a lot are taken as normal about a mean. Its spread is what is usual for this hand (a scaled inverse
chi-square prior), sharpened by the weighed bars; bars not weighed are drawn from the posterior predictive
distribution (Gelman et al., Bayesian Data Analysis, 3rd edition, 3.2 and 3.3; from memory).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curelog.domain.net_rules import RULES, RuleName, Weights
from curelog.domain.netweight import Left, NetWeight, net_weight

LOTS = 4000
# Hand-cut bars of one loaf differ by up to 14 g (common practice, no source). Ten normal deviates range over 3.08
# standard deviations (Tippett 1925, from memory): 4.5 g on a bar of 125 g.
USUAL_SPREAD = 0.036
# How many differences between bars the usual spread counts for: it gives way to a dozen of the maker's own.
USUAL_WORTH = 8.0


@dataclass(frozen=True, slots=True)
class HandSpread:
    """Standard deviation of one loaf's bars as a share of their mean; `worth` is its degrees of freedom."""

    share: float = USUAL_SPREAD
    worth: float = USUAL_WORTH

    def taught_by(self, loaves_g: Sequence[Sequence[float]]) -> "HandSpread":
        """Sharpened by bars weighed together: each loaf's differences count about its own mean."""
        relative = [np.asarray(bars) / np.mean(bars) for bars in loaves_g if len(bars) > 1]
        squares = sum(float(np.sum((bars - 1) ** 2)) for bars in relative)
        worth = self.worth + sum(len(bars) - 1 for bars in relative)
        return HandSpread(math.sqrt((self.worth * self.share**2 + squares) / worth), worth)


@dataclass(frozen=True, slots=True)
class AllTogether:
    """What all `count` bars of a loaf weigh together, in g, at the moment of the sample."""

    weight_g: float
    count: int


@dataclass(frozen=True, slots=True)
class Sample:
    """`bars_g` weighed of a lot of `count` bars, by a hand that spreads as told. `loaf`: when all bars of the loaf,
    no fewer than the lot has, were also weighed together, only how they share that out is left to chance."""

    bars_g: Sequence[float]
    count: int
    spread: HandSpread = HandSpread()
    loaf: AllTogether | None = None

    @property
    def is_whole(self) -> bool:
        return len(self.bars_g) >= self.count

    def lots(self) -> Weights:
        """Equally likely lots, one a row; the weighed bars are in each of them."""
        known = np.asarray(self.bars_g, dtype=float)
        taught = self.spread.taught_by([self.bars_g])
        rng = np.random.default_rng(11)
        sd_g = known.mean() * taught.share * np.sqrt(taught.worth / rng.chisquare(taught.worth, LOTS))
        around = rng.standard_normal((LOTS, (self.loaf or self).count - len(known)))
        if self.loaf:
            middle_g = np.full(LOTS, (self.loaf.weight_g - known.sum()) / around.shape[1])
            around -= around.mean(axis=1, keepdims=True)
        else:
            middle_g = known.mean() + sd_g * rng.standard_normal(LOTS) / math.sqrt(len(known))
        others = middle_g[:, None] + sd_g[:, None] * around[:, : self.count - len(known)]
        return np.hstack([np.tile(known, (LOTS, 1)), np.maximum(others, 0.0)])


def net_weight_of(
    sample: Sample, left: Left, rule: RuleName, step_g: float = 1.0, chance: float = 0.95
) -> NetWeight:
    """The greatest multiple of `step_g` that the lot behind a sample bears with at least `chance`.

    `left` as in netweight; its doubt is shared by all bars, that of the bars not weighed is not. ValueError if the lot
    bears none.
    """
    if sample.is_whole:
        return net_weight(sample.bars_g, left, rule, step_g, chance)
    bars_g = sample.lots() * _shares_left(left)
    declare_g = _greatest_g(bars_g, rule, step_g, chance)
    return NetWeight(
        declare_g=declare_g,
        expected_mean_g=float(bars_g.mean()),
        share_below=float(np.mean(bars_g < declare_g - 1e-9)),
        basis=RULES[rule].basis,
        caution=RULES[rule].caution,
    )


def mean_to_cut_for(
    label_g: float, count: int, spread: HandSpread, left: Left, rule: RuleName, chance: float = 0.95
) -> float:
    """Mean weight to cut, in g, so that a loaf of `count` bars bears a wanted label weight with at least `chance`.

    The loaf's mass fixes the mean; only how the hand shares it out is left to chance.
    """
    rng = np.random.default_rng(13)
    sd = spread.share * np.sqrt(spread.worth / rng.chisquare(spread.worth, LOTS))
    around = rng.standard_normal((LOTS, count))
    around -= around.mean(axis=1, keepdims=True)
    bars = np.maximum(1 + sd[:, None] * around, 0.01) * _shares_left(left)
    low_g, high_g = 0.0, label_g / float(bars.min())
    # Halving 40 times leaves micrograms; more mass never breaks a rule.
    for _ in range(40):
        middle_g = (low_g + high_g) / 2
        if np.mean(RULES[rule].bears(label_g, bars * middle_g)) >= chance:
            high_g = middle_g
        else:
            low_g = middle_g
    return high_g


def _shares_left(left: Left) -> NDArray[np.float64]:
    return np.resize(left.grid(), LOTS)[:, None]


def _greatest_g(bars_g: Weights, rule: RuleName, step_g: float, chance: float) -> float:
    """Every rule asks for the average at least: no search above it."""
    most_g = float(np.quantile(bars_g.mean(axis=1), 1 - chance))
    for step in range(math.floor(most_g / step_g + 1e-9), 0, -1):
        label_g = round(step * step_g, 9)
        if np.mean(RULES[rule].bears(label_g, bars_g)) >= chance:
            return label_g
    raise ValueError(f"these bars bear no label weight in steps of {step_g:g} g")
