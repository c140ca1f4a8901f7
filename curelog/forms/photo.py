"""The photo form, and taking in what was chosen."""

from typing import Any

from django import forms

from curelog.actions import photo
from curelog.actions.keeping import Told
from curelog.forms.base import ActForm
from curelog.forms.fields import FilesField
from curelog.models import Bar, Fact, Photo
from curelog.photos import PhotoRefused, TakenPhoto


class PhotosField(FilesField):
    """Cleans to pictures taken in. Files that are none are named in `refused`; it fails only when nothing is left."""

    refused: tuple[str, ...] = ()

    def clean(self, data: Any, initial: Any = None) -> list[TakenPhoto]:
        taken, refused = [], []
        for file in super().clean(data, initial):
            try:
                taken.append(photo.take_in(file))
            except PhotoRefused as reason:
                refused.append(f"{file.name[:60]}: {reason}")
        self.refused = tuple(refused)
        if refused and not taken:
            raise forms.ValidationError(refused)
        return taken


class PhotoForm(ActForm):
    act = "photo"
    title = "Photo"
    button = "Keep photos"

    photos = PhotosField(label="Pictures", error_messages={"required": "Take or choose a picture."})
    subject = forms.ChoiceField(
        label="What does it show?", choices=Photo.Subject.choices, widget=forms.RadioSelect
    )
    bar = forms.ModelChoiceField(
        label="Bar", queryset=Bar.objects.none(), required=False, empty_label="No bar in particular"
    )

    field_order = ["photos", "subject", "bar"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"initial": {"subject": Photo.Subject.FACE}} | kwargs)
        field = self.fields["bar"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Bar.objects.filter(loaf=self.loaf)

    @property
    def refused(self) -> tuple[str, ...]:
        """The chosen files that were no pictures, each with its reason."""
        field = self.fields["photos"]
        assert isinstance(field, PhotosField)
        return field.refused

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        first, *others = data["photos"]
        for number, taken in enumerate(others, start=2):
            photo.photograph(self.loaf, told.part(f"photo {number}"), taken, data["subject"], data["bar"])
        return photo.photograph(self.loaf, told, first, data["subject"], data["bar"])
