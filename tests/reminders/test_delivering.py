"""From due to told: grouping, lateness, back-off, receivers that go, and workers that die at each step.

START is a Monday at 09:00 UTC, which is the workshop's clock. The loaf of these tests is told: check at 13:00, cut at
19:30, and at 21:00, before the quiet hours, of the cut-by at 01:00."""

from datetime import timedelta
from itertools import pairwise
from uuid import uuid4

import pytest
from django.core import signing
from django.db import connection
from django.utils import timezone

from curelog.actions import mould
from curelog.actions.cut import CutBars, cut
from curelog.actions.reminding import say_done, say_in_an_hour, set_own
from curelog.channels.message import Outcome, Result
from curelog.domain.reminding import Kind
from curelog.models import Delivery, Person, Reminder
from curelog.reminders import delivering, giving
from curelog.reminders.composing import ANSWER_SALT
from curelog.reminders.delivering import CLAIM_HOLDS, MOST_TRIES
from curelog.reminders.review import review
from curelog.reminders.worker import one_round
from tests.factories import START, make_cut_loaf, make_loaf, told
from tests.reminders.fakes import make_receiver

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("known_window")]
State = Delivery.State
BUSY = Outcome(Result.LATER, "The push service answered 503.")


def at(clock, hours, minutes=0):
    clock.move_to(START + timedelta(hours=hours, minutes=minutes))


def lines(recorder):
    found, recorder.messages = recorder.lines, []
    return found


def test_each_step_of_the_window_is_told_once_to_each_receiver(clock, channels, recorder):
    make_receiver("Phone")
    make_receiver("Post", "henk")
    make_loaf()
    for minute in range(0, 18 * 60, 10):
        at(clock, 0, minute)
        one_round(channels)
    assert sorted(name for name, _ in recorder.messages) == ["Phone"] * 3 + ["Post"] * 3
    assert [line.split(" from ")[0] for line in recorder.lines[::2]] == [
        "26-001: finger check",
        "26-001: cut",
        "26-001: cut before Mon 22:00, or at Tue 00:00",
    ]
    assert not any(line.startswith("Late") for line in recorder.lines)


def test_no_loaf_is_told_of_after_its_cut(clock, channels, recorder):
    make_receiver()
    loaf = make_loaf()
    at(clock, 11)
    cut(loaf, told(11), "clean", CutBars(10, 85, 65, 25))
    for hour in range(11, 40):
        at(clock, hour)
        one_round(channels)
    assert recorder.messages == []


def test_a_cut_noted_between_giving_out_and_sending_still_stops_it(clock, channels, recorder):
    make_receiver()
    loaf = make_loaf()
    recorder.outcomes = [BUSY]
    at(clock, 4)
    one_round(channels)
    assert lines(recorder)
    cut(loaf, told(4), "clean", CutBars(10, 85, 65, 25))
    at(clock, 5)
    one_round(channels)
    assert recorder.messages == []
    assert Delivery.objects.get().state == State.DROPPED


def test_several_for_one_evening_are_one_message(clock, channels, recorder):
    make_receiver()
    loaves = [make_cut_loaf(f"26-00{n}") for n in range(1, 4)]
    for loaf in loaves:
        set_own(loaf, uuid4(), START + timedelta(days=8, hours=8), "ask Ida", Person.objects.get())
    at(clock, 8 * 24 + 8)
    one_round(channels)
    ((_, message),) = recorder.messages
    assert [line for line in message.lines if "turn" in line] == [
        f"26-00{n}: turn the bars" for n in (1, 2, 3)
    ]
    assert len(message.lines) == 6
    assert message.path == "/"
    assert "Ida" not in message.text + message.title


def test_a_message_says_nothing_but_number_act_and_clock(clock, channels, recorder):
    make_receiver()
    make_loaf()
    at(clock, 11)
    one_round(channels)
    (message,) = (message for _, message in recorder.messages)
    for private in ("Lard", "coconut", "Olga", "workshop"):
        assert private.lower() not in (message.text + message.title).lower()
    assert message.path.endswith("/cut/")


