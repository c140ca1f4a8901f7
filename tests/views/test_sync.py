"""The outbox's endpoint: what it takes in, what it gives back, and that nothing is kept twice."""

import hashlib
import io
import json
from datetime import timedelta
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from PIL import Image

from curelog.forms.cure import NoteForm
from curelog.forms.cut import CutForm
from curelog.models import (
    Answer,
    Batch,
    Cut,
    FirmnessCheck,
    Note,
    Photo,
    Receipt,
    Scale,
    Unmoulding,
    Weighing,
)
from curelog.models.record import Record
from tests import factories

URL = "/sync/"


@pytest.fixture(autouse=True)
def recent(monkeypatch):
    """Facts are told within the last days, as phones do."""
    monkeypatch.setattr(factories, "START", timezone.now() - timedelta(days=5))


@pytest.fixture
def loaf(workshop):
    return factories.make_loaf(number="26-001")


@pytest.fixture
def curing(workshop):
    loaf = factories.make_cut_loaf(number="26-002")
    factories.weigh_course(loaf, {1: 137.0, 2: 135.0})
    return loaf


def now_utc():
    return timezone.now().isoformat().replace("+00:00", "Z")


def entry(act, about, person, typed, **more):
    moment = "poured_at" if act == "pour" else "happened_at"
    told = {
        "key": str(uuid4()),
        "act": act,
        "about": str(about),
        "corrects": "",
        "person": person.pk,
        "fields": [list(pair) for pair in ({moment: now_utc(), "note": ""} | typed).items()],
        "units": {"mass": "g", "length": "mm", "temperature": "C"},
        "zone": "UTC",
        "made_at": now_utc(),
        "sent_at": now_utc(),
        "ask": False,
        "files": [],
    }
    told |= more
    return told | {"names": more.get("names", [name for name, _ in told["fields"]])}


def send(client, told, files=()):
    return client.post(URL, {"entry": json.dumps(told), "file": list(files)})


def picture(size=(60, 40)):
    out = io.BytesIO()
    Image.new("RGB", size, "tan").save(out, "JPEG")
    return out.getvalue()


def test_signed_out_is_told_in_json_not_by_a_redirect(db):
    answer = Client().post(URL)
    assert (answer.status_code, answer["Content-Type"]) == (401, "application/json")
    assert Client().get(URL).status_code == 401


def test_a_missing_token_is_refused_and_the_greeting_hands_one_out(owner):
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    assert client.post(URL).status_code == 403
    assert client.get(URL).cookies["csrftoken"].value


def test_the_greeting_names_the_person_and_how_far_the_clock_is_off(owner, owner_client):
    ahead = (timezone.now() + timedelta(days=1)).isoformat()
    told = owner_client.get(URL, {"sent_at": ahead}).json()
    assert told["person"] == owner.pk
    assert told["clock_off_s"] == pytest.approx(86400, abs=5)
    assert owner_client.get(URL, {"sent_at": "yesterday"}).json()["clock_off_s"] is None


def test_an_entry_is_kept_once_however_often_it_comes(owner, owner_client, loaf):
    told = entry("firmness", loaf.pk, owner, {"feel": "dents"})
    first = send(owner_client, told)
    again = send(owner_client, told | {"sent_at": now_utc(), "ask": True})
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["key"] == again.json()["key"] == told["key"]
    assert first.json()["kept"] == "Finger check: dents"
    fact = FirmnessCheck.objects.get()
    assert (str(fact.pk), fact.origin, fact.by) == (told["key"], "phone", owner)


def test_the_same_key_with_other_words_changes_nothing(owner, owner_client, loaf):
    told = entry("firmness", loaf.pk, owner, {"feel": "dents"})
    send(owner_client, told)
    other = told | {"fields": [["happened_at", now_utc()], ["feel", "hard"]]}
    assert send(owner_client, other).status_code == 409
    assert FirmnessCheck.objects.get().feel == "dents"


def test_a_fact_posted_by_the_page_under_the_same_key_is_not_kept_again(owner, owner_client, loaf):
    factories.mould.check_firmness(loaf, told := factories.told(6), "dents")
    body = entry("firmness", loaf.pk, owner, {"feel": "hard"}, key=str(told.key))
    assert send(owner_client, body).status_code == 409
    assert FirmnessCheck.objects.get().feel == "dents"


def test_numbers_are_read_in_the_units_in_which_they_were_typed(owner, owner_client, curing):
    bar = curing.bars.first()
    told = entry("weigh", curing.pk, owner, {"bars": str(bar.pk), "weight_g": "4,7"})
    told["units"]["mass"] = "oz"
    assert send(owner_client, told).status_code == 201
    # 4.7 oz of 28.349523125 g
    assert Weighing.objects.get(pk=told["key"]).weight_g == pytest.approx(133.2428, abs=1e-3)


