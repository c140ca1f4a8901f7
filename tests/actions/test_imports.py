from dataclasses import replace
from uuid import uuid4

import pytest

from curelog.actions import cure
from curelog.actions.imports import WeightTold, weigh_many
from curelog.actions.keeping import NOT_COMPARED
from curelog.models import Finish, Loaf, Scale, ToReplan, Weighing
from tests.factories import make_cut_loaf, make_loaf, told

pytestmark = pytest.mark.django_db


def facts() -> list[tuple[object, ...]]:
    names = [f.attname for f in Weighing._meta.concrete_fields if f.name not in NOT_COMPARED - {"misplaced"}]
    rows = Weighing.objects.order_by("loaf_id", "happened_at", "weight_g").prefetch_related("bars")
    return [
        (*(getattr(row, name) for name in names), *(bar.number for bar in row.bars.all())) for row in rows
    ]


def weights(loaves: list[Loaf]) -> list[WeightTold]:
    """Before the cut, during the cure and after the end; in no order."""
    hours = [24 * 30, 10, 24 * 3, 24 * 80, 24 * 14]
    return [
        WeightTold(loaf, 2 + n % 3, told(at, note=f"row {n}"), 140.0 - n)
        for loaf in loaves
        for n, at in enumerate(hours)
    ]


def test_many_at_once_are_the_same_facts_as_one_after_the_other() -> None:
    loaves = [make_cut_loaf(number="26-001"), make_cut_loaf(number="26-002"), make_loaf(number="26-003")]
    cure.finish(loaves[1], told(24 * 60), Finish.Reason.GONE)
    scale = Scale.objects.create(name="Letter scale", step_g=0.1)
    wanted = weights(loaves)
    weigh_many(wanted, scale)
    at_once = facts()
    Weighing.objects.filter(note__startswith="row").delete()
    for weight in wanted:
        bar = cure.number_bar(weight.loaf, weight.bar)
        cure.weigh(weight.loaf, replace(weight.told, key=uuid4()), [bar], weight.weight_g, scale)
    assert at_once == facts()
    assert len({fact for fact in at_once if "then." in str(fact)}) >= 3


def test_every_loaf_is_planned_anew_once() -> None:
    loaves = [make_cut_loaf(number="26-001"), make_cut_loaf(number="26-002")]
    ToReplan.objects.all().delete()
    weigh_many(weights(loaves), None)
    assert set(ToReplan.objects.values_list("loaf", flat=True)) == {loaf.pk for loaf in loaves}
