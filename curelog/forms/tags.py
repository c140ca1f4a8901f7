"""Which tags to print, on which sheet."""

from functools import cached_property
from typing import Any

from django import forms

from curelog.forms.base import WorkshopForm
from curelog.forms.fields import CountField, NumberField
from curelog.label_sheets import Sheet
from curelog.models import Finish, Loaf, Place
from curelog.models.record import standing

PAPERS = [("a4", "A4"), ("letter", "Letter")]
WHAT = [("places", "Places"), ("loaves", "Loaves"), ("both", "Both")]
USUAL = Sheet()
OF_SHEET = ("paper", "columns", "rows", "edge_x_mm", "edge_y_mm")


class SheetForm(WorkshopForm):
    """Shown filled in with the usual sheet until something else is asked for."""

    what = forms.ChoiceField(label="Tags for", choices=WHAT, widget=forms.RadioSelect, initial="both")
    paper = forms.ChoiceField(label="Sheet", choices=PAPERS, widget=forms.RadioSelect, initial=USUAL.paper)
    columns = CountField(label="Labels across", max_value=8, initial=USUAL.columns)
    rows = CountField(label="Labels down", max_value=20, initial=USUAL.rows)
    edge_x_mm = NumberField(label="Free at left and right", min_value=0, max_value=40, initial=0)
    edge_y_mm = NumberField(label="Free at top and bottom", min_value=0, max_value=40, initial=0)
    used = CountField(label="Labels of the first sheet already used", min_value=0, max_value=159, initial=0)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("edge_x_mm", "edge_y_mm"):
            self.fields[name].unit = "mm"  # type: ignore[attr-defined]

    @cached_property
    def asked(self) -> dict[str, Any]:
        """What was asked for, and the usual where nothing was or where it made no sense."""
        self.is_valid()
        return {name: field.initial for name, field in self.fields.items()} | getattr(
            self, "cleaned_data", {}
        )

    @property
    def sheet(self) -> Sheet:
        return Sheet(**{name: self.asked[name] for name in OF_SHEET})

    def tagged(self) -> list[Loaf | Place]:
        what = self.asked["what"]
        loaves = Loaf.objects.exclude(pk__in=standing(Finish).values("loaf")).select_related("batch")
        places = Place.objects.filter(is_retired=False)
        return [*(places if what != "loaves" else ()), *(loaves if what != "places" else ())]
