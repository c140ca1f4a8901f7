"""Makers' reports of cut times (tests/data/cut_times.csv) as questions: messy words read as far as they go."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt
from pathlib import Path

from curelog.domain.cutting import Gel, Heat, PourFacts
from curelog.domain.fats import Fat, UnknownFat, find

REPORTS = Path(__file__).parent.parent / "data" / "cut_times.csv"
OUTCOMES = {"too soft": "too_soft", "right": "right", "too hard": "too_hard"}  # `hard` is left out of scores
NAOH_ON_OILS = 0.14  # usual share, for water that is told as per cent of the oils
SALT_BAR = 0.5  # usual least share of salt on fats, where only "salt soap" is told
MIXED = {"olive": 0.4, "coconut": 0.25, "palm": 0.3, "castor": 0.05}  # where the recipe is not told
BY_FAMILY = {
    "high olive": {"olive": 0.75, "coconut": 0.2, "castor": 0.05},
    "lard/tallow": {"lard": 0.5, "coconut": 0.2, "olive": 0.3},
    "coconut": {"coconut": 0.6, "cocoa_butter": 0.15, "olive": 0.25},
    "salt": {"coconut": 0.8, "olive": 0.2},
}


@dataclass(frozen=True)
class Report:
    thread: str
    facts: PourFacts
    hours: float
    outcome: str
    is_observed: bool  # not a habit or advice


def _fats(told: str, family: str) -> tuple[tuple[Fat, float], ...]:
    """Fats with per cent; what is missing to 100 is filled up as the family's usual recipe is made."""
    shares: dict[str, float] = {}
    for name, per_cent in re.findall(r"([a-z][a-z ]*?) (\d+)", told):
        try:
            fat = find(name.strip())
        except UnknownFat:
            continue
        shares[fat.key] = shares.get(fat.key, 0.0) + int(per_cent) / 100
    rest = max(0.0, 1 - sum(shares.values()))
    for key, share in BY_FAMILY.get(family, MIXED).items():
        shares[key] = shares.get(key, 0.0) + rest * share
    total = sum(shares.values())
    return tuple((find(key), share / total) for key, share in shares.items() if share)


def _lye_concentration(told: str) -> float | None:
    if found := re.search(r"(\d+)% lye", told):
        return int(found[1]) / 100
    if found := re.search(r"water (\d+)(?:-(\d+))?% of oils", told):
        water = (int(found[1]) + int(found[2] or found[1])) / 200
        return NAOH_ON_OILS / (NAOH_ON_OILS + water)
    return None


def _gel(told: str) -> Gel | None:
    if told.startswith("no") and "full" not in told:
        return "none"
    if told.startswith(("partial", "not full")):
        return "partial"
    return "full" if told.startswith(("yes", "quick gel")) else None


def _heat(told: str, temperature: str) -> Heat | None:
    if "oven" in told + temperature:
        return "oven"
    return "insulated" if "insulated" in told or "warm" in told else None


def reports() -> Iterator[Report]:
    with REPORTS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["outcome"] not in OUTCOMES:
                continue
            low = float(row["h_low"])
            fats = _fats(row["fats_pct"], row["family"])
            facts = PourFacts(
                fats=fats,
                lye_concentration=_lye_concentration(row["water_or_lye_conc"]),
                salt_on_fats=SALT_BAR if row["family"] == "salt" else None,
                sodium_lactate_on_fats=0.02 if "lactate" in row["additives"] else None,
                gel=_gel(row["gel"]),
                heat=_heat(row["gel"], row["temperature"]),
            )
            hours = sqrt(low * float(row["h_high"] or low))
            yield Report(row["thread"], facts, hours, OUTCOMES[row["outcome"]], row["kind"] == "observed")
