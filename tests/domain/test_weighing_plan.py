"""When to weigh next: worth its walk, and no more than is needed."""

from dataclasses import replace

import pytest

from curelog.domain.drying import BarSeries, CureForecast, DryingQuestion, forecast
from curelog.domain.weighing_plan import NextWeighing, next_weighing
from tests.domain.test_drying import RECIPE, SIZE, true_weight_g, weighed

WEEKS = (0.1, 7.0, 14.0, 21.0, 28.0, 35.0, 42.0)


def asked(bars, step_g, now_day) -> DryingQuestion:
    told = weighed([day for day in WEEKS if day <= now_day], step_g=step_g)
    series = tuple(BarSeries(str(n + 1), SIZE, told) for n in range(bars))
    return DryingQuestion(now_day, RECIPE, series, resolution_g=step_g)


def planned(question) -> NextWeighing:
    found = forecast(question)
    assert isinstance(found, CureForecast)
    plan = next_weighing(question, found)
    assert plan is not None
    return plan


@pytest.mark.parametrize("now_day", [3.0, 14.0, 28.0])
def test_the_next_weighing_is_ahead_and_within_reach(now_day):
    plan = planned(asked(3, 0.1, now_day))
    assert now_day < plan.day <= now_day + 28
    assert plan.gain_days > 0
    assert plan.bar_ids[-1] in plan.words()


def test_one_bar_is_enough_on_a_fine_scale():
    assert len(planned(asked(6, 0.01, 28.0)).bar_ids) == 1


def test_on_a_coarse_scale_the_bars_are_weighed_together():
    plan = planned(asked(6, 5.0, 42.0))
    assert plan.bar_ids == ("1", "2", "3", "4", "5", "6")
    assert plan.words() == "With a 5 g scale one bar cannot show it any more: weigh bars 1 to 6 together"


def test_a_finer_scale_is_wished_for_where_it_would_help():
    plan = planned(asked(1, 5.0, 42.0))
    assert plan.step_g == 0.1
    assert "0.1 g" in plan.words()


def test_the_planned_weighing_narrows_the_settled_day():
    question = asked(3, 0.1, 28.0)
    plan = planned(question)
    more = tuple(replace(bar, weighings=(*bar.weighings, *weighed((plan.day,)))) for bar in question.bars)
    before, after = forecast(question), forecast(replace(question, bars=more, now_day=plan.day))
    assert isinstance(before, CureForecast)
    assert isinstance(after, CureForecast)
    assert after.settled_draws.std() < before.settled_draws.std()


def test_nothing_is_planned_when_the_day_is_known():
    question = replace(asked(3, 0.01, 42.0), now_day=200.0)
    told = weighed(tuple(float(day) for day in range(1, 200, 5)), step_g=0.01)
    bars = tuple(replace(bar, weighings=told) for bar in question.bars)
    found = forecast(replace(question, bars=bars))
    assert isinstance(found, CureForecast)
    assert next_weighing(replace(question, bars=bars), found) is None
    assert true_weight_g(199.0) == pytest.approx(found.weight_at(199.0).p50, rel=0.002)
