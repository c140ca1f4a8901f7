"""START is a Monday at 09:00 UTC, which is the workshop's clock unless a test moves it."""

from datetime import time, timedelta

import pytest
from django.utils import timezone

from curelog.actions import cure, mould
from curelog.actions.cut import CutBars, cut
from curelog.actions.reminding import set_own, set_rule
from curelog.actions.settings import change_workshop
from curelog.actions.withdraw import withdraw
from curelog.domain.reminding import Kind
from curelog.models import Loaf, Person, Reminder, ToReplan, Workshop
from curelog.reminders import planning
from curelog.reminders.planning import catch_up
from tests.factories import START, make_cut_loaf, make_loaf, make_recipe, told, weigh_course

pytestmark = pytest.mark.django_db


def due(loaf: Loaf, kind: Kind) -> Reminder:
    return Reminder.objects.get(loaf=loaf, kind=kind)


def plan_now() -> None:
    while catch_up(timezone.now()):
        pass


def test_a_pour_is_planned_in_its_own_transaction(clock):
    loaf = make_loaf()
    assert not ToReplan.objects.exists()
    check, cut_row = due(loaf, Kind.CHECK), due(loaf, Kind.CUT)
    assert START < check.due_at < cut_row.due_at
    assert cut_row.words.startswith("26-001: cut from Mon ")
    assert cut_row.why == "From the pour at Mon 09:00"


def test_a_finger_check_moves_the_rows_and_says_so(clock):
    loaf = make_loaf()
    before = due(loaf, Kind.CUT_BY)
    clock.shift(timedelta(hours=8))
    mould.check_firmness(loaf, told(8), "dents")
    after = due(loaf, Kind.CUT_BY)
    assert after.pk == before.pk
    assert after.begins_at != before.begins_at
    assert after.revision == before.revision + 1
    assert after.why.startswith("From the finger check at Mon 17:00")


def test_a_hard_loaf_is_not_told_what_its_maker_has_just_felt(clock):
    loaf = make_loaf()
    clock.shift(timedelta(hours=10))
    mould.check_firmness(loaf, told(10), "hard")
    assert Reminder.objects.filter(loaf=loaf).exists()
    assert not Reminder.objects.filter(loaf=loaf, due_at__isnull=False).exists()


def test_a_note_or_a_photo_plans_nothing(clock, django_assert_max_num_queries):
    loaf = make_loaf()
    planned = list(Reminder.objects.values_list("pk", "revision"))
    with django_assert_max_num_queries(12):
        cure.note(loaf, told(1, note="smells of rosemary"))
    assert list(Reminder.objects.values_list("pk", "revision")) == planned


def test_the_cut_ends_its_reminders_at_once_and_leaves_the_cure_to_the_worker(clock):
    loaf = make_loaf()
    clock.shift(timedelta(hours=12))
    cut(loaf, told(12), "clean", CutBars(10, 85, 65, 25), weights_g={2: 140.0})
    assert not Reminder.objects.filter(is_over=False).exists()
    assert ToReplan.objects.get().loaf == loaf
    plan_now()
    assert {row.kind for row in Reminder.objects.filter(is_over=False)} >= {
        Kind.TURN,
        Kind.SPOTS,
        Kind.SETTLED,
    }


def test_a_withdrawn_cut_brings_the_window_back(clock):
    loaf = make_loaf()
    clock.shift(timedelta(hours=5))
    fact = cut(loaf, told(5), "clean", CutBars(10, 85, 65, 25))
    withdraw(fact, told(5), "wrong loaf")
    assert due(loaf, Kind.CUT_BY).due_at > timezone.now()


def test_a_fact_told_while_the_worker_reckons_wins(clock, monkeypatch):
    loaf = make_cut_loaf()
    real = planning.work_out

    def interrupted(which):
        plan = real(which)
        clock.shift(timedelta(seconds=1))
        monkeypatch.setattr(planning, "work_out", real)
        weigh_course(loaf, {3: 134.0})
        return plan

    monkeypatch.setattr(planning, "work_out", interrupted)
    catch_up(timezone.now())
    assert not Reminder.objects.filter(loaf=loaf).exists()
    plan_now()
    assert due(loaf, Kind.SETTLED).occasion == "3"