def test_a_server_that_slept_tells_late_and_says_so_or_drops_but_never_both(clock, channels, recorder):
    make_receiver()
    make_loaf()
    at(clock, 12, 30)
    one_round(channels)
    assert recorder.lines == ["Late, due Mon 21:00. 26-001: cut before Mon 22:00, or at Tue 00:00"]
    told_kinds = set(Delivery.objects.values_list("reminder__kind", flat=True))
    dropped = set(Reminder.objects.filter(outcome="dropped").values_list("kind", flat=True))
    assert not told_kinds & dropped
    assert told_kinds | dropped == {"check", "cut", "cut_by"}


def test_slept_over_the_whole_window_it_says_that_the_cut_by_is_past(clock, channels, recorder):
    make_receiver()
    make_loaf()
    at(clock, 30)
    one_round(channels)
    assert len(recorder.lines) == 1
    assert recorder.lines[0].startswith("Late, due Mon 21:00. 26-001: past its cut-by of Tue ")
    reasons = {line.reminder.kind: line.why for line in review(START, timezone.now() + timedelta(seconds=1))}
    assert reasons["cut"] == reasons["check"] == "Nobody could be told while it was true."
    assert "sent late" in reasons["cut_by"]


def test_what_is_late_and_can_wait_rests_over_the_quiet_hours(clock, channels, recorder):
    make_receiver()
    make_cut_loaf()
    one_round(channels)
    at(clock, 8 * 24 + 14)
    one_round(channels)
    assert recorder.messages == []
    at(clock, 8 * 24 + 21, 30)
    one_round(channels)
    assert recorder.lines == ["Late, due Tue 18:00. 26-001: turn the bars"]


def test_what_would_be_lost_by_waiting_is_told_late_even_at_night(clock, channels, recorder):
    make_receiver()
    make_loaf()
    at(clock, 13, 15)
    one_round(channels)
    assert any("cut" in line for line in recorder.lines)


def test_trouble_is_tried_again_ever_more_slowly_and_then_given_up(clock, channels, recorder):
    make_receiver()
    set_own(make_cut_loaf(), uuid4(), START + timedelta(days=3), "x", Person.objects.get())
    recorder.outcomes = [BUSY] * 99
    tries = []
    for minute in range(600):
        at(clock, 3 * 24, minute)
        if one_round(channels):
            tries.append(minute)
    gaps = [later - earlier for earlier, later in pairwise(tries)]
    assert len(tries) == MOST_TRIES
    assert gaps == sorted(gaps)
    assert max(gaps[:8]) <= 60
    assert Delivery.objects.get().state == State.FAILED
    assert review(START, timezone.now())[-1].why == "Phone: not sent. The push service answered 503."


def test_a_service_that_says_when_is_not_asked_earlier(clock, channels, recorder):
    make_receiver()
    set_own(make_cut_loaf(), uuid4(), START + timedelta(days=3), "x", Person.objects.get())
    recorder.outcomes = [Outcome(Result.LATER, "busy", 1800)]
    at(clock, 72)
    one_round(channels)
    at(clock, 72, 29)
    assert one_round(channels) == 0
    at(clock, 72, 30)
    assert one_round(channels) == 1


def test_a_gone_subscription_is_closed_forgotten_and_said(clock, channels, recorder):
    phone = make_receiver(channel="push", keys={"auth": "x"})
    set_own(make_cut_loaf(), uuid4(), START + timedelta(days=3), "x", phone.person)
    recorder.outcomes = [Outcome(Result.GONE, "The push service answered 410.")]
    at(clock, 72)
    one_round(channels)
    phone.refresh_from_db()
    assert (phone.address, phone.keys, phone.closed_why) == ("", {}, "The push service answered 410.")
    assert "410" in review(START, timezone.now() + timedelta(seconds=1))[-1].why
    at(clock, 24 * 9)
    one_round(channels)
    assert len(recorder.messages) == 1


def test_nobody_to_tell_is_said(clock, channels):
    make_receiver(kinds_off=["check"])
    make_loaf()
    at(clock, 4)
    one_round(channels)
    (line,) = review(START, timezone.now() + timedelta(seconds=1))
    assert line.why.startswith("Nobody to tell")


