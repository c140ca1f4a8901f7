"""Places, and putting a loaf on one of them with one tap."""

from typing import Any

from django import forms
from django.db.models import Q

from curelog.actions import place
from curelog.actions.keeping import Told
from curelog.forms.base import ActForm, WorkshopForm
from curelog.models import Fact, Move, Place

NAME_LENGTH = Place._meta.get_field("name").max_length


class MoveForm(ActForm):
    act = "move"
    title = "Move"
    button = "Put it there"

    place = forms.ModelChoiceField(
        label="Where does it lie now?", queryset=Place.objects.none(), required=False
    )
    part = forms.ChoiceField(choices=Move.Part.choices, required=False, widget=forms.HiddenInput)
    new_place = forms.CharField(
        label="A place that is not in the list", required=False, max_length=NAME_LENGTH
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["place"]
        assert isinstance(field, forms.ModelChoiceField)
        # A correction may leave it where it was, though that place is offered no more.
        known = self.corrects.place_id if isinstance(self.corrects, Move) else None
        field.queryset = Place.objects.filter(Q(is_retired=False) | Q(pk=known))

    @property
    def is_of_sample(self) -> bool:
        return bool(self["part"].value() == Move.Part.SAMPLE)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not self.errors and not data["place"] and not data["new_place"]:
            self.add_error("place", "Where does it lie?")
        return data

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        there = data["place"] or place.add_place(data["new_place"])
        return place.move(self.loaf, told, there, data["part"] or Move.Part.BARS)


class PlaceForm(WorkshopForm):
    name = forms.CharField(
        label="Name", max_length=NAME_LENGTH, help_text="As you call it: rack 1 top, window shelf, tray 4."
    )

    def __init__(self, *args: Any, place: Place | None = None, **kwargs: Any) -> None:
        super().__init__(*args, initial={"name": place.name} if place else {}, **kwargs)
        self.place = place

    def clean_name(self) -> str:
        name = str(self.cleaned_data["name"])
        others = Place.objects.exclude(pk=self.place.pk) if self.place else Place.objects.all()
        if others.filter(name__iexact=name).exists():
            raise forms.ValidationError("There is a place of this name already.")
        return name
