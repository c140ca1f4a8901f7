"""How soon a loaf firms, before its workshop is known: the priors of the cut window and their reasons.

A workshop is a row of deviations, one for each prior, all standard normal. A fixed sample of such rows stands
for all the workshops there may be; what a maker records then decides which of them count.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


Shape = Literal["plain", "factor", "far"]


@dataclass(frozen=True, slots=True)
class Prior:
    """A number that differs between workshops, made from a standard normal deviation.

    plain: normal, `doubt` its standard deviation. far: as plain near the middle, with tails that reach much
    further. factor: the cube of a normal, always above 0, `doubt` its standard deviation as a share of `typical`
    while small; that is near a gamma variable (Wilson and Hilferty, 1931; from memory), whose density is
    log-concave. So a loaf that opens later also closes later, whatever has been seen of it.
    """

    typical: float
    doubt: float
    shape: Shape
    reason: str

    def values(self, deviations: Array) -> Array:
        match self.shape:
            case "plain":
                return self.typical + self.doubt * deviations
            case "far":
                return self.typical + self.doubt * np.sinh(deviations)
            case "factor":
                return np.asarray(self.typical * np.maximum(0.05, 1 + self.doubt / 3 * deviations) ** 3)


# "Practice" means common practice, no source. Effects are on the log of the hours: 0.3 is about a third.
PRIORS: Mapping[str, Prior] = {
    "log_opens": Prior(
        3.15,
        0.6,
        "far",
        "Log hours, so 23 h for lard's make-up without gel. Practice: mixed recipes without gel are cut at about "
        "24 h, inside the window. Public reports of such loaves run from 5 h to two weeks, so a workshop not yet "
        "known may be twice as fast or as slow.",
    ),
    "softening": Prior(
        2.0,
        1.6,
        "factor",
        "Per unit of saturated share below lard's: practice has olive-only at one to three days; reports run from "
        "crumbly at 20 h to soft for weeks, so some soft soaps lag not at all and some without end.",
    ),
    "hardening": Prior(
        1.2,
        0.4,
        "factor",
        "Per unit of saturated share above lard's: practice cuts hard-fat loaves within about a day.",
    ),
    "short_chains": Prior(
        0.8,
        0.4,
        "factor",
        "Per unit of saturated acids up to myristic, on top: practice cuts coconut-only at 6 to 12 h, sooner than "
        "fats that are as saturated by long chains.",
    ),
    "water": Prior(
        6.0,
        0.4,
        "factor",
        "Per unit of lye concentration: one oven-gelled recipe was cut at 8 h with 40 % lye and at 18 h with 28 % "
        "(one public report), which is 6.8.",
    ),
    "superfat": Prior(
        1.5, 0.5, "factor", "Per unit of superfat: free oil softens (practice); size is our guess."
    ),
    "gel": Prior(
        0.4,
        0.4,
        "factor",
        "Full gel against none: practice is 18 h against 24 h, when loaves are cut and not when they first could "
        "be; one recipe was cut at 12 to 15 h with gel and still too soft at 24 h without (public report).",
    ),
    "gel_habit": Prior(
        0.0,
        1.0,
        "plain",
        "How readily loaves gel here; half of unheated ones do so in part or whole; our guess.",
    ),
    "heat": Prior(
        0.3,
        0.5,
        "factor",
        "Oven against no heat, beyond the gel it brings: oven-gelled loaves were cut at 3 to 8 h in three of four "
        "public reports; the size is our guess.",
    ),
    "warmth": Prior(
        0.035,
        0.4,
        "factor",
        "Per degree C of the room: a rate that rises by 1.4 in 10 C, less than most reactions do, as the loaf "
        "makes heat of its own; our guess.",
    ),
    "usual_room_c": Prior(
        20.0, 3.0, "plain", "Where the room is not told: practice is 15 to 21 C, summers above."
    ),
    "usual_lye": Prior(
        0.32, 0.03, "plain", "Where water is not told: practice is 28 to 33 %, more as a discount."
    ),
    "salt": Prior(
        1.3, 0.25, "factor", "Salt without limit: practice cuts salt bars, mostly coconut, in 1 to 4 h."
    ),
    "lactate": Prior(
        0.25, 0.5, "factor", "Sodium lactate without limit: practice unmoulds somewhat sooner; our guess."
    ),
    "width": Prior(
        0.75,
        0.8,
        "factor",
        "log(closes / opens) for lard's saturated share. Practice: a lard loaf that opens in its first day is "
        "very hard within a week; reports have such loaves too hard at 24 h, and still right at 72 h.",
    ),
    "narrowing": Prior(
        1.3,
        1.0,
        "factor",
        "Per unit of saturated share: hard fats leave 4 to 5 h (practice), soft oils days.",
    ),
    "own_width": Prior(1.0, 0.5, "factor", "This loaf's width against its workshop's: our guess."),
    "recipe": Prior(0.0, 0.25, "plain", "This recipe against what its make-up says: our guess."),
    "loaf_noise": Prior(
        0.12,
        0.3,
        "factor",
        "Scale of the loaf's own straying: reports of one recipe turn from too soft to too hard in 5 h near 20 h, "
        "others differ by a day.",
    ),
}
COLUMN = {name: column for column, name in enumerate(PRIORS)}
SAMPLE_SIZE = 800


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
