from datetime import date, timedelta

import pytest

from curelog.actions import cure, mould
from curelog.actions.withdraw import withdraw
from curelog.domain.lifecycle import Need, Stage
from curelog.models import Bar, Loaf, Workshop
from curelog.models.outlook import Outlook, outlook
from tests.factories import START, make_cut_loaf, make_loaf, told, weigh_course

pytestmark = pytest.mark.django_db


def seen(loaf: Loaf, days: float) -> Outlook:
    return outlook(loaf, Workshop.current(), START + timedelta(days=days))


def test_a_fresh_pour_is_in_the_mould_and_has_cut_times_in_order() -> None:
    standing = seen(make_loaf(), 0.01).standing
    assert standing.stage is Stage.MOULD
    assert standing.cut_times
    times = standing.cut_times
    assert START < times.check_from <= times.cut_from <= times.cut_by <= times.hard_from


def test_an_oven_gelled_loaf_forgotten_for_a_week_is_past_its_cut_by() -> None:
    standing = seen(make_loaf(), 7).standing
    assert standing.needs[0] is Need.PAST_CUT_BY
    assert standing.past_cut_by
    assert standing.past_cut_by > timedelta(days=4)


def test_a_hard_finger_check_moves_cut_by_earlier_at_once() -> None:
    loaf = make_loaf()
    before = seen(loaf, 0.5).standing.cut_times
    mould.check_firmness(loaf, told(10), "hard")
    after = seen(Loaf.objects.get(), 0.5).standing.cut_times
    assert before
    assert after
    assert after.cut_by < before.cut_by


def test_a_withdrawn_check_no_longer_counts() -> None:
    loaf = make_loaf()
    before = seen(loaf, 0.5).standing.cut_times
    check = mould.check_firmness(loaf, told(10), "hard")
    withdraw(check, told(11), "wrong loaf")
    assert seen(Loaf.objects.get(), 0.5).standing.cut_times == before


def test_bars_get_a_forecast_from_the_cut_on_and_it_says_likely_before_safe() -> None:
    standing = seen(make_cut_loaf(), 2).standing
    assert standing.stage is Stage.CURING
    assert standing.settled_likely
    assert standing.settled_safe
    assert date(2026, 2, 10) <= standing.settled_likely <= standing.settled_safe


COURSE = {3: 134.0, 7: 130.0, 14: 126.0, 28: 122.5, 45: 120.8, 60: 120.2, 80: 119.9, 110: 119.6}


def test_ready_needs_a_weighing_after_the_safe_date() -> None:
    loaf = make_cut_loaf(weights_g={2: 140.0})
    weigh_course(loaf, {day: w for day, w in COURSE.items() if day < 20})
    assert seen(loaf, 115).standing.stage is Stage.CURING
    assert Need.WEIGH in seen(loaf, 115).standing.needs
    weigh_course(loaf, {day: w for day, w in COURSE.items() if day > 20})
    assert seen(Loaf.objects.get(), 115).standing.stage is Stage.READY


def test_an_open_fail_holds_back_what_would_be_ready_until_it_is_answered() -> None:
    loaf = make_cut_loaf(weights_g={2: 140.0})
    weigh_course(loaf, COURSE)
    failed = cure.check(loaf, told(24 * 100), "titration", "fail", "0.2 %")
    held = seen(Loaf.objects.get(), 115).standing
    assert (held.stage, held.is_held_back) == (Stage.SETTLED, True)
    cure.answer(failed, told(24 * 101, note="Titrated again: 0.02 %, the flask was dirty."), lets_go=True)
    assert seen(Loaf.objects.get(), 115).standing.stage is Stage.READY


def test_a_tray_weighing_counts_for_the_named_bars() -> None:
    loaf = make_cut_loaf()
    cure.weigh(loaf, told(24 * 15), list(Bar.objects.all()), 252.0)
    found = seen(Loaf.objects.get(), 16)
    assert found.question
    assert len(found.question.trays) == 1
    assert found.question.trays[0].bars == ("2", "5")


def test_a_loaf_weighed_in_the_same_round_still_teaches_what_it_told_before() -> None:
    older, younger = make_cut_loaf("26-001"), make_cut_loaf("26-002", hours=24 * 5)
    weigh_course(older, {3: 134.0, 10: 129.0, 15: 127.0})
    weigh_course(younger, {3: 134.0, 10: 129.0})
    found = seen(Loaf.objects.get(pk=younger.pk), 20).question
    assert found
    past = {bar.bar_id: bar for bar in found.history}
    assert [weighing.day for weighing in past["26-001/2"].weighings] == [0.0, 3.0, 10.0]
    assert past["26-001/2"].cut_days_earlier == pytest.approx(5.0)
    assert "26-001/5" not in past, "one weight alone says nothing about drying"
