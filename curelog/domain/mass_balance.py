"""The sum of the bars against what was poured, said aloud."""

from dataclasses import dataclass

# Water lost before the cut, what sticks to pot and mould, crumbs: up to this share of the pour goes missing in a
# sound cut. Common practice, no source.
USUAL_LOSS = 0.06
# Scales and rounding: so much more than was poured is still the same soap.
USUAL_GAIN = 0.02


@dataclass(frozen=True, slots=True)
class MassBalance:
    """Masses in g. `missing_g` is negative when there is more soap than was poured."""

    poured_g: float
    found_g: float

    @property
    def missing_g(self) -> float:
        return self.poured_g - self.found_g

    @property
    def is_odd(self) -> bool:
        return not -USUAL_GAIN * self.poured_g <= self.missing_g <= USUAL_LOSS * self.poured_g


def balance(
    poured_g: float, count: int, weights_g: list[float], all_g: float | None, trimmings_g: float | None
) -> MassBalance | None:
    """From all bars weighed together, or from the mean of the test bars times their number."""
    if all_g is None:
        if not weights_g:
            return None
        all_g = count * sum(weights_g) / len(weights_g)
    return MassBalance(poured_g, all_g + (trimmings_g or 0.0))