def test_a_moment_is_read_on_the_clock_on_which_it_was_typed(owner, owner_client, loaf):
    local = (timezone.now() - timedelta(hours=3)).astimezone(ZoneInfo("Asia/Tokyo"))
    typed = {"happened_at": f"{local:%Y-%m-%dT%H:%M}", "note": "typed in Tokyo"}
    told = entry("note", loaf.pk, owner, typed, zone="Asia/Tokyo")
    assert send(owner_client, told).status_code == 201
    assert Note.objects.get().happened_at == local.replace(second=0, microsecond=0)


def test_an_odd_weight_is_asked_about_while_somebody_is_there_and_kept_with_the_question_when_not(
    owner, owner_client, curing
):
    told = entry(
        "weigh", curing.pk, owner, {"bars": str(curing.bars.first().pk), "weight_g": "13.4"}, ask=True
    )
    asked = send(owner_client, told)
    assert asked.status_code == 422
    assert "decimal point" in asked.json()["questions"]["weight_g"][0]
    assert not Receipt.objects.exists()
    assert send(owner_client, told | {"ask": False}).status_code == 201
    assert "decimal point" in Weighing.objects.get(pk=told["key"]).questioned
    # By now the weight itself is the last one known, and nothing about it is odd any more.
    assert send(owner_client, told | {"ask": False}).status_code == 200


def test_a_repeat_is_known_although_its_scale_is_gone_meanwhile(owner, owner_client, curing):
    scale = Scale.objects.create(name="Kitchen", step_g=1)
    told = entry(
        "weigh",
        curing.pk,
        owner,
        {"bars": str(curing.bars.first().pk), "weight_g": "134", "scale": str(scale.pk)},
    )
    send(owner_client, told)
    scale.is_retired = True
    scale.save()
    assert send(owner_client, told).status_code == 200


def test_nonsense_is_refused_with_its_reason_beside_the_field(owner, owner_client, curing):
    told = entry("weigh", curing.pk, owner, {"bars": str(curing.bars.first().pk), "weight_g": "heavy"})
    answer = send(owner_client, told)
    assert answer.status_code == 422
    assert answer.json()["errors"]["weight_g"] == ["Enter a number."]
    assert send(owner_client, entry("dance", curing.pk, owner, {})).status_code == 422
    assert send(owner_client, entry("note", "no-loaf", owner, {"note": "x"})).status_code == 422


def test_what_the_stage_no_longer_allows_is_kept_and_marked(owner, owner_client, curing):
    told = entry("unmould", curing.pk, owner, {"feel": "firm"})
    answer = send(owner_client, told)
    assert answer.status_code == 201
    assert "kept and marked" in answer.json()["remarks"][0]
    assert Unmoulding.objects.get(pk=told["key"]).misplaced


CUT = {
    "result": "clean",
    "tool": "wire",
    "bar_count": "10",
    "bar_length_mm": "85",
    "bar_width_mm": "65",
    "bar_thickness_mm": "25",
}


def test_of_two_cuts_the_first_to_arrive_counts_and_both_stay_in_sight(owner, owner_client, loaf):
    first = entry("cut", loaf.pk, owner, CUT)
    second = entry("cut", loaf.pk, owner, CUT | {"result": "too_soft"})
    # The second phone cut an hour earlier, and its word came later.
    second["fields"][0][1] = (timezone.now() - timedelta(hours=1)).isoformat()
    assert [send(owner_client, told).status_code for told in (first, second)] == [201, 201]
    record = Record(loaf)
    assert str(record.cut.pk) == first["key"]
    [conflict] = record.conflicts
    assert [str(fact.pk) for fact in conflict.facts] == [first["key"], second["key"]]
    page = owner_client.get(f"/loaves/{loaf.pk}/").content.decode()
    assert "Cut twice." in page
    assert Cut.objects.count() == 2


def test_nobody_sends_what_another_person_typed(helper_person, owner_client, loaf):
    answer = send(owner_client, entry("note", loaf.pk, helper_person, {"note": "mine"}))
    assert answer.status_code == 403
    assert answer.json()["key"]
    assert not Note.objects.exists()


def test_a_loaf_that_is_not_known_yet_makes_the_entry_wait(owner, owner_client, workshop):
    assert send(owner_client, entry("note", uuid4(), owner, {"note": "early"})).status_code == 404


def test_a_correction_points_at_what_it_corrects(owner, owner_client, curing):
    wrong = Weighing.objects.filter(weight_g=135.0).get()
    fields = {"bars": str(wrong.bars.get().pk), "weight_g": "134.0"}
    told = entry("weigh", curing.pk, owner, fields, corrects=str(wrong.pk))
    assert send(owner_client, told).status_code == 201
    assert Weighing.objects.get(pk=told["key"]).corrects == wrong
    lost = entry("weigh", curing.pk, owner, fields, corrects=str(uuid4()))
    assert send(owner_client, lost).status_code == 422


