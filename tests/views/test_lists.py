"""Today and Loaves: order, search, pages, and queries that do not grow with the loaves."""

from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from curelog.actions import cure, mould
from tests.factories import START, make_cut_loaf, make_loaf, make_recipe, told, weigh_course

pytestmark = pytest.mark.django_db


def queries(look: Callable[[], object]) -> int:
    with CaptureQueriesContext(
        connection,
    ) as seen:
        look()
    return len(seen)


def test_today_sorts_by_what_is_lost_by_waiting(owner_client: Client) -> None:
    recipe = make_recipe()
    make_loaf(recipe, "26-101", hours=0)
    firm = make_loaf(recipe, "26-102", hours=7 * 24 - 18)
    mould.check_firmness(firm, told(7 * 24 - 0.5), "firm")
    held = make_cut_loaf("26-103")
    cure.check(held, told(60), "smell", "fail")
    with time_machine.travel(START + timedelta(days=7)):
        html = owner_client.get("/").content.decode()
    order = [html.index(number) for number in ("26-102", "26-101", "26-103")]
    assert order == sorted(order)
    assert "Past its cut-by" in html


def test_today_without_loaves_shows_where_to_start(owner_client: Client) -> None:
    assert "Write the first recipe" in owner_client.get("/").content.decode()


@pytest.mark.parametrize("page", ["/", "/loaves/"])
def test_queries_do_not_grow_with_the_loaves(owner_client: Client, page: str) -> None:
    def add(first: int, count: int) -> None:
        for number in range(first, first + count):
            loaf = make_cut_loaf(f"26-{number:03d}", hours=number)
            weigh_course(loaf, {3: 134.0, 8: 129.0})
            mould.see_gel(loaf, told(number + 10), "full")

    with time_machine.travel(START + timedelta(days=20)):
        add(1, 2)
        owner_client.get(page)
        few = queries(lambda: owner_client.get(page))
        add(10, 6)
        many = queries(lambda: owner_client.get(page))
        again = queries(lambda: owner_client.get(page))
    assert again == few
    assert many <= few + 40  # once, the workshop's experience is read anew


def test_a_loafs_page_does_not_grow_with_its_weighings(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    with time_machine.travel(START + timedelta(days=40)):
        weigh_course(loaf, {3: 134.0})
        owner_client.get(f"/loaves/{loaf.pk}/")
        few = queries(lambda: owner_client.get(f"/loaves/{loaf.pk}/"))
        weigh_course(loaf, {5 + n: 131.0 - n / 4 for n in range(10)})
        owner_client.get(f"/loaves/{loaf.pk}/")
        assert queries(lambda: owner_client.get(f"/loaves/{loaf.pk}/")) == few


def test_loaves_are_found_by_number_name_stage_and_recipe(owner_client: Client) -> None:
    lard, olive = make_recipe("Lard"), make_recipe("Olive", {"olive": 1000.0})
    make_loaf(lard, "26-001")
    make_loaf(olive, "26-002")
    cut = make_cut_loaf("26-003")
    cure.finish(cut, told(100), "gone")

    def found(query: str) -> set[str]:
        html = owner_client.get(f"/loaves/{query}").content.decode()
        return {number for number in ("26-001", "26-002", "26-003") if number in html}

    assert found("?q=002") == {"26-002"}
    assert found("?q=olive") == {"26-002"}
    assert found("?stage=mould") == {"26-001", "26-002"}
    assert found("?stage=finished") == {"26-003"}
    assert found("?stage=curing") == set()
    assert found(f"?recipe={olive.family}") == {"26-002"}
    assert found("?recipe=no-such-recipe") == set()


def test_a_search_by_htmx_gets_only_the_rows_and_says_so_to_caches(owner_client: Client) -> None:
    make_loaf()
    whole, part = owner_client.get("/loaves/"), owner_client.get("/loaves/", headers={"HX-Request": "true"})
    assert "<html" in whole.content.decode()
    assert "<html" not in part.content.decode()
    assert "HX-Request" in part["Vary"]


def test_many_loaves_come_in_pages(owner_client: Client) -> None:
    recipe = make_recipe()
    for number in range(30):
        make_loaf(recipe, f"26-{number:03d}", hours=number / 100)
    with time_machine.travel(START + timedelta(hours=5)):
        assert "1 of 2" in owner_client.get("/loaves/").content.decode()
        assert owner_client.get("/loaves/?page=2").status_code == 200
        assert owner_client.get("/loaves/?page=99").status_code == 200
