"""The recipe form: what it works out, and what it says beside which field."""

import pytest

from curelog.domain.batch import Additive, Alkali, FatPortion, Water, work_out
from curelog.domain.fats import find
from curelog.forms.ingredients import FatLibrary
from curelog.forms.recipes import RecipeForm
from curelog.models import Mould, OwnFat, Recipe
from tests.factories import make_recipe
from tests.forms.recipe_posts import recipe_post

pytestmark = pytest.mark.django_db


@pytest.fixture
def form(workshop):
    def bound(**changed):
        return RecipeForm(recipe_post(**changed), workshop=workshop, library=FatLibrary())

    return bound


def test_sums_are_those_of_the_domain(form):
    typed = form(additive_1="Sodium lactate", role_1="lactate", share_1="3", wet_1="40")
    assert typed.is_valid(), typed.errors
    fats = [FatPortion(find("lard"), 700.0), FatPortion(find("coconut"), 300.0)]
    lactate = Additive("Sodium lactate", 30.0, 0.4)
    expected = work_out(fats, 0.05, Alkali(koh_purity=0.9), Water("lye_concentration", 0.33), [lactate])
    assert typed.sums.naoh_g == pytest.approx(expected.naoh_g)
    assert typed.sums.batch_g == pytest.approx(expected.batch_g)
    assert typed.sums.water_share == pytest.approx(expected.water_share)


def test_per_cent_of_a_total_is_the_same_recipe(form):
    by_mass, by_percent = form(), form(by="percent", fats_g="1000", amount_1="70", amount_2="30")
    assert by_mass.is_valid()
    assert by_percent.is_valid(), by_percent.errors
    assert by_percent.draft().fats == by_mass.draft().fats


@pytest.mark.parametrize(
    ("water_mode", "water_value", "water_g_of_100_g_alkali"),
    [("lye_concentration", "33", 100 / 0.33 - 100), ("water_to_lye", "2", 200)],
)
def test_water_in_the_ways_that_rest_on_the_alkali(form, water_mode, water_value, water_g_of_100_g_alkali):
    typed = form(water_mode=water_mode, water_value=water_value)
    assert typed.is_valid()
    assert 100 * typed.sums.water_g / typed.sums.naoh_g == pytest.approx(water_g_of_100_g_alkali)


def test_water_in_per_cent_of_the_fats(form):
    typed = form(water_mode="percent_of_fats", water_value="30")
    assert typed.is_valid()
    assert typed.sums.water_g == pytest.approx(300)


def test_both_alkalis_in_shares_of_moles_with_their_purities(form):
    typed = form(alkali="both", naoh_share="60", naoh_purity="98", koh_purity="88")
    assert typed.is_valid(), typed.errors
    naoh_mol, koh_mol = (
        typed.sums.naoh_g * 0.98 / 39.997,
        typed.sums.koh_g * 0.88 / 56.105,
    )  # rounded molar masses
    assert naoh_mol / (naoh_mol + koh_mol) == pytest.approx(0.6, abs=1e-4)


