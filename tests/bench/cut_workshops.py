"""Invented workshops for the bench of the cut window: three kinds of soap, none made the way the model thinks.

`kinetic` integrates reaction and setting over the loaf's temperature course; `additive` adds hours up, which the
model multiplies; `power` lets hardness grow as a power of time and treats short saturated chains, long ones and
polyunsaturated acids apart. All numbers are invented; they are spread round trade practice, not round the model.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from curelog.domain.fats import find

Facts = dict[str, object]
RECIPES: Mapping[str, tuple[float, dict[str, float]]] = {  # name: (how often, fats)
    "balanced": (4, {"olive": 0.4, "palm": 0.3, "coconut": 0.25, "castor": 0.05}),
    "lard": (2, {"lard": 0.7, "coconut": 0.2, "olive": 0.1}),
    "lard_only": (1, {"lard": 1.0}),
    "hard": (2, {"coconut": 0.35, "cocoa_butter": 0.2, "tallow": 0.3, "olive": 0.15}),
    "soft": (2, {"olive": 0.7, "coconut": 0.2, "sunflower": 0.1}),
    "olive_only": (1, {"olive": 1.0}),
    "coconut_only": (1, {"coconut": 1.0}),
    "salt_bar": (1, {"coconut": 0.8, "shea": 0.1, "castor": 0.1}),
}


@dataclass
class Person:
    """What one maker brings: pace (factor on hours), finger and wire (factors on thresholds), habits."""

    rng: np.random.Generator
    kind: str
    pace: float = field(init=False)
    wire: float = field(init=False)
    finger: float = field(init=False)
    straying: float = field(init=False)

    def __post_init__(self) -> None:
        rng = self.rng
        self.pace = math.exp(0.35 * rng.standard_t(5) + rng.choice([-0.2, 0.0, 0.2]))
        self.wire = math.exp(0.25 * rng.standard_normal())
        self.finger = math.exp(0.2 * rng.standard_normal())
        self.straying = rng.uniform(0.08, 0.35)
        self.room_c = rng.uniform(14, 28)
        self.lye = rng.choice([0.27, 0.30, 0.33, 0.36, 0.40])
        self.heat = rng.choice(["none", "insulated", "oven"])
        self.tells_gel, self.tells_room = rng.random(2) < (0.7, 0.6)
        names, often = zip(*((name, weight) for name, (weight, _) in RECIPES.items()), strict=True)
        shares = np.array(often) / sum(often)
        self.recipes = rng.choice(names, size=rng.integers(1, 4), replace=False, p=shares)
        self.usual_hours = rng.choice([12, 16, 20, 24, 24, 36, 48])
        self.goes_by_clock = rng.random() < 0.4

    def pour(self) -> Facts:
        rng = self.rng
        recipe = str(rng.choice(self.recipes))
        gelled = {"none": 0.25, "insulated": 0.7, "oven": 0.95}[self.heat]
        gel = rng.choice(["full", "partial", "none"], p=[0.8 * gelled, 0.2 * gelled, 1 - gelled])
        return {
            "fats": RECIPES[recipe][1],
            "lye_concentration": round(
                float(np.clip(self.lye + 0.01 * rng.standard_normal(), 0.25, 0.45)), 3
            ),
            "superfat": float(rng.choice([0.03, 0.05, 0.08])),
            "salt_on_fats": float(rng.choice([0.5, 0.8])) if recipe == "salt_bar" else None,
            "sodium_lactate_on_fats": float(rng.choice([0.0, 0.0, 0.02])),
            "gel": str(gel),
            "heat": str(self.heat),
            "room_c": float(self.room_c + 2 * rng.standard_normal()),
            "loaf_g": float(rng.uniform(500, 2500)),
        }

    def window(self, facts: Facts) -> tuple[float, float]:
        opens, closes = KINDS[self.kind](facts, self)
        stray = math.exp(self.straying * self.rng.standard_normal())
        return opens * self.pace * stray, closes * self.pace * stray

    def told(self, facts: Facts) -> Facts:
        """What this maker writes down of a pour."""
        return {
            key: value
            for key, value in facts.items()
            if not (key == "gel" and not self.tells_gel) and not (key == "room_c" and not self.tells_room)
        }

    def cut_hours(self, opens: float, closes: float) -> float:
        """By the clock, or by a finger that aims into the window and misses at times."""
        if self.goes_by_clock and closes > 6:
            return float(self.usual_hours * math.exp(0.1 * self.rng.standard_normal()))
        return float(opens * (closes / opens) ** self.rng.uniform(-0.4, 1.2))

    def feel(self, hours: float, opens: float, closes: float) -> str:
        felt = hours / self.finger * math.exp(0.12 * self.rng.standard_normal())
        if felt < 0.65 * opens:
            return "sticky"
        if felt < opens:
            return "dents"
        return "firm" if felt < 0.9 * closes else "hard"


def acids(facts: Facts) -> dict[str, float]:
    total: dict[str, float] = {}
    for name, share in facts["fats"].items():  # type: ignore[attr-defined]
        for acid, part in find(name).fatty_acids.items():
            total[acid] = total.get(acid, 0.0) + share * part
    return total


def groups(facts: Facts) -> tuple[float, float, float]:
    """Short saturated (to myristic), long saturated, polyunsaturated."""
    total = acids(facts)
    short = sum(total.get(a, 0.0) for a in ("caprylic", "capric", "lauric", "myristic"))
    long = sum(total.get(a, 0.0) for a in ("palmitic", "stearic", "arachidic", "behenic"))
    return short, long, total.get("linoleic", 0.0) + total.get("linolenic", 0.0)


def kinetic(facts: Facts, person: Person) -> tuple[float, float]:
    """Autocatalytic saponification at the loaf's temperature, then setting; the wire meets two hardnesses."""
    short, long, poly = groups(facts)
    hours = np.geomspace(0.05, 4000, 700)
    heat = {"none": 8.0, "partial": 30.0, "full": 48.0}[str(facts["gel"])]
    mass = float(facts["loaf_g"]) / 1000  # type: ignore[arg-type]
    course = facts["room_c"] + heat * np.exp(-hours / (4 * mass**0.4)) * (1 - np.exp(-hours))
    if facts["heat"] == "oven":
        course = np.maximum(course, np.where(hours < 4, 60.0, 0.0))
    rate = (
        0.55
        * np.exp(-5500 * (1 / (course + 273.15) - 1 / 293.15))
        * (facts["lye_concentration"] / 0.33) ** 1.5
    )
    reacted = set_share = 0.0
    hardness = np.empty_like(hours)
    firm_part = (
        0.25
        + 1.1 * short
        + 0.8 * long
        - 0.3 * poly
        + 1.2 * (1 - math.exp(-4 * (facts["salt_on_fats"] or 0.0)))
    )
    firm_part *= math.exp(5 * (facts["lye_concentration"] - 0.33) - 2 * (facts["superfat"] - 0.05))
    setting = 0.06 * (1 + 2.5 * short) * (1 + 5 * (facts["salt_on_fats"] or 0.0))
    for i, step in enumerate(np.diff(hours, prepend=0.0)):
        growth = rate[i] * (reacted + 0.05)
        reacted = 1 - (1 - reacted) * math.exp(-growth * step)
        set_share += (reacted - set_share) * (1 - math.exp(-setting * step))
        hardness[i] = firm_part * (set_share + 0.12 * math.log1p(hours[i] / 24))
    hardness *= 1 + 4 * (facts["sodium_lactate_on_fats"] or 0.0)
    opens = float(np.interp(0.40, hardness, hours))
    closes = float(np.interp(0.40 + 0.22 * person.wire, hardness, hours))
    return opens, max(closes, 1.1 * opens)


