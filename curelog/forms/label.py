"""How labels are printed. Nothing is kept: the address of the page holds what was asked."""

from collections.abc import Mapping
from typing import Any

from curelog.forms.base import WorkshopForm
from curelog.forms.settings import buttons
from curelog.models import Workshop

PAPERS = [("a4", "A4"), ("letter", "Letter")]
# Columns by rows; static/label.css knows each of them.
GRIDS = [("2x3", "6"), ("2x4", "8"), ("2x5", "10"), ("3x5", "15")]


class LabelForm(WorkshopForm):
    names = buttons("Ingredients", [("poured", "As poured"), ("finished", "As finished")])
    allergens = buttons(
        "Allergens declared for the fragrance", [("named", "Name them"), ("left_out", "Leave out")]
    )
    order = buttons("Order", [("colours_last", "By mass, colours last"), ("mass", "By mass throughout")])
    paper = buttons("Paper", PAPERS)
    grid = buttons("Labels on a page", GRIDS)

    def __init__(self, asked: Mapping[str, str], workshop: Workshop, **kwargs: Any) -> None:
        usual = {"names": workshop.label_names, "allergens": "named", "order": "colours_last"}
        usual |= {"paper": "a4", "grid": "2x4"}
        super().__init__({**usual, **asked}, workshop=workshop, **kwargs)

    @property
    def copies(self) -> range:
        columns, _, rows = self.cleaned_data["grid"].partition("x")
        return range(int(columns) * int(rows))
