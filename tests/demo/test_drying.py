import numpy as np
import pytest

from curelog.demo import drying, room


def loss(days: int, humidity: float = 54.0, thickness_mm: float = 25.0, water_share: float = 0.28) -> float:
    left = drying.course(water_share, thickness_mm, np.full(days + 1, humidity))
    return float(1 - left[-1])


def test_a_usual_bar_loses_what_is_usual() -> None:
    # 10 to 15 % in 6 to 8 weeks: common practice, no source.
    assert 0.10 < loss(42) < loss(56) < 0.15
    assert loss(0) == 0
    assert loss(300) < 0.28


def test_damp_air_thick_bars_and_less_water_slow_it() -> None:
    assert loss(42, humidity=80) < loss(42)
    assert loss(42, thickness_mm=30) < loss(42)
    assert loss(42, water_share=0.22) < loss(42)


def test_a_dry_bar_gains_when_the_air_turns_damp() -> None:
    air = np.concatenate([np.full(120, 45.0), np.full(30, 88.0)])
    left = drying.course(0.28, 25, air)
    assert left[-1] > left[119]


@pytest.mark.parametrize(
    ("weight_g", "step_g", "shown_g"), [(118.26, 1.0, 118.0), (118.26, 0.1, 118.3), (118.6, 2.0, 118.0)]
)
def test_the_scale_shows_its_step(weight_g: float, step_g: float, shown_g: float) -> None:
    assert drying.on_scale(weight_g, step_g) == shown_g


def test_the_damp_season_is_where_it_should_be() -> None:
    air = room.humidity(310, np.random.default_rng(1))
    damp = air[-1 - int(room.DAMP_MIDDLE_DAYS_AGO)]
    assert damp > 70 > air[-30:].mean()
    assert air.min() >= 30
    assert air.max() <= 92
