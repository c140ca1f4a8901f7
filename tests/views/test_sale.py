"""From ready to gone by forms without JavaScript: what is asked, what is promised and kept, what a late fail shows."""

import html
import json
from datetime import timedelta
from urllib.parse import parse_qs, urlsplit
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from curelog.actions import cure, release
from curelog.domain.reminding import Kind
from curelog.models import Check, Leaving, Loaf, Person, Release, Workshop
from curelog.reminders.planning import work_out
from tests.factories import START, make_cut_loaf, make_loaf, told, weigh_course
from tests.views.test_acts import post, url

pytestmark = pytest.mark.django_db
NOW = START + timedelta(days=120)
WEIGHED = {7: 131.0, 14: 127.5, 28: 123.5, 45: 121.0, 70: 119.5, 100: 119.0}


@pytest.fixture(autouse=True)
def months_later() -> object:
    with time_machine.travel(NOW, tick=True):
        yield


@pytest.fixture
def ready(workshop: Workshop) -> Loaf:
    loaf = make_cut_loaf()
    weigh_course(loaf, WEIGHED)
    return loaf


@pytest.fixture
def young(workshop: Workshop) -> Loaf:
    loaf = make_cut_loaf("26-009", hours=24 * 105)
    weigh_course(loaf, {7: 131.0})
    return loaf


def text(client: Client, page: str) -> str:
    return html.unescape(client.get(page).content.decode())


COUNTS = {"bar_count": "9", "retained_count": "1", "retained_place": "Box 3"}


def released(loaf: Loaf, bars: int = 9) -> Release:
    return release.release(loaf, told(24 * 110), release.Counts(bars), release.Promise())


def test_a_ready_loaf_is_released_with_its_promise(owner_client: Client, ready: Loaf) -> None:
    page = text(owner_client, f"/loaves/{ready.pk}/net-weight/?rule=average_eu&hold_until=2026-11-01")
    assert "when packed" in page
    assert "Local rules decide" in page
    link = next(part for part in page.split('"') if "/release/?" in part)
    data = {name: values[0] for name, values in parse_qs(urlsplit(link).query).items()}
    assert f'value="{data["declared_g"]}"' in text(owner_client, link)
    response = post(owner_client, link, **data | {"retained_count": "1", "retained_place": "Box 3"})
    assert response.status_code == 302
    fact = Release.objects.get()
    assert (fact.bar_count, str(fact.sample_place), fact.early_why) == (9, "Box 3", "")
    assert fact.declared_g == float(data["declared_g"])
    for words in (f"{fact.declared_g:g} g borne until 1 November 2026", "2 test bars of 9", "76/211/EEC"):
        assert words in fact.basis
    assert "9 bars here" in text(owner_client, response.url)


def test_released_it_leaves_today_and_has_its_own_place_in_the_list(
    owner_client: Client, ready: Loaf
) -> None:
    assert "Ready: settled" in text(owner_client, "/")
    released(ready)
    assert "26-001" not in text(owner_client, "/")
    assert "26-001" in text(owner_client, "/loaves/?stage=released")
    assert "26-001" not in text(owner_client, "/loaves/?stage=curing")


def test_released_it_is_not_reminded_of_being_ready(ready: Loaf) -> None:
    assert Kind.READY in {want.kind for want, *_ in work_out(ready)}
    released(ready)
    assert Kind.READY not in {want.kind for want, *_ in work_out(ready)}


def test_before_it_is_ready_a_reason_is_asked_for(owner_client: Client, young: Loaf) -> None:
    response = post(owner_client, url(young, "release"), **COUNTS)
    assert response.status_code == 422
    assert "not ready yet (curing)" in response.content.decode()
    assert "Keep it all the same" not in response.content.decode()
    post(owner_client, url(young, "release"), **COUNTS, early_why="Ordered for a wedding")
    assert Release.objects.get().early_why == "Ordered for a wedding"
    page = text(owner_client, f"/loaves/{young.pk}/")
    assert "Weight settled: likely" in page
    assert "confirmed by weighing" not in page
    assert not Release.objects.get().misplaced


