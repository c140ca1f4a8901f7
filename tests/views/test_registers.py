"""Complaints with what was done, scale checks, cleaning."""

from datetime import UTC, datetime
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from curelog.models import Complaint, LogEntry, Scale
from tests.factories import make_loaf

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 4, 8, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False):
        yield


def text(response):
    return response.content.decode()


def complaint_post(**changed):
    post = {"key": uuid4(), "at": "2026-03-04T07:00", "batch": "", "what": "Itches", "who": "Ann, 555"}
    return {name: str(value) for name, value in (post | changed).items()}


def test_a_complaint_is_kept_with_its_batch(helper_client, helper_person):
    batch = make_loaf(number="26-001").batch
    post = complaint_post(batch="26-001A", is_adverse="on")
    for _ in range(2):
        response = helper_client.post(reverse("complaint_new"), post)
    kept = Complaint.objects.get()
    assert response.url == reverse("complaint", args=[kept.pk])
    assert (kept.batch, kept.is_adverse, kept.who, kept.by) == (batch, True, "Ann, 555", helper_person)
    page = text(helper_client.get(response.url))
    assert "article 23" in page
    assert reverse("trace_batch", args=[batch.pk]) in page
    assert reverse("complaint", args=[kept.pk]) in text(
        helper_client.get(reverse("trace_batch", args=[batch.pk]))
    )


@pytest.mark.parametrize(
    ("changed", "field"),
    [({"batch": "99-1"}, "batch"), ({"what": ""}, "what"), ({"at": "2026-03-05T07:00"}, "at")],
)
def test_what_is_wrong_is_said_beside_its_field(owner_client, changed, field):
    response = owner_client.post(reverse("complaint_new"), complaint_post(**changed))
    assert (response.status_code, list(response.context["form"].errors)) == (422, [field])
    assert 'value="Ann, 555"' in text(response)
    assert not Complaint.objects.exists()


def test_steps_are_added_and_close_it(owner_client):
    owner_client.post(reverse("complaint_new"), complaint_post())
    url = reverse("complaint", args=[Complaint.objects.get().pk])
    step = {"at": "2026-03-04T07:30", "done": "Asked for the bar"}
    assert owner_client.post(url, step | {"key": str(uuid4())}).status_code == 302
    assert "Open" in text(owner_client.get(reverse("complaints")))
    assert owner_client.post(url, step | {"key": str(uuid4()), "done": ""}).status_code == 422
    owner_client.post(url, step | {"key": str(uuid4()), "done": "Paid back", "closes": "on"})
    assert Complaint.objects.get().closed_at == datetime(2026, 3, 4, 7, 30, tzinfo=UTC)
    assert "Closed 4 Mar 2026" in text(owner_client.get(reverse("complaints")))


def test_only_an_owner_erases_who_told_it(owner_client, helper_client):
    owner_client.post(reverse("complaint_new"), complaint_post())
    key = Complaint.objects.get().pk
    erase = reverse("complaint_erase", args=[key])
    assert "Erase who" not in text(helper_client.get(reverse("complaint", args=[key])))
    assert helper_client.post(erase).status_code == 403
    assert Complaint.objects.get().who == "Ann, 555"
    owner_client.post(erase)
    page = text(owner_client.get(reverse("complaint", args=[key])))
    assert Complaint.objects.get().who == "erased"
    assert "555" not in page
    assert "Itches" in page


def log_post(kind, **changed):
    post = {"key": uuid4(), "at": "2026-03-04T07:00"} | changed
    return {f"{kind}-{name}": str(value) for name, value in post.items()} | {f"keep_{kind}": "1"}


@pytest.mark.parametrize(
    ("shown", "tolerance", "is_within"),
    [("200.2", "", True), ("199.7", "", False), ("199.7", "0.3", True), ("200.31", "0.3", False)],
)
def test_a_scale_is_held_against_a_known_mass(helper_client, shown, tolerance, is_within):
    """A scale of 0.1 g steps may be off by 0.2 g unless told otherwise."""
    Scale.objects.create(name="Fine", step_g=0.1)
    told = {"what": "fine", "reference_g": "200", "shown_g": shown, "tolerance_g": tolerance}
    page = helper_client.post(reverse("log"), log_post("scale", **told), follow=True)
    assert LogEntry.objects.get().is_within == is_within
    assert ("off by more than it may" in text(page)) != is_within


def test_a_cleaning_is_noted(helper_client):
    helper_client.post(reverse("log"), log_post("cleaning", what="Moulds", note="Hot water"))
    entry = LogEntry.objects.get()
    assert (entry.kind, entry.what, entry.is_within) == ("cleaning", "Moulds", True)
    assert "Moulds cleaned" in text(helper_client.get(reverse("log")))


def test_a_wrong_number_is_said_beside_its_field_and_the_rest_stays(owner_client):
    told = {"what": "Fine", "reference_g": "heavy", "shown_g": "200", "tolerance_g": ""}
    response = owner_client.post(reverse("log"), log_post("scale", **told))
    assert response.status_code == 422
    assert list(response.context["forms"]["scale"].errors) == ["reference_g"]
    assert 'value="Fine"' in text(response)
