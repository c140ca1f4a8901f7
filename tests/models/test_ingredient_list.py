"""What a label lists of a batch with a scent, and of one with soap of another batch in it."""

import pytest

from curelog.actions.lots import PartTaken, keep_lot
from curelog.domain.ingredients import Ingredient, listed
from curelog.models import Batch, BatchAdditive, Lot, RecipeAdditive
from curelog.models.ingredient_list import allergens_of, ingredients_of
from curelog.models.sources import sources_of
from tests.factories import make_loaf, make_lot, make_recipe, told

pytestmark = pytest.mark.django_db


@pytest.fixture
def scented() -> Batch:
    recipe = make_recipe("Lavender", {"lard": 700.0, "coconut": 300.0})
    number = make_loaf(recipe, "26-001").batch.number
    scent = RecipeAdditive.objects.create(
        recipe=recipe,
        name="Lavender 40",
        role="fragrance",
        share_of_fats=0.02,
        allergens="Linalool, Limonene",
    )
    batch = Batch.objects.get(number=number)
    BatchAdditive.objects.create(batch=batch, name=scent.name, role=scent.role, weighed_g=20)
    BatchAdditive.objects.create(batch=batch, name="Ultramarine", role="clay", weighed_g=40)
    batch.fats.filter(facts__key="lard").update(from_lot=make_lot("L1"), lot="L1")
    return batch


def test_allergens_follow_and_colours_stand_last(scented: Batch) -> None:
    names = listed(ingredients_of(scented), allergens_of(scented), colours_last=True)
    assert names[-4:] == ["Parfum", "Linalool", "Limonene", "Ultramarine"]
    # 40 g of colour outweigh 20 g of scent.
    by_mass = listed(ingredients_of(scented), (), colours_last=False)
    assert by_mass[-2:] == ["Ultramarine", "Parfum"]


def test_what_is_an_ingredient_already_is_not_named_twice() -> None:
    assert listed([Ingredient("Linalool", 3.0)], ["linalool", "Citral"], True) == ["Linalool", "Citral"]


def test_soap_of_another_batch_brings_its_ingredients_and_allergens(scented: Batch) -> None:
    melted = melted_of(scented, 600.0)
    found = {each.name: each.mass_g for each in ingredients_of(melted)}
    assert found["Adeps Suillus"] == pytest.approx(700 * 600 / scented.poured_g)
    assert found["Aqua"] == pytest.approx(50 + scented.water_g * 600 / scented.poured_g)
    assert sum(found.values()) == pytest.approx(650)
    assert allergens_of(melted) == ["Linalool", "Limonene"]


def test_from_soap_melted_again_back_to_the_lot_of_lard(scented: Batch) -> None:
    told_of = {(source.depth, source.name): source for source in sources_of(melted_of(scented, 600.0))}
    assert told_of[1, "Soap of batch 26-001"].batch == scented
    lard = told_of[2, "Lard"]
    assert lard.lot
    assert lard.lot.code == "L1"
    assert lard.mass_g == pytest.approx(700 * 600 / scented.poured_g)


def melted_of(batch: Batch, mass_g: float) -> Batch:
    trimmings = Lot(kind=Lot.Kind.SOAP, name="Trimmings", code="T1", received_g=800)
    keep_lot(trimmings, [PartTaken(batch, 800.0)])
    at = told(900).at
    melted = Batch.objects.create(number="26-009", name="Melted", poured_at=at, superfat=0.05, water_g=50)
    BatchAdditive.objects.create(batch=melted, name="Trimmings", weighed_g=mass_g, from_lot=trimmings)
    return melted
