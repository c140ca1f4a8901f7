"""The recipe form. It works the sums out from whatever is filled in so far; only keeping asks for all of it."""

import uuid
from typing import Any, cast

from django import forms
from django.http import QueryDict

from curelog import units
from curelog.actions.recipes import AdditiveShare, FatAmount, RecipeDraft
from curelog.domain.batch import Additive, Alkali, Batch, BatchError, FatPortion, Water
from curelog.domain.limits import Limited, over_limit
from curelog.domain.mixture import Mixture
from curelog.domain.pour_facts import SENSIBLE
from curelog.domain.recipe import HIGHEST_SUPERFAT, LOWEST_PURITY
from curelog.forms.fields import CountField, LengthField, MassField, NumberField, PercentField
from curelog.forms.ingredients import BY_PERCENT, AdditiveRow, FatRow, IngredientRows
from curelog.models import LimitOf, Mould, Recipe

NAOH, KOH, BOTH = "naoh", "koh", "both"
WATER_SCALE = {Recipe.WaterMode.LYE_CONCENTRATION: 100}  # typed in per cent, kept as a share
USUAL_DAYS = ", ".join(f"{kind.label.lower()} {days}" for kind, days in Recipe.LEAST_CURE_DAYS.items())
# Where the words of the sums about a part of the recipe are shown.
FIELD_OF = {
    "fats": "fat_1",
    "superfat": "superfat",
    "alkali": "alkali",
    "water": "water_value",
    "additives": "share_1",
}
BESIDE_THE_SUMS = {
    *("family", "name", "kind", "least_cure_days", "bar_thickness_mm", "settled_pct", "settled_days", "note"),
    *("mould", "wanted_g"),
}


def percent_between(low: float, high: float, what: str, **kwargs: Any) -> PercentField:
    # Doubled: Django fills its messages in by the % operator.
    words = f"{what} lies between {100 * low:g} %% and {100 * high:g} %%."
    errors = {"min_value": words, "max_value": words}
    return PercentField(min_value=100 * low, max_value=100 * high, error_messages=errors, **kwargs)


