"""The shelf, a lot's form and page, and what a pour does with lots."""

from datetime import UTC, date, datetime
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from curelog.models import Batch, Lot, OwnFat, StockCount
from tests.factories import make_loaf, make_lot, make_recipe
from tests.views.test_sync import entry, send

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 4, 8, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


def text(response):
    return response.content.decode()


def lot_post(**changed):
    post = {"key": uuid4(), "what": "lard", "code": "L7", "received_g": "5000", "part_rows": 2, "keep": "1"}
    return {name: str(value) for name, value in (post | changed).items()}


def add(client, **changed):
    return client.post(reverse("lot_new"), lot_post(**changed))


def test_a_delivery_is_kept_by_a_helper(helper_client, helper_person):
    told = {"supplier": "Mill", "price": "31,50", "best_before": "2026-12-01", "saponification_value": "197"}
    assert add(helper_client, **told).status_code == 302
    lot = Lot.objects.get()
    assert (lot.kind, lot.key, lot.name, lot.code, lot.received_g) == ("fat", "lard", "Lard", "L7", 5000)
    assert (lot.price, lot.best_before, lot.saponification_value) == (31.5, date(2026, 12, 1), 197)
    assert lot.made_by == helper_person
    page = helper_client.get(reverse("lots"))
    assert "5000 g of 5000 g left" in text(page)


@pytest.mark.parametrize(
    ("what", "told", "found"),
    [
        ("naoh", {}, ("alkali", "naoh", "Sodium hydroxide")),
        ("additive", {"name": "Lavender oil"}, ("additive", "", "Lavender oil")),
        ("lye:koh", {"strength": "40"}, ("lye", "koh", "Stock lye, KOH")),
        ("soap", {"name": "Ends"}, ("soap", "", "Ends")),
    ],
)
def test_what_a_lot_can_be(owner_client, what, told, found):
    assert add(owner_client, what=what, **told).status_code == 302
    lot = Lot.objects.get()
    assert (lot.kind, lot.key, lot.name) == found


def test_a_lot_of_an_own_fat(owner_client):
    emu = OwnFat.objects.create(name="Emu", saponification_value=193)
    add(owner_client, what=f"own:{emu.pk}")
    lot = Lot.objects.get()
    assert (lot.own, lot.key, lot.name) == (emu, "", "Emu")
    assert owner_client.get(reverse("lot_edit", args=[lot.pk])).status_code == 200


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"what": ""}, "what"),
        ({"what": "soot"}, "what"),
        ({"code": ""}, "code"),
        ({"received_g": ""}, "received_g"),
        ({"received_g": "-3"}, "received_g"),
        ({"price": "dear"}, "price"),
        ({"what": "additive"}, "name"),
        ({"saponification_value": "0.14"}, "saponification_value"),
        ({"saponification_value": "257"}, "saponification_value"),  # lard has 192 to 203
        ({"what": "naoh", "saponification_value": "197"}, "saponification_value"),
        ({"received_on": "2026-03-05"}, "received_on"),
        ({"received_on": "2026-03-01", "opened_on": "2026-02-01"}, "opened_on"),
        ({"best_before": "soon"}, "best_before"),
        ({"part_1": "L1", "taken_1": "5"}, "part_1"),
        ({"what": "mix", "name": "Base", "part_1": "L1"}, "taken_1"),
        ({"what": "mix", "name": "Base", "taken_1": "5"}, "part_1"),
        ({"what": "mix", "name": "Base", "part_1": "nobody", "taken_1": "5"}, "part_1"),
        ({"what": "mix", "name": "Base", "part_1": "26-001", "taken_1": "5"}, "part_1"),
        ({"what": "lye:naoh"}, "strength"),
        ({"what": "lye:naoh", "part_1": "N1", "taken_1": "4900"}, "received_g"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(owner_client, changed, field):
    make_loaf(number="26-001")
    make_lot("L1")
    make_lot("N1", "naoh", "Sodium hydroxide", "alkali")
    response = add(owner_client, supplier="Mill", **changed)
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]
    assert 'value="Mill"' in text(response)
    assert Lot.objects.count() == 2


def test_a_code_stands_for_one_lot(owner_client):
    add(owner_client)
    again = add(owner_client, code="l7")
    assert "You have a lot of this code" in text(again)
    assert add(owner_client, what="coconut").status_code == 302


def test_the_same_form_twice_is_one_lot(owner_client):
    post = lot_post()
    for _ in range(2):
        assert owner_client.post(reverse("lot_new"), post).status_code == 302
    assert Lot.objects.count() == 1