def additive(facts: Facts, person: Person) -> tuple[float, float]:
    """Hours add up: a base, soft oils, water, no gel, a cool room; hard fats leave hours, soft oils days."""
    short, long, poly = groups(facts)
    soft = 1 - short - long
    hours = 5 + 45 * soft**3 + 20 * poly + 90 * (0.40 - facts["lye_concentration"])
    hours += {"none": 7.0, "partial": 3.0, "full": 0.0}[str(facts["gel"])] + 0.4 * (22 - facts["room_c"])
    if facts["salt_on_fats"]:
        hours *= 0.22
    hours = max(hours, 1.0) * (0.85 if facts["sodium_lactate_on_fats"] else 1.0)
    return hours, hours + person.wire**2 * (4 + 160 * soft**4) * (0.5 if facts["salt_on_fats"] else 1.0)


def power(facts: Facts, person: Person) -> tuple[float, float]:
    """Hardness = a * hours ** p, p differing between makers' soaps; long saturated chains count most late on."""
    short, long, poly = groups(facts)
    p = 0.5 + 0.5 * short + 0.3 * long
    log_a = 1.8 * short + 1.3 * long - 0.8 * poly + 4 * (facts["lye_concentration"] - 0.33)
    log_a += {"none": 0.0, "partial": 0.12, "full": 0.3}[str(facts["gel"])] + 0.02 * (facts["room_c"] - 20)
    log_a += 1.5 * (1 - math.exp(-5 * (facts["salt_on_fats"] or 0.0))) + 8 * facts["sodium_lactate_on_fats"]
    opens = math.exp((2.8 - log_a) / p)
    return opens, opens * math.exp(0.55 * person.wire / p)


KINDS: Mapping[str, Callable[[Facts, Person], tuple[float, float]]] = {
    "kinetic": kinetic,
    "additive": additive,
    "power": power,
}
