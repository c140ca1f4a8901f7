"""What two phones told that cannot both hold: the first to arrive counts, both stay in sight until somebody decides."""

from datetime import timedelta

import pytest
from django.utils import timezone

from curelog.actions import cure, cut, mould
from curelog.actions.withdraw import withdraw
from curelog.models import Cut, Loaf, Unmoulding, Weighing
from curelog.models.record import Record, with_facts
from tests import factories
from tests.factories import told

BARS = cut.CutBars(10, 85, 65, 25)


@pytest.fixture
def loaf(workshop):
    return factories.make_loaf()


def record_of(loaf):
    return Record(with_facts(Loaf.objects.all()).get(pk=loaf.pk))


def arrived(fact, minutes):
    """Facts arrive one after the other."""
    type(fact).objects.filter(pk=fact.pk).update(received_at=timezone.now() + timedelta(minutes=minutes))
    return fact


def test_one_cut_is_no_conflict(loaf):
    mould.unmould(loaf, told(20))
    cut.cut(loaf, told(21), "clean", BARS)
    assert record_of(loaf).conflicts == []


def test_the_cut_that_arrived_first_counts_even_when_it_happened_later(loaf):
    first = arrived(cut.cut(loaf, told(22), "clean", BARS), 1)
    second = arrived(cut.cut(loaf, told(21), "too_soft", BARS), 2)
    record = record_of(loaf)
    assert record.cut == first
    assert record.standing(Cut) == [first]
    assert record.conflicts[0].facts == (first, second)


def test_withdrawing_one_decides(loaf):
    first = arrived(cut.cut(loaf, told(22), "clean", BARS), 1)
    second = arrived(cut.cut(loaf, told(21), "too_soft", BARS), 2)
    withdraw(first, told(30), "the other phone was right")
    record = record_of(loaf)
    assert record.conflicts == []
    assert record.cut == second


def test_a_correction_keeps_the_place_of_what_was_told_first(loaf):
    first = arrived(cut.cut(loaf, told(22), "clean", BARS), 1)
    second = arrived(cut.cut(loaf, told(21), "too_soft", BARS), 2)
    telling = told(22)
    corrected = arrived(
        cut.cut(loaf, type(telling)(telling.key, telling.at, None, corrects=first.pk), "too_hard", BARS), 3
    )
    assert record_of(loaf).conflicts[0].facts == (corrected, second)


def test_two_corrections_of_one_weight_do_not_count_twice(loaf):
    loaf = factories.make_cut_loaf(number="26-009")
    wrong = Weighing.objects.filter(loaf=loaf).first()
    tellings = [told(30), told(30)]
    one, other = (
        arrived(
            cure.weigh(loaf, type(t)(t.key, t.at, None, corrects=wrong.pk), list(wrong.bars.all()), g),
            minutes,
        )
        for t, g, minutes in zip(tellings, (138.0, 137.0), (1, 2), strict=True)
    )
    record = record_of(loaf)
    assert record.conflicts[0].facts == (one, other)
    assert one in record.standing(Weighing)
    assert other not in record.standing(Weighing)
    # Both can still be withdrawn: neither is corrected.
    assert record.stands(other)


def test_two_weights_of_one_bar_are_two_facts(loaf):
    loaf = factories.make_cut_loaf(number="26-009")
    bar = loaf.bars.first()
    for _ in range(2):
        cure.weigh(loaf, told(48), [bar], 137.0)
    assert record_of(loaf).conflicts == []


def test_unmoulded_after_the_cut_is_shown_whichever_arrived_first(loaf):
    unmoulding = arrived(mould.unmould(loaf, told(23)), 1)
    found = arrived(cut.cut(loaf, told(22), "clean", BARS), 2)
    record = record_of(loaf)
    assert record.conflicts[0].facts == (found, unmoulding)
    assert record.standing(Unmoulding) == [unmoulding]
