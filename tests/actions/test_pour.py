"""The pour: what was weighed is copied, numbered, shared out over the moulds, and kept once."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from curelog.actions.keeping import OtherBody, Told
from curelog.actions.pour import Circumstances, Filling, NumberTaken, Weighed, next_number, pour, shared_out
from curelog.models import Batch, Loaf, Mould, OwnFat, Recipe
from tests.factories import START, make_loaf, make_recipe

pytestmark = pytest.mark.django_db
ONE_LOAF = (Filling(None),)


@pytest.fixture
def recipe():
    made = make_recipe()
    made.additives.create(name="Salt", role="salt", share_of_fats=0.5)
    return Recipe.objects.get(pk=made.pk)


@pytest.fixture
def weighed():
    return Weighed([701.0, 299.0], 135.0, 0.0, 275.0, [500.0], ["L1", ""], ["S7"], "N3")


@pytest.fixture
def keep(recipe, workshop, owner):
    """Pours with what is changed."""
    key = uuid4()

    def kept(weighed, number="26-001", at=START, key=key, fillings=ONE_LOAF, heat="oven", note=""):
        told = Told(key, at, owner, note=note)
        return pour(recipe, told, number, weighed, Circumstances(heat=heat, room_c=19.0), fillings, workshop)

    return kept


def mould(name, length_mm=250, cavities=0):
    return Mould.objects.create(name=name, length_mm=length_mm, width_mm=80, height_mm=60, cavities=cavities)


def test_what_was_weighed_is_copied_with_its_lots(keep, weighed, owner):
    batch = Batch.objects.get(pk=keep(weighed, note="thick").pk)
    assert [(part.facts["key"], part.weighed_g, part.lot) for part in batch.fats.all()] == [
        ("lard", 701.0, "L1"),
        ("coconut", 299.0, ""),
    ]
    assert [(extra.name, extra.weighed_g, extra.lot) for extra in batch.additives.all()] == [
        ("Salt", 500.0, "S7")
    ]
    assert (batch.naoh_g, batch.water_g, batch.lye_lot, batch.by, batch.note) == (
        135.0,
        275.0,
        "N3",
        owner,
        "thick",
    )
    assert (batch.heat, batch.room_c, batch.poured_at) == ("oven", 19.0, START)
    assert batch.poured_g == weighed.poured_g == 701 + 299 + 135 + 275 + 500


def test_the_superfat_is_that_of_the_weights(keep, weighed, recipe):
    sums = recipe.sums
    as_told = replace(weighed, fats_g=[700.0, 300.0], naoh_g=sums.naoh_g)
    assert keep(as_told).superfat == pytest.approx(0.05)
    batch = keep(replace(as_told, naoh_g=sums.naoh_g * 0.98), "26-002", key=uuid4())
    assert batch.superfat == pytest.approx(1 - 0.95 * 0.98)


def test_a_later_recipe_does_not_rewrite_the_batch(workshop, owner):
    own = OwnFat.objects.create(name="Emu", saponification_value=193)
    recipe = make_recipe(fats={"lard": 1.0})
    recipe.fats.update(key="", own=own, mass_g=500.0)
    loaf = make_loaf(Recipe.objects.get(pk=recipe.pk))
    OwnFat.objects.update(saponification_value=250, name="Ostrich")
    part = Batch.objects.get(pk=loaf.batch_id).fats.get()
    assert (part.fat.name, part.fat.saponification_value) == ("Emu", 193)


def test_the_same_pour_again_is_harmless(keep, weighed):
    moulds = [Filling(mould("A")), Filling(mould("B"), 400.0)]
    first = keep(weighed, fillings=moulds)
    again = keep(weighed, fillings=moulds, at=START + timedelta(seconds=3))
    assert again == first
    assert (Batch.objects.count(), Loaf.objects.count()) == (1, 2)
    assert Batch.objects.get().poured_at == START


@pytest.mark.parametrize(
    "changed",
    [
        {"number": "26-002"},
        {"heat": "none"},
        {"note": "other"},
        {"at": START + timedelta(hours=1)},
        {"fillings": [Filling(None), Filling(None)]},
    ],
)
def test_the_same_key_with_another_content_changes_nothing(keep, weighed, changed):
    keep(weighed)
    with pytest.raises(OtherBody):
        keep(weighed, **changed)
    assert (Batch.objects.get().number, Loaf.objects.count()) == ("26-001", 1)


def test_the_same_key_with_another_weight_or_lot(keep, weighed):
    keep(weighed)
    with pytest.raises(OtherBody):
        keep(replace(weighed, fats_g=[702.0, 299.0]))
    with pytest.raises(OtherBody):
        keep(replace(weighed, additive_lots=["S8"]))


def test_a_number_is_given_once(keep, weighed):
    keep(weighed)
    with pytest.raises(NumberTaken):
        keep(weighed, key=uuid4())
    assert Batch.objects.count() == 1


def test_one_loaf_has_the_batch_number_and_several_have_letters(keep, weighed):
    assert keep(weighed, fillings=[Filling(mould("A"))]).loaves.get().number == "26-001"
    batch = keep(
        weighed, "26-002", key=uuid4(), fillings=[Filling(mould("B")), Filling(mould("C", cavities=6))]
    )
    loaves = batch.loaves.order_by("letter")
    assert [(loaf.number, loaf.cavities, loaf.length_mm) for loaf in loaves] == [
        ("26-002A", 0, 250),
        ("26-002B", 6, 250),
    ]


def test_moulds_share_what_is_not_told_by_volume():
    """1000 g, 300 g told: the other 700 g go 250 : 100 by length."""
    long, short = (
        Mould(length_mm=250, width_mm=80, height_mm=60),
        Mould(length_mm=100, width_mm=80, height_mm=60),
    )
    fillings = [Filling(long), Filling(short), Filling(None, 300.0)]
    assert shared_out(fillings, 1000.0) == pytest.approx([500.0, 200.0, 300.0])


@pytest.mark.parametrize(
    ("taken", "expected"),
    [
        ([], "26-001"),
        (["26-001", "26-013", "25-400"], "26-014"),
        (["26-007b"], "26-008"),  # a phone's own letter
        (["26-999", "26-1000"], "26-1001"),
        (["26-salt", "spring", "26-"], "26-001"),  # the maker's own way of numbering
    ],
)
def test_the_next_number_counts_within_the_year(taken, expected):
    for number in taken:
        Batch.objects.create(number=number, name="x", poured_at=START, superfat=0.05, water_g=1)
    assert next_number(datetime(2026, 3, 1, tzinfo=UTC)) == expected
