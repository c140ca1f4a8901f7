"""The acts as forms without JavaScript: what is kept, what is asked, what is said beside the field."""

import io
import re
from datetime import timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from curelog.models import Answer, Check, Cut, FirmnessCheck, Loaf, Photo, Scale, Unmoulding, Weighing
from tests.factories import START, make_cut_loaf, make_loaf, weigh_course

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_thirty_hours() -> object:
    with time_machine.travel(START + timedelta(hours=30), tick=True):
        yield


def key_in(html: str) -> str:
    found = re.search(r'name="key" value="([0-9a-f-]{36})"', html)
    assert found
    return found[1]


def post(client: Client, url: str, **data: object) -> object:
    """As a browser does it: get the form, send it back with its key and its moment."""
    html = client.get(url).content.decode()
    moment = re.search(r'name="happened_at" value="([^"]+)"', html)
    assert moment
    return client.post(url, {"key": key_in(html), "happened_at": moment[1]} | data)


def url(loaf: Loaf, act: str) -> str:
    return f"/loaves/{loaf.pk}/{act}/"


def test_a_finger_check_is_kept_and_moves_the_window(owner_client: Client) -> None:
    loaf = make_loaf()
    response = post(owner_client, url(loaf, "firmness"), feel="hard")
    assert response.status_code == 302
    assert FirmnessCheck.objects.get().feel == "hard"
    assert "Kept: Finger check: hard." in owner_client.get(response.url).content.decode()


def test_unmould_is_one_tap_with_the_finger_result(owner_client: Client) -> None:
    post(owner_client, url(make_loaf(), "unmould"), feel="firm")
    assert Unmoulding.objects.get().feel == "firm"


def test_the_same_form_sent_twice_keeps_one_fact(owner_client: Client) -> None:
    loaf = make_loaf()
    data = {"key": key_in(owner_client.get(url(loaf, "firmness")).content.decode()), "feel": "firm"}
    data["happened_at"] = "2026-01-13T14:00"
    for _ in range(2):
        assert owner_client.post(url(loaf, "firmness"), data).status_code == 302
    assert FirmnessCheck.objects.count() == 1
    other = owner_client.post(url(loaf, "firmness"), data | {"feel": "hard"})
    assert "another content" in other.content.decode()
    assert FirmnessCheck.objects.get().feel == "firm"


CUT = {"result": "clean", "tool": "wire", "bar_count": "10", "bar_length_mm": "85", "bar_width_mm": "65"}
CUT |= {
    "bar_thickness_mm": "25",
    "signs": ["drag"],
    "bar_1": "2",
    "weight_1": "140",
    "bar_2": "9",
    "weight_2": "139,5",
}


def test_a_cut_numbers_its_test_bars_and_keeps_their_weights(owner_client: Client) -> None:
    loaf = make_loaf()
    response = post(owner_client, url(loaf, "cut"), **CUT)
    assert response.url.endswith("/photo/?after=cut")
    assert Cut.objects.get().signs == ["drag"]
    assert sorted(Weighing.objects.values_list("bars__number", "weight_g")) == [(2, 140.0), (9, 139.5)]
    assert "g are missing of" in owner_client.get(response.url).content.decode()


def test_a_cut_with_300_g_missing_is_asked_and_kept_on_the_makers_word(owner_client: Client) -> None:
    loaf = make_loaf()
    data = CUT | {"all_bars_g": str(loaf.poured_g - 300)}
    html = post(owner_client, url(loaf, "cut"), **data).content.decode()
    assert "300 g are missing" in html
    assert 'value="139,5"' in html
    assert not Cut.objects.exists()
    assert post(owner_client, url(loaf, "cut"), **data, kept_anyway="on").status_code == 302


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bar_count": ""}, "required"),
        ({"bar_count": "0"}, "Not less than 1"),
        ({"bar_1": "12"}, "There are only 10 bars."),
        ({"bar_2": "2"}, "Bar 2 stands here twice."),
        ({"bar_1": ""}, "Which bar is this?"),
        ({"weight_1": "many"}, "Enter a number."),
        ({"result": "fine"}, "Select a valid choice"),
    ],
)
def test_bad_input_is_said_and_nothing_typed_is_lost(
    owner_client: Client, change: dict[str, str], words: str
) -> None:
    response = post(owner_client, url(make_loaf(), "cut"), **CUT | change)
    html = response.content.decode()
    assert response.status_code == 422
    assert words in html
    assert 'value="139,5"' in html
    assert not Cut.objects.exists()


