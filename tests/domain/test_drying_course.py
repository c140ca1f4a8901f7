"""The relaxing compartments against diffusion itself, and what a drying course must do."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curelog.domain.drying_course import compartment_weights, effective_size_mm, log_odds, weight_course
from curelog.domain.drying_model import fit_grid

DATA = Path(__file__).parents[1] / "data"
MIDDLE = np.array([4.1, 0.6, 0.2, -2.3, 0.75, -4.4])


def course(parameters=MIDDLE, water_share=0.28, size_mm=8.0, rh=58.0, days=None):
    grid = np.arange(0.0, 181.0) if days is None else days
    air = np.broadcast_to(rh, len(grid) - 1)[:, None]
    temp = np.full_like(air, 20.0)
    return weight_course(parameters[:, None], np.array([water_share]), np.array([size_mm]), grid, air, temp)[
        :, 0
    ]


def slab_series() -> tuple[np.ndarray, np.ndarray]:
    """Average moisture ratio of a slab without surface resistance, by Fourier number.

    Series of Crank, The Mathematics of Diffusion (1975), eq. 4.18, worked out in the reference data.
    """
    with (DATA / "slab_average_moisture_ratio.csv").open() as file:
        rows = [
            (row["Fo_D_t_over_halfthickness2"], row["MR_average_infinite_Bi"]) for row in csv.DictReader(file)
        ]
    fourier, ratio = np.array(rows, dtype=float).T
    return fourier, ratio


def test_the_compartments_follow_the_slab_series():
    """With shape 1/2 the compartments keep to the exact series within 0.05 of the moisture that can leave."""
    fourier, exact = slab_series()
    rates = 4.0 ** np.arange(5)
    weights = compartment_weights(np.array([0.5]))[:, 0]

    def relaxed(first_rate):
        return np.exp(-np.outer(fourier, first_rate * rates)) @ weights

    best = min(np.abs(relaxed(rate) - exact).max() for rate in np.linspace(0.5, 4, 200))
    assert best < 0.05


def test_a_wide_time_step_agrees_with_a_narrow_one():
    wide = fit_grid(174.0)
    for slope in (-2.0, 0.0, 4.0):
        parameters = MIDDLE + np.array([0, 0, slope, 0, 0, 0])
        narrow = course(parameters, days=np.arange(0, 190.1, 0.125))
        assert course(parameters, days=wide) == pytest.approx(narrow[(wide * 8).astype(int)], abs=8e-4)


@given(st.floats(0.1, 0.5), st.floats(20, 60), st.floats(0.3, 1.2), st.floats(-2, 6))
def test_in_a_steady_dry_room_weight_only_falls_and_stays_above_the_ceiling(water, rh, shape, slope):
    parameters = np.array([4.1, shape, slope, np.log(0.02), 0.75, -4.4])
    share = course(parameters, water_share=water, rh=rh)
    assert share[0] == 1.0
    assert (np.diff(share) <= 1e-12).all()
    assert share[-1] > 1.0 - water


def test_a_humid_spell_gives_a_gain():
    rh = np.full(180, 50.0)
    rh[90:104] = 80.0
    share = course(rh=rh)
    assert share[104] > share[90]
    assert share[179] < share[104]


def test_thick_bars_dry_more_slowly_and_warm_rooms_faster():
    assert course(size_mm=10.0)[30] > course(size_mm=7.0)[30]
    grid = np.arange(0.0, 31.0)
    air = np.full((30, 1), 58.0)
    args = (MIDDLE[:, None], np.array([0.28]), np.array([8.0]), grid, air)
    assert weight_course(*args, air * 0 + 25.0)[-1, 0] < weight_course(*args, air * 0 + 15.0)[-1, 0]


def test_size_and_humidity_measures():
    # 1 / (2/80 + 2/50 + 1.6/25) by hand.
    assert effective_size_mm(80.0, 50.0, 25.0) == pytest.approx(1.0 / 0.129)
    assert log_odds(np.array([60.0]))[0] == pytest.approx(0.0)
    # Odds of 0.8 over odds of 0.6: 4 / 1.5.
    assert np.exp(log_odds(np.array([80.0])))[0] == pytest.approx(4.0 / 1.5)
    assert np.isfinite(log_odds(np.array([0.0, 100.0]))).all()
