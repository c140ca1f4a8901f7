"""Practice data of simulated drying, turned into questions for `estimate cure`.

A folder holds bars, readings, climate and truth as CSV, gzipped or not. A question knows what was known on its
day: the bar's own weighings, the room so far, and the bars of the workshop's earlier loaves up to that same day.
"""

import csv
import gzip
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

PRACTICE = Path(__file__).parents[1] / "data" / "cure_sim"
PAST_BARS_OF_A_LOAF = 2


def rows(folder: Path, name: str) -> Iterator[dict[str, str]]:
    plain = folder / f"{name}.csv"
    packed = folder / f"{name}.csv.gz"
    with plain.open() if plain.exists() else gzip.open(packed, "rt") as file:
        yield from csv.DictReader(file)


class Practice:
    def __init__(self, folder: Path = PRACTICE) -> None:
        self.bars = {row["bar_id"]: row for row in rows(folder, "bars")}
        self.truth = {row["bar_id"]: row for row in rows(folder, "truth")}
        self.readings: dict[str, list[dict[str, float]]] = defaultdict(list)
        self.gross: set[tuple[str, float]] = set()
        for row in rows(folder, "readings"):
            day = float(row["day"])
            self.readings[row["bar_id"]].append({"day": day, "weight_g": float(row["weight_g"])})
            if row["gross_error_kind"]:
                self.gross.add((row["bar_id"], day))
        self.climate: dict[str, list[dict[str, float]]] = defaultdict(list)
        for row in rows(folder, "climate"):
            self.climate[row["loaf"]].append(
                {"day": float(row["day"]), "rh": float(row["rh_percent"]), "temp_c": float(row["temp_c"])}
            )

    def question(self, bar_id: str, day: float, with_sisters: bool = False, foresight: bool = False) -> Any:
        """`foresight` tells the room's future too: what is then left of the error is not the weather's."""
        bar = self.bars[bar_id]
        seen = 1e9 if foresight else day
        sisters = [row for row in self.bars.values() if row["loaf"] == bar["loaf"] and row is not bar]
        return self._told(bar, day) | {
            "bar_id": bar_id,
            "info_day": day,
            "climate": [row for row in self.climate[bar["loaf"]] if row["day"] <= seen],
            "sisters": [self._told(sister, day) for sister in sisters] if with_sisters else [],
            "history": list(self._history(bar, day)),
            "rule": {"kind": "trail", "pct": 4.0, "days": 28},
        }

    def _told(self, bar: dict[str, str], day: float) -> dict[str, Any]:
        sides = ("length_mm", "width_mm", "thickness_mm")
        return {
            "bar_id": bar["bar_id"],
            "recipe": {
                "water_frac": float(bar["water_frac"]),
                "oil": bar["oil"],
                "superfat": float(bar["superfat"]),
                "gel": bar["gel"] == "1",
                "days_pour_to_cut": float(bar["days_pour_to_cut"]),
            },
            "dims_mm": [float(bar[side]) for side in sides],
            "resolution_g": float(bar["scale_resolution_g"]),
            "readings": [row for row in self.readings[bar["bar_id"]] if row["day"] <= day],
        }

    def _history(self, bar: dict[str, str], day: float) -> Iterator[dict[str, Any]]:
        taken: dict[str, int] = defaultdict(int)
        for other in self.bars.values():
            earlier = float(bar["start_day"]) - float(other["start_day"])
            if other["workshop"] != bar["workshop"] or earlier <= 0:
                continue
            taken[other["loaf"]] += 1
            if taken[other["loaf"]] <= PAST_BARS_OF_A_LOAF:
                known = [row for row in self.climate[other["loaf"]] if row["day"] <= day + earlier]
                mean = {key: sum(row[key] for row in known) / len(known) for key in ("rh", "temp_c") if known}
                yield self._told(other, day + earlier) | {"loaf": other["loaf"], "climate_mean": mean or None}
