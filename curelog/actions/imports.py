"""Many weights at once, from a file: the same facts as by one weighing after the other, in a fraction of the time."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from django.db import transaction

from curelog.actions.cure import number_bar
from curelog.actions.keeping import Told, misplaced
from curelog.models import Loaf, Scale, Weighing
from curelog.reminders.planning import replan


@dataclass(frozen=True)
class WeightTold:
    """One bar alone on the scale. Its key must be a new one."""

    loaf: Loaf
    bar: int
    told: Told
    weight_g: float


@transaction.atomic
def weigh_many(weights: Sequence[WeightTold], scale: Scale | None) -> None:
    """One after the other, a thousand would keep everybody else from writing for seconds."""
    by_loaf = sorted(weights, key=lambda weight: (weight.loaf.pk, weight.told.at))
    for _, told_of in groupby(by_loaf, key=lambda weight: weight.loaf.pk):
        weigh_loaf(list(told_of), scale)


def weigh_loaf(weights: list[WeightTold], scale: Scale | None) -> None:
    """Of one loaf, oldest first."""
    loaf = weights[0].loaf
    bars = {number: number_bar(loaf, number) for number in {weight.bar for weight in weights}}
    # Stages follow each other: where the first and the last weighing are in place, all between them are.
    ends = [misplaced(loaf, "weigh", weight.told.at) for weight in (weights[0], weights[-1])]
    facts = [
        Weighing(
            loaf=loaf,
            weight_g=weight.weight_g,
            step_g=scale.step_g if scale else 1.0,
            scale_name=scale.name if scale else "",
            misplaced=misplaced(loaf, "weigh", weight.told.at) if any(ends) else "",
            **weight.told.fields,
        )
        for weight in weights
    ]
    Weighing.objects.bulk_create(facts)
    link = Weighing.bars.through
    link.objects.bulk_create(
        link(weighing_id=fact.pk, bar_id=bars[weight.bar].pk)
        for fact, weight in zip(facts, weights, strict=True)
    )
    replan(loaf, weights[-1].told.at)
