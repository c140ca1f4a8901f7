"""The phone asks what the workshop would ask: static/js/questions.js against domain/questioning.py, asking.js
against the forms of cut, release and leaving, superfat.js against the pour's."""

import copy
import json
import random
import shutil
import subprocess
from pathlib import Path

import pytest
from django.utils import timezone

from curelog.actions import release
from curelog.domain.quantiles import Quantiles
from curelog.domain.questioning import WeightContext, questions
from curelog.forms.cut import CutForm
from curelog.forms.pour import PourForm
from curelog.forms.sale import LeavingForm, ReleaseForm
from curelog.models import Recipe
from curelog.models.record import Record
from curelog.units import from_grams
from tests import factories

pytestmark = pytest.mark.skipif(not shutil.which("node"), reason="no Node.js here")
ROOT = Path(__file__).resolve().parents[1]
IN_NODE = """
import { asked } from "./static/js/asking.js";
import { questions } from "./static/js/questions.js";
import { question as ofSuperfat, superfat } from "./static/js/superfat.js";
const cut = (pouredG, entry) => asked({ dataset: { pouredG } }, entry).all_bars_g?.[0] ?? "";
const about = (dataset, entry) => asked({ dataset }, entry);
const pour = (fats, alkalis, wanted) => ofSuperfat(superfat(fats, alkalis), wanted);
const cases = JSON.parse(await new Response(process.stdin).text());
console.log(JSON.stringify(cases.map((told) => ASKED(...told))));
"""


def on_the_phone(asked, cases):
    command = ["node", "--input-type=module", "--eval", IN_NODE.replace("ASKED", asked)]
    told = json.dumps(cases)
    done = subprocess.run(command, input=told, capture_output=True, text=True, cwd=ROOT, check=True)
    return json.loads(done.stdout)


def drawn(rng):
    """A bar near 120 g, known well or hardly, and a weight that is right, slipped, or anything."""
    last_g = rng.choice([None, rng.uniform(60, 200)])
    base_g = last_g or 120.0
    has_range, has_least = rng.random() < 0.7, rng.random() < 0.7
    low_g = base_g * rng.uniform(0.93, 0.99)
    known = WeightContext(
        last_g=last_g,
        expected=spread(low_g, base_g) if has_range else None,
        least_g=base_g * rng.uniform(0.7, 0.9) if has_least else None,
        others_g={name: base_g * rng.uniform(0.8, 1.2) for name in "58"[: rng.randrange(3)]},
        step_g=rng.choice([0.1, 1.0, 5.0]),
    )
    slip = rng.choice([1, 1, 1 / 28.3495, 28.3495, 0.1, 10, rng.uniform(0.3, 1.6), 0])
    return base_g * slip * rng.uniform(0.97, 1.02), known


def spread(low_g, high_g):
    middle_g = (low_g + high_g) / 2
    return Quantiles(low_g, low_g, middle_g, middle_g, middle_g, high_g, high_g)


def told_by_the_page(known):
    return {
        "lastG": known.last_g,
        "lowG": known.expected.p05 if known.expected else None,
        "highG": known.expected.p95 if known.expected else None,
        "leastG": known.least_g,
        "others": known.others_g,
        "stepG": known.step_g,
    }


def test_phone_and_server_ask_the_same_about_a_weight():
    rng = random.Random(26)
    cases = [drawn(rng) for _ in range(2000)]
    asked = [list(questions(weight_g, known)) for weight_g, known in cases]
    assert sum(map(bool, asked)) > 500
    told = [[weight_g, told_by_the_page(known)] for weight_g, known in cases]
    assert on_the_phone("questions", told) == asked


CUT = {
    "key": "7d0e4d1a-3c1b-4d6c-9d8a-0c5a4e6f2b10",
    "result": "clean",
    "tool": "wire",
    "bar_count": "10",
    "bar_1": "2",
}
CUT |= {"bar_length_mm": "80", "bar_width_mm": "60", "bar_thickness_mm": "25"}