def test_a_phone_that_came_late_keeps_its_release_with_a_mark(
    owner_client: Client, owner: Person, young: Loaf
) -> None:
    """It was decided in the curing room: nobody is there to be asked, and nothing is dropped."""
    fields = [["happened_at", "2026-05-12T08:00"], *map(list, COUNTS.items())]
    entry = {
        "key": str(uuid4()),
        "act": "release",
        "about": str(young.pk),
        "corrects": "",
        "person": owner.pk,
        "fields": fields,
        "names": [name for name, _ in fields],
        "units": {},
        "zone": "UTC",
        "sent_at": "",
        "ask": False,
        "files": [],
    }
    assert owner_client.post("/sync/", {"entry": json.dumps(entry)}).status_code == 201
    assert Release.objects.get().early_why.startswith("Not said. It is not ready yet")
    assert owner_client.post("/sync/", {"entry": json.dumps(entry)}).status_code == 200
    assert Release.objects.count() == 1


def test_with_a_failed_check_open_it_takes_a_reason_too(owner_client: Client, ready: Loaf) -> None:
    cure.check(ready, told(24 * 60), "spots", "fail")
    response = post(owner_client, url(ready, "release"), **COUNTS)
    assert "A failed check is open" in response.content.decode()
    assert not Release.objects.exists()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bar_count": "12"}, "more than the 10 bars of the cut"),
        ({"declared_g": "130", "rule": "minimum", "hold_until": "2026-11-01"}, "the bars bear"),
    ],
)
def test_what_looks_wrong_is_asked_and_kept_on_the_makers_word(
    owner_client: Client, ready: Loaf, change: dict[str, str], words: str
) -> None:
    response = post(owner_client, url(ready, "release"), **COUNTS | change)
    assert response.status_code == 422
    assert words in response.content.decode()
    post(owner_client, url(ready, "release"), **COUNTS | change, kept_anyway="on")
    assert words in Release.objects.get().questioned


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"declared_g": "97", "rule": ""}, "Under which rule, and until when?"),
        ({"weights_g": "108 many"}, "Only weights, with a space between them"),
        ({"bar_count": ""}, "This field is required."),
        ({"hold_until": "soon"}, "Enter a valid date."),
    ],
)
def test_bad_input_is_said_and_nothing_typed_is_lost(
    owner_client: Client, ready: Loaf, change: dict[str, str], words: str
) -> None:
    response = post(owner_client, url(ready, "release"), **COUNTS | change)
    assert response.status_code == 422
    assert words in response.content.decode()
    assert "Box 3" in response.content.decode()
    assert not Release.objects.exists()


def test_all_bars_weighed_are_kept_and_come_back_in_a_correction(owner_client: Client, ready: Loaf) -> None:
    weights = "118,5 119 120 121 122 118 119 120 121"
    post(owner_client, url(ready, "release"), **COUNTS, weights_g=weights)
    fact = Release.objects.get()
    assert fact.weights_g[:2] == [118.5, 119.0]
    page = f"{url(ready, 'release')}?corrects={fact.pk}"
    assert "118.5 119 120" in text(owner_client, page)
    post(owner_client, page, **COUNTS | {"bar_count": "8"}, weights_g=weights)
    assert "8 bars here" in text(owner_client, f"/loaves/{ready.pk}/")


def test_a_second_release_is_shown_until_somebody_decides(owner_client: Client, ready: Loaf) -> None:
    released(ready)
    released(ready, bars=7)
    page = text(owner_client, f"/loaves/{ready.pk}/")
    assert "Released twice." in page
    assert "9 bars here" in page


