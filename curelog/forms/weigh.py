"""The weigh form: one number for one bar or several, questioned in words when it looks wrong."""

from collections.abc import Callable, Sequence
from typing import Any

from django import forms

from curelog.actions import cure
from curelog.actions.keeping import Told
from curelog.domain.questioning import WeightContext, questions
from curelog.forms.base import QuestionedForm
from curelog.forms.cure import BarsForm
from curelog.forms.fields import MassField
from curelog.models import Bar, Fact, Scale


class WeighForm(QuestionedForm, BarsForm):
    act = "weigh"
    title = "Weigh"
    button = "Keep weight"

    weight_g = MassField(label="Weight", error_messages={"required": "What does the scale show?"})
    scale = forms.ModelChoiceField(label="Scale", queryset=Scale.objects.filter(is_retired=False), required=False)

    field_order = ["bars", "weight_g", "scale"]

    def __init__(self, *args: Any, known: Callable[[Sequence[Bar]], WeightContext], **kwargs: Any) -> None:
        """`known`: from the bars on the scale to what is known of them."""
        super().__init__(*args, **kwargs)
        self.known = known

    def clean(self) -> dict[str, Any]:
        return self.asked(super().clean() or self.cleaned_data)

    def ask(self, data: dict[str, Any]) -> tuple[str, tuple[str, ...]]:
        return "weight_g", questions(data["weight_g"], self.known(list(data["bars"])))

    def next_bar(self) -> Bar | None:
        """The bar after the one just weighed, until all of the loaf have had their turn."""
        weighed = self.cleaned_data["bars"]
        after = max(bar.number for bar in weighed)
        return Bar.objects.filter(loaf=self.loaf, number__gt=after).first() if len(weighed) == 1 else None

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        asked = " ".join(self.questions)[:300]
        return cure.weigh(self.loaf, told, list(data["bars"]), data["weight_g"], data["scale"], asked)
