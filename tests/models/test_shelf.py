"""What is left of a lot, and which lot a code means."""

from datetime import date, timedelta
from uuid import uuid4

import pytest

from curelog.actions.lots import PartTaken, count_stock, keep_lot
from curelog.actions.pour import Circumstances, Filling, Weighed, pour
from curelog.models import Lot, OwnFat
from curelog.models.shelf import (
    fits_additive,
    fits_alkali,
    fits_fat,
    left_of,
    meant_by,
    open_lots,
    with_parts,
)
from tests.factories import START, make_lot, make_recipe, told

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 4)


def poured(workshop, number="26-001", hours=0.0, recipe=None, **lots):
    recipe = recipe or make_recipe()
    weighed = Weighed([700.0, 300.0], 135.0, 0.0, 275.0, **lots)
    return pour(recipe, told(hours), number, weighed, Circumstances("none"), [Filling(None)], workshop)


def left(*lots):
    found = left_of(with_parts(Lot.objects.filter(pk__in=[lot.pk for lot in lots])))
    return [pytest.approx(found[lot.pk]) for lot in lots]


def test_pours_take_from_the_lots_they_name(workshop):
    lard, coconut = make_lot("L1"), make_lot("C1", "coconut", "Coconut")
    lye = make_lot("N1", "naoh", "Sodium hydroxide", "alkali", 1000)
    poured(workshop, fat_from=[lard, coconut], lye_from=lye)
    poured(workshop, "26-002", fat_from=[lard, None])
    assert left(lard, coconut, lye) == [3600, 4700, 865]


def test_what_is_poured_from_is_open(workshop):
    lard, coconut = make_lot("L1"), make_lot("C1", "coconut", "Coconut", opened_on=date(2025, 12, 1))
    poured(workshop, fat_from=[lard, coconut])
    assert Lot.objects.get(code="L1").opened_on == START.date()
    assert Lot.objects.get(code="C1").opened_on == date(2025, 12, 1)


def test_a_count_stands_for_all_that_came_before_it(workshop):
    lard = make_lot("L1")
    poured(workshop, fat_from=[lard, None])
    count_stock(lard, uuid4(), START + timedelta(hours=5), None, 4000.0)
    assert left(lard) == [4000]
    poured(workshop, "26-002", hours=9, fat_from=[lard, None])
    assert left(lard) == [3300]
    poured(workshop, "26-003", hours=3, fat_from=[lard, None])  # arrives late, was made before the count
    assert left(lard) == [3300]


def test_the_same_count_twice_is_one(workshop):
    lard, key = make_lot("L1"), uuid4()
    for mass_g in (4000.0, 4000.0):
        count_stock(lard, key, START, None, mass_g)
    assert lard.counts.count() == 1


def test_stock_lye_goes_down_by_all_that_holds_the_alkali(workshop):
    """135 g of alkali in a lye of 50 % are 270 g of lye."""
    dry = make_lot("N1", "naoh", "Sodium hydroxide", "alkali", 1000)
    lye = Lot(kind="lye", key="naoh", name="Stock lye", code="S1", received_g=1000, strength=0.5)
    keep_lot(lye, [PartTaken(dry, 500.0)])
    poured(workshop, lye_from=lye)
    assert left(dry, lye) == [500, 730]


def test_a_premix_is_poured_from_again_and_again(workshop):
    lard, coconut = make_lot("L1", saponification_value=196.0), make_lot("C1", "coconut", "Coconut")
    mix = keep_lot(
        Lot(kind="mix", name="Base", code="M1", received_g=4000),
        [PartTaken(lard, 2800.0), PartTaken(coconut, 1200.0)],
    )
    recipe = make_recipe()
    for number in ("26-001", "26-002"):
        batch = poured(workshop, number, recipe=recipe, fat_from=[mix, mix])
    assert left(lard, coconut, mix) == [2200, 3800, 2000]
    values = [part.fat.saponification_value for part in batch.fats.all()]
    assert values[0] == 196.0, "the lard's own certificate, through the mix"


def test_the_certificate_goes_into_the_batch_and_its_superfat(workshop):
    lard = make_lot("L1", saponification_value=203.0)
    by_table, by_lot = poured(workshop), poured(workshop, "26-002", fat_from=[lard, None])
    assert by_lot.superfat > by_table.superfat
    fat = by_lot.fats.first().fat
    assert (fat.saponification_value, fat.saponification_range) == (203.0, (203.0, 203.0))


def test_which_lot_a_code_means(workshop):
    lard, emu = make_lot("7"), OwnFat.objects.create(name="Emu", saponification_value=193)
    own = make_lot("7", "", "Emu", own=emu)
    scent = make_lot("7", "", "Lavender oil", "additive")
    naoh = make_lot("7", "naoh", "Sodium hydroxide", "alkali")
    crumbs = make_lot("T1", "", "Trimmings", "soap")
    assert meant_by("7", fits_fat("lard")) == lard
    assert meant_by("7", fits_fat(f"own:{emu.pk}")) == own
    assert meant_by("7", fits_fat("olive")) is None
    assert meant_by("7", fits_additive("lavender OIL", "fragrance")) == scent
    assert meant_by("7", fits_alkali("naoh")) == naoh
    assert meant_by("7", fits_alkali("koh")) is None
    assert meant_by("t1", fits_additive("Confetti", "other")) == crumbs
    assert meant_by("T1", fits_additive("Confetti", "clay")) is None
    assert meant_by("", fits_fat("lard")) is None


def test_a_used_up_lot_is_still_meant_but_not_on_the_shelf(workshop):
    lard = make_lot("7", is_retired=True)
    assert meant_by("7", fits_fat("lard")) == lard
    assert open_lots(TODAY) == []


def test_what_is_rich_in_linoleic_acid_stands_first(workshop):
    make_lot("A", "coconut", "Coconut", best_before=TODAY)
    make_lot("B", "sunflower", "Sunflower", opened_on=date(2025, 6, 1))
    shelf = open_lots(TODAY)
    assert [each.lot.code for each in shelf] == ["B", "A"]
    assert all(each.concerns for each in shelf)


def test_the_shelf_costs_the_same_for_many_lots(workshop, django_assert_num_queries):
    for number in range(3):
        lot = make_lot(f"L{number}")
        poured(workshop, f"26-00{number}", fat_from=[lot, None])
    with django_assert_num_queries(8):
        open_lots(TODAY)
    mix = Lot(kind="mix", name="Base", code="M1", received_g=4000)
    keep_lot(mix, [PartTaken(lot, 10.0)])
    with django_assert_num_queries(9):
        open_lots(TODAY)
    for number in range(3, 9):
        poured(workshop, f"26-00{number}", fat_from=[make_lot(f"L{number}"), None])
    with django_assert_num_queries(9):
        open_lots(TODAY)


def test_pours_that_named_the_code_earlier_are_linked(workshop):
    before = poured(workshop, fat_lots=["L9", ""], lye_lot="n3")
    lard = keep_lot(Lot(kind="fat", key="lard", name="Lard", code="l9", received_g=5000))
    alkali = keep_lot(Lot(kind="alkali", key="naoh", name="Sodium hydroxide", code="N3", received_g=900))
    before.refresh_from_db()
    part = before.fats.first()
    assert (part.from_lot, part.lot, before.lye_from) == (lard, "L9", alkali)
    assert left(lard, alkali) == [4300, 765]
