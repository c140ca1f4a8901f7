"""Forms on the way to sale: which net weight, released as what, and where the bars went."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.db.models import Q
from django.utils import timezone

from curelog import safety, wording
from curelog.actions import release
from curelog.actions.keeping import Told
from curelog.actions.place import add_place
from curelog.domain.lifecycle import Stage
from curelog.domain.net_rules import RULE_CHOICES
from curelog.forms.base import QuestionedForm, WorkshopForm
from curelog.forms.fields import CountField, DayField, MassField, PercentField
from curelog.models import Fact, Leaving, Place, Release
from curelog.models.outlook import Outlook, outlook
from curelog.models.promise import NoPromise, Promise, Wish, promise
from curelog.models.stock import bars_to_release, stock_of

MOST_BARS = 500


class WeightsField(forms.CharField):
    """Weights of single bars, with anything but a digit or a decimal mark between them. Cleans to g."""

    def __init__(self, label: str) -> None:
        super().__init__(label=label, required=False, widget=forms.Textarea(attrs={"rows": 3}))
        self.mass = MassField(min_value=0.1, max_value=100_000)

    def clean(self, value: Any) -> tuple[float, ...]:
        words = str(value or "").replace(";", " ").split()
        if len(words) > MOST_BARS:
            raise forms.ValidationError(f"At most {MOST_BARS} bars.")
        try:
            return tuple(float(self.mass.clean(word) or 0) for word in words)
        except forms.ValidationError as error:
            raise forms.ValidationError("Only weights, with a space between them: 108 110,5 112.") from error

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, list | tuple):
            return " ".join(str(self.mass.prepare_value(weight_g)) for weight_g in value)
        return value


def usual_wish(seen: Outlook) -> dict[str, Any]:
    """What the release and net weight forms suggest: one bar stays behind as the retained sample.

    A promise once given goes on for all that were released, not for the few that are still here.
    """
    stock, bars = stock_of(seen.record), bars_to_release(seen.record)
    for_sale = stock.release.bar_count if stock else max(1, bars - 1) if bars else None
    today = seen.workshop.local(seen.now).date()
    return {
        "rule": seen.workshop.net_rule,
        "hold_until": today + timedelta(days=seen.workshop.sell_within_days),
        "bar_count": for_sale,
    }


class WishFields(WorkshopForm):
    """What is to be promised, asked by both forms."""

    bar_count = CountField(label="Bars for sale", max_value=MOST_BARS)
    rule = forms.ChoiceField(label="Rule", choices=RULE_CHOICES, widget=forms.RadioSelect)
    hold_until = DayField(label="Hold until")
    weights_g = WeightsField("Each bar, if you weighed all of them now")

    def measure(self, field: forms.Field) -> None:
        super().measure(field.mass if isinstance(field, WeightsField) else field)

    def wish(self) -> Wish:
        data = self.cleaned_data
        return Wish(
            rule=data["rule"],
            hold_until=data["hold_until"],
            bar_count=data["bar_count"],
            weights_g=data["weights_g"],
            spread_share=data.get("spread_share"),
        )


class NetWeightForm(WishFields):
    """Nothing is kept: the address of the page holds what was asked."""

    spread_share = PercentField(label="Spread of your cutting", required=False, min_value=0.1, max_value=30)
    wanted_g = MassField(label="Wanted on the label", required=False, min_value=5, max_value=2000)

    def __init__(self, *args: Any, seen: Outlook, **kwargs: Any) -> None:
        super().__init__(*args, workshop=seen.workshop, **kwargs)
        self.seen = seen

    def clean_hold_until(self) -> date:
        day: date = self.cleaned_data["hold_until"]
        if day < self.seen.workshop.local(self.seen.now).date():
            raise forms.ValidationError("This day is over.")
        return day


class ReleaseForm(WishFields, QuestionedForm):
    act = "release"
    title = "Release"
    button = "Release for sale"
    cautions = safety.SELLING

    retained_count = CountField(label="Kept back as samples", min_value=0, max_value=MOST_BARS)
    sample_place = forms.ModelChoiceField(
        label="Their place", queryset=Place.objects.none(), required=False, empty_label="Not noted"
    )
    retained_place = forms.CharField(
        label="Or a place that is not in the list", required=False, max_length=80
    )
    declared_g = MassField(label="Net weight for the label", required=False, min_value=1, max_value=100_000)
    rule = forms.ChoiceField(label="Rule", choices=RULE_CHOICES, widget=forms.RadioSelect, required=False)
    hold_until = DayField(label="It holds until", required=False)
    early_why = forms.CharField(label="Why before it is ready", required=False, max_length=200)

    field_order = [
        "bar_count",
        "retained_count",
        "sample_place",
        "retained_place",
        "early_why",
        "declared_g",
        "rule",
        "hold_until",
    ]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.seen = outlook(self.loaf, self.workshop, timezone.now())
        self.promised: Promise | NoPromise | None = None
        places = self.fields["sample_place"]
        assert isinstance(places, forms.ModelChoiceField)
        known = self.corrects.sample_place_id if isinstance(self.corrects, Release) else None
        places.queryset = Place.objects.filter(Q(is_retired=False) | Q(pk=known))
        for name, value in ({"retained_count": 1} | usual_wish(self.seen)).items():
            self.initial.setdefault(name, value)

    @property
    def for_phone(self) -> dict[str, float | str]:
        """How long the bars bear what is promised takes a forecast: that is asked by the workshop alone."""
        bars = bars_to_release(self.record)
        return {"why-not-ready": self.why_not_ready()} | ({} if bars is None else {"bars": bars})

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not self.corrects and not data.get("early_why"):
            why = self.why_not_ready()
            # A phone sends what was decided in the curing room: there is nobody to ask any more.
            if why and data.get("kept_anyway"):
                data["early_why"] = f"Not said. {why}"[:200]
            elif why:
                self.add_error("early_why", f"{why} Say why it goes all the same.")
        if data.get("declared_g") and not (data.get("rule") and data.get("hold_until")):
            self.add_error("declared_g", "Under which rule, and until when?")
        return self.asked(data)

    def why_not_ready(self) -> str:
        standing = self.seen.standing
        if standing.is_held_back:
            return "A failed check is open: it must not be used or sold before that is answered."
        if standing.stage in (Stage.READY, Stage.RELEASED):
            return ""
        return f"It is not ready yet ({standing.stage.words.lower()})."

    def ask(self, data: dict[str, Any]) -> tuple[str, tuple[str, ...]]:
        bars = bars_to_release(self.record)
        if bars is not None and data["bar_count"] + data["retained_count"] > bars:
            return "bar_count", (
                f"With the samples these are more than the {bars} bars of the cut. Counted right?",
            )
        if data.get("declared_g"):
            self.promised = promise(self.seen, self.wish())
        if isinstance(self.promised, Promise) and data["declared_g"] > self.promised.held.declare_g + 1e-6:
            most = self.shown_mass(self.promised.held.declare_g)
            return "declared_g", (
                f"By the forecast the bars bear {most} until then. Promise more all the same?",
            )
        return "bar_count", ()

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        counts = release.Counts(
            data["bar_count"], data["retained_count"], self.where_samples_lie(), data["weights_g"]
        )
        promised = release.Promise()
        if data["declared_g"]:
            basis = wording.promise_basis(self.promised)
            promised = release.Promise(data["declared_g"], data["rule"], data["hold_until"], basis)
        return release.release(
            self.loaf, told, counts, promised, data["early_why"], " ".join(self.questions)[:300]
        )

    def where_samples_lie(self) -> Place | None:
        known: Place | None = self.cleaned_data["sample_place"]
        new: str = self.cleaned_data["retained_place"]
        return add_place(new) if new else known


class LeavingForm(QuestionedForm):
    act = "leave"
    title = "Bars gone"
    button = "Keep"

    kind = forms.ChoiceField(label="Which way?", choices=Leaving.Kind.choices, widget=forms.RadioSelect)
    bar_count = CountField(label="How many bars?", max_value=MOST_BARS)
    to_whom = forms.CharField(
        label="To whom", required=False, max_length=80, help_text="A market, a shop, the name of a day."
    )

    field_order = ["bar_count", "kind", "to_whom"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"initial": {"kind": Leaving.Kind.SOLD}} | kwargs)

    def clean(self) -> dict[str, Any]:
        return self.asked(super().clean() or self.cleaned_data)

    @property
    def here(self) -> int | None:
        """Bars left by the book, before this."""
        stock = stock_of(self.record)
        corrected = self.corrects.bar_count if isinstance(self.corrects, Leaving) else 0
        return stock.here + corrected if stock else None

    @property
    def for_phone(self) -> dict[str, float | str]:
        return {} if self.here is None else {"here": self.here}

    def ask(self, data: dict[str, Any]) -> tuple[str, tuple[str, ...]]:
        here = self.here
        if here is None or data["bar_count"] <= here:
            return "bar_count", ()
        return "bar_count", (f"By the book {max(here, 0)} are left. Counted right?",)

    def keep(self, told: Told) -> Fact:
        data = self.cleaned_data
        return release.leave(
            self.loaf, told, data["kind"], data["bar_count"], data["to_whom"], " ".join(self.questions)[:300]
        )
