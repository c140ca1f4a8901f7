"""Looking back. Expected values are worked out by hand beside each case."""

from dataclasses import replace
from math import exp

import pytest

from curelog.domain.drying_facts import (
    BarSeries,
    BarSize,
    DryingQuestion,
    DryingRecipe,
    HandlingStep,
    SettledRule,
    TrayWeighing,
    Weighing,
)
from curelog.domain.quantiles import Quantiles
from curelog.domain.review import (
    LossPoint,
    Outcome,
    Told,
    asked_early,
    early_day,
    hits_expected,
    honesty,
    loss_course,
    outcome,
    told_settled,
)

RULE = SettledRule(4.0, 28.0)


def weighed(*told: tuple[float, float]) -> tuple[Weighing, ...]:
    return tuple(Weighing(day, weight_g) for day, weight_g in told)


def test_a_course_is_the_mean_share_of_the_bars_weighed_that_day():
    bars = {"1": weighed((0, 100), (7.2, 90)), "2": weighed((0.5, 200), (7.4, 184), (14, 180))}
    course = loss_course(bars, 0.6)
    assert [point.share for point in course] == pytest.approx([1.0, 0.91, 0.90])
    assert course[1].day == pytest.approx(7.3)


def test_a_bar_first_weighed_late_and_weights_beyond_the_water_are_left_out():
    bars = {"1": weighed((0, 100), (7, 50), (9, 120), (14, 88)), "2": weighed((2, 95), (14, 40))}
    assert loss_course(bars, 0.7) == (LossPoint(0.0, 1.0), LossPoint(14.0, 0.88))


def test_nothing_weighed_is_no_course():
    assert loss_course({"1": ()}, 0.7) == ()


def drying_course(every_days: int, until: int) -> list[LossPoint]:
    """Share 0.85 + 0.15 exp(-t / 20)."""
    return [LossPoint(float(day), 0.85 + 0.15 * exp(-day / 20)) for day in range(0, until + 1, every_days)]


def test_the_settled_day_is_that_of_the_rule():
    # W(t - 28) / W(t) = 1.04: 0.15 u (e^1.4 - 1.04) = 0.034 with u = exp(-t / 20), so u = 0.0752, t = 51.76.
    came = outcome(drying_course(1, 80), RULE)
    assert came
    assert came.is_settled
    assert came.day == pytest.approx(51.76, abs=0.3)


def test_before_it_happens_it_is_told_up_to_when_it_had_not():
    assert outcome(drying_course(1, 50), RULE) == Outcome(50.0, False)
    assert outcome(drying_course(1, 20), RULE) is None
    assert outcome([], RULE) is None


def test_across_a_wide_gap_nothing_is_told():
    assert outcome([point for point in drying_course(1, 80) if not 30 < point.day < 70], RULE) is None
    # Weighed on day 50, but not between 3 and 30: what it weighed on day 22 is not known.
    assert outcome([point for point in drying_course(1, 50) if not 3 < point.day < 30], RULE) is None


BAR = BarSeries("2", BarSize(85, 65, 25), weighed((0, 140), (3, 134), (7, 130), (14, 126), (28, 122.5)))
QUESTION = DryingQuestion(28.0, DryingRecipe(0.25), (BAR,))


def test_what_was_known_after_the_fourth_weighing():
    assert early_day([BAR]) == 15.0
    assert early_day([replace(BAR, weighings=BAR.weighings[:3])]) is None
    later = replace(
        QUESTION,
        bars=(replace(BAR, steps=(HandlingStep(20.0),)),),
        trays=(TrayWeighing(21.0, 124.0, ("2",)),),
    )
    early = asked_early(later, 15.0)
    assert (early.now_day, early.trays, early.bars[0].steps) == (14.0, (), ())
    assert early.bars[0].weighings == BAR.weighings[:4]


def test_an_early_question_does_not_know_the_end():
    early = asked_early(QUESTION, 15.0)
    another_end = replace(QUESTION, bars=(replace(BAR, weighings=(*BAR.weighings[:4], Weighing(28, 119))),))
    assert told_settled(early) == told_settled(asked_early(another_end, 15.0))
    assert told_settled(early) != told_settled(QUESTION)


def test_no_forecast_tells_nothing():
    assert told_settled(replace(QUESTION, bars=())) is None


BAND = Quantiles(30, 32, 36, 40, 45, 50, 55)


def test_inside_means_between_one_and_nine_in_ten():
    told = [Told(BAND, Outcome(day, True)) for day in (31.0, 32.0, 45.0, 50.0, 51.0)]
    found = honesty([*told, Told(BAND, Outcome(49.0, False))])
    assert (found.inside, found.of) == (3, 6)


@pytest.mark.parametrize(
    ("came", "age_days", "is_due"),
    [
        (Outcome(35, True), 49, False),  # settled early: wait until those that settle late are known too
        (Outcome(35, True), 51, True),
        (Outcome(60, True), 70, True),
        (Outcome(49, False), 70, False),  # nobody weighed on: it may have settled on day 50
        (Outcome(51, False), 70, True),
    ],
)
def test_a_forecast_is_judged_when_its_band_is_over(came: Outcome, age_days: float, is_due: bool):
    assert Told(BAND, came).is_due(age_days) is is_due


def test_how_many_an_honest_band_holds():
    # By hand: n = 5, P(X <= 1) = 0.0067, P(X <= 2) = 0.058, P(X <= 4) = 0.672, P(X <= 5) = 1.
    assert hits_expected(5) == (2, 5)
    # n = 2: P(X = 0) = 0.04, P(X <= 1) = 0.36.
    assert hits_expected(2) == (1, 2)
    assert hits_expected(0) == (0, 0)


def test_bars_weighed_together_go_on_with_the_course() -> None:
    """Two bars of 100 g and 102 g at the cut; together 181.8 g is 90 % of them. A tray not tared is no gain, and of a
    bar that nobody weighed at the cut the share is not known."""
    bars = {"1": [Weighing(0, 100.0)], "2": [Weighing(0, 102.0)], "3": [Weighing(9, 90.0)]}
    trays = [
        TrayWeighing(30, 181.8, ("1", "2")),
        TrayWeighing(37, 200.8, ("1", "2")),
        TrayWeighing(44, 262.0, ("1", "2", "3")),
    ]
    assert loss_course(bars, 0.7, trays) == (LossPoint(0.0, 1.0), LossPoint(30.0, pytest.approx(0.9)))
