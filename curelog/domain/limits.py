"""Suppliers' limits: how much of an additive there may be."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limited:
    """An additive of `mass_g` with the most its supplier allows, as a share of the finished soap or of the fats."""

    name: str
    mass_g: float
    limit_share: float
    is_of_fats: bool = False


@dataclass(frozen=True, slots=True)
class OverLimit:
    part: Limited
    share: float

    @property
    def words(self) -> str:
        of = "the fats" if self.part.is_of_fats else "the finished soap, counted without its water"
        return f"{self.part.name} is {self.share:.2%} of {of}. Its supplier's limit is {self.part.limit_share:.2%}."


def over_limit(parts: Sequence[Limited], fats_g: float, dry_g: float) -> Iterator[OverLimit]:
    """Those above their limit; `fats_g` all fats, `dry_g` the batch without any water.

    A bar dries for years, so its share of fragrance rises: the careful share is that of a bar with no water left.
    """
    for part in parts:
        share = part.mass_g / (fats_g if part.is_of_fats else dry_g)
        # A limit met exactly must not be exceeded by a rounding.
        if share > part.limit_share * (1 + 1e-9):
            yield OverLimit(part, share)
