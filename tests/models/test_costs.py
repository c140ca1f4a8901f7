"""Costs by the prices of lots: 5 kg of lard for 30, and what was made of it."""

import pytest

from curelog.actions.lots import PartTaken, keep_lot
from curelog.models import Lot
from curelog.models.costs import cost_of, price_per_g
from curelog.models.sources import Source
from tests.factories import make_loaf, make_lot

pytestmark = pytest.mark.django_db


def test_a_batch_and_a_bar(workshop):
    lard, lye = make_lot("L1", price=30.0), make_lot("N1", "naoh", "NaOH", "alkali", 1000)
    pot = [Source(0, "Lard", 700, lot=lard), Source(0, "NaOH", 100, lot=lye), Source(0, "Water", 200)]
    cost = cost_of([*pot, Source(1, "Part of something", 999, lot=lard)], 12)
    assert cost.total == pytest.approx(4.2)
    assert cost.per_bar == pytest.approx(0.35)
    assert cost.unpriced == ("NaOH", "Water")
    assert cost_of(pot, None).per_bar is None
    assert cost_of(pot[1:], 12) is None


def test_what_was_made_here_costs_what_its_parts_cost(workshop):
    lard, coconut = make_lot("L1", price=30.0), make_lot("C1", "coconut", "Coconut", mass_g=1000, price=9.0)
    parts = [PartTaken(lard, 700), PartTaken(coconut, 300)]
    mix = keep_lot(Lot(kind="mix", name="Base", code="M1", received_g=1000), parts)
    assert price_per_g(mix) == pytest.approx((700 * 0.006 + 300 * 0.009) / 1000)
    coconut.price = None
    coconut.save()
    assert price_per_g(Lot.objects.get(pk=mix.pk)) is None


def test_trimmings_were_paid_for_with_their_batch(workshop):
    ends = Lot(kind="soap", name="Ends", code="T1", received_g=80)
    assert price_per_g(keep_lot(ends, [PartTaken(make_loaf().batch, 80)])) == 0.0
