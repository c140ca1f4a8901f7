"""Forms for the loaf in one piece."""

from django import forms

from curelog import safety
from curelog.actions import mould
from curelog.actions.keeping import Told
from curelog.forms.base import ActForm
from curelog.models import Fact, Feel, Gel


class FirmnessForm(ActForm):
    act = "firmness"
    title = "Finger check"
    button = "Keep finger check"
    cautions = safety.FRESH

    feel = forms.ChoiceField(
        label="How does it feel under the finger?", choices=Feel.choices, widget=forms.RadioSelect
    )

    def keep(self, told: Told) -> Fact:
        return mould.check_firmness(self.loaf, told, self.cleaned_data["feel"])


class GelForm(ActForm):
    act = "gel"
    title = "Gel seen"
    button = "Keep what was seen"

    extent = forms.ChoiceField(label="How far did the gel go?", choices=Gel.choices, widget=forms.RadioSelect)

    def keep(self, told: Told) -> Fact:
        return mould.see_gel(self.loaf, told, self.cleaned_data["extent"])


class UnmouldForm(ActForm):
    """The buttons are the finger's answers themselves: one tap unmoulds."""

    act = "unmould"
    title = "Unmould"
    button = "Unmoulded"
    cautions = safety.FRESH

    feel = forms.ChoiceField(
        label="How does it feel under the finger?",
        choices=Feel.choices,
        widget=forms.RadioSelect,
        required=False,
    )

    def keep(self, told: Told) -> Fact:
        return mould.unmould(self.loaf, told, self.cleaned_data["feel"])