def test_a_picture_is_taken_in_whole_or_not_at_all(owner, owner_client, loaf, settings, tmp_path):
    settings.PHOTO_DIR = tmp_path
    whole = picture()
    told = entry("photo", loaf.pk, owner, {"subject": "face", "bar": ""})
    told["files"] = [{"field": "photos", "name": "face.jpg", "size": len(whole)}]
    cut_short = SimpleUploadedFile("face.jpg", whole[:-100], "image/jpeg")
    assert send(owner_client, told, [cut_short]).status_code == 400
    assert not Photo.objects.exists()
    assert send(owner_client, told, [SimpleUploadedFile("face.jpg", whole, "image/jpeg")]).status_code == 201
    assert Photo.objects.get().sha256_received == hashlib.sha256(whole).hexdigest()
    assert send(owner_client, told, [SimpleUploadedFile("face.jpg", whole, "image/jpeg")]).status_code == 200
    other = picture((40, 60))
    told["files"][0]["size"] = len(other)
    assert send(owner_client, told, [SimpleUploadedFile("face.jpg", other, "image/jpeg")]).status_code == 409


@pytest.mark.parametrize("body", ["", "{", '{"key": "1"}', "[]", "null"])
def test_what_came_mangled_is_to_be_sent_again(owner_client, body):
    assert owner_client.post(URL, {"entry": body}).status_code == 400


def test_fields_that_a_new_release_added_take_their_suggestion(owner, owner_client, loaf, monkeypatch):
    added = forms.ChoiceField(choices=[("left", "Left"), ("right", "Right")], initial="right")
    monkeypatch.setitem(NoteForm.base_fields, "side", added)
    assert send(owner_client, entry("note", loaf.pk, owner, {"note": "old form"})).status_code == 201
    new_form_left_empty = entry("note", loaf.pk, owner, {"note": "new form"})
    assert send(owner_client, new_form_left_empty | {"names": ["note", "side"]}).status_code == 422


def test_what_was_typed_into_fields_that_are_gone_is_kept_in_the_note(owner, owner_client, loaf, monkeypatch):
    monkeypatch.delitem(CutForm.base_fields, "trimmings_g")
    monkeypatch.setattr("curelog.forms.cut.balance", lambda *args: None)
    monkeypatch.setattr(CutForm, "keep", lambda form, told: factories.cure.note(form.loaf, told))
    told = entry("cut", loaf.pk, owner, CUT | {"trimmings_g": "40"})
    assert send(owner_client, told).status_code == 201
    assert Note.objects.get().note == "trimmings_g: 40"


def pour_fields(recipe):
    sums = recipe.sums
    return {
        "number": "26-077b",
        "naoh_g": f"{sums.naoh_g:.1f}",
        "water_g": f"{sums.water_g:.1f}",
        "fat_1": "700",
        "fat_2": "300",
        "heat": "oven",
        "mould_rows": "1",
        "mould_1": str(factories.make_mould().pk),
    }


def test_a_pour_arrives_once_and_leads_to_its_loaf(owner, owner_client, workshop):
    recipe = factories.make_recipe()
    told = entry("pour", recipe.pk, owner, pour_fields(recipe))
    first, again = send(owner_client, told), send(owner_client, told)
    assert (first.status_code, again.status_code) == (201, 200), first.content
    batch = Batch.objects.get()
    assert (batch.number, str(batch.pk), batch.note) == ("26-077b", told["key"], "")
    assert first.json()["next"] == f"/loaves/{batch.loaves.get().pk}/"
    taken = entry("pour", recipe.pk, owner, pour_fields(recipe))
    assert "number" in send(owner_client, taken).json()["errors"]


def test_a_failed_check_is_answered_from_a_phone(owner, owner_client, curing):
    failed = factories.cure.check(curing, factories.told(50), "zap", "fail", "", {})
    typed = {"failed": str(failed.pk), "decision": "go", "note": "zapped again: nothing"}
    told = entry("answer", curing.pk, owner, typed)
    assert send(owner_client, told).status_code == 201
    answer = Answer.objects.get()
    assert (answer.pk, answer.answers, answer.lets_go) == (UUID(told["key"]), failed, True)
    assert answer.note == "zapped again: nothing"
    assert send(owner_client, told).status_code == 200


def test_an_answer_to_a_check_of_another_loaf_or_to_none_is_refused(owner, owner_client, curing, loaf):
    failed = factories.cure.check(curing, factories.told(50), "zap", "fail", "", {})
    for about, wanted in ((loaf.pk, str(failed.pk)), (curing.pk, "x")):
        typed = {"failed": wanted, "decision": "go", "note": "?"}
        answer = send(owner_client, entry("answer", about, owner, typed))
        assert answer.status_code == 422
        assert "not there any more" in answer.json()["errors"][""][0]
    assert not Answer.objects.exists()
