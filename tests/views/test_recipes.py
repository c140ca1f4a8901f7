"""Recipe pages, as a browser without JavaScript and as htmx see them."""

import pytest
from django.urls import reverse

from curelog.models import Mould, OwnFat, Recipe
from tests.factories import make_loaf, make_recipe
from tests.forms.recipe_posts import recipe_post

pytestmark = pytest.mark.django_db


def text(response):
    return response.content.decode()


def test_a_recipe_is_written_and_shown(owner_client):
    post = recipe_post(keep="1", additive_1="Honey", role_1="sugar", share_1="2", wet_1="18")
    response = owner_client.post(reverse("recipe_new"), post, follow=True)
    recipe = Recipe.objects.get()
    assert response.redirect_chain[-1][0] == reverse("recipe", args=[recipe.pk])
    assert "Kept: Winter bar." in text(response)
    assert "Lard" in text(response)
    assert "Honey: heats the lye" in text(response)
    assert reverse("recipe_pour", args=[recipe.pk]) in text(response)


def test_nothing_typed_is_lost_when_something_is_wrong(owner_client):
    post = recipe_post(keep="1", superfat="60", note="for Oma", additive_2="Clay", share_2="1,5")
    response = owner_client.post(reverse("recipe_new"), post)
    assert response.status_code == 422
    assert not Recipe.objects.exists()
    for value in ('value="60"', 'value="700"', "for Oma", 'value="1,5"', 'value="Clay"'):
        assert value in text(response)
    assert 'href="#id_superfat"' in text(response)


def test_more_rows_without_javascript_keep_what_was_typed(owner_client):
    response = owner_client.post(reverse("recipe_new"), recipe_post(more_fat="1"))
    assert response.status_code == 200
    assert 'name="fat_9"' in text(response)
    assert 'name="fat_10"' not in text(response)
    assert 'value="700"' in text(response)
    assert not Recipe.objects.exists()


def test_work_out_without_javascript_shows_the_sums(owner_client):
    response = owner_client.post(reverse("recipe_new"), recipe_post(work_out="1"))
    assert response.status_code == 200
    assert f"{response.context['sums'].naoh_g:.1f} g" in text(response)
    assert not Recipe.objects.exists()


def test_scaling_without_javascript_recalculates_the_weights(owner_client):
    response = owner_client.post(reverse("recipe_new"), recipe_post(to_mass="1", wanted_g="2000"))
    assert response.context["sums"].batch_g == pytest.approx(2000, abs=0.1)
    assert 'value="700"' not in text(response)
    asked = owner_client.post(reverse("recipe_new"), recipe_post(to_mass="1"))
    assert "How much should the batch weigh?" in text(asked)
    assert 'value="700"' in text(asked)


def test_the_panel_alone_while_typing(owner_client):
    mould = Mould.objects.create(name="Oak", length_mm=250, width_mm=80, height_mm=60)
    post = recipe_post(name="", mould=mould.pk)
    panel = text(owner_client.post(reverse("recipe_sums"), post, headers={"HX-Request": "true"}))
    assert "<html" not in panel
    assert "Expected bars</dt><dd><b>10</b>" in panel
    assert 'hx-swap-oob="true"' in panel
    waiting = text(owner_client.post(reverse("recipe_sums"), recipe_post(amount_2="")))
    assert "The sums wait for this" in waiting
    assert owner_client.get(reverse("recipe_sums")).status_code == 405


@pytest.mark.parametrize(("kind", "days"), [("olive", "180"), ("salt", "42"), ("nonsense", "28")])
def test_the_kind_prefills_its_days(owner_client, kind, days):
    field = text(owner_client.get(reverse("recipe_cure_days"), {"kind": kind}))
    assert f'value="{days}"' in field
    assert 'id="field-least_cure_days"' in field


def test_an_edit_of_a_poured_recipe_becomes_the_next_version(owner_client):
    recipe = make_recipe("Winter bar")
    make_loaf(recipe)
    page = text(owner_client.get(reverse("recipe_edit", args=[recipe.pk])))
    assert "Keep as next version" in page
    post = recipe_post(family=recipe.family, superfat="8", keep="1")
    response = owner_client.post(reverse("recipe_edit", args=[recipe.pk]), post, follow=True)
    assert "Version 1 stays as it was poured." in text(response)
    assert "26-001" in text(response), "the batches of all versions"
    old = text(owner_client.get(reverse("recipe", args=[recipe.pk])))
    assert "An earlier version" in old


def test_hostile_ids_are_refused_calmly(owner_client):
    post = recipe_post(fat_1="own:99999999999999999999", mould="x", keep="1")
    assert owner_client.post(reverse("recipe_new"), post).status_code == 422
    assert owner_client.post(reverse("recipe_sums"), post).status_code == 200
    assert owner_client.post(reverse("recipe_sums"), recipe_post(fat_1="own:²")).status_code == 200


