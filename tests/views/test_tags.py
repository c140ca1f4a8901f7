"""Tags: short codes that lead to the round, and sheets of labels in millimetres."""

import re
from uuid import UUID

import pytest
import segno
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from curelog.actions import cure
from curelog.actions.place import add_place
from curelog.label_sheets import Sheet, Tag
from curelog.models import Loaf, Place
from curelog.models.tags import code_of, key_range
from tests.conftest import PASSWORD
from tests.factories import make_cut_loaf, make_loaf, told

TAGS = [Tag(f"https://soap.example/t/{n}/", f"26-{n:03d}", "Lard") for n in range(40)]


@given(st.uuids())
def test_a_code_is_eight_letters_and_leads_back_to_its_key(key: UUID) -> None:
    code = code_of(key)
    assert re.fullmatch("[a-z2-7]{8}", code)
    for spelling in (code, code.upper()):
        low, high = key_range(spelling)
        assert low <= key <= high
    assert code_of(low) == code_of(high) == code


def test_the_code_is_base32_as_published() -> None:
    """RFC 4648, 10: BASE32("fooba") = "MZXW6YTB"."""
    assert code_of(UUID(bytes=b"fooba" + bytes(11))) == "mzxw6ytb"


@pytest.mark.parametrize("code", ["", "x", "mzxw6yt1", "mzxw6ytbmzxw6ytb", "mzxw6y==", "mzxw6ýtb"])
def test_what_is_no_code_is_not_found(code: str) -> None:
    assert key_range(code) is None


@pytest.mark.django_db
def test_a_scanned_tag_opens_the_loaf_ready_to_weigh(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    answer = owner_client.get(f"/t/{code_of(loaf.pk)}/")
    assert answer.url == f"/weigh/?loaf={loaf.pk}"
    assert f'data-codes="{code_of(loaf.pk)}"' in owner_client.get(answer.url).content.decode()


@pytest.mark.django_db
def test_a_tray_opens_its_bars_and_what_has_none_its_page(owner_client: Client) -> None:
    place, loaf, done = add_place("Tray 4"), make_loaf(), make_cut_loaf("26-002")
    cure.finish(done, told(60), "gone")
    assert owner_client.get(f"/t/{code_of(place.pk)}/").url == f"/weigh/?place={place.pk}"
    for one in (loaf, done):
        assert owner_client.get(f"/t/{code_of(one.pk)}/").url == f"/loaves/{one.pk}/"
    assert owner_client.get("/t/aaaaaaaa/").status_code == 404


@pytest.mark.django_db
def test_whoever_is_not_signed_in_signs_in_on_the_way(owner, stranger: Client) -> None:
    code = code_of(make_cut_loaf().pk)
    answer = stranger.get(f"/t/{code}/")
    assert answer.url == f"/sign-in/?next=/t/{code}/"
    signed_in = stranger.post(answer.url, {"username": "olga", "password": PASSWORD})
    assert signed_in.url == f"/t/{code}/"


@pytest.mark.django_db
def test_two_that_share_a_code_are_asked_about(owner_client: Client) -> None:
    start = b"\x01\x02\x03\x04\x05"
    for n, name in enumerate(("Left", "Right")):
        Place.objects.create(pk=UUID(bytes=start + bytes([n] * 11)), name=name)
    html = owner_client.get(f"/t/{code_of(UUID(bytes=start + bytes(11)))}/").content.decode()
    assert "Left" in html
    assert "Right" in html


def test_labels_fill_the_sheet_and_go_on_with_the_next() -> None:
    sheet = Sheet("a4", columns=3, rows=8, edge_x_mm=6, edge_y_mm=12.9)
    first, second = sheet.pages(TAGS)
    assert [len(first), len(second)] == [24, 16]
    assert (first[0].left, first[0].top) == (6, 12.9)
    last = first[-1]
    assert last.left + last.width == pytest.approx(210 - 6)
    assert last.top + last.height == pytest.approx(297 - 12.9)
    assert [label.tag for label in first + second] == TAGS


def test_labels_already_used_are_left_out() -> None:
    (page,) = Sheet(columns=2, rows=3).pages(TAGS[:2], used=3)
    assert [(label.left, label.top) for label in page] == [(105.0, 99.0), (0.0, 198.0)]
    assert Sheet().pages([], used=3) == []


def test_long_names_are_written_smaller() -> None:
    label = Sheet().label(Tag("x", "The long shelf under the window", ""), 0)
    assert len(label.tag.title) * 0.5 * label.title_size < label.width - label.code_side


@pytest.mark.django_db
def test_the_printed_code_holds_the_absolute_address(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    add_place("Tray <4>")
    html = owner_client.get("/tags/", headers={"host": "localhost:8000"}).content.decode()
    address = f"http://localhost:8000/t/{code_of(loaf.pk)}/"
    expected = segno.make(address, error="m", micro=False).svg_inline(border=4, light="#fff", omitsize=True)
    assert expected in html
    assert "Tray &lt;4&gt;" in html
    assert "on this machine only" in html
    assert 'width="210.00mm" height="297.00mm"' in html


@pytest.mark.django_db
def test_the_sheet_is_chosen(owner_client: Client) -> None:
    for name in ("One", "Two"):
        add_place(name)
    make_cut_loaf()
    query = {
        "what": "places",
        "paper": "letter",
        "columns": "2",
        "rows": "5",
        "edge_x_mm": "5,5",
        "edge_y_mm": "10",
        "used": "9",
    }
    html = owner_client.get("/tags/", query).content.decode()
    assert html.count('<svg class="sheet letter"') == 2
    assert 'width="215.90mm"' in html
    assert "26-001" not in html
    wrong = owner_client.get("/tags/", query | {"columns": "0"})
    assert wrong.status_code == 200
    assert "Not less than 1" in wrong.content.decode()
    assert Loaf.objects.exists()
