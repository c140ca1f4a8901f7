"""Fatty matter and moisture against sums by hand, and limits against the forecast's doubt."""

import numpy as np
import pytest

from curelog.domain import batch, fats
from curelog.domain.content import content
from curelog.domain.quantiles import Quantiles
from curelog.domain.soap_standards import Limit, standards

# Pure triolein would do; lard and the careful value of the table are what makers have.
SUMS = batch.work_out(
    [batch.FatPortion(fats.find("lard"), 1000)], 0.0, batch.Alkali(), batch.Water("lye_concentration", 0.3333)
)


def test_fatty_matter_by_hand() -> None:
    """1 kg of lard (saponification value 192) takes 3.422 mol: 1.141 mol of glycerol leave with 92.09 g each, three
    waters come in: 956.6 g of fatty matter in 1000 + 136.9 + 273.8 g."""
    mol = 1000 * 192 / 1000 / 56.1053
    fatty_g = 1000 - mol / 3 * (92.094 - 3 * 18.015)
    found = content(SUMS, np.ones(9))
    assert found.fatty_matter.p50 == pytest.approx(fatty_g / SUMS.batch_g, rel=1e-4)
    assert fatty_g / SUMS.batch_g == pytest.approx(0.678, abs=0.001)


def test_moisture_at_the_cut_is_the_water_share_and_ends_at_nought() -> None:
    assert content(SUMS, np.ones(9)).moisture.p50 == pytest.approx(SUMS.water_share, rel=1e-6)
    dry = content(SUMS, np.full(9, 1 - SUMS.water_share))
    assert dry.moisture.p50 == pytest.approx(0, abs=1e-9)
    assert dry.fatty_matter.p50 == pytest.approx(SUMS.fatty_matter_g / SUMS.dry_g)


def test_a_drier_bar_holds_more_fatty_matter() -> None:
    left = np.linspace(0.84, 0.9, 101)
    found = content(SUMS, left)
    assert found.fatty_matter.p05 < found.fatty_matter.p95
    assert found.fatty_matter.p50 == pytest.approx(SUMS.fatty_matter_g / SUMS.batch_g / 0.87, rel=1e-3)


def test_fragrance_counts_as_volatile() -> None:
    with_it = content(SUMS, np.ones(9), volatile_g=30.0).moisture.p50
    assert with_it - content(SUMS, np.ones(9)).moisture.p50 == pytest.approx(30 / SUMS.batch_g)


def spread(low: float, middle: float, high: float) -> Quantiles:
    return Quantiles(low, low, middle, middle, middle, high, high)


@pytest.mark.parametrize(
    ("low", "middle", "high", "verdict"),
    [(76.1, 77, 78, "within"), (74, 75, 77, "perhaps"), (74, 76.5, 77, "perhaps"), (70, 71, 72, "outside")],
)
def test_a_limit_speaks_with_the_doubt(low: float, middle: float, high: float, verdict: str) -> None:
    assert Limit("fatty_matter", 76, None, "", "").verdict(spread(low, middle, high)) == verdict


def test_an_upper_limit_holds_from_above() -> None:
    limit = Limit("free_alkali", None, 0.05, "", "")
    assert limit.verdict(spread(0.01, 0.02, 0.03)) == "within"
    assert limit.verdict(spread(0.06, 0.07, 0.08)) == "outside"


def test_every_limit_says_whether_it_was_seen() -> None:
    """IS 2888:2004: at least 76, 70, 60 % (seen in secondary sources); the rest from memory and said so."""
    fatty = {key: told.limits[0] for key, told in standards().items()}
    assert [fatty[f"is2888_{grade}"].low for grade in (1, 2, 3)] == [76, 70, 60]
    for standard in standards().values():
        for limit in standard.limits:
            assert limit.source
            assert limit.seen.startswith(("seen", "from memory"))