def test_bars_go_to_somebody_and_the_book_is_kept(owner_client: Client, ready: Loaf) -> None:
    released(ready)
    post(owner_client, url(ready, "leave"), bar_count="5", kind="sold", to_whom="Saturday market")
    assert "4 bars here" in text(owner_client, f"/loaves/{ready.pk}/")
    response = post(owner_client, url(ready, "leave"), bar_count="6", kind="given")
    assert "By the book 4 are left" in response.content.decode()
    post(owner_client, url(ready, "leave"), bar_count="6", kind="given", kept_anyway="on")
    assert "More left than were released" in text(owner_client, f"/loaves/{ready.pk}/")
    sold = Leaving.objects.get(kind="sold")
    page = f"{url(ready, 'leave')}?corrects={sold.pk}"
    post(owner_client, page, bar_count="3", kind="sold", to_whom="Saturday market")
    assert "None is left" in text(owner_client, f"/loaves/{ready.pk}/")


def test_a_bar_that_left_before_the_release_is_not_released(owner_client: Client, ready: Loaf) -> None:
    release.leave(ready, told(24 * 50), "tests", 2)
    assert Leaving.objects.get().misplaced
    assert 'name="bar_count" value="7"' in text(owner_client, url(ready, "release"))
    released(ready, bars=7)
    assert "7 bars here" in text(owner_client, f"/loaves/{ready.pk}/")


def test_a_promise_goes_on_for_all_released_bars_when_some_are_sold(
    owner_client: Client, ready: Loaf
) -> None:
    released(ready)
    release.leave(ready, told(24 * 115), "sold", 7)
    assert 'name="bar_count" value="9"' in text(owner_client, f"/loaves/{ready.pk}/net-weight/")


def test_a_fail_after_release_shows_where_the_bars_went(owner_client: Client, ready: Loaf) -> None:
    released(ready)
    release.leave(ready, told(24 * 111), "sold", 5, "Saturday market")
    cure.check(ready, told(24 * 115), "spots", "fail")
    page = text(owner_client, f"/loaves/{ready.pk}/")
    for words in ("Released already: see where it went.", "Saturday market", "4 still here: take them off"):
        assert words in page
    assert "Failed after release, see where it went" in text(owner_client, "/")


def test_the_net_weight_page_takes_odd_addresses_calmly(owner_client: Client, ready: Loaf) -> None:
    page = f"/loaves/{ready.pk}/net-weight/"
    for query, status, words in (
        ("", 200, "Declare at most"),
        ("?rule=wrong", 422, "Select a valid choice"),
        ("?hold_until=2020-01-01", 422, "This day is over."),
        ("?hold_until=2040-01-01", 200, "The forecast reaches 2 years"),
        ("?weights_g=x", 422, "Only weights"),
        ("?bar_count=0", 422, "Not less than 1"),
        ("?wanted_g=100", 200, "Pour for 10 bars"),
        ("?wanted_g=1", 422, "Not less than 5"),
        ("?spread_share=6", 200, "your spread of cutting of 6 %"),
    ):
        response = owner_client.get(page + query)
        assert response.status_code == status, query
        assert words in html.unescape(response.content.decode()), query


def test_memory_marked_values_are_said(owner_client: Client, ready: Loaf, workshop: Workshop) -> None:
    workshop.soap_standard = "is2888_1"
    workshop.save()
    page = text(owner_client, f"/loaves/{ready.pk}/net-weight/?rule=hb133")
    assert "Confirm the variation in Handbook 133" in page
    assert "IS 2888:2004; from memory, not seen" in page
    assert "at most 0.05 %" in page
    assert "titrate to know" in page
    cure.check(ready, told(24 * 60), "titration", "pass", "0.032 % NaOH")
    assert "0.032 % NaOH, 13 Mar 2026" in text(owner_client, f"/loaves/{ready.pk}/net-weight/")


def test_before_the_cut_there_is_no_weight_and_no_500(owner_client: Client, workshop: Workshop) -> None:
    loaf = make_loaf(number="26-050", hours=24 * 119)
    assert "The loaf is not cut yet." in text(owner_client, f"/loaves/{loaf.pk}/net-weight/?bar_count=5")
    assert "No net weight yet." in text(owner_client, f"/loaves/{loaf.pk}/label/?names=finished")
    assert "Sodium hydroxide" in text(owner_client, f"/batches/{loaf.batch_id}/record/")