class RecipeForm(IngredientRows):
    family = forms.UUIDField(widget=forms.HiddenInput)
    name = forms.CharField(label="Name", max_length=80)
    kind = forms.ChoiceField(label="Kind", choices=Recipe.Kind.choices)
    fats_g = MassField(label="All fats together", required=False)
    superfat = percent_between(0, HIGHEST_SUPERFAT, "A superfat", label="Superfat")
    alkali = forms.ChoiceField(
        label="Alkali", choices=[(NAOH, "NaOH"), (KOH, "KOH"), (BOTH, "Both")], widget=forms.RadioSelect
    )
    naoh_share = percent_between(
        0,
        1,
        "The share of NaOH",
        label="Share of NaOH",
        help_text="With both: in per cent of moles.",
        required=False,
    )
    naoh_purity = percent_between(LOWEST_PURITY, 1, "A purity", label="NaOH purity")
    koh_purity = percent_between(LOWEST_PURITY, 1, "A purity", label="KOH purity")
    water_mode = forms.ChoiceField(label="Water by", choices=Recipe.WaterMode.choices)
    water_value = NumberField(label="Water", min_value=0)
    least_cure_days = CountField(label="Least cure days", max_value=1500, required=False)
    bar_thickness_mm = LengthField(label="Bar thickness")
    settled_pct = NumberField(label="Settled under a loss of", required=False, min_value=0.1, max_value=50)
    settled_days = CountField(label="within days", required=False, min_value=7, max_value=365)
    note = forms.CharField(
        label="Note", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 2})
    )
    mould = forms.ModelChoiceField(
        label="Mould", queryset=Mould.objects.filter(is_retired=False), required=False, empty_label="–"
    )
    wanted_g = MassField(label="Wanted batch mass", required=False)

    def __init__(self, *args: Any, recipe: Recipe | None = None, **kwargs: Any) -> None:
        initial = usual() | (initial_of(recipe, kwargs["workshop"].mass_unit) if recipe else {})
        super().__init__(*args, initial=initial | kwargs.pop("initial", {}), **kwargs)
        self.fields["settled_pct"].unit = "%"  # type: ignore[attr-defined]
        self.fields["least_cure_days"].help_text = f"Usual: {USUAL_DAYS}."
        self.mixture: Mixture | None = None
        self.sums: Batch | None = None
        self._fats: list[tuple[FatRow, float]] = []
        self._additives: list[AdditiveRow] = []
        self.limit_warnings: list[str] = []

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        rows = self.filled_fats(data)
        self._fats = list(zip(rows, self.masses_g(rows, data.get("fats_g")), strict=True))
        self._additives = self.filled_additives(data)
        if data.get("alkali") == BOTH and data.get("naoh_share") is None and "naoh_share" not in self.errors:
            self.add_error("naoh_share", "Which share of the moles is NaOH?")
        if bool(data.get("settled_pct")) != bool(data.get("settled_days")):
            self.add_error("settled_days", "A rule needs both: the loss and the days.")
        if not self.blocking:
            self._work_out(data)
        return data

    @property
    def has_additives(self) -> bool:
        return any(
            field.value() or field.errors for row in self.additive_rows() for field in (row[0], row[2])
        )

    @property
    def blocking(self) -> list[str]:
        """Fields whose errors keep the sums from being done."""
        return [name for name in self.errors if name not in BESIDE_THE_SUMS]

    def _work_out(self, data: dict[str, Any]) -> None:
        fats = [FatPortion(self.library.fat(row.choice), mass_g) for row, mass_g in self._fats]
        fats_g = sum(portion.mass_g for portion in fats)
        additives = [Additive(row.name, row.share * fats_g, row.water_share) for row in self._additives]
        alkali = Alkali(self.moles_of_naoh, 1 - self.moles_of_naoh, data["naoh_purity"], data["koh_purity"])
        self.mixture = Mixture(fats, data["superfat"], alkali, self.water, additives)
        try:
            self.sums = self.mixture.work_out()
        except BatchError as error:
            self.add_error(FIELD_OF.get(error.field, "fat_1"), f"{error.words[:1].upper()}{error.words[1:]}.")
            return
        lowest = SENSIBLE["lye_concentration"][0]
        if self.sums.lye_concentration < lowest:
            self.add_error("water_value", f"That is a lye of less than {lowest:.0%}. Is the number right?")
            self.sums = None
            return
        self._warn_of_limits(self.sums)

    def _warn_of_limits(self, sums: Batch) -> None:
        """Kept all the same: a limit is the supplier's word, and a trial may be meant."""
        limited = {
            row.number: Limited(
                row.name, row.share * sums.fats_g, row.limit_share, row.limit_of == LimitOf.FATS
            )
            for row in self._additives
            if row.limit_share is not None
        }
        for over in over_limit(list(limited.values()), sums.fats_g, sums.dry_g):
            row = next(number for number, part in limited.items() if part is over.part)
            self.fields[f"share_{row}"].warning = over.words  # type: ignore[attr-defined]
            self.limit_warnings.append(over.words)

    @property
    def moles_of_naoh(self) -> float:
        both = self.cleaned_data.get("naoh_share")
        return {NAOH: 1.0, KOH: 0.0}.get(self.cleaned_data["alkali"], both or 0.0)

    @property
    def water(self) -> Water:
        mode = self.cleaned_data["water_mode"]
        return Water(mode, self.cleaned_data["water_value"] / WATER_SCALE.get(mode, 1))

    @property
    def cure_days(self) -> int:
        usual_days = Recipe.LEAST_CURE_DAYS[Recipe.Kind(self.cleaned_data["kind"])]
        return self.cleaned_data["least_cure_days"] or usual_days

    def draft(self) -> RecipeDraft:
        """Of a valid form."""
        data = self.cleaned_data
        plain = (
            "name",
            "kind",
            "superfat",
            "naoh_purity",
            "koh_purity",
            "water_mode",
            "bar_thickness_mm",
            "note",
        )
        return RecipeDraft(
            **{name: data[name] for name in plain},
            naoh_share=self.moles_of_naoh,
            water_value=self.water.value,
            least_cure_days=self.cure_days,
            settled_pct=data["settled_pct"],
            settled_days=data["settled_days"],
            fats=tuple(self._fat_amount(row, mass_g) for row, mass_g in self._fats),
            additives=tuple(
                AdditiveShare(
                    row.name,
                    row.role,
                    row.share,
                    row.water_share,
                    row.limit_share,
                    row.limit_of,
                    row.allergens,
                )
                for row in self._additives
            ),
        )

    def _fat_amount(self, row: FatRow, mass_g: float) -> FatAmount:
        own_id = self.library.own_id(row.choice)
        return FatAmount("" if own_id else row.choice, own_id, mass_g)

    def scaled(self, fill_mould: bool) -> QueryDict | None:
        """What was typed, with the weights made to fill the mould or to give the wanted mass.

        None: what is missing is told beside its field.
        """
        wanted_g = self._wanted_g(fill_mould)
        if wanted_g is None or self.mixture is None or self.sums is None:
            return None
        factor = self.mixture.factor_to_mass(wanted_g)
        data = cast(QueryDict, self.data).copy()
        unit = self.workshop.mass_unit
        if self.cleaned_data["by"] == BY_PERCENT:
            data["fats_g"] = shown_mass(self.sums.fats_g * factor, unit)
        else:
            for row, mass_g in self._fats:
                data[f"amount_{row.number}"] = shown_mass(mass_g * factor, unit)
        return data

    def _wanted_g(self, fill_mould: bool) -> float | None:
        name = "mould" if fill_mould else "wanted_g"
        wanted = self.cleaned_data.get(name)
        if not wanted:
            if name not in self.errors:
                self.add_error(name, "Which mould?" if fill_mould else "How much should the batch weigh?")
            return None
        if not fill_mould:
            return float(wanted)
        return self.mixture.mass_for_volume(wanted.volume_ml).likely_g if self.mixture and self.sums else None