def test_in_an_hour_asks_again_only_who_asked(clock, channels, recorder):
    make_receiver("Phone")
    make_receiver("Post", "henk")
    make_loaf()
    at(clock, 4)
    one_round(channels)
    phone = next(message for name, message in recorder.messages if name == "Phone")
    lines(recorder)
    assert say_in_an_hour(signing.loads(phone.answer, salt=ANSWER_SALT)) == 1
    at(clock, 4, 59)
    assert one_round(channels) == 0
    at(clock, 5)
    one_round(channels)
    assert [(name, message.lines[0][:20]) for name, message in recorder.messages] == [
        ("Phone", "26-001: finger check")
    ]


def test_done_ends_it_for_everybody_until_a_fact_asks_anew(clock, channels, recorder):
    make_receiver("Phone")
    post = make_receiver("Post", "henk")
    loaf = make_loaf()
    at(clock, 4)
    one_round(channels)
    lines(recorder)
    assert say_done([Delivery.objects.get(receiver=post).pk]) == 1
    for minute in range(0, 600, 30):
        at(clock, 5, minute)
        one_round(channels)
    assert recorder.messages == []
    assert Reminder.objects.get(kind=Kind.CHECK).outcome_why == "Henk said so."
    at(clock, 15)
    mould.check_firmness(loaf, told(5), "sticky")
    assert Reminder.objects.filter(due_at__isnull=False).exists()


def test_a_delivery_is_claimed_by_one_of_two_that_saw_it(clock):
    phone = make_receiver()
    make_loaf()
    at(clock, 4)
    giving.give_out(timezone.now())
    claims = [delivering.claim(phone, timezone.now()) for _ in range(2)]
    assert claims[0]
    assert claims[1] is None


def test_a_row_that_moved_since_it_was_read_is_not_claimed(clock):
    make_loaf()
    row = Reminder.objects.get(kind=Kind.CHECK)
    Reminder.objects.filter(pk=row.pk).update(due_at=timezone.now() + timedelta(hours=9))
    assert not giving.claim(row, timezone.now(), Reminder.Outcome.GIVEN)


class Killed(BaseException):
    """What no handler of the worker catches, as a SIGKILL is caught by none."""


def killed(*args, **kwargs):
    raise Killed


STEPS = {
    "while giving out": (giving, "give", 0),
    "before the claim": (delivering, "claim", 0),
    "after the claim": (delivering, "compose", 0),
    "after sending": (delivering, "note", 1),
}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("step", STEPS)
def test_a_worker_killed_at_any_step_costs_at_most_one_repeat(step, clock, channels, recorder, monkeypatch):
    module, name, sent_before = STEPS[step]
    make_receiver()
    make_loaf()
    at(clock, 4)
    with monkeypatch.context() as patched:
        patched.setattr(module, name, killed)
        with pytest.raises(Killed):
            one_round(channels)
    connection.close()
    assert len(recorder.messages) == sent_before
    for seconds in range(10, 1000, 10):
        clock.move_to(START + timedelta(hours=4, seconds=seconds))
        one_round(channels)
    assert len(recorder.messages) == sent_before + 1
    assert len({message.tag for _, message in recorder.messages}) == 1
    assert Delivery.objects.get().state == State.SENT


@pytest.mark.django_db(transaction=True)
def test_killed_twice_after_sending_it_is_not_sent_a_third_time(clock, channels, recorder, monkeypatch):
    make_receiver()
    make_loaf()
    with monkeypatch.context() as patched:
        patched.setattr(delivering, "note", killed)
        for times in range(2):
            clock.move_to(START + timedelta(hours=4) + times * (CLAIM_HOLDS + timedelta(seconds=1)))
            with pytest.raises(Killed):
                one_round(channels)
    clock.shift(timedelta(minutes=10))
    one_round(channels)
    assert len(recorder.messages) == 2
    assert Delivery.objects.get().trouble.startswith("Perhaps sent")


def test_a_channel_that_fails_in_a_way_of_its_own_stops_nobody(clock, channels, recorder, caplog):
    make_receiver("Phone")
    make_receiver("Post", "henk")
    make_loaf()
    at(clock, 4)

    def trip():
        recorder.hook = None
        raise RuntimeError("never seen before")

    recorder.hook = trip
    one_round(channels)
    assert [name for name, _ in recorder.messages] == ["Post"]
    at(clock, 4, 2)
    one_round(channels)
    assert [name for name, _ in recorder.messages] == ["Post", "Phone"]
