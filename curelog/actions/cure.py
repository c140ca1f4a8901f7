"""What is seen and done while the bars cure."""

from collections.abc import Mapping, Sequence
from typing import Any

from curelog.actions.keeping import Told, keep
from curelog.models import Answer, Bar, Check, Finish, Handling, Loaf, Note, Scale, Weighing


def number_bar(loaf: Loaf, number: int) -> Bar:
    """A test bar gets its number: its place in the loaf."""
    return Bar.objects.get_or_create(loaf=loaf, number=number)[0]


def weigh(
    loaf: Loaf,
    told: Told,
    bars: Sequence[Bar],
    weight_g: float,
    scale: Scale | None = None,
    questioned: str = "",
    sent_step_g: float = 0.0,
) -> Weighing:
    """One bar, or several together. `questioned`: what was asked about the weight before it was kept all the same.
    `sent_step_g`: how finely the scale sent it, when nobody read it off."""
    fact = Weighing(
        loaf=loaf,
        weight_g=weight_g,
        step_g=max(scale.step_g if scale else 1.0, sent_step_g),
        scale_name=scale.name if scale else "",
        questioned=questioned,
        **told.fields,
    )
    return keep(fact, "weigh", bars)


def handle(loaf: Loaf, told: Told, kind: str, bars: Sequence[Bar], loss_g: float | None = None) -> Handling:
    """Soap taken off by hand: `loss_g` of each of the bars, when it was weighed."""
    return keep(Handling(loaf=loaf, kind=kind, loss_g=loss_g, **told.fields), "handling", bars)


def check(
    loaf: Loaf, told: Told, kind: str, outcome: str, value: str = "", volumes: Mapping[str, Any] | None = None
) -> Check:
    """`volumes` of a titration: what its value was worked out from."""
    fact = Check(
        loaf=loaf, kind=kind, outcome=outcome, value=value, volumes=dict(volumes or {}), **told.fields
    )
    return keep(fact, "check")


def answer(failed: Check, told: Told, lets_go: bool) -> Answer:
    """What was decided about a failed check. Only an answer that lets the batch go ends its being held back."""
    return keep(Answer(loaf=failed.loaf, answers=failed, lets_go=lets_go, **told.fields), "check")


def note(loaf: Loaf, told: Told) -> Note:
    return keep(Note(loaf=loaf, **told.fields), "note")


def finish(loaf: Loaf, told: Told, reason: str) -> Finish:
    return keep(Finish(loaf=loaf, reason=reason, **told.fields), "finish")
