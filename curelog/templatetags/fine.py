"""Masses as finely as they are weighed out."""

from typing import Any

from django import template

from curelog import units

register = template.Library()
DIGITS = {"g": 1, "oz": 3}


@register.simple_tag(takes_context=True)
def fine_mass(context: dict[str, Any], value_g: float) -> str:
    """For what has to be weighed out exactly: alkali, water, small additives."""
    unit = context["workshop"].mass_unit
    return f"{units.from_grams(value_g, unit):.{DIGITS[unit]}f} {unit}"
