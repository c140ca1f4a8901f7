"""How soon a loaf firms, before its workshop is known: the priors of the cut window and their reasons.

A workshop is a row of deviations, one for each prior, all standard normal. A fixed sample of such rows stands
for all the workshops there may be; what a maker records then decides which of them count.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from curelog.domain.acids import ACIDS
from curelog.domain.fats import Fat
from curelog.domain.pour_facts import Gel, Heat, PourFacts

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Prior:
    """A number that differs between workshops; `doubt` is its standard deviation (a factor's as a share of it).

    A factor is the cube of a normal deviate, near a gamma variable (Wilson and Hilferty, 1931; from memory). Its
    density is log-concave, which an exponential's is not: so a loaf that opens later also closes later, whatever
    has been seen of it.
    """

    typical: float
    doubt: float
    is_factor: bool
    reason: str

    def values(self, deviations: Array) -> Array:
        if self.is_factor:
            return np.asarray(self.typical * (1 + self.doubt / 3 * deviations) ** 3)
        return self.typical + self.doubt * deviations


# "Practice" means common practice, no source. Effects are on the log of the hours: 0.3 is about a third.
PRIORS: Mapping[str, Prior] = {
    "log_opens": Prior(
        3.0,
        0.45,
        False,
        "Log hours, so 20 h. Practice: mixed recipes without gel are cut at about 24 h, inside the window; "
        "makers' usual times for such loaves run from 8 to 72 h (public reports), part of which is recipe, gel, water.",
    ),
    "softening": Prior(
        2.0,
        0.8,
        True,
        "Per unit of saturated share below lard's: practice has olive-only at one to three days, but "
        "reports run from 16 h to weeks, so the doubt is large and towards later.",
    ),
    "hardening": Prior(
        2.2, 0.35, True, "Per unit of saturated share above lard's: practice cuts coconut-only at 6 to 12 h."
    ),
    "water": Prior(
        6.0,
        0.4,
        True,
        "Per unit of lye concentration: one oven-gelled recipe was cut at 8 h with 40 % lye and at 18 h "
        "with 28 % (one public report), which is 6.8.",
    ),
    "superfat": Prior(1.5, 0.5, True, "Per unit of superfat: free oil softens; practice, size is our guess."),
    "gel": Prior(
        0.3,
        0.4,
        True,
        "Full gel against none: practice is 18 h against 24 h; reports of one recipe give more.",
    ),
    "gel_habit": Prior(
        0.0, 1.0, False, "How readily loaves gel here; half of unheated loaves do so in part or whole."
    ),
    "heat": Prior(
        0.1, 0.5, True, "Oven against no heat beyond the gel it brings: warm soap reacts on; our guess."
    ),
    "warmth": Prior(
        0.035,
        0.4,
        True,
        "Per degree C of the room: a rate that rises by 1.4 in 10 C, the low end of what reactions "
        "do, as the loaf makes heat of its own; our guess.",
    ),
    "usual_room_c": Prior(
        20.0, 3.0, False, "Where the room is not told: practice is 15 to 21 C, summers above."
    ),
    "usual_lye": Prior(
        0.32, 0.03, False, "Where water is not told: practice is 28 to 33 %, more as a discount."
    ),
    "salt": Prior(
        1.4, 0.25, True, "Salt without limit: practice cuts salt bars of mostly coconut in 1 to 4 h."
    ),
    "lactate": Prior(
        0.25, 0.5, True, "Sodium lactate without limit: practice unmoulds somewhat sooner; our guess."
    ),
    "width": Prior(
        1.0,
        0.5,
        True,
        "log(closes / opens) for lard's saturated share: a lard loaf opened in its first day is very "
        "hard within a week (practice); a wire or a strong arm widens it.",
    ),
    "narrowing": Prior(
        1.2, 0.4, True, "Per unit of saturated share: hard fats leave 4 to 5 h (practice), soft oils days."
    ),
    "own_width": Prior(1.0, 0.3, True, "This loaf's width against its workshop's; identical recipes differ."),
    "recipe": Prior(0.0, 0.2, False, "This recipe against what its saturated share says; our guess."),
    "loaf_noise": Prior(
        0.12,
        0.3,
        True,
        "Scale of the loaf's own strayings: reports of one recipe turn from too soft to too hard in "
        "5 h near 20 h, others differ by a day.",
    ),
}
COLUMN = {name: column for column, name in enumerate(PRIORS)}
SAMPLE_SIZE = 800

LARD_SATURATED = 0.42
WAX_SATURATED = 0.9  # hard waxes; their esters hold little that is unsaturated
USUAL_LYE, USUAL_SUPERFAT, USUAL_ROOM_C, USUAL_LOAF_G = 0.33, 0.05, 20.0, 1000.0
SALT_SCALE = 0.15  # share of the fats' mass; hardening by salt is nearly complete at half the fats' mass
LACTATE_SCALE = 0.02  # makers use 1 to 3 % on fats
GEL_DEGREE: Mapping[Gel, float] = {"none": 0.0, "partial": 0.5, "full": 1.0}
HEAT_DEGREE: Mapping[Heat, float] = {"none": 0.0, "insulated": 0.5, "oven": 1.0}
GEL_PUSH_OF_HEAT = 2.5  # in deviations of the gel habit: an oven gels nearly every loaf
GEL_PUSH_OF_MASS = 0.4  # per factor e of the loaf's mass: larger loaves keep their heat
SATURATED = tuple(name for name, acid in ACIDS.items() if acid.saturation == "saturated")


def saturated_share(fat: Fat) -> float:
    """Share of saturated acids; without a profile from the iodine value, near 100 where hardly any are."""
    if fat.fatty_acids:
        return sum(fat.fatty_acids.get(name, 0.0) for name in SATURATED)
    if fat.iodine_value is not None:
        return max(0.05, 1 - fat.iodine_value / 100)
    return WAX_SATURATED if fat.is_wax else LARD_SATURATED


def saturated(facts: PourFacts) -> float:
    return sum(share * saturated_share(fat) for fat, share in facts.fats)


class Workshops:
    """A sample of workshops; `workshops["log_opens"]` is one number for each."""

    def __init__(self, deviations: Array):
        self.deviations = deviations

    def __getitem__(self, name: str) -> Array:
        return PRIORS[name].values(self.deviations[:, COLUMN[name]])

    def __len__(self) -> int:
        return len(self.deviations)


@cache
def typical_workshops() -> Workshops:
    """A Latin hypercube: each prior is met at evenly spread quantiles, the same ones at every call."""
    quantiles = (np.arange(SAMPLE_SIZE) + 0.5) / SAMPLE_SIZE
    deviations = np.array([NormalDist().inv_cdf(q) for q in quantiles])
    shuffle = np.random.default_rng(20).permutation
    return Workshops(np.column_stack([shuffle(deviations) for _ in PRIORS]))


def _column(told: Iterable[float | None]) -> Array:
    """One row a pour; what was not told is NaN."""
    return np.array([[np.nan if value is None else value] for value in told])


def _told_or(usual: Array | float, told: Iterable[float | None]) -> Array:
    column = _column(told)
    return np.where(np.isnan(column), usual, column)


def saturated_above_lard(pours: Sequence[PourFacts]) -> Array:
    return _column(saturated(facts) - LARD_SATURATED for facts in pours)


def gel_degree(pours: Sequence[PourFacts], workshops: Workshops) -> Array:
    """0 for none to 1 for full gel; not seen yet, it follows from heat, mass and the workshop's habit."""
    heat = _column(HEAT_DEGREE[facts.heat or "none"] for facts in pours)
    mass_g = _told_or(USUAL_LOAF_G, (facts.loaf_g for facts in pours))
    push = workshops["gel_habit"] + GEL_PUSH_OF_HEAT * heat + GEL_PUSH_OF_MASS * np.log(mass_g / USUAL_LOAF_G)
    expected = 0.5 + 0.5 * np.tanh(push)
    return _told_or(expected, (facts.gel and GEL_DEGREE[facts.gel] for facts in pours))


def log_opens(pours: Sequence[PourFacts], workshops: Workshops) -> Array:
    """Logarithm of the hour at which a typical loaf first cuts clean: a row a pour, a column a workshop.

    Each term can only grow with water and superfat and only fall with saturated share, salt, lactate, gel,
    heat and warmth, so every quantile over the workshops does the same.
    """
    above_lard = saturated_above_lard(pours)
    lye = _told_or(workshops["usual_lye"], (facts.lye_concentration for facts in pours))
    superfat = _told_or(USUAL_SUPERFAT, (facts.superfat for facts in pours))
    room_c = _told_or(workshops["usual_room_c"], (facts.room_c for facts in pours))
    salt = _told_or(0.0, (facts.salt_on_fats for facts in pours))
    lactate = _told_or(0.0, (facts.sodium_lactate_on_fats for facts in pours))
    heat = _column(HEAT_DEGREE[facts.heat or "none"] for facts in pours)
    hours = (
        workshops["log_opens"]
        + workshops["softening"] * np.maximum(0.0, -above_lard)
        - workshops["hardening"] * np.maximum(0.0, above_lard)
        - workshops["water"] * (lye - USUAL_LYE)
        + workshops["superfat"] * (superfat - USUAL_SUPERFAT)
        - workshops["gel"] * gel_degree(pours, workshops)
        - workshops["heat"] * heat
        - workshops["warmth"] * (room_c - USUAL_ROOM_C)
        - workshops["salt"] * (1 - np.exp(-salt / SALT_SCALE))
        - workshops["lactate"] * (1 - np.exp(-lactate / LACTATE_SCALE))
    )
    return np.asarray(hours)


def log_width(pours: Sequence[PourFacts], workshops: Workshops) -> Array:
    """log(closes / opens) for a typical loaf: a row a pour, a column a workshop."""
    return np.asarray(workshops["width"] * np.exp(-workshops["narrowing"] * saturated_above_lard(pours)))
