"""Published rules on net content: which label weight a set of bars bears, and the tables they rest on."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from curelog.domain.tables import table_rows

Weights = NDArray[np.float64]
Verdict = NDArray[np.bool_]
RuleName = Literal["minimum", "average_eu", "hb133"]

# "Few enough" packages beyond the tolerable negative error: generally no more than 2.5 % (UK Trading
# Standards, seen).
SHARE_BEYOND_ERROR = 0.025
# Sums of weights in floating point must not fail a bar that is exactly on the limit.
SLACK_G = 1e-9


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table of tolerances: a share of the label weight in per cent, or grams."""

    low_g: float
    high_g: float
    percent: float | None
    grams: float | None


@dataclass(frozen=True, slots=True)
class Rule:
    """`bears` tells whether bars of these weights may carry a label weight in g; of a table, row by row."""

    bears: Callable[[float, Weights], Verdict]
    basis: str
    caution: str


def tolerable_negative_error_g(nominal_g: float) -> float:
    """Tolerable negative error in g of a nominal weight from 5 g up.

    Directive 76/211/EEC, Annex I, 2.4; above 10 kg UK SI 2006/1258. Per cents are rounded up to 0.1 g (from
    memory).
    """
    row = _row("tolerable_negative_errors.csv", nominal_g)
    if row.grams is not None:
        return row.grams
    assert row.percent is not None
    return math.ceil(round(nominal_g * row.percent / 10, 6)) / 10


def maximum_allowable_variation_g(label_g: float) -> float:
    """Maximum allowable variation in g below a label weight up to 1450 g.

    NIST Handbook 133, Appendix A, Table 2-5; from memory but for 7.2 g at 113 g.
    """
    row = _row("maximum_allowable_variations.csv", label_g)
    if row.grams is not None:
        return row.grams
    assert row.percent is not None
    return label_g * row.percent / 100


def _minimum(label_g: float, bars_g: Weights) -> Verdict:
    return np.asarray(bars_g.min(axis=-1) >= label_g - SLACK_G)


def _average(label_g: float, bars_g: Weights) -> Verdict:
    return np.asarray(bars_g.mean(axis=-1) >= label_g - SLACK_G)


def _average_eu(label_g: float, bars_g: Weights) -> Verdict:
    """The packer's rules: the average, few beyond the tolerable negative error, none beyond twice it."""
    error_g = tolerable_negative_error_g(label_g)
    beyond = np.mean(bars_g < label_g - error_g - SLACK_G, axis=-1)
    few = np.asarray(beyond <= SHARE_BEYOND_ERROR)
    return np.asarray(_average(label_g, bars_g) & few & _minimum(label_g - 2 * error_g, bars_g))


def _hb133(label_g: float, bars_g: Weights) -> Verdict:
    """The average, and none short by more than the maximum allowable variation."""
    least_g = label_g - maximum_allowable_variation_g(label_g)
    return np.asarray(_average(label_g, bars_g) & _minimum(least_g, bars_g))


LOCAL_RULES = "Local rules decide: ask your weights and measures office."
RULES: dict[RuleName, Rule] = {
    "minimum": Rule(_minimum, "minimum content: every bar holds the declared weight", LOCAL_RULES),
    "average_eu": Rule(
        _average_eu,
        "average content, Directive 76/211/EEC, Annex I: the average holds the declared weight, no more than "
        "2.5 % of the bars lack more than the tolerable negative error, none more than twice that",
        "The law counts the content when packed; that it holds until sold is a stricter promise of our own. "
        + LOCAL_RULES,
    ),
    "hb133": Rule(
        _hb133,
        "average content, NIST Handbook 133: the average holds the declared weight, no bar lacks more than "
        "the maximum allowable variation (Table 2-5, from memory but for 7.2 g at 113 g)",
        "Confirm the variation in Handbook 133, Appendix A: it is from memory here. " + LOCAL_RULES,
    ),
}


RULE_CHOICES = [
    ("minimum", "Minimum: every bar holds it"),
    ("average_eu", "Average, as in the EU"),
    ("hb133", "Average, as in the US"),
]


def _row(table: str, weight_g: float) -> Row:
    for row in _table(table):
        if row.low_g <= weight_g <= row.high_g:
            return row
    first, last = _table(table)[0], _table(table)[-1]
    words = f"the rule's table runs from {first.low_g:g} to {last.high_g:g} g"
    raise ValueError(f"{words}, {weight_g:g} g lies outside")


@cache
def _table(name: str) -> tuple[Row, ...]:
    return tuple(
        Row(
            low_g=float(row.get("from_g") or row.get("over_g") or 0),
            high_g=float(row["to_g"] or "inf"),
            percent=float(row["percent"]) if row["percent"] else None,
            grams=float(row["grams"]) if row["grams"] else None,
        )
        for row in table_rows(name)
    )
