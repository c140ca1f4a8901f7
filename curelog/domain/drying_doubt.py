"""Words for a weighing that does not fit: what may have happened, so that the maker can look again."""

from collections.abc import Mapping

from .drying_facts import Doubtful

# A slip of the decimal point, or a figure typed twice.
SLIPPED = ((8.0, 12.5), (0.08, 0.125))
# Nothing a bar does in a room adds this much.
TRAY_FROM = 1.12
SAME_WITHIN = 0.012


def doubtful(
    bar_id: str, day: float, weight_g: float, likely_g: float, others_g: Mapping[str, float]
) -> Doubtful:
    """`likely_g`: what was to be expected; `others_g`: the same of the loaf's other bars."""
    return Doubtful(bar_id, day, weight_g, likely_g, _question(weight_g, likely_g, others_g))


def _question(weight_g: float, likely_g: float, others_g: Mapping[str, float]) -> str:
    ratio = weight_g / likely_g
    if any(low < ratio < high for low, high in SLIPPED):
        return "was a figure or the point mistyped?"
    for name, other_g in others_g.items():
        if abs(weight_g / other_g - 1.0) < SAME_WITHIN < abs(ratio - 1.0):
            return f"was it bar {name}?"
    if ratio > TRAY_FROM:
        return "was the tray tared?"
    return "was it another bar, or was it planed?"
