"""Comparing cut faces: which two stand beside each other, what the strips hold, who may erase."""

import re
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from curelog.actions.photo import photograph, take_in
from curelog.actions.withdraw import withdraw
from curelog.models import Loaf, Photo
from tests.factories import make_cut_loaf, told

CUT_HOURS = 24


@pytest.fixture
def loaf(workshop, settings, tmp_path: Path) -> Loaf:
    settings.PHOTO_DIR = tmp_path
    return make_cut_loaf()


def shoot(loaf: Loaf, day: float, subject: str = "face", bar: int | None = None) -> Photo:
    jpeg = BytesIO()
    Image.new("RGB", (40, 30), "tan").save(jpeg, "JPEG")
    which = loaf.bars.get(number=bar) if bar else None
    return photograph(loaf, told(CUT_HOURS + 24 * day), take_in(jpeg), subject, which)


def html_of(client: Client, loaf: Loaf, query: str = "") -> str:
    response = client.get(reverse("faces", args=[loaf.pk]) + query)
    assert response.status_code == 200
    return response.content.decode()


def compared(html: str) -> list[str]:
    return re.findall(r'data-full="/photos/([0-9a-f-]+)/full/"', html)


def test_without_photos_it_says_what_to_do(helper_client: Client, loaf: Loaf) -> None:
    html = html_of(helper_client, loaf)
    assert "No photos yet" in html
    assert reverse("act", args=[loaf.pk, "photo"]) in html


def test_a_strip_holds_the_same_bar_from_the_same_side_oldest_first(
    helper_client: Client, loaf: Loaf
) -> None:
    late, early = shoot(loaf, 20.5, bar=5), shoot(loaf, 0, bar=5)
    shoot(loaf, 3, bar=2)
    shoot(loaf, 4, subject="top")
    html = html_of(helper_client, loaf)
    titles = re.findall(r'<h2 id="strip-\d+">([^<]+)</h2>', html)
    assert titles == ["Top", "Cut face, bar 2", "Cut face, bar 5"]
    strip = html.split("Cut face, bar 5</h2>")[1]
    assert re.findall(r"/photos/([0-9a-f-]+)/thumb/", strip) == [str(early.pk), str(late.pk)]
    assert ("2 Feb" in strip, "day 20" in strip, "day 0" in strip) == (True, True, True)


def test_the_fullest_strip_is_compared_from_end_to_end(helper_client: Client, loaf: Loaf) -> None:
    first, _, last = (shoot(loaf, day, bar=2) for day in (0, 10, 20))
    shoot(loaf, 30, bar=5)
    assert compared(html_of(helper_client, loaf)) == [str(first.pk), str(last.pk)]


def test_a_photo_of_the_loafs_page_stands_beside_its_like(helper_client: Client, loaf: Loaf) -> None:
    first, middle, last = (shoot(loaf, day, bar=2) for day in (0, 10, 20))
    shoot(loaf, 5, bar=5)
    assert f"faces/?a={middle.pk}" in helper_client.get(reverse("loaf", args=[loaf.pk])).content.decode()
    assert compared(html_of(helper_client, loaf, f"?a={middle.pk}")) == [str(middle.pk), str(last.pk)]
    assert compared(html_of(helper_client, loaf, f"?a={last.pk}")) == [str(first.pk), str(last.pk)]


def test_any_two_are_compared_by_links(helper_client: Client, loaf: Loaf) -> None:
    one, other, third = shoot(loaf, 0, bar=2), shoot(loaf, 9, bar=5), shoot(loaf, 9, subject="spots")
    html = html_of(helper_client, loaf, f"?a={other.pk}&b={one.pk}")
    assert compared(html) == [str(other.pk), str(one.pk)]
    assert f"?a={other.pk}&amp;b={third.pk}#compare" in html
    assert f"?a={third.pk}&amp;b={one.pk}#compare" in html
    assert f"?a={one.pk}&amp;b={other.pk}#compare" in html, "they change places"


def test_a_single_photo_stands_alone_and_nonsense_is_no_error(helper_client: Client, loaf: Loaf) -> None:
    photo = shoot(loaf, 1)
    for query in ("", f"?a={photo.pk}&b={photo.pk}", "?a=nonsense", f"?b={photo.pk}"):
        html = html_of(helper_client, loaf, query)
        assert compared(html) == [str(photo.pk)]
        assert 'type="range"' not in html


def test_a_withdrawn_photo_is_not_compared(helper_client: Client, loaf: Loaf) -> None:
    kept, wrong = shoot(loaf, 1), shoot(loaf, 2)
    withdraw(wrong, told(CUT_HOURS + 60), "Another loaf")
    assert compared(html_of(helper_client, loaf, f"?a={wrong.pk}")) == [str(kept.pk)]


def test_only_an_owner_is_offered_to_erase(helper_client: Client, owner_client: Client, loaf: Loaf) -> None:
    erase = reverse("photo_erase", args=[shoot(loaf, 1).pk])
    assert erase in html_of(owner_client, loaf)
    assert erase not in html_of(helper_client, loaf)


def test_the_page_takes_no_more_queries_for_more_photos(helper_client: Client, loaf: Loaf) -> None:
    counts = []
    for more in (1, 12):
        for day in range(more):
            shoot(loaf, day, bar=2)
        with CaptureQueriesContext(connection) as queries:
            html_of(helper_client, loaf)
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_a_picture_is_kept_by_the_browser_for_a_year_and_by_nobody_between(
    helper_client: Client, loaf: Loaf
) -> None:
    response = helper_client.get(reverse("picture", args=[shoot(loaf, 1).pk, "screen"]))
    said = {part.strip() for part in response["Cache-Control"].split(",")}
    assert said == {"private", "immutable", f"max-age={int(timedelta(days=365).total_seconds())}"}
    response.close()
