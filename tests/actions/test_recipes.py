"""Versions: what has been poured is not changed, and nothing sent twice is kept twice."""

from dataclasses import replace
from uuid import uuid4

import pytest

from curelog.actions.recipes import AdditiveShare, FatAmount, RecipeDraft, write_recipe
from curelog.actions.store import CannotChange, keep_own_fat
from curelog.models import OwnFat, Recipe
from tests.factories import make_loaf, make_recipe

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft():
    return RecipeDraft(
        name="Winter bar",
        kind="mixed",
        superfat=0.05,
        naoh_share=1.0,
        naoh_purity=1.0,
        koh_purity=0.9,
        water_mode="lye_concentration",
        water_value=0.33,
        least_cure_days=28,
        settled_pct=None,
        settled_days=None,
        bar_thickness_mm=25.0,
        note="",
        fats=(FatAmount("lard", None, 700.0), FatAmount("coconut", None, 300.0)),
        additives=(AdditiveShare("Salt", "salt", 0.5, 0.0),),
    )


def test_a_draft_is_written_and_read_back(draft, owner):
    recipe = write_recipe(draft, owner, uuid4())
    assert (recipe.version, recipe.is_current, recipe.made_by) == (1, True, owner)
    assert RecipeDraft.of(Recipe.objects.get()) == draft


def test_a_new_recipe_sent_twice_is_one(draft, owner):
    family = uuid4()
    assert write_recipe(draft, owner, family) == write_recipe(draft, owner, family)
    assert Recipe.objects.count() == 1


def test_an_unpoured_recipe_is_edited_in_place(draft, owner):
    recipe = write_recipe(draft, owner, uuid4())
    edited = write_recipe(replace(draft, fats=draft.fats[:1], additives=()), owner, uuid4(), recipe)
    assert edited.pk == recipe.pk
    assert [part.key for part in Recipe.objects.get().fats.all()] == ["lard"]


def test_a_poured_recipe_is_copied_to_the_next_version(draft, owner):
    poured = write_recipe(draft, owner, uuid4())
    make_loaf(without_additives(poured))
    before = RecipeDraft.of(Recipe.objects.get(pk=poured.pk))
    changed = replace(draft, superfat=0.08)
    second = write_recipe(changed, owner, uuid4(), poured)
    poured.refresh_from_db()
    assert (second.version, second.family, second.is_current) == (2, poured.family, True)
    assert (poured.is_current, RecipeDraft.of(Recipe.objects.get(pk=poured.pk))) == (False, before)
    assert write_recipe(changed, owner, uuid4(), poured) == second, "sent twice"
    assert Recipe.objects.count() == 2


def without_additives(recipe):
    """The factory pours no additives."""
    recipe.additives.all().delete()
    return Recipe.objects.get(pk=recipe.pk)


def test_an_unchanged_poured_recipe_stays_one_version(owner):
    poured = make_recipe()
    make_loaf(poured)
    assert write_recipe(RecipeDraft.of(poured), owner, uuid4(), poured) == poured


def test_an_edit_of_an_old_version_follows_the_latest(draft, owner):
    first = make_recipe()
    make_loaf(first)
    second = write_recipe(draft, owner, uuid4(), first)
    third = write_recipe(replace(draft, superfat=0.1), owner, uuid4(), first)
    assert (second.version, third.version) == (2, 3)
    assert list(Recipe.objects.filter(is_current=True)) == [third]


def own_recipe(fat, **fields):
    recipe = make_recipe(fats={"lard": 1.0}, **fields)
    recipe.fats.all().delete()
    recipe.fats.create(own=fat, mass_g=500.0)
    return Recipe.objects.get(pk=recipe.pk)


def test_the_values_of_an_own_fat_that_was_poured_stay(workshop):
    fat = OwnFat.objects.create(name="Emu", saponification_value=193)
    make_loaf(own_recipe(fat))
    fat.saponification_value = 199
    with pytest.raises(CannotChange, match="poured with these values"):
        keep_own_fat(fat)
    assert OwnFat.objects.get().saponification_value == 193
    fat.refresh_from_db()
    fat.name = "Emu, rendered"
    keep_own_fat(fat)
    assert OwnFat.objects.get().name == "Emu, rendered"


def test_an_own_fat_may_not_break_a_recipe():
    """Water of 15 % of the fats: enough for 193 (13.1 % alkali at 5 % superfat), not for 260 (17.6 %)."""
    fat = OwnFat.objects.create(name="Emu", saponification_value=193)
    own_recipe(fat, name="Dry", water_mode="percent_of_fats", water_value=15)
    fat.saponification_value = 260
    with pytest.raises(CannotChange, match="Dry could then not be worked out"):
        keep_own_fat(fat)
    assert OwnFat.objects.get().saponification_value == 193