def test_the_label_says_what_the_workshop_set(owner_client: Client, ready: Loaf) -> None:
    post_settings = {
        "label_address": "Dijkweg 3",
        "label_cautions": "Keep out of the eyes.",
        "label_names": "poured",
        "best_before_months": "24",
        "net_rule": "minimum",
        "sell_within_days": "90",
        "soap_standard": "",
    }
    assert owner_client.post(reverse("settings_label"), post_settings).status_code == 302
    promise = release.Promise(97.0, "minimum", None, "")
    release.release(ready, told(24 * 110), release.Counts(9), promise)
    page = text(owner_client, f"/loaves/{ready.pk}/label/")
    for words in (
        "Dijkweg 3",
        "Keep out of the eyes.",
        "97 g",
        "fig-3",
        "(as poured)",
        "Adeps Suillus",
        "<svg",
    ):
        assert words in page
    assert "made on 12 Jan 2026 · best before 12 Jan 2028" in page
    assert "local law" in page
    finished = text(owner_client, f"/loaves/{ready.pk}/label/?names=finished")
    assert "Sodium Lardate" in finished
    assert "from memory" in finished
    assert owner_client.get(f"/loaves/{ready.pk}/label/?grid=9x9").status_code == 422


def test_ounces_are_rounded_down_beside_the_grams(
    owner_client: Client, ready: Loaf, workshop: Workshop
) -> None:
    """97 g are 3.4215 oz: 3.42."""
    workshop.mass_unit = "oz"
    workshop.save()
    release.release(ready, told(24 * 110), release.Counts(9), release.Promise(97.0, "hb133", None, ""))
    assert "97 g (3.42 oz)" in text(owner_client, f"/loaves/{ready.pk}/label/")


def test_a_helper_sees_the_label_but_sets_no_address(helper_client: Client, ready: Loaf) -> None:
    assert "An owner can set it." in text(helper_client, f"/loaves/{ready.pk}/label/")
    assert helper_client.get(reverse("settings_label")).status_code == 403


TITRATED = {
    "kind": "titration",
    "outcome": "pass",
    "acid_ml": "0,5",
    "acid_mol_per_l": "0.1",
    "sample_g": "5",
}


def test_a_titration_told_in_volumes_gives_its_reading(owner_client: Client, ready: Loaf) -> None:
    """0.5 ml of 0.1 mol/l on 5 g: 0.040 % NaOH."""
    post(owner_client, url(ready, "check"), **TITRATED)
    fact = Check.objects.get()
    assert fact.value == "0.040 % NaOH, free caustic"
    assert fact.volumes == {"acid": "hydrochloric", "acid_ml": 0.5, "acid_mol_per_l": 0.1, "sample_g": 5.0}
    page = f"{url(ready, 'check')}?corrects={fact.pk}"
    assert 'value="0.5"' in text(owner_client, page)
    post(owner_client, page, **TITRATED | {"back_ml": "0.3", "back_mol_per_l": "0.1"})
    assert Check.objects.get(corrects=fact).value == "0.016 % NaOH, total free"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"sample_g": ""}, "Needed to work it out."),
        ({"blank_ml": "0.9"}, "the blank took more acid than the sample"),
        ({"back_ml": "0.3"}, "Both volume and strength, or neither."),
        ({"acid_mol_per_l": "100"}, "Not more than 2"),
    ],
)
def test_a_titration_that_cannot_be_is_said(
    owner_client: Client, ready: Loaf, change: dict[str, str], words: str
) -> None:
    response = post(owner_client, url(ready, "check"), **TITRATED | change)
    assert response.status_code == 422
    assert words in response.content.decode()
    assert 'value="0,5"' in response.content.decode()
    assert not Check.objects.exists()


def test_volumes_of_another_kind_of_check_count_for_nothing(owner_client: Client, ready: Loaf) -> None:
    post(owner_client, url(ready, "check"), **TITRATED | {"kind": "look", "value": "clean"})
    assert (Check.objects.get().value, Check.objects.get().volumes) == ("clean", {})