def test_made_here_of_lots_and_batches(owner_client):
    make_loaf(number="26-001")
    lard, coconut = make_lot("L1"), make_lot("C 1", "coconut", "Coconut")
    parts = {"part_1": "Lard L1", "taken_1": "700", "part_2": "coconut c 1", "taken_2": "300"}
    add(owner_client, what="mix", name="Base", code="M1", received_g="", **parts)
    mix = Lot.objects.get(code="M1")
    assert mix.received_g == 1000
    assert [part.source for part in mix.parts.all()] == [lard, coconut]
    soap = {"part_1": "26-001", "taken_1": "80", "part_2": "M1", "taken_2": "5"}
    add(owner_client, what="soap", name="Ends", code="T1", received_g="", **soap)
    parts = Lot.objects.get(code="T1").parts.all()
    assert [(part.source, part.batch and part.batch.number) for part in parts] == [
        (None, "26-001"),
        (mix, None),
    ]
    page = owner_client.get(reverse("lot", args=[mix.pk]))
    assert "Ends T1" in text(page)
    edit = owner_client.get(reverse("lot_edit", args=[mix.pk]))
    assert 'value="Lard L1"' in text(edit)


def test_stock_lye_knows_its_strength_by_its_parts(owner_client):
    make_lot("N1", "naoh", "Sodium hydroxide", "alkali")
    add(owner_client, what="lye:naoh", code="S1", received_g="1000", part_1="N1", taken_1="500")
    assert Lot.objects.get(code="S1").strength == 0.5


def test_more_rows_keep_what_was_typed(owner_client):
    post = lot_post(more_part="1", supplier="Mill")
    del post["keep"]
    page = owner_client.post(reverse("lot_new"), post)
    assert page.status_code == 200
    assert 'name="part_5"' in text(page)
    assert 'value="Mill"' in text(page)


def test_a_count_is_kept_and_a_lot_used_up(helper_client, helper_person):
    lot = make_lot("L1")
    url = reverse("lot", args=[lot.pk])
    post = {"key": str(uuid4()), "counted_g": "4200", "counted_at": "2026-03-04T07:00", "note": ""}
    assert helper_client.post(url, post).status_code == 302
    assert "4200 g left" in text(helper_client.get(url))
    assert StockCount.objects.get().by == helper_person
    wrong = helper_client.post(url, post | {"counted_g": "much"})
    assert (wrong.status_code, list(wrong.context["form"].errors)) == (422, ["counted_g"])
    for is_retired in (True, False):
        helper_client.post(reverse("lot_retire", args=[lot.pk]))
        lot.refresh_from_db()
        assert lot.is_retired == is_retired


def pour_post(recipe, **changed):
    sums = recipe.sums
    post = {
        "key": uuid4(),
        "number": "26-001",
        "fat_1": "700",
        "fat_2": "300",
        "heat": "oven",
        "mould_rows": 1,
    }
    post |= {"naoh_g": f"{sums.naoh_g:.1f}", "water_g": f"{sums.water_g:.1f}"} | changed
    return {name: str(value) for name, value in post.items()}


@pytest.fixture
def recipe(workshop):
    return make_recipe()


@pytest.fixture
def pour_url(recipe):
    return reverse("recipe_pour", args=[recipe.pk])


def test_the_pour_offers_open_lots_and_fills_in_the_one_in_use(owner_client, recipe, pour_url):
    make_lot("L1", opened_on=date(2026, 2, 1), saponification_value=203.0)
    make_lot("L2")
    make_lot("L3", is_retired=True)
    make_lot("C1", "coconut", "Coconut")
    page = owner_client.get(pour_url)
    assert [each.lot.code for each in page.context["form"]["fat_lot_1"].field.offered] == ["L1", "L2"]
    assert [page.context["form"][f"fat_lot_{row}"].value() for row in (1, 2)] == ["L1", None]
    assert '<datalist id="lots_fat_lot_1">' in text(page)
    more = page.context["form"].initial["naoh_g"] / recipe.sums.naoh_g
    assert more == pytest.approx((0.7 * 203 + 0.3 * 248) / (0.7 * 192 + 0.3 * 248), rel=0.002)


def test_free_text_is_kept_as_ever(owner_client, recipe, pour_url):
    make_lot("L1")
    owner_client.post(pour_url, pour_post(recipe, keep="1", fat_lot_1="from Ann", lye_lot="N2"))
    batch = Batch.objects.get()
    part = batch.fats.first()
    assert (part.lot, part.from_lot, batch.lye_lot, batch.lye_from) == ("from Ann", None, "N2", None)


def test_a_chosen_lot_is_linked_and_its_value_counts(owner_client, recipe, pour_url):
    lot = make_lot("L1", saponification_value=203.0)
    shown = owner_client.post(pour_url, pour_post(recipe, window="1", fat_lot_1="l1"))
    for_lots = shown.context["for_lots"]
    assert for_lots.naoh_g > recipe.sums.naoh_g
    assert "By these lots" in text(shown)
    by_lot = {"naoh_g": f"{for_lots.naoh_g:.1f}", "water_g": f"{for_lots.water_g:.1f}"}
    owner_client.post(pour_url, pour_post(recipe, keep="1", fat_lot_1="l1", **by_lot))
    batch = Batch.objects.get()
    assert batch.superfat == pytest.approx(0.05, abs=0.001)
    assert (batch.fats.first().from_lot, batch.fats.first().lot) == (lot, "l1")