def shown_mass(mass_g: float, unit: str) -> str:
    """Finer than a kitchen scale, so that scaling and the edit form do not lose anything."""
    return units.plain(units.from_grams(mass_g, unit), MassField.digits[unit])


def usual() -> dict[str, Any]:
    """A new recipe. Lye concentration, superfat and bar thickness: common practice, no source."""
    return {
        "family": uuid.uuid4(),
        "kind": Recipe.Kind.MIXED,
        "superfat": 0.05,
        "alkali": NAOH,
        "naoh_purity": 1.0,
        "koh_purity": 0.9,
        "water_mode": Recipe.WaterMode.LYE_CONCENTRATION,
        "water_value": "33",
        "least_cure_days": Recipe.LEAST_CURE_DAYS[Recipe.Kind.MIXED],
        "bar_thickness_mm": 25.0,
        "mould": Mould.objects.filter(is_retired=False).first(),
    }


def initial_of(recipe: Recipe, unit: str) -> dict[str, Any]:
    names = (
        *("family", "name", "kind", "superfat", "naoh_purity", "koh_purity", "water_mode", "least_cure_days"),
        *("settled_pct", "settled_days", "bar_thickness_mm", "note"),
    )
    initial = {name: getattr(recipe, name) for name in names}
    initial["alkali"] = {1.0: NAOH, 0.0: KOH}.get(recipe.naoh_share, BOTH)
    initial["naoh_share"] = recipe.naoh_share if initial["alkali"] == BOTH else None
    initial["water_value"] = units.plain(
        recipe.water_value * WATER_SCALE.get(Recipe.WaterMode(recipe.water_mode), 1), 2
    )
    for row, part in enumerate(recipe.fats.all(), start=1):
        initial[f"fat_{row}"] = f"own:{part.own_id}" if part.own_id else part.key
        initial[f"amount_{row}"] = shown_mass(part.mass_g, unit)
    for row, extra in enumerate(recipe.additives.all(), start=1):
        initial |= {f"additive_{row}": extra.name, f"role_{row}": extra.role}
        initial |= {f"share_{row}": extra.share_of_fats, f"wet_{row}": extra.water_share or None}
        initial |= {f"limit_{row}": extra.limit_share, f"limit_of_{row}": extra.limit_of}
        initial[f"allergens_{row}"] = extra.allergens
    return initial
