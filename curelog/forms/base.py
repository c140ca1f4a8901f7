"""What every form of this project has: the workshop's units, and for an act its key and its moment."""

import uuid
from datetime import timedelta
from typing import Any, ClassVar

from django import forms
from django.utils import timezone

from curelog import units
from curelog.actions.keeping import Told
from curelog.forms.fields import MomentField, NumberField
from curelog.models import Fact, Loaf, Person, Workshop
from curelog.models.record import Record


class WorkshopForm(forms.Form):
    """Field errors stand beside the field; the browser's own bubbles would hide under wet thumbs."""

    use_required_attribute = False

    def __init__(self, *args: Any, workshop: Workshop, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": ""} | kwargs)
        self.workshop = workshop
        for field in self.fields.values():
            self.measure(field)

    def shown_mass(self, value_g: float) -> str:
        """To a tenth of a gram, or a hundredth of an ounce."""
        unit = self.workshop.mass_unit
        return units.mass_words(value_g, unit, 2 if unit == "oz" else 1)

    def measure(self, field: forms.Field) -> None:
        if isinstance(field, NumberField):
            field.in_unit_of(self.workshop)

    def add_field(self, name: str, field: forms.Field) -> None:
        self.measure(field)
        self.fields[name] = field


class ActForm(WorkshopForm):
    """One act on one loaf. The key is made with the form, so that sending it twice keeps one fact."""

    act: ClassVar[str]
    title: ClassVar[str]
    button: ClassVar[str]
    cautions: ClassVar[tuple[str, ...]] = ()

    key = forms.UUIDField(widget=forms.HiddenInput)
    happened_at = MomentField(label="When")
    note = forms.CharField(
        label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}), max_length=4000
    )

    def __init__(self, *args: Any, record: Record, corrects: Fact | None = None, **kwargs: Any) -> None:
        initial = {"key": uuid.uuid4(), "happened_at": timezone.now()}
        if corrects:
            initial |= self.initial_of(corrects)
        super().__init__(*args, initial=initial | kwargs.pop("initial", {}), **kwargs)
        self.record, self.corrects = record, corrects

    @property
    def loaf(self) -> Loaf:
        return self.record.loaf

    def initial_of(self, fact: Fact) -> dict[str, Any]:
        """The values of a fact that is to be corrected."""
        names = {name for name in self.base_fields if name != "key" and hasattr(fact, name)}
        return {name: getattr(fact, name) for name in names}

    def clean_happened_at(self) -> Any:
        at = self.cleaned_data["happened_at"]
        if at > timezone.now() + timedelta(minutes=10):
            raise forms.ValidationError("This moment is still to come. Is the date right?")
        if at < self.loaf.batch.poured_at - timedelta(minutes=1):
            raise forms.ValidationError("This is before the pour. Is the date right?")
        return at

    def told(self, person: Person, origin: str = "page") -> Told:
        data = self.cleaned_data
        corrects = self.corrects.pk if self.corrects else None
        return Told(data["key"], data["happened_at"], person, origin, data["note"], corrects)

    def keep(self, told: Told) -> Fact:
        raise NotImplementedError


class QuestionedForm(ActForm):
    """An act whose numbers are questioned when they look wrong, and kept all the same when the maker says so."""

    kept_anyway = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.questions: tuple[str, ...] = ()

    def ask(self, data: dict[str, Any]) -> tuple[str, tuple[str, ...]]:
        """The field that looks wrong, and the questions about it."""
        raise NotImplementedError

    def asked(self, data: dict[str, Any]) -> dict[str, Any]:
        """To be called at the end of `clean`."""
        if not self.errors:
            field, self.questions = self.ask(data)
            if self.questions and not data.get("kept_anyway"):
                self.add_error(field, forms.ValidationError(list(self.questions), code="questioned"))
        return data

    @property
    def for_phone(self) -> dict[str, float | str]:
        """What a phone without a network needs to ask the same by itself: data attributes of the form."""
        return {}

    @property
    def is_only_questioned(self) -> bool:
        return bool(self.questions) and not self.cleaned_data.get("kept_anyway")
