"""The weigh form: one number for one bar or several, questioned in words when it looks wrong."""

from typing import Any

from django import forms
from django.utils import timezone

from curelog.actions import cure
from curelog.actions.keeping import Told
from curelog.domain.questioning import questions
from curelog.forms.base import QuestionedForm
from curelog.forms.cure import BarsField, BarsForm
from curelog.forms.fields import CountField, MassField
from curelog.models import Bar, Fact, Scale
from curelog.models.weighing import Known


class WeighForm(QuestionedForm, BarsForm):
    act = "weigh"
    title = "Weigh"
    button = "Keep weight"

    bars = BarsField(label="On the scale", required=False)
    new_bar = CountField(
        label="A test bar not numbered yet: its place in the loaf", required=False, max_value=500
    )
    weight_g = MassField(label="Weight", error_messages={"required": "What does the scale show?"})
    scale = forms.ModelChoiceField(
        label="Scale", queryset=Scale.objects.filter(is_retired=False), required=False
    )
    # A scale that sends its weights may send them more coarsely than it shows them.
    sent_step_g = forms.FloatField(required=False, min_value=0, max_value=1000, widget=forms.HiddenInput)

    def __init__(self, *args: Any, known: Known, **kwargs: Any) -> None:
        """`known`: from the bars on the scale and the moment to what is known of them."""
        super().__init__(*args, **kwargs)
        self.known = known

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "bars" in data and not data["bars"] and not data.get("new_bar"):
            self.add_error("bars", "Which bar is on the scale?")
        return self.asked(data)

    def ask(self, data: dict[str, Any]) -> tuple[str, tuple[str, ...]]:
        if data["new_bar"]:
            return "weight_g", ()
        at = data.get("happened_at") or timezone.now()
        return "weight_g", questions(data["weight_g"], self.known(list(data["bars"]), at), self.shown_mass)

    def next_bar(self) -> Bar | None:
        """The bar after the one just weighed, until all of the loaf have had their turn."""
        weighed = self.cleaned_data["bars"]
        if len(weighed) != 1:
            return None
        return Bar.objects.filter(loaf=self.loaf, number__gt=weighed[0].number).first()

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        bars = list(data["bars"])
        if data["new_bar"]:
            bars.append(cure.number_bar(self.loaf, data["new_bar"]))
        asked = " ".join(self.questions)[:300]
        scale, step_g = data["scale"], data["sent_step_g"] or 0.0
        return cure.weigh(self.loaf, told, bars, data["weight_g"], scale, asked, sent_step_g=step_g)
