"""What a recipe says of lots in use, suppliers' limits, allergens and its assessor."""

from datetime import date

import pytest
from django.urls import reverse

from curelog.models import Recipe
from tests.factories import make_lot, make_recipe
from tests.forms.recipe_posts import recipe_post

pytestmark = pytest.mark.django_db

SCENT = {
    "additive_1": "Clove",
    "role_1": "fragrance",
    "share_1": "3",
    "limit_1": "0,5",
    "limit_of_1": "finished",
}
SCENT |= {"allergens_1": "Eugenol, linalool"}


def text(response):
    return response.content.decode()


def test_the_sums_with_the_lots_that_are_open(owner_client, workshop):
    recipe = make_recipe()
    url = reverse("recipe", args=[recipe.pk])
    make_lot("L1", saponification_value=200.0)
    assert "With the lots that are open" not in text(owner_client.get(url)), "not opened yet"
    make_lot("L2", saponification_value=203.0, opened_on=date(2026, 1, 1))
    page = owner_client.get(url)
    by_lots = page.context["by_lots"]
    assert [part.lot and part.lot.code for part in by_lots.parts] == ["L2", None]
    ratio = (0.7 * 203 + 0.3 * 248) / (0.7 * 192 + 0.3 * 248)
    assert by_lots.sums.naoh_g / recipe.sums.naoh_g == pytest.approx(ratio, rel=0.002)
    assert "With the lots that are open" in text(page)


def test_a_share_above_its_suppliers_limit_is_said_beside_it_and_kept(owner_client, workshop):
    shown = owner_client.post(reverse("recipe_new"), recipe_post(**SCENT, work_out="1"))
    form = shown.context["form"]
    assert "Its supplier&#x27;s limit is 0.50%" in text(shown)
    assert form.fields["share_1"].warning.startswith("Clove is 2.")
    assert not form.errors
    kept = owner_client.post(reverse("recipe_new"), recipe_post(**SCENT, keep="1"))
    extra = Recipe.objects.get().additives.get()
    assert (extra.limit_share, extra.limit_of, extra.allergens) == (0.005, "finished", "Eugenol, linalool")
    page = text(owner_client.get(kept.url))
    assert "Over a supplier" in page
    assert "Clove declares: Eugenol, linalool" in page
    edit = text(owner_client.get(reverse("recipe_edit", args=[Recipe.objects.get().pk])))
    assert 'value="Eugenol, linalool"' in edit
    assert 'name="limit_1" value="0.5"' in edit


def test_below_the_limit_nothing_is_said(owner_client, workshop):
    post = recipe_post(**SCENT | {"limit_1": "3", "limit_of_1": "fats"}, work_out="1")
    assert "supplier&#x27;s limit is" not in text(owner_client.post(reverse("recipe_new"), post))


def test_a_limit_that_is_no_number(owner_client, workshop):
    response = owner_client.post(reverse("recipe_new"), recipe_post(**SCENT | {"limit_1": "low"}, keep="1"))
    assert (response.status_code, list(response.context["form"].errors)) == (422, ["limit_1"])
    assert 'value="low"' in text(response)


def test_the_assessors_reference_belongs_to_a_version(helper_client, workshop):
    recipe = make_recipe()
    url = reverse("recipe_assessor", args=[recipe.pk])
    assert helper_client.post(url, {"reference": "CPSR 12/26"}).status_code == 302
    assert "CPSR 12/26" in text(helper_client.get(reverse("recipe", args=[recipe.pk])))
    long = helper_client.post(url, {"reference": "x" * 81})
    assert (long.status_code, Recipe.objects.get().assessor_reference) == (422, "CPSR 12/26")
