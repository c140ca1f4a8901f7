"""Under which reference an assessor looked at a recipe."""

from typing import Any

from django import forms

from curelog.forms.base import WorkshopForm
from curelog.models import Recipe


class AssessorForm(WorkshopForm):
    reference = forms.CharField(label="Reference", max_length=80, required=False)

    def __init__(self, *args: Any, recipe: Recipe, **kwargs: Any) -> None:
        super().__init__(*args, initial={"reference": recipe.assessor_reference}, **kwargs)