def test_a_certificate_that_makes_the_weights_lye_heavy_is_asked_about(owner_client, recipe, pour_url):
    """Coconut of 225 instead of the table's low end: the recipe's own alkali is then too much."""
    make_lot("C1", "coconut", "Coconut", saponification_value=225.0)
    tight = pour_post(recipe, keep="1", fat_lot_2="C1", naoh_g=f"{recipe.sums.naoh_g / 0.95:.1f}")
    asked = owner_client.post(pour_url, tight)
    assert asked.status_code == 422
    assert "more alkali than these fats can take up" in text(asked)


def test_an_old_or_short_lot_is_said_when_it_is_chosen(owner_client, recipe, pour_url):
    make_lot("L1", mass_g=500, best_before=date(2026, 3, 1))
    make_lot("C1", "coconut", "Coconut", is_retired=True)
    page = owner_client.post(pour_url, pour_post(recipe, window="1", fat_lot_1="L1", fat_lot_2="C1"))
    words = " ".join(page.context["lot_remarks"])
    assert "3 days past its best-before date" in words
    assert "Of Lard L1 only 500 g are left" in words
    assert "Coconut C1 is noted as used up" in words


def test_stock_lye_is_told_in_its_own_mass(owner_client, recipe, pour_url):
    make_lot("S1", "naoh", "Stock lye", "lye", strength=0.5)
    page = owner_client.post(pour_url, pour_post(recipe, window="1", lye_lot="S1"))
    lye = page.context["stock_lye"]
    naoh_g, water_g = round(recipe.sums.naoh_g, 1), round(recipe.sums.water_g, 1)
    assert lye.mass_g == pytest.approx(2 * naoh_g)
    assert lye.water_g == pytest.approx(water_g - naoh_g)
    assert "of the stock lye" in text(page)


def test_both_alkalis_have_their_lots(owner_client, workshop):
    recipe = make_recipe("Both", naoh_share=0.6)
    naoh = make_lot("A", "naoh", "Sodium hydroxide", "alkali")
    koh = make_lot("A", "koh", "Potassium hydroxide", "alkali")
    post = pour_post(recipe, keep="1", koh_g=f"{recipe.sums.koh_g:.1f}", lye_lot="A", koh_lot="A")
    owner_client.post(reverse("recipe_pour", args=[recipe.pk]), post)
    batch = Batch.objects.get()
    assert (batch.lye_from, batch.koh_from) == (naoh, koh)


def test_sent_again_after_the_lot_was_entered_it_is_the_same_pour(owner_client, recipe, pour_url):
    post = pour_post(recipe, keep="1", fat_lot_1="L1")
    first = owner_client.post(pour_url, post)
    make_lot("L1")
    assert owner_client.post(pour_url, post).url == first.url


def test_today_leads_to_lots_that_want_looking_at(owner_client):
    assert "ingredient lot" not in text(owner_client.get("/"))
    make_lot("L1", best_before=date(2026, 3, 20))
    assert "1 ingredient lot to look at" in text(owner_client.get("/"))


def test_a_pour_that_waited_on_a_phone_names_its_lot_still(owner, owner_client, recipe):
    """The lot was used up, and another one opened, before the entry came through."""
    lot = make_lot("L1", is_retired=True)
    make_lot("L2", opened_on=date(2026, 3, 3))
    typed = {name: value for name, value in pour_post(recipe, fat_lot_1="l1").items() if name != "key"}
    answer = send(owner_client, entry("pour", recipe.pk, owner, typed))
    assert answer.status_code == 201
    assert Batch.objects.get().fats.first().from_lot == lot


def test_a_phone_of_an_older_release_sends_no_lot(owner, owner_client, recipe):
    """What the new form would fill in is no word of the maker's."""
    make_lot("L1", opened_on=date(2026, 3, 3))
    typed = {name: value for name, value in pour_post(recipe).items() if name != "key"}
    assert send(owner_client, entry("pour", recipe.pk, owner, typed)).status_code == 201
    assert Batch.objects.get().fats.first().from_lot is None


def test_a_fragrance_weighed_over_its_limit_is_said_at_the_pour(owner_client, recipe, pour_url):
    recipe.additives.create(
        name="Clove", role="fragrance", share_of_fats=0.005, limit_share=0.01, limit_of="fats"
    )
    fits, over = (
        owner_client.post(pour_url, pour_post(recipe, window="1", additive_1=mass_g))
        for mass_g in ("10", "11")
    )
    assert not any("limit" in words for words in fits.context["cautions"])
    assert "Clove is 1.10% of the fats. Its supplier's limit is 1.00%." in over.context["cautions"]
