"""What a batch's ingredients cost, by the prices of their lots."""

from collections.abc import Iterable
from dataclasses import dataclass

from curelog.models.lots import DEEPEST, Lot
from curelog.models.sources import Source


@dataclass(frozen=True)
class Cost:
    """In the workshop's currency. `unpriced` are ingredients without a lot that has a price."""

    total: float
    unpriced: tuple[str, ...]
    bars: int | None

    @property
    def per_bar(self) -> float | None:
        return self.total / self.bars if self.bars else None


def cost_of(sources: Iterable[Source], bars: int | None) -> Cost | None:
    """Of what went into the pot itself; None when nothing of it has a price."""
    pot = [
        (source, price_per_g(source.lot) if source.lot else None) for source in sources if source.depth == 0
    ]
    if all(price is None for _, price in pot):
        return None
    total = sum(source.mass_g * price for source, price in pot if price is not None)
    return Cost(total, tuple(source.name for source, price in pot if price is None), bars)


def price_per_g(lot: Lot, depth: int = 0) -> float | None:
    """Its own price, or for what was made here that of its parts. Soap of a batch was paid for with that batch."""
    if lot.price is not None:
        return lot.price / lot.received_g
    if not lot.is_made_here or depth > DEEPEST:
        return None
    parts = [
        (part.mass_g, price_per_g(part.source, depth + 1) if part.source else 0.0) for part in lot.parts.all()
    ]
    if not parts or any(price is None for _, price in parts):
        return None
    return sum(mass_g * (price or 0.0) for mass_g, price in parts) / lot.received_g