def test_ounces_and_a_decimal_comma(form, workshop):
    workshop.mass_unit = "oz"
    typed = form(amount_1="24,7", amount_2="10.5")
    assert typed.is_valid()
    assert typed.draft().fats[0].mass_g == pytest.approx(24.7 * 28.349523125)


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"superfat": "-1"}, "superfat", "between 0 % and 40 %"),
        ({"superfat": "60"}, "superfat", "between 0 % and 40 %"),
        ({"superfat": "five"}, "superfat", "Enter a number"),
        ({"water_value": "60"}, "water_value", "less than the alkali's own"),
        ({"water_mode": "percent_of_fats", "water_value": "10"}, "water_value", "less than the alkali's own"),
        ({"water_value": "0.33"}, "water_value", "Is the number right?"),
        ({"fat_2": "lard"}, "fat_2", "Lard is named twice"),
        ({"fat_2": ""}, "fat_2", "Which fat is this?"),
        ({"amount_2": ""}, "amount_2", "How much of it?"),
        ({"amount_2": "-300"}, "amount_2", "Not less than 0"),
        ({"fat_1": "", "amount_1": "", "fat_2": "", "amount_2": ""}, "fat_1", "At least one fat"),
        ({"amount_1": "0", "amount_2": "0"}, "fat_1", "weigh nothing"),
        (
            {"by": "percent", "amount_1": "70", "amount_2": "25", "fats_g": "900"},
            "amount_2",
            "5 % are missing",
        ),
        (
            {"by": "percent", "amount_1": "70", "amount_2": "35", "fats_g": "900"},
            "amount_2",
            "5 % are too many",
        ),
        ({"by": "percent", "amount_1": "70", "amount_2": "30"}, "fats_g", "all fats weigh together"),
        ({"alkali": "both"}, "naoh_share", "Which share"),
        ({"alkali": "both", "naoh_share": "120"}, "naoh_share", "between 0 % and 100 %"),
        ({"naoh_purity": "9"}, "naoh_purity", "between 50 % and 100 %"),
        ({"additive_1": "Clay"}, "share_1", "in per cent of the fats"),
        ({"share_1": "2"}, "additive_1", "What is it?"),
        ({"role_1": "lactate", "share_1": "30"}, "share_1", "More than 20%"),
        ({"settled_pct": "4"}, "settled_days", "needs both"),
        ({"name": ""}, "name", "required"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(form, changed, field, words):
    typed = form(**changed)
    assert not typed.is_valid()
    assert list(typed.errors) == [field]
    assert words in typed.errors[field][0]
    assert typed.sums is None or field in ("name", "settled_days")


def test_three_times_a_third_is_a_hundred(form):
    typed = form(by="percent", fats_g="999", amount_1="33.3", amount_2="33.3", fat_3="olive", amount_3="33.3")
    assert typed.is_valid(), typed.errors
    assert [fat.mass_g for fat in typed.draft().fats] == pytest.approx([333, 333, 333])


def test_milk_may_bring_the_water_the_lye_needs(form):
    dry = {"water_mode": "percent_of_fats", "water_value": "8"}
    assert not form(**dry).is_valid()
    typed = form(**dry, additive_1="Goat milk", role_1="milk", share_1="20", wet_1="87")
    assert typed.is_valid(), typed.errors
    assert "water_from_additives" in [caution.code for caution in typed.sums.cautions]


def test_least_cure_days_left_empty_are_those_of_the_kind(form):
    typed = form(kind="olive", least_cure_days="")
    assert typed.is_valid()
    assert typed.draft().least_cure_days == Recipe.LEAST_CURE_DAYS[Recipe.Kind.OLIVE]


def test_own_fats_can_be_chosen_and_retired_ones_only_where_they_are_held(workshop):
    own = OwnFat.objects.create(name="Emu", saponification_value=193, is_retired=True)
    typed = recipe_post(fat_2=f"own:{own.pk}")
    assert "fat_2" in RecipeForm(typed, workshop=workshop, library=FatLibrary()).errors
    held = RecipeForm(typed, workshop=workshop, library=FatLibrary(frozenset({own.pk})))
    assert held.is_valid(), held.errors
    assert held.draft().fats[1].own_id == own.pk


def test_scaling_to_a_mass_gives_that_mass(form, workshop):
    typed = form(wanted_g="2000", additive_1="Salt", role_1="salt", share_1="50")
    assert typed.is_valid()
    scaled = RecipeForm(typed.scaled(fill_mould=False), workshop=workshop, library=FatLibrary())
    assert scaled.is_valid()
    assert scaled.sums.batch_g == pytest.approx(2000, abs=0.05)
    assert scaled.sums.naoh_g / scaled.sums.fats_g == pytest.approx(
        typed.sums.naoh_g / typed.sums.fats_g, rel=1e-4
    )


def test_scaling_to_a_mould_fills_it(form, workshop):
    mould = Mould.objects.create(name="Long", length_mm=300, width_mm=90, height_mm=70)
    typed = form(mould=mould.pk, by="percent", amount_1="70", amount_2="30", fats_g="100")
    assert typed.is_valid()
    scaled = RecipeForm(typed.scaled(fill_mould=True), workshop=workshop, library=FatLibrary())
    assert scaled.is_valid()
    assert (scaled["amount_1"].value(), scaled["amount_2"].value()) == ("70", "30")
    # 1.89 l of a batter that is within a few per cent of 1 g/ml (common practice, no source).
    assert scaled.sums.batch_g == pytest.approx(1890, rel=0.04)


@pytest.mark.parametrize(("fill_mould", "field"), [(True, "mould"), (False, "wanted_g")])
def test_scaling_asks_for_what_it_needs(form, fill_mould, field):
    typed = form()
    typed.is_valid()
    assert typed.scaled(fill_mould) is None
    assert field in typed.errors


def test_more_rows_are_given_up_to_a_bound(form):
    assert form(more_fat="1").fat_row_count == 9
    assert form(fat_rows="999", more_fat="1").fat_row_count == 30
    assert form(fat_rows="²").fat_row_count == 6


def test_the_form_of_a_recipe_gives_the_recipe_back(workshop):
    recipe = make_recipe(
        superfat=0.06, water_mode="water_to_lye", water_value=1.9, settled_pct=3.5, settled_days=21
    )
    recipe.additives.create(name="Salt", role="salt", share_of_fats=0.5)
    shown = RecipeForm(workshop=workshop, library=FatLibrary(), recipe=recipe)
    sent = {field.html_name: field.field.prepare_value(field.value()) for field in shown}
    sent = {name: value for name, value in sent.items() if value not in (None, "")} | {"fat_rows": 6}
    typed = RecipeForm(sent, workshop=workshop, library=FatLibrary())
    assert typed.is_valid(), typed.errors
    draft = typed.draft()
    assert [(fat.key, fat.mass_g) for fat in draft.fats] == [("lard", 700.0), ("coconut", 300.0)]
    assert (draft.superfat, draft.water_mode, draft.water_value) == (0.06, "water_to_lye", 1.9)
    assert (draft.settled_pct, draft.settled_days, draft.additives[0].share_of_fats) == (3.5, 21, 0.5)
