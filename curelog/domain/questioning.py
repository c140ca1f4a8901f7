"""Is this weight believable? Questions in words, never a refusal: weather, hands and scales do odd things."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from curelog.domain.quantiles import Quantiles

GRAMS_PER_OUNCE = 28.3495
# A bar gains a little in a humid week; more than this share above the last weight is worth a question.
# Common practice, no source.
HUMID_GAIN = 0.01


@dataclass(frozen=True, slots=True)
class WeightContext:
    """What is known of the bars on the scale. `others_g`: last weights of the loaf's bars that are not on it."""

    last_g: float | None
    expected: Quantiles | None
    least_g: float | None
    others_g: Mapping[str, float]
    step_g: float = 1.0


def in_grams(weight_g: float) -> str:
    """To four figures, written out."""
    return f"{float(f'{weight_g:.4g}'):g} g"


def questions(
    weight_g: float, known: WeightContext, shown: Callable[[float], str] = in_grams
) -> tuple[str, ...]:
    """Why the weight wants a second look; empty when it does not. The likeliest slip comes first.

    `shown` writes a mass in the maker's unit.
    """
    if weight_g <= 0:
        return ("Nothing on the scale?",)
    if known.last_g is None:
        return ()
    slack_g = max(2 * known.step_g, HUMID_GAIN * known.last_g)
    low_g, high_g = _expected_range(known, slack_g)
    if low_g <= weight_g <= high_g:
        return ()
    asked = [*_unit(weight_g, low_g, high_g), *_other_bar(weight_g, known, slack_g)]
    if weight_g > known.last_g + slack_g:
        more = shown(weight_g - known.last_g)
        asked.append(f"That is {more} more than last time. Was the tray tared, is it this bar?")
    elif known.least_g is not None and weight_g < known.least_g:
        asked.append(
            "That is less than would be left if all its water were gone. Planed, chipped, or another bar?"
        )
    elif not asked:
        expected = f"{shown(low_g)} to {shown(high_g)}"
        asked.append(f"Expected was {expected}. Is it the right bar, and the scale at zero?")
    return tuple(asked)


def _expected_range(known: WeightContext, slack_g: float) -> tuple[float, float]:
    """The forecast's 90 % range widened by the scale's step; without a forecast anything a little above the last."""
    assert known.last_g is not None
    high_g = known.last_g + slack_g
    if known.expected is None:
        return max(known.least_g or 0.0, 0.6 * known.last_g), high_g
    low_g = known.expected.p05 - slack_g
    return (max(low_g, known.least_g) if known.least_g else low_g), max(high_g, known.expected.p95 + slack_g)


def _unit(weight_g: float, low_g: float, high_g: float) -> list[str]:
    if low_g <= weight_g * GRAMS_PER_OUNCE <= high_g:
        return ["Is the scale set to ounces?"]
    if low_g <= weight_g / GRAMS_PER_OUNCE <= high_g:
        return ["Is the scale set to grams?"]
    if any(low_g <= weight_g * factor <= high_g for factor in (0.1, 10.0)):
        return ["Is the decimal point in the right place?"]
    return []


def _other_bar(weight_g: float, known: WeightContext, slack_g: float) -> list[str]:
    near = [name for name, last_g in known.others_g.items() if -slack_g <= last_g - weight_g <= 3 * slack_g]
    return [f"That looks like bar {near[0]}."] if near else []
