from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection
from django.test.utils import CaptureQueriesContext

from curelog.models import Loaf, RoomReading, Workshop
from curelog.models.outlook import outlook, outlooks
from curelog.models.record import with_facts
from curelog.models.room import RoomLog
from tests.factories import START, make_cut_loaf, weigh_course

pytestmark = pytest.mark.django_db


def read(
    days: float, rh: float | None = 60.0, temp_c: float | None = 18.0, place: str = "", **fields
) -> RoomReading:
    """`days` after the first pour, by the UTC clock of these tests."""
    at = START + timedelta(days=days)
    return RoomReading.objects.create(
        id=uuid4(), at=at, day=at.date(), rh=rh, temp_c=temp_c, place=place, source="hand", **fields
    )


def log(days: float) -> RoomLog:
    return RoomLog.of(Workshop.current(), START + timedelta(days=days))


def test_a_day_is_the_mean_of_its_places_however_often_each_speaks() -> None:
    for hour in range(10):
        read(hour / 24, 50.0, 16.0, "rack")
    read(0.1, 60.0, 18.0, "shelf")
    (only,) = log(1).days
    assert (only.day, only.rh, only.temp_c) == (date(2026, 1, 12), 55.0, 17.0)


def test_the_running_day_does_not_count_yet() -> None:
    read(0)
    assert log(0.5).days == ()
    assert len(log(1).days) == 1


def test_a_reading_left_out_does_not_count() -> None:
    read(0, 60.0)
    read(0.1, 99.0, left_out_at=START)
    assert log(1).days[0].rh == 60.0


def test_a_reading_tells_at_least_one_of_both() -> None:
    with pytest.raises(IntegrityError):
        read(0, None, None)


def test_room_days_count_from_the_cut_each_at_its_noon() -> None:
    for day in range(5):
        read(day, 50.0 + day)
    cut_at = datetime(2026, 1, 13, 9, 0, tzinfo=UTC)
    found = log(10).room_days(cut_at, cut_at + timedelta(days=2))
    assert [(day.day, day.rh, day.temp_c) for day in found] == [(0.125, 51.0, 18.0), (1.125, 52.0, 18.0)]


def test_a_day_without_temperature_gets_the_usual_one_and_one_without_humidity_tells_nothing() -> None:
    read(0, 50.0, None)
    read(1, None, 25.0)
    found = log(3).room_days(START, START + timedelta(days=3))
    assert [(day.rh, day.temp_c) for day in found] == [(50.0, Workshop.current().room_c)]


def test_the_usual_room_is_read_from_four_weeks_on_and_set_by_hand_before() -> None:
    workshop = Workshop.current()
    for day in range(27):
        read(day, 70.0, 15.0)
    assert log(30).usual(START + timedelta(days=27)) == (workshop.room_rh, workshop.room_c)
    read(27, 70.0, 15.0)
    assert log(30).usual(START + timedelta(days=28)) == (70.0, 15.0)


def test_a_forecast_knows_the_days_of_its_cure_up_to_the_last_weighing() -> None:
    loaf = make_cut_loaf()
    weigh_course(loaf, {7: 130.0})
    for day in range(20):
        read(day, 66.0)
    seen = outlook(loaf, Workshop.current(), START + timedelta(days=21))
    assert seen.question
    assert [day.day for day in seen.question.climate] == pytest.approx([0.125 + n for n in range(7)])
    assert {day.rh for day in seen.question.climate} == {66.0}


def test_a_new_reading_is_no_new_question_before_a_bar_is_weighed() -> None:
    loaf = make_cut_loaf()
    weigh_course(loaf, {7: 130.0})
    read(5)
    before = outlook(loaf, Workshop.current(), START + timedelta(days=21)).question
    read(15, 90.0)
    after = outlook(Loaf.objects.get(), Workshop.current(), START + timedelta(days=22)).question
    assert before == after


def test_a_damp_room_dries_more_slowly() -> None:
    loaf = make_cut_loaf()
    weigh_course(loaf, {7: 133.0, 14: 130.0})
    settled = {}
    for rh in (40.0, 80.0):
        RoomReading.objects.all().delete()
        for day in range(16):
            read(day, rh)
        seen = outlook(Loaf.objects.get(), Workshop.current(), START + timedelta(days=17))
        assert seen.summary
        settled[rh] = seen.summary.settled_day.p50
    assert settled[40.0] < settled[80.0]


def test_past_bars_are_told_the_mean_of_their_cure() -> None:
    past = make_cut_loaf(number="26-001")
    weigh_course(past, {10: 130.0, 20: 126.0})
    for day in range(30):
        read(day, 70.0 if day < 21 else 30.0, 15.0)
    now = START + timedelta(days=60)
    make_cut_loaf(number="26-002", hours=24 * 50)
    experience = outlook(Loaf.objects.first(), Workshop.current(), now).experience
    assert {bar.climate_mean for _, pk, bar in experience.bars if pk == str(past.pk)} == {(70.0, 15.0)}


def test_many_loaves_read_the_room_once() -> None:
    for number in range(4):
        make_cut_loaf(number=f"26-00{number}")
    read(2)
    now = START + timedelta(days=9)
    outlooks(with_facts(Loaf.objects.all()), Workshop.current(), now)
    with CaptureQueriesContext(
        connection,
    ) as queries:
        seen = outlooks(with_facts(Loaf.objects.all()), Workshop.current(), now)
        assert all(one.question for one in seen)
    assert len([q for q in queries if "roomreading" in q["sql"]]) == 1
