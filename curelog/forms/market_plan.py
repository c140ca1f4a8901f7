"""A market day, and how many bars of which recipes."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from curelog.forms.base import WorkshopForm
from curelog.forms.fields import CountField, DayField
from curelog.models import Recipe
from curelog.models.market_plan import Wish

ROWS = 4
MOST_BARS = 500
FURTHEST = timedelta(days=3 * 365)


class MarketPlanForm(WorkshopForm):
    """Nothing is kept: the address holds what was asked, so that a plan can be looked at again."""

    day = DayField(label="Market day", error_messages={"required": "Which day?"})

    def __init__(self, *args: Any, recipes: Iterable[Recipe], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.recipes = {str(recipe.pk): recipe for recipe in recipes}
        choices = [("", "–"), *((key, str(recipe)) for key, recipe in self.recipes.items())]
        for row in range(1, ROWS + 1):
            self.add_field(
                f"recipe_{row}", forms.ChoiceField(label=f"Recipe {row}", choices=choices, required=False)
            )
            self.add_field(
                f"bars_{row}", CountField(label=f"Bars {row}", required=False, max_value=MOST_BARS)
            )

    def rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"recipe_{row}"], self[f"bars_{row}"]) for row in range(1, ROWS + 1)]

    def clean_day(self) -> date:
        day: date = self.cleaned_data["day"]
        today = timezone.localdate()
        if day <= today:
            raise forms.ValidationError("This day is here or past. Is the year right?")
        if day - today > FURTHEST:
            raise forms.ValidationError("This is more than three years away. Is the year right?")
        return day

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for row in range(1, ROWS + 1):
            recipe, bars = f"recipe_{row}", f"bars_{row}"
            if data.get(recipe) and bars in data and data[bars] is None:
                self.add_error(bars, "How many bars?")
            if data.get(bars) and recipe in data and not data[recipe]:
                self.add_error(recipe, "Of which recipe?")
        if not self.errors and not self.wishes:
            self.add_error("recipe_1", "At least one recipe is needed.")
        return data

    @property
    def wishes(self) -> list[Wish]:
        told = (
            (self.cleaned_data[f"recipe_{n}"], self.cleaned_data[f"bars_{n}"]) for n in range(1, ROWS + 1)
        )
        return [Wish(self.recipes[key], bars) for key, bars in told if key]
