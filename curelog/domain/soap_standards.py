"""Limits of published soap standards, for makers who sell under one. Each limit says whether it was seen."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

from curelog.domain.quantiles import Quantiles
from curelog.domain.tables import table_rows

Verdict = Literal["within", "perhaps", "outside"]


@dataclass(frozen=True, slots=True)
class Limit:
    """`low` and `high` in % by mass; None: no limit on that side."""

    quantity: str
    low: float | None
    high: float | None
    source: str
    seen: str

    def verdict(self, percent: Quantiles) -> Verdict:
        """Within if nine chances in ten lie inside, outside if nine in ten lie beyond."""
        if self._holds(percent.p10) and self._holds(percent.p90):
            return "within"
        return (
            "perhaps"
            if self._holds(percent.p50) or self._holds(percent.p10) != self._holds(percent.p90)
            else "outside"
        )

    def _holds(self, percent: float) -> bool:
        return (self.low is None or percent >= self.low) and (self.high is None or percent <= self.high)


@dataclass(frozen=True, slots=True)
class Standard:
    key: str
    name: str
    limits: tuple[Limit, ...]


@cache
def standards() -> Mapping[str, Standard]:
    rows: dict[str, list[dict[str, str]]] = {}
    for row in table_rows("soap_standards.csv"):
        rows.setdefault(row["key"], []).append(row)
    return {
        key: Standard(key, f"{told[0]['standard']}, {told[0]['subject']}", tuple(_limit(row) for row in told))
        for key, told in rows.items()
    }


def _limit(row: Mapping[str, str]) -> Limit:
    low, high = (float(row[end]) if row[end] else None for end in ("low", "high"))
    return Limit(row["quantity"], low, high, row["source"], row["seen"])
