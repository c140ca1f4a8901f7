"""Points of a probability distribution, in the shape answers carry them."""

from dataclasses import asdict, dataclass


@dataclass(frozen=True, slots=True)
class Spread:
    """Three points of a distribution: one in ten lies below `p10`, half below `p50`, nine in ten below `p90`."""

    p10: float
    p50: float
    p90: float

    def as_dict(self) -> dict[str, float]:
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Quantiles:
    """Seven points of a distribution."""

    p05: float
    p10: float
    p25: float
    p50: float
    p75: float
    p90: float
    p95: float

    def as_dict(self) -> dict[str, float]:
        return asdict(self)