def test_a_moment_to_come_or_before_the_pour_is_refused(owner_client: Client) -> None:
    loaf = make_loaf()
    for moment, words in (("2026-02-01T10:00", "still to come"), ("2026-01-01T10:00", "before the pour")):
        key = key_in(owner_client.get(url(loaf, "firmness")).content.decode())
        data = {"key": key, "happened_at": moment, "feel": "firm"}
        assert words in owner_client.post(url(loaf, "firmness"), data).content.decode()


def test_a_loaf_without_test_bars_says_in_a_sentence_what_a_forecast_needs(owner_client: Client) -> None:
    page = owner_client.get(f"/loaves/{make_cut_loaf(weights_g={}).pk}/").content.decode()
    assert "No bar is known: number the test bars at the cut, or give the size of a bar." in page


def test_a_weight_is_kept_with_its_scale_and_the_next_bar_is_offered(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    scale = Scale.objects.create(name="Fine", step_g=0.1)
    first, second = loaf.bars.all()
    response = post(owner_client, url(loaf, "weigh"), bars=[first.pk], weight_g="139.2", scale=scale.pk)
    assert response.url.endswith(f"?bar={second.pk}")
    assert Weighing.objects.get(weight_g=139.2).step_g == 0.1


def test_an_odd_weight_is_questioned_and_can_be_kept_with_the_question(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    bar = loaf.bars.first()
    response = post(owner_client, url(loaf, "weigh"), bars=[bar.pk], weight_g="180")
    assert response.status_code == 422
    assert "Keep it all the same" in response.content.decode()
    assert not Weighing.objects.filter(weight_g=180).exists()
    post(owner_client, url(loaf, "weigh"), bars=[bar.pk], weight_g="180", kept_anyway="on")
    assert "tared" in Weighing.objects.get(weight_g=180).questioned


def test_a_weight_entered_late_is_held_against_those_before_it(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    weigh_course(loaf, {1: 136.0, 30: 122.0})
    late = {"bars": [loaf.bars.first().pk], "weight_g": "132"}
    with time_machine.travel(START + timedelta(days=40)):
        on_day_7 = f"{START + timedelta(days=8):%Y-%m-%dT%H:%M}"
        assert post(owner_client, url(loaf, "weigh"), **late, happened_at=on_day_7).status_code == 302
        assert post(owner_client, url(loaf, "weigh"), **late).status_code == 422


def test_several_bars_on_the_scale_together_are_one_fact(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    post(owner_client, url(loaf, "weigh"), bars=[bar.pk for bar in loaf.bars.all()], weight_g="278")
    assert Weighing.objects.get(weight_g=278).bars.count() == 2


def test_a_correction_keeps_the_first_entry_in_the_history(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    weigh_course(loaf, {0.2: 193.0})
    wrong = Weighing.objects.get(weight_g=193)
    page = f"{url(loaf, 'weigh')}?corrects={wrong.pk}"
    html = owner_client.get(page).content.decode()
    assert 'value="193"' in html
    post(owner_client, page, bars=[wrong.bars.get().pk], weight_g="139.4")
    assert Weighing.objects.get(weight_g=139.4).corrects == wrong
    history = owner_client.get(f"/loaves/{loaf.pk}/").content.decode()
    assert "193 g" in history
    assert "a correction" in history


def test_a_correction_begins_with_the_bars_of_what_it_replaces(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    second = loaf.bars.all()[1]
    post(owner_client, url(loaf, "weigh"), bars=[second.pk], weight_g="137.2")
    wrong = Weighing.objects.get(weight_g=137.2)
    page = owner_client.get(f"{url(loaf, 'weigh')}?corrects={wrong.pk}")
    assert page.context["chosen"] == {str(second.pk)}


def test_an_act_the_stage_does_not_allow_is_kept_and_marked(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    response = post(owner_client, url(loaf, "firmness"), feel="firm")
    assert FirmnessCheck.objects.get().misplaced
    assert "kept and marked" in owner_client.get(response.url).content.decode()


def test_a_failed_check_holds_back_until_it_is_answered(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    post(owner_client, url(loaf, "check"), kind="titration", outcome="fail", value="0.2 %")
    assert "Held back" in owner_client.get(f"/loaves/{loaf.pk}/").content.decode()
    post(owner_client, f"/checks/{Check.objects.get().pk}/answer/", note="Flask was dirty.", decision="go")
    assert Answer.objects.get().lets_go
    assert "Held back" not in owner_client.get(f"/loaves/{loaf.pk}/").content.decode()


def test_a_fact_can_be_taken_back_with_a_reason(owner_client: Client) -> None:
    loaf = make_loaf()
    post(owner_client, url(loaf, "firmness"), feel="hard")
    page = f"/facts/firmnesscheck/{FirmnessCheck.objects.get().pk}/withdraw/"
    key = key_in(owner_client.get(page).content.decode())
    assert owner_client.post(page, {"key": key, "reason": ""}).status_code == 422
    for _ in range(2):
        owner_client.post(page, {"key": key, "reason": "wrong loaf"})
    assert FirmnessCheck.objects.count() == 2
    assert "wrong loaf" in owner_client.get(f"/loaves/{loaf.pk}/").content.decode()


def jpeg(size: tuple[int, int] = (60, 40)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "#a87").save(out, "JPEG")
    return out.getvalue()


def test_several_photos_are_kept_and_served_to_signed_in_people_only(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    files = [SimpleUploadedFile("a.jpg", jpeg()), SimpleUploadedFile("b.jpg", jpeg((40, 60)))]
    post(owner_client, url(loaf, "photo"), photos=files, subject="face")
    assert Photo.objects.count() == 2
    page = f"/photos/{Photo.objects.first().pk}/thumb/"
    response = owner_client.get(page)
    assert response["Content-Type"] == "image/jpeg"
    assert "private" in response["Cache-Control"]
    assert b"".join(response.streaming_content)[:2] == b"\xff\xd8"
    assert Client().get(page).status_code == 302


def test_what_is_no_picture_is_named_and_the_good_ones_are_kept(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    files = [SimpleUploadedFile("notes.jpg", b"flour, eggs"), SimpleUploadedFile("b.jpg", jpeg())]
    response = post(owner_client, url(loaf, "photo"), photos=files, subject="face")
    assert Photo.objects.count() == 1
    assert "notes.jpg" in owner_client.get(response.url).content.decode()
    alone = post(
        owner_client, url(loaf, "photo"), photos=[SimpleUploadedFile("x.jpg", b"no")], subject="face"
    )
    assert alone.status_code == 422


def test_a_decision_sent_twice_with_different_words_is_said_beside_the_form(owner_client: Client) -> None:
    loaf = make_cut_loaf()
    post(owner_client, url(loaf, "check"), kind="zap", outcome="fail")
    page = f"/checks/{Check.objects.get().pk}/answer/"
    html = owner_client.get(page).content.decode()
    told = {
        "key": key_in(html),
        "happened_at": f"{START + timedelta(hours=30):%Y-%m-%dT%H:%M}",
        "decision": "hold",
    }
    for note, status in (("first", 302), ("second", 422)):
        assert owner_client.post(page, told | {"note": note}).status_code == status
    assert Answer.objects.get().note == "first"


@pytest.mark.parametrize(
    "wrong", [{"bars": ["9" * 20]}, {"happened_at": "9999-12-31T23:59"}, {"happened_at": "0001-01-01T00:00"}]
)
def test_numbers_and_years_beyond_all_sense_are_a_mistake_in_the_form(owner_client: Client, wrong) -> None:
    loaf = make_cut_loaf()
    told = {"bars": [loaf.bars.first().pk], "weight_g": "139"} | wrong
    assert post(owner_client, url(loaf, "weigh"), **told).status_code == 422
