import pytest
from django.test import RequestFactory

from curelog.places import places


@pytest.mark.parametrize(
    ("path", "here"),
    [("/", ["Today"]), ("/loaves/", ["Loaves"]), ("/recipes/7/pour/", ["Recipes"]), ("/how/", [])],
)
def test_a_page_counts_to_the_place_its_address_begins_with(path: str, here: list[str]) -> None:
    shown = places(RequestFactory().get(path))["places"]
    assert [place.name for place in shown if place.is_here] == here
