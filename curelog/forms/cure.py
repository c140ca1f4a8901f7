"""Forms for the curing bars."""

from typing import Any

from django import forms

from curelog.actions import cure
from curelog.actions.keeping import Told
from curelog.forms.base import ActForm
from curelog.forms.fields import MassField
from curelog.models import Bar, Check, Fact, Finish, Handling


class BarsField(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]  # generic in the stubs only
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Bar.objects.none(), widget=forms.CheckboxSelectMultiple, **kwargs)

    def label_from_instance(self, bar: Bar) -> str:
        return str(bar.number)


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

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        return cure.check(self.loaf, told, data["kind"], data["outcome"], data["value"])


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
