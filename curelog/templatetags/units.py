"""Masses, lengths and temperatures in the workshop's units."""

from typing import Any

from django import template

from curelog import units
from curelog.models import Fact

register = template.Library()


@register.simple_tag(takes_context=True)
def mass(context: dict[str, Any], value_g: float | None, digits: int | None = None) -> str:
    """`{% mass loaf.poured_g %}`: grams without decimals, ounces with two, unless told otherwise."""
    if value_g is None:
        return "–"
    unit = context["workshop"].mass_unit
    shown = (2 if unit == "oz" else 0) if digits is None else digits
    return units.mass_words(value_g, unit, shown)


@register.simple_tag(takes_context=True)
def scaled(context: dict[str, Any], value_g: float | None, step_g: float) -> str:
    """A mass with as many digits as the scale shows."""
    is_fine = step_g < 1
    return mass(
        context, value_g, (3 if is_fine else 2) if context["workshop"].mass_unit == "oz" else int(is_fine)
    )


@register.simple_tag(takes_context=True)
def length(context: dict[str, Any], value_mm: float | None) -> str:
    if value_mm is None:
        return "–"
    unit = context["workshop"].length_unit
    return f"{units.plain(units.from_millimetres(value_mm, unit), 2 if unit == 'in' else 0)} {unit}"


@register.simple_tag(takes_context=True)
def temperature(context: dict[str, Any], value_c: float | None) -> str:
    if value_c is None:
        return "–"
    unit = context["workshop"].temperature_unit
    return f"{units.plain(units.from_celsius(value_c, unit), 0)} °{unit}"


@register.simple_tag(takes_context=True)
def fact_words(context: dict[str, Any], fact: Fact) -> str:
    return fact.words_in(context["workshop"].mass_unit)


@register.filter
def percent(share: float | None, digits: int = 0) -> str:
    return "–" if share is None else f"{units.plain(100 * share, digits)} %"


@register.filter
def unlocal(value: float) -> str:
    """A coordinate for a drawing."""
    return units.plain(value, 1)
