"""The workshop's habits, units and scales."""

from datetime import time

import pytest
from django.urls import reverse

from curelog.models import Scale, Workshop
from curelog.units import GRAMS_PER_OUNCE

SETTINGS, SCALES = "/workshop/settings/", "/workshop/scales/"
VALUES = {
    "name": "Lower Mill",
    "time_zone": "America/New_York",
    "quiet_from": "21:30",
    "quiet_until": "07:00",
    "currency": "CHF",
    "mass_unit": "oz",
    "length_unit": "in",
    "temperature_unit": "F",
    "room_c": "19,5",
    "room_rh": "60",
    "settled_pct": "3.5",
    "settled_days": "21",
}


def errors(response):
    assert response.status_code == 422
    return set(response.context["form"].errors)


def test_every_setting_is_kept(owner_client):
    assert owner_client.post(SETTINGS, VALUES).url == reverse("settings")
    workshop = Workshop.current()
    assert (workshop.name, workshop.time_zone) == ("Lower Mill", "America/New_York")
    assert workshop.currency == "CHF"
    assert (workshop.quiet_from, workshop.quiet_until) == (time(21, 30), time(7, 0))
    assert (workshop.mass_unit, workshop.length_unit, workshop.temperature_unit) == ("oz", "in", "F")
    assert (workshop.room_c, workshop.room_rh) == (19.5, 60.0)
    assert (workshop.settled_pct, workshop.settled_days) == (3.5, 21)


def test_the_room_is_read_in_the_unit_that_was_shown(owner_client, workshop):
    """Celsius was shown while Fahrenheit was chosen; from then on Fahrenheit is shown."""
    owner_client.post(SETTINGS, VALUES)
    assert 'value="67.1"' in owner_client.get(SETTINGS).content.decode()  # 19.5 °C
    owner_client.post(SETTINGS, VALUES | {"room_c": "68"})
    assert Workshop.current().room_c == pytest.approx(20.0)


def test_the_page_sent_back_unchanged_changes_nothing(owner_client, workshop):
    before = Workshop.objects.values().get()
    form = owner_client.get(SETTINGS).context["form"]
    shown = {field.name: field.value() for field in form}
    owner_client.post(SETTINGS, {name: value for name, value in shown.items() if value is not None})
    assert Workshop.objects.values().get() == before


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("time_zone", "Mars/Olympus"),
        ("quiet_from", "25:00"),
        ("mass_unit", "stone"),
        ("room_c", "64"),
        ("room_c", "warm"),
        ("room_rh", "nan"),
        ("room_rh", "140"),
        ("settled_pct", "0"),
        ("settled_days", "2"),
    ],
)
def test_a_mistake_is_said_beside_its_field_and_nothing_is_kept(owner_client, workshop, field, value):
    response = owner_client.post(SETTINGS, VALUES | {field: value})
    assert errors(response) == {field}
    assert f'href="#field-{field}"' in response.content.decode()
    assert Workshop.current().name != "Lower Mill"


def test_a_helper_sees_the_hub_without_the_owners_parts(helper_client, owner_client):
    for client, sees in ((helper_client, False), (owner_client, True)):
        page = client.get(reverse("settings")).content.decode()
        assert [f'"{reverse(name)}"' in page for name in ("settings_workshop", "scales", "people")] == [
            sees
        ] * 3
        assert f'"{reverse("account")}"' in page


def test_a_scale_is_added_changed_and_retired(owner_client):
    owner_client.post(SCALES, {"name": "Letter scale", "step_g": "0,1"})
    scale = Scale.objects.get()
    assert (scale.name, scale.step_g) == ("Letter scale", 0.1)
    owner_client.post(reverse("scale", args=[scale.pk]), {"name": "Letter scale", "step_g": "0.01"})
    owner_client.post(reverse("scale_retire", args=[scale.pk]))
    scale.refresh_from_db()
    assert (scale.step_g, scale.is_retired) == (0.01, True)
    owner_client.post(reverse("scale_retire", args=[scale.pk]))
    scale.refresh_from_db()
    assert not scale.is_retired


def test_a_step_in_ounces_is_kept_in_grams(owner_client, workshop):
    Workshop.objects.update(mass_unit="oz")
    owner_client.post(SCALES, {"name": "Old beam", "step_g": "0.05"})
    scale = Scale.objects.get()
    assert scale.step_g == pytest.approx(0.05 * GRAMS_PER_OUNCE)
    assert 'value="0.05"' in owner_client.get(reverse("scale", args=[scale.pk])).content.decode()


@pytest.mark.parametrize(
    ("field", "value"), [("step_g", "0"), ("step_g", "-1"), ("name", "KITCHEN"), ("name", "")]
)
def test_a_scale_with_a_mistake_is_not_added(owner_client, field, value):
    Scale.objects.create(name="Kitchen")
    assert errors(owner_client.post(SCALES, {"name": "Other", "step_g": "1"} | {field: value})) == {field}
    assert Scale.objects.count() == 1