def cut_form(record, workshop, rng):
    """Bars that come to about what was poured, or not."""
    workshop.mass_unit = rng.choice(["g", "oz"])
    bar_g = record.loaf.poured_g / 10 * rng.uniform(0.85, 1.1)
    typed = CUT | {"happened_at": timezone.now().isoformat(), "trimmings_g": rng.choice(["", "1"])}
    field, weight_g = rng.choice([("weight_1", bar_g), ("all_bars_g", 10 * bar_g), ("trimmings_g", bar_g)])
    typed[field] = f"{from_grams(weight_g, workshop.mass_unit):.2f}"
    form = CutForm(typed, workshop=copy.copy(workshop), record=record)
    assert not form.errors.keys() - {"all_bars_g"}, form.errors
    return form


def entry_of(form):
    units = {"mass": form.workshop.mass_unit}
    return [form.for_phone["poured-g"], {"act": "cut", "units": units, "fields": list(form.data.items())}]


def test_phone_and_server_ask_the_same_at_the_cut(workshop):
    rng = random.Random(4)
    record = Record(factories.make_loaf())
    forms = [cut_form(record, workshop, rng) for _ in range(200)]
    asked = [form.questions[0] if form.questions else "" for form in forms]
    assert 50 < sum(map(bool, asked)) < 150
    assert on_the_phone("cut", [entry_of(form) for form in forms]) == asked


def test_phone_and_server_ask_the_same_at_the_pot(workshop):
    rng = random.Random(5)
    recipe = Recipe.objects.get(pk=factories.make_recipe(superfat=0.05).pk)
    forms = [pour_form(recipe, workshop, rng) for _ in range(60)]
    asked = [form.questions[0] if form.questions else "" for form in forms]
    assert {words.partition(" ")[0] for words in asked} == {"", "That", "From"}
    assert on_the_phone("pour", [told_by_the_pour_form(form) for form in forms]) == asked


def pour_form(recipe, workshop, rng):
    naoh_g = recipe.sums.naoh_g * rng.uniform(0.93, 1.12)
    fats = {"fat_1": f"{700 * rng.uniform(0.97, 1.03):.1f}", "fat_2": "300"}
    typed = fats | {"naoh_g": f"{naoh_g:.1f}", "water_g": "300", "heat": "none", "number": "26-001"}
    form = PourForm(typed, workshop=workshop, recipe=recipe)
    form.is_valid()
    return form


def told_by_the_pour_form(form):
    def parts(kind, names):
        told = [(form.cleaned_data[name], form.fields[name].widget.attrs) for name in names]
        return [{"g": g, "molPerG": float(attrs[f"data-{kind}-mol-per-g"])} for g, attrs in told]

    return [parts("fat", ["fat_1", "fat_2"]), parts("alkali", ["naoh_g"]), form.recipe.superfat]


def leaving(record, workshop, bars):
    typed = {"key": CUT["key"], "happened_at": timezone.now().isoformat(), "kind": "sold", "bar_count": bars}
    return LeavingForm(typed, workshop=workshop, record=record)


def releasing(record, workshop, bars, early_why=""):
    typed = {"key": CUT["key"], "happened_at": timezone.now().isoformat(), "retained_count": "1"}
    return ReleaseForm(typed | {"bar_count": bars, "early_why": early_why}, workshop=workshop, record=record)


def told_by_the_page_of(form):
    """The form's data attributes as scripts read them, and what was typed."""
    dataset = {camel(name): str(value) for name, value in form.for_phone.items()}
    units = {"mass": form.workshop.mass_unit}
    return [dataset, {"act": form.act, "units": units, "corrects": "", "fields": list(form.data.items())}]


def camel(name):
    first, *others = name.split("-")
    return first + "".join(map(str.capitalize, others))


def test_phone_and_server_ask_the_same_when_bars_leave(workshop):
    loaf = factories.make_cut_loaf()
    record = Record(loaf)
    forms = [
        releasing(record, workshop, bars, why) for bars in ("8", "9", "10", "40") for why in ("", "A gift.")
    ]
    release.release(loaf, factories.told(24 * 60), release.Counts(9), release.Promise())
    forms += [leaving(Record(loaf), workshop, bars) for bars in ("1", "9", "10", "200")]
    asked = [{name: list(words) for name, words in form.errors.items()} for form in forms]
    assert {name for words in asked for name in words} == {"early_why", "bar_count"}
    assert {} in asked
    assert on_the_phone("about", [told_by_the_page_of(form) for form in forms]) == asked
