"""Forms for the curing bars."""

from typing import Any

from django import forms

from curelog.actions import cure
from curelog.actions.keeping import Told
from curelog.domain.titration import free_caustic_alkali, total_free_alkali
from curelog.forms.base import ActForm
from curelog.forms.fields import MassField, NumberField
from curelog.models import Bar, Check, Fact, Finish, Handling

ACIDS = [("hydrochloric", "Hydrochloric"), ("sulfuric", "Sulfuric"), ("citric", "Citric")]
VOLUMES = ("acid_mol_per_l", "acid_ml", "blank_ml", "sample_g", "back_ml", "back_mol_per_l")


LONGEST_KEY = 18  # digits


class BarsField(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]  # generic in the stubs only
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Bar.objects.none(), widget=forms.CheckboxSelectMultiple, **kwargs)

    def label_from_instance(self, bar: Bar) -> str:
        return str(bar.number)

    def clean(self, value: Any) -> Any:
        # A number that no database column holds is no bar, not an error of the server.
        if any(len(str(key)) > LONGEST_KEY for key in value or ()):
            raise forms.ValidationError("Choose among the bars that are shown.")
        return super().clean(value)


class BarsForm(ActForm):
    """An act on some of the loaf's test bars."""

    bars = BarsField(label="Bars", error_messages={"required": "Which bar?"})

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["bars"]
        assert isinstance(field, BarsField)
        field.queryset = Bar.objects.filter(loaf=self.loaf)

    def initial_of(self, fact: Fact) -> dict[str, Any]:
        return super().initial_of(fact) | {"bars": list(fact.bars.all())}  # type: ignore[attr-defined]


class HandlingForm(BarsForm):
    act = "handling"
    title = "Planed, or a piece taken"
    button = "Keep"

    kind = forms.ChoiceField(label="What was done?", choices=Handling.Kind.choices, widget=forms.RadioSelect)
    loss_g = MassField(label="Taken off each bar", required=False)

    field_order = ["kind", "bars", "loss_g"]

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        return cure.handle(self.loaf, told, data["kind"], list(data["bars"]), data["loss_g"])


class CheckForm(ActForm):
    act = "check"
    title = "Check"
    button = "Keep check"

    kind = forms.ChoiceField(label="What was checked?", choices=Check.Kind.choices, widget=forms.RadioSelect)
    outcome = forms.ChoiceField(
        label="What came of it?", choices=Check.Outcome.choices, widget=forms.RadioSelect
    )
    value = forms.CharField(label="Reading, with its unit", required=False, max_length=40)
    acid = forms.ChoiceField(label="Acid", choices=ACIDS, required=False)
    acid_mol_per_l = NumberField(label="Its strength", required=False, min_value=0.001, max_value=2)
    acid_ml = NumberField(label="Acid used", required=False, min_value=0, max_value=200)
    blank_ml = NumberField(label="Blank", required=False, min_value=0, max_value=200)
    sample_g = NumberField(label="Soap taken", required=False, min_value=0.1, max_value=100)
    back_ml = NumberField(label="Alkali back", required=False, min_value=0, max_value=200)
    back_mol_per_l = NumberField(label="Its strength", required=False, min_value=0.001, max_value=2)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in VOLUMES:
            self.fields[name].unit = name.rpartition("_")[2] if "per" not in name else "mol/l"  # type: ignore[attr-defined]

    def initial_of(self, fact: Fact) -> dict[str, Any]:
        assert isinstance(fact, Check)
        return super().initial_of(fact) | dict(fact.volumes)

    @property
    def has_volumes(self) -> bool:
        return any(self[name].value() or self[name].errors for name in VOLUMES)

    def clean(self) -> dict[str, Any]:
        """A titration told as volumes gives its reading itself."""
        data = super().clean() or self.cleaned_data
        self.volumes = {name: data[name] for name in VOLUMES if data.get(name) is not None}
        if data.get("kind") != Check.Kind.TITRATION or not self.volumes or self.errors:
            self.volumes = {}
            return data
        for name in ("acid_mol_per_l", "acid_ml", "sample_g"):
            if name not in self.volumes:
                self.add_error(name, "Needed to work it out.")
        if ("back_ml" in self.volumes) != ("back_mol_per_l" in self.volumes):
            self.add_error("back_ml", "Both volume and strength, or neither.")
        if not self.errors:
            self.work_out(data)
        return data

    def work_out(self, data: dict[str, Any]) -> None:
        self.volumes["acid"] = data["acid"] or ACIDS[0][0]
        try:
            data["value"] = free_alkali_words(self.volumes)
        except ValueError as error:
            self.add_error("acid_ml", f"That cannot be: {error}.")

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        return cure.check(self.loaf, told, data["kind"], data["outcome"], data["value"], self.volumes)


def free_alkali_words(volumes: dict[str, Any]) -> str:
    """ "0.035 % NaOH, free caustic" by ISO 456, or with a back titration "total free" by ISO 684."""
    taken = volumes["acid_ml"], volumes["acid_mol_per_l"], volumes["sample_g"]
    acid_ml, strength, sample_g = taken
    if "back_ml" in volumes:
        back = volumes["back_ml"], volumes["back_mol_per_l"]
        found = total_free_alkali(acid_ml, strength, *back, sample_g, volumes["acid"])
        return f"{found:.3f} % NaOH, total free"
    found = free_caustic_alkali(acid_ml, volumes.get("blank_ml", 0.0), strength, sample_g, volumes["acid"])
    return f"{found:.3f} % NaOH, free caustic"


class NoteForm(ActForm):
    act = "note"
    title = "Note"
    button = "Keep note"

    note = forms.CharField(label="Note", widget=forms.Textarea(attrs={"rows": 4}), max_length=4000)

    field_order = ["note", "happened_at"]

    def keep(self, told: Told) -> Fact:
        return cure.note(self.loaf, told)


class FinishForm(ActForm):
    act = "finish"
    title = "Finished"
    button = "Take off the racks"

    reason = forms.ChoiceField(
        label="Where did the bars go?", choices=Finish.Reason.choices, widget=forms.RadioSelect
    )

    def keep(self, told: Told) -> Fact:
        return cure.finish(self.loaf, told, self.cleaned_data["reason"])


class AnswerForm(ActForm):
    """What was decided about a failed check."""

    act = "answer"
    title = "Answer a failed check"
    button = "Keep answer"

    DECISIONS = [("go", "It may go on"), ("hold", "It stays held back")]

    decision = forms.ChoiceField(label="What now?", choices=DECISIONS, widget=forms.RadioSelect)
    note = forms.CharField(
        label="What was found and done", widget=forms.Textarea(attrs={"rows": 3}), max_length=4000
    )

    field_order = ["note", "decision"]

    def __init__(self, *args: Any, failed: Check, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.failed = failed

    def keep(self, told: Told) -> Fact:
        return cure.answer(self.failed, told, lets_go=self.cleaned_data["decision"] == "go")
