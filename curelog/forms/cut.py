"""The cut form: how it felt, how many bars of which size, and the first weights of the test bars."""

from typing import Any

from django import forms

from curelog import safety
from curelog.actions.cut import CutBars, cut
from curelog.actions.keeping import Told
from curelog.domain.mass_balance import MassBalance, balance
from curelog.forms.base import QuestionedForm
from curelog.forms.fields import CountField, LengthField, MassField
from curelog.models import Cut, Fact, Scale

ROWS = range(1, 7)


class CutForm(QuestionedForm):
    act = "cut"
    title = "Cut"
    button = "Keep cut"
    cautions = safety.BLADES

    result = forms.ChoiceField(label="How did it cut?", choices=Cut.Result.choices, widget=forms.RadioSelect)
    signs = forms.MultipleChoiceField(
        label="Seen at the cut", choices=Cut.Sign.choices, widget=forms.CheckboxSelectMultiple, required=False
    )
    tool = forms.ChoiceField(label="Cut with", choices=Cut.Tool.choices, widget=forms.RadioSelect)
    bar_count = CountField(label="Number of bars", max_value=500)
    bar_length_mm = LengthField(label="Bar length")
    bar_width_mm = LengthField(label="Bar width")
    bar_thickness_mm = LengthField(label="Bar thickness")
    scale = forms.ModelChoiceField(
        label="Scale", queryset=Scale.objects.filter(is_retired=False), required=False
    )
    all_bars_g = MassField(label="All bars together", required=False)
    trimmings_g = MassField(label="Trimmings", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for row in ROWS:
            self.add_field(f"bar_{row}", CountField(label="Bar", max_value=500, required=False))
            self.add_field(f"weight_{row}", MassField(label="Weight", required=False))
        for field_name, value in self._usual().items():
            self.initial.setdefault(field_name, value)
        self.balance: MassBalance | None = None

    def test_bars(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """The rows of the form: a bar's number and its weight."""
        return [(self[f"bar_{row}"], self[f"weight_{row}"]) for row in ROWS]

    def _usual(self) -> dict[str, Any]:
        """From the mould: what a loaf of this length gives, and test bars spread along it."""
        loaf, thickness_mm = self.loaf, self.loaf.batch.bar_thickness_mm
        usual: dict[str, Any] = {
            "tool": Cut.Tool.WIRE,
            "bar_thickness_mm": thickness_mm,
            "scale": Scale.objects.filter(is_retired=False).first(),
        }
        if loaf.length_mm and loaf.width_mm and loaf.height_mm:
            count = max(1, int(loaf.length_mm // thickness_mm))
            usual |= {"bar_count": count, "bar_length_mm": loaf.width_mm, "bar_width_mm": loaf.height_mm}
            places = sorted({min(2, count), (count + 1) // 2, max(1, count - 1)})
            usual |= {f"bar_{row}": place for row, place in enumerate(places, start=1)}
        return usual

    def weights_g(self) -> dict[int, float]:
        """Bar number to weight, of the rows that were filled in."""
        data = self.cleaned_data
        rows = ((data.get(f"bar_{row}"), data.get(f"weight_{row}")) for row in ROWS)
        return {number: weight_g for number, weight_g in rows if number and weight_g is not None}

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        numbers = []
        for row in ROWS:
            number, weight_g = data.get(f"bar_{row}"), data.get(f"weight_{row}")
            if weight_g is not None and not number:
                self.add_error(f"bar_{row}", "Which bar is this?")
            if weight_g is not None and number in numbers:
                self.add_error(f"bar_{row}", f"Bar {number} stands here twice.")
            if number and data.get("bar_count") and number > data["bar_count"]:
                self.add_error(f"bar_{row}", f"There are only {data['bar_count']} bars.")
            numbers.append(number)
        return self.asked(data)

    def ask(self, data: dict[str, Any]) -> tuple[str, tuple[str, ...]]:
        if not data.get("bar_count"):
            return "all_bars_g", ()
        weights_g = list(self.weights_g().values())
        self.balance = balance(
            self.loaf.poured_g, data["bar_count"], weights_g, data.get("all_bars_g"), data.get("trimmings_g")
        )
        if not self.balance or not self.balance.is_odd:
            return "all_bars_g", ()
        return "all_bars_g", (f"{self.balance_words} Is a bar or a mould missing, or a weight mistyped?",)

    @property
    def for_phone(self) -> dict[str, float | str]:
        return {"poured-g": self.loaf.poured_g}

    @property
    def balance_words(self) -> str:
        """ "12 g are missing of 1480 g poured." Empty when nothing was weighed."""
        if not self.balance:
            return ""
        missing, poured = self.shown_mass(abs(self.balance.missing_g)), self.shown_mass(self.balance.poured_g)
        if self.balance.missing_g < 0:
            return f"The bars come to {missing} more than the {poured} poured."
        return f"{missing} are missing of {poured} poured."

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        bars = CutBars(
            data["bar_count"],
            data["bar_length_mm"],
            data["bar_width_mm"],
            data["bar_thickness_mm"],
            data["all_bars_g"],
            data["trimmings_g"],
        )
        return cut(
            self.loaf,
            told,
            data["result"],
            bars,
            data["signs"],
            data["tool"],
            self.weights_g(),
            data["scale"],
        )
