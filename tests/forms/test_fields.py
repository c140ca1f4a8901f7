import pytest
from django import forms

from curelog.forms.base import WorkshopForm
from curelog.forms.fields import LengthField, MassField, NumberField, PercentField, TemperatureField
from curelog.models import Workshop


class Form(WorkshopForm):
    mass_g = MassField()
    length_mm = LengthField(required=False)
    warm_c = TemperatureField(required=False)
    share = PercentField(required=False)
    number = NumberField(required=False)


def form(workshop: Workshop, **data: str) -> forms.Form:
    return Form(data, workshop=workshop)


IMPERIAL = Workshop(mass_unit="oz", length_unit="in", temperature_unit="F")


def test_what_was_typed_in_the_workshops_units_becomes_g_mm_and_celsius() -> None:
    bound = form(IMPERIAL, mass_g="2", length_mm="1", warm_c="104", share="33")
    assert bound.is_valid()
    assert bound.cleaned_data["mass_g"] == pytest.approx(56.699046)
    assert bound.cleaned_data["length_mm"] == pytest.approx(25.4)
    assert bound.cleaned_data["warm_c"] == pytest.approx(40.0)
    assert bound.cleaned_data["share"] == pytest.approx(0.33)


@pytest.mark.parametrize("typed", ["12.5", "12,5", " 12,5 ", "0012.5"])
def test_either_decimal_mark_is_understood(typed: str) -> None:
    bound = form(Workshop(), mass_g=typed)
    assert bound.is_valid()
    assert bound.cleaned_data["mass_g"] == 12.5


@pytest.mark.parametrize("typed", ["", "abc", "nan", "inf", "-3", "1e9", "12.5.1"])
def test_what_is_no_mass_is_said_beside_the_field_and_kept_in_it(typed: str) -> None:
    bound = form(Workshop(), mass_g=typed)
    assert list(bound.errors) == ["mass_g"]
    assert bound["mass_g"].value() == typed


def test_an_initial_value_is_shown_in_the_workshops_unit() -> None:
    unbound = Form(workshop=IMPERIAL, initial={"mass_g": 28.349523125, "share": 0.055})
    assert unbound["mass_g"].value() == "1"
    assert unbound["share"].value() == "5.5"
