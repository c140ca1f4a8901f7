"""Changing the workshop's habits and its scales."""

from collections.abc import Mapping
from typing import Any

from curelog.models import Scale, Workshop
from curelog.reminders.planning import replan_all


def change_workshop(workshop: Workshop, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        setattr(workshop, name, value)
    workshop.save(update_fields=list(values))
    replan_all()


def add_scale(name: str, step_g: float) -> Scale:
    return Scale.objects.create(name=name, step_g=step_g)


def change_scale(scale: Scale, name: str, step_g: float) -> None:
    """Weighings made so far keep the step that they were made with."""
    scale.name, scale.step_g = name, step_g
    scale.save(update_fields=["name", "step_g"])


def retire_scale(scale: Scale, is_retired: bool) -> None:
    scale.is_retired = is_retired
    scale.save(update_fields=["is_retired"])