def test_one_loaf_that_cannot_be_planned_stops_nobody(clock, monkeypatch, caplog):
    broken, sound = make_cut_loaf("26-001"), make_cut_loaf("26-002")
    real = planning.work_out
    monkeypatch.setattr(planning, "work_out", lambda loaf: 1 / 0 if loaf == broken else real(loaf))
    plan_now()
    assert Reminder.objects.filter(loaf=sound).exists()
    assert ToReplan.objects.get().loaf == broken
    assert "could not be planned" in caplog.text
    clock.shift(timedelta(hours=2))
    monkeypatch.setattr(planning, "work_out", real)
    plan_now()
    assert Reminder.objects.filter(loaf=broken).exists()


def test_a_pour_is_kept_even_if_its_plan_trips(clock, monkeypatch, caplog):
    def trip(loaf):
        raise ValueError("no such fat")

    monkeypatch.setattr(planning, "work_out", trip)
    loaf = make_loaf()
    assert Loaf.objects.filter(pk=loaf.pk).exists()
    assert ToReplan.objects.get().loaf == loaf


def test_after_each_weighing_the_next_one_is_planned_as_the_same_entry(clock):
    loaf = make_cut_loaf()
    plan_now()
    first = due(loaf, Kind.WEIGH)
    clock.shift(timedelta(days=4))
    weigh_course(loaf, {3: 134.0})
    plan_now()
    second = due(loaf, Kind.WEIGH)
    assert second.pk == first.pk
    assert (first.occasion, second.occasion) == ("2", "3")
    assert second.why.startswith("From the weighing of 16 Jan")


def test_a_failed_check_waits_for_its_answer_and_then_no_more(clock):
    loaf = make_cut_loaf()
    clock.shift(timedelta(days=3))
    failed = cure.check(loaf, told(72), "titration", "fail")
    plan_now()
    assert due(loaf, Kind.HELD).due_at == (START + timedelta(days=5)).replace(hour=18)
    cure.answer(failed, told(73, note="flask was dirty"), lets_go=True)
    plan_now()
    assert not Reminder.objects.filter(kind=Kind.HELD, is_over=False).exists()


def test_a_finished_loaf_wants_nothing_but_what_somebody_set(clock):
    loaf = make_cut_loaf()
    by = Person.objects.create(username="olga")
    set_own(loaf, told().key, START + timedelta(days=9), "Show it to Ida", by)
    plan_now()
    cure.finish(loaf, told(48), "gone")
    plan_now()
    assert [row.kind for row in Reminder.objects.filter(is_over=False)] == [Kind.OWN]


def test_a_moved_zone_and_other_quiet_hours_move_what_was_planned(clock):
    loaf = make_cut_loaf()
    plan_now()
    before = Reminder.objects.get(loaf=loaf, kind=Kind.TURN, series="7").due_at
    change_workshop(Workshop.current(), {"time_zone": "America/New_York"})
    plan_now()
    after = Reminder.objects.get(loaf=loaf, kind=Kind.TURN, series="7").due_at
    assert after - before == timedelta(hours=5)


def test_a_rule_for_salt_bars_leaves_the_others_alone(clock):
    salt = make_loaf(make_recipe("Salt", kind="salt"), "26-001")
    mixed = make_loaf(make_recipe("Mixed"), "26-002")
    set_rule(Kind.CUT, "salt", {"is_on": False})
    set_rule(Kind.CUT_BY, "", {"lead_minutes": 30})
    plan_now()
    assert not Reminder.objects.filter(loaf=salt, kind=Kind.CUT).exists()
    assert Reminder.objects.filter(loaf=mixed, kind=Kind.CUT).exists()


def test_a_time_of_day_is_kept_over_the_clock_change(clock):
    """Berlin goes to summer time on 29 March 2026, ten weeks after the cut on 13 January."""
    change_workshop(Workshop.current(), {"time_zone": "Europe/Berlin"})
    set_rule(Kind.SPOTS, "", {"clock": time(9, 0)})
    loaf = make_cut_loaf()
    plan_now()
    hours = {row.series: row.due_at.hour for row in Reminder.objects.filter(loaf=loaf, kind=Kind.SPOTS)}
    assert (hours["56"], hours["91"]) == (8, 7)