def test_lists_ask_the_database_no_more_for_more_recipes(owner_client, django_assert_max_num_queries):
    own = OwnFat.objects.create(name="Emu", saponification_value=193)

    def queries(url):
        with django_assert_max_num_queries(100) as asked:
            owner_client.get(url)
        return len(asked)

    make_recipe("First").fats.create(own=own, mass_g=10)
    few = {name: queries(reverse(name)) for name in ("recipes", "pour")}
    for number in range(12):
        recipe = make_recipe(f"Bar {number}")
        recipe.fats.create(own=own, mass_g=10)
        recipe.additives.create(name="Salt", role="salt", share_of_fats=0.1)
    assert {name: queries(reverse(name)) for name in ("recipes", "pour")} == few


def test_a_recipe_page_asks_no_more_for_more_batches(owner_client, django_assert_max_num_queries):
    recipe = make_recipe()
    url = reverse("recipe", args=[recipe.pk])
    counts = []
    for number in range(1, 6):
        make_loaf(recipe, number=f"26-{number:03d}")
        with django_assert_max_num_queries(100) as asked:
            owner_client.get(url)
        counts.append(len(asked))
    assert len(set(counts)) == 1


def test_first_users_are_helped(owner_client):
    assert "No recipe yet" in text(owner_client.get(reverse("recipes")))
    assert "Write the first recipe" in text(owner_client.get(reverse("pour")))
    assert "No mould yet" in text(owner_client.get(reverse("moulds")))
    assert "none needed to begin" in text(owner_client.get(reverse("own_fats")))


def own_fat_post(**changed):
    return {"name": "Emu", "saponification_value": "193", "iodine_value": ""} | changed


def test_own_fats_are_added_changed_and_retired(owner_client):
    owner_client.post(reverse("own_fat_new"), own_fat_post(oleic="60", palmitic="40"))
    fat = OwnFat.objects.get()
    assert fat.fatty_acids == {"palmitic": 0.4, "oleic": 0.6}
    owner_client.post(reverse("own_fat", args=[fat.pk]), own_fat_post(saponification_value="190,5"))
    fat.refresh_from_db()
    assert (fat.saponification_value, fat.fatty_acids) == (190.5, {})
    owner_client.post(reverse("own_fat_retire", args=[fat.pk]))
    fat.refresh_from_db()
    assert fat.is_retired
    assert f"own:{fat.pk}" not in text(owner_client.get(reverse("recipe_new")))
    assert "Retired" in text(owner_client.get(reverse("own_fats")))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"saponification_value": "0.138"}, "NaOH per fat"),
        ({"saponification_value": ""}, "required"),
        ({"name": "lard"}, "The table has a fat of this name"),
        ({"oleic": "60", "lauric": "20"}, "add to 80 %"),
        ({"iodine_value": "900"}, "Not more than 250"),
    ],
)
def test_own_fats_that_make_no_sense(owner_client, changed, words):
    response = owner_client.post(reverse("own_fat_new"), own_fat_post(**changed))
    assert response.status_code == 422
    assert words in text(response)
    assert not OwnFat.objects.exists()


def test_the_values_of_a_poured_own_fat_are_held_on_its_page(owner_client):
    fat = OwnFat.objects.create(name="Emu", saponification_value=193)
    recipe = make_recipe(fats={"lard": 1.0})
    recipe.fats.update(key="", own=fat, mass_g=500)
    make_loaf(Recipe.objects.get(pk=recipe.pk))
    response = owner_client.post(reverse("own_fat", args=[fat.pk]), own_fat_post(saponification_value="199"))
    assert response.status_code == 422
    assert "poured with these values" in text(response)


def test_moulds_are_added_changed_and_retired(owner_client, workshop):
    workshop.length_unit = "in"
    workshop.save()
    size = {"name": "Oak", "length_mm": "10", "width_mm": "3.5", "height_mm": "2.5", "cavities": ""}
    owner_client.post(reverse("mould_new"), size)
    mould = Mould.objects.get()
    assert (mould.length_mm, mould.cavities) == (pytest.approx(254), 0)
    assert owner_client.post(reverse("mould_new"), size).status_code == 422, "the same name again"
    owner_client.post(reverse("mould", args=[mould.pk]), size | {"cavities": "6"})
    owner_client.post(reverse("mould_retire", args=[mould.pk]))
    mould.refresh_from_db()
    assert (mould.cavities, mould.is_retired) == (6, True)
    owner_client.post(reverse("mould_retire", args=[mould.pk]))
    mould.refresh_from_db()
    assert not mould.is_retired
