"""What a loaf's bars bear until a day: from test bars, from all bars, the other way round."""

from datetime import date, timedelta
from itertools import pairwise

import pytest

from curelog.domain.netweight import Left, net_weight
from curelog.models import Workshop
from curelog.models.outlook import Outlook, outlook
from curelog.models.promise import NextCut, NoPromise, Promise, Wish, hand_spread, next_cut, promise
from tests.factories import START, make_cut_loaf, make_loaf, weigh_course

pytestmark = pytest.mark.django_db
WEIGHED = {7: 131.0, 14: 127.5, 28: 123.5, 45: 121.0, 60: 120.0}
NOW = START + timedelta(days=62)
UNTIL = date(2026, 9, 1)


def seen(**cut: object) -> Outlook:
    loaf = make_cut_loaf(**cut)
    weigh_course(loaf, WEIGHED)
    return outlook(loaf, Workshop.current(), NOW)


def borne(wish: Wish, of: Outlook) -> Promise:
    found = promise(of, wish)
    assert isinstance(found, Promise)
    return found


def test_until_sold_is_less_than_when_packed_and_both_below_the_bars() -> None:
    found = borne(Wish("average_eu", UNTIL, 9), seen())
    assert found.held.declare_g < found.packed.declare_g < 121
    assert 0 < found.held.share_below < 0.6


def test_a_later_day_bears_no_more() -> None:
    of = seen()
    weights = [
        borne(Wish("minimum", day, 9, step_g=0.1), of).held.declare_g
        for day in (date(2026, 4, 1), date(2026, 7, 1), UNTIL, date(2027, 9, 1))
    ]
    # Looked at once a week: two dates may miss the lowest day by as much as a step.
    assert all(later <= earlier + 0.101 for earlier, later in pairwise(weights))
    assert weights[0] > weights[-1] + 0.5


def test_a_day_past_the_usual_reach_of_a_forecast_is_drawn_as_far() -> None:
    """200 days after the cut a forecast may end: bars go on drying after that, and so does the promise."""
    of = seen()
    near, far = (
        borne(Wish("minimum", day, 9, step_g=0.1), of) for day in (date(2026, 8, 1), date(2027, 12, 1))
    )
    assert far.held.expected_mean_g < near.held.expected_mean_g - 0.3


def test_all_bars_weighed_are_the_whole_lot() -> None:
    of, bars = seen(), (118.0, 119.0, 121.0, 122.0)
    found = borne(Wish("minimum", UNTIL, 4, bars), of)
    assert found.sample.is_whole
    assert found.packed.declare_g == 118
    part = borne(Wish("minimum", UNTIL, 9, bars), of)
    assert part.held.declare_g < found.held.declare_g


def test_bars_not_weighed_cost_weight_against_the_naive_answer() -> None:
    of = seen()
    found = borne(Wish("minimum", UNTIL, 9), of)
    shares = found.held.expected_mean_g / found.packed.expected_mean_g
    assert found.held.declare_g < shares * min(found.sample.bars_g) - 2
    wild = borne(Wish("minimum", UNTIL, 9, spread_share=0.08), of)
    assert wild.held.declare_g < found.held.declare_g


def test_past_cuts_teach_the_spread() -> None:
    of = seen()
    assert hand_spread(of, None)[1] == 0
    for number in range(2, 6):
        loaf = make_cut_loaf(
            f"26-00{number}", hours=-24 * 30 * number, weights_g={2: 140.0, 5: 140.0, 8: 140.0}
        )
        weigh_course(loaf, {20: 126.0})
        weigh_course(loaf, {20: 126.0}, bar_number=5)
        weigh_course(loaf, {20: 126.0}, bar_number=8)
    again = outlook(of.loaf, Workshop.current(), NOW)
    spread, loaves = hand_spread(again, None)
    assert loaves == 4
    assert spread.share < 0.03


def test_contents_dry_towards_more_fatty_matter() -> None:
    found = borne(Wish("average_eu", UNTIL, 9), seen())
    assert found.now
    assert found.until
    assert 0.6 < found.now.fatty_matter.p50 < found.until.fatty_matter.p50 < 0.85
    assert found.now.moisture.p50 > found.until.moisture.p50 > 0


def test_the_other_way_round_leads_back_to_the_label() -> None:
    """A loaf cut as advised, with the same drying, bears the wanted weight and not much more."""
    of = seen()
    wish = Wish("average_eu", UNTIL, 10)
    found = next_cut(of, wish, 100.0)
    assert isinstance(found, NextCut)
    assert found.pour_g > 10 * found.mean_g
    now_g = borne(wish, of).held
    # The same rule and day: weight to cut over label weight is about cut weight over weight borne.
    assert found.mean_g / 100 == pytest.approx(139.5 / now_g.declare_g, rel=0.05)
    assert found.thickness_mm == pytest.approx(25 * found.mean_g / 139.5, rel=0.02)


def test_what_cannot_be_promised_says_why() -> None:
    wish = Wish("average_eu", UNTIL, 9)
    uncut = outlook(make_loaf(number="26-101"), Workshop.current(), START + timedelta(hours=9))
    assert isinstance(promise(uncut, wish), NoPromise)
    bare = outlook(make_cut_loaf("26-102", weights_g={}), Workshop.current(), NOW)
    assert isinstance(promise(bare, wish), NoPromise)
    far = promise(seen(number="26-103"), Wish("average_eu", date(2031, 1, 1), 9))
    assert isinstance(far, NoPromise)
    assert "2 years" in far.reason
    heavy = promise(seen(number="26-104"), Wish("hb133", UNTIL, 2, (2000.0, 2000.0)))
    assert isinstance(heavy, NoPromise)
    assert "1450" in heavy.reason


def test_weighed_whole_it_agrees_with_the_plain_sum() -> None:
    of, bars = seen(), (118.0, 119.0, 121.0)
    found = borne(Wish("average_eu", NOW.date(), 3, bars), of)
    assert found.packed == net_weight(bars, Left(1, 1, 1), "average_eu")
