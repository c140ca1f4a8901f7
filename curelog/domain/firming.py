"""From a pour's facts to when its loaf opens and how long it stays so, in any workshop of a sample."""

from collections.abc import Mapping, Sequence

import numpy as np

from curelog.domain.acids import ACIDS
from curelog.domain.cutting_prior import Array, Workshops
from curelog.domain.fats import Fat
from curelog.domain.pour_facts import Gel, Heat, PourFacts

LARD_SATURATED = 0.42  # where the effects of harder and softer fats meet
WAX_SATURATED = 0.9  # hard waxes; their esters hold little that is unsaturated
USUAL_LYE, USUAL_SUPERFAT, USUAL_ROOM_C, USUAL_LOAF_G = 0.33, 0.05, 20.0, 1000.0
SALT_SCALE = 0.15  # share of the fats' mass; hardening by salt is nearly complete at half the fats' mass
LACTATE_SCALE = 0.02  # makers use 1 to 3 % on fats
WIDEST = 7.0  # log(closes / opens); a factor of a thousand is a soap that never gets too hard
GEL_DEGREE: Mapping[Gel, float] = {"none": 0.0, "partial": 0.5, "full": 1.0}
HEAT_DEGREE: Mapping[Heat, float] = {"none": 0.0, "insulated": 0.5, "oven": 1.0}
# Gel and heat make a loaf firm hours sooner; what makes it too hard, days of setting and drying, they hasten less.
# Practice: loaves firm by evening after an oven are still cut the next day. The share is our guess.
HASTE_WITHOUT_CLOSING = 0.4
GEL_PUSH_OF_HEAT = 2.5  # in deviations of the gel habit: an oven gels nearly every loaf
GEL_PUSH_OF_MASS = 0.4  # per factor e of the loaf's mass: larger loaves keep their heat
SATURATED = tuple(name for name, acid in ACIDS.items() if acid.saturation == "saturated")
SHORT_CHAINS = tuple(name for name in SATURATED if ACIDS[name].carbons <= 14)


def saturated_share(fat: Fat) -> float:
    """Share of saturated acids; without a profile from the iodine value, near 100 where hardly any are."""
    if fat.fatty_acids:
        return sum(fat.fatty_acids.get(name, 0.0) for name in SATURATED)
    if fat.iodine_value is not None:
        return max(0.05, 1 - fat.iodine_value / 100)
    return WAX_SATURATED if fat.is_wax else LARD_SATURATED


def short_chain_share(fat: Fat) -> float:
    return sum(fat.fatty_acids.get(name, 0.0) for name in SHORT_CHAINS)


def _told(value: float | None, usual: float) -> float:
    return usual if value is None else value


def _row(facts: PourFacts) -> dict[str, float]:
    """How far each effect is at work in a pour; what is not told counts as usual, water and room by workshop."""
    above_lard = sum(share * saturated_share(fat) for fat, share in facts.fats) - LARD_SATURATED
    salt, lactate = _told(facts.salt_on_fats, 0.0), _told(facts.sodium_lactate_on_fats, 0.0)
    return {
        "log_opens": 1.0,
        "softening": max(0.0, -above_lard),
        "hardening": -max(0.0, above_lard),
        "short_chains": -sum(share * short_chain_share(fat) for fat, share in facts.fats),
        "water": USUAL_LYE - _told(facts.lye_concentration, USUAL_LYE),
        "superfat": _told(facts.superfat, USUAL_SUPERFAT) - USUAL_SUPERFAT,
        "heat": -HEAT_DEGREE[facts.heat or "none"],
        "warmth": USUAL_ROOM_C - _told(facts.room_c, USUAL_ROOM_C),
        "salt": -(1 - float(np.exp(-salt / SALT_SCALE))),
        "lactate": -(1 - float(np.exp(-lactate / LACTATE_SCALE))),
        "unknown_lye": float(facts.lye_concentration is None),
        "unknown_room": float(facts.room_c is None),
        "above_lard": above_lard,
        "gel": np.nan if facts.gel is None else GEL_DEGREE[facts.gel],
        "log_mass": float(np.log(_told(facts.loaf_g, USUAL_LOAF_G) / USUAL_LOAF_G)),
    }


EFFECTS = (
    "log_opens",
    "softening",
    "hardening",
    "short_chains",
    "water",
    "superfat",
    "heat",
    "warmth",
    "salt",
    "lactate",
)


class Pours:
    """Pours as a table, a row each; results have a row for each pour and a column for each workshop."""

    def __init__(self, pours: Sequence[PourFacts]):
        rows = [_row(facts) for facts in pours]
        self._columns = {name: np.array([[row[name]] for row in rows]) for name in rows[0]}
        self._known = np.hstack([self._columns[name] for name in (*EFFECTS, "unknown_lye", "unknown_room")])

    def log_opens(self, workshops: Workshops) -> Array:
        """Logarithm of the hour at which a typical loaf first cuts clean.

        Each effect can only delay with water, superfat and soft oil and only speed up with saturated share, salt,
        lactate, gel, heat and warmth, in every workshop; so every quantile over the workshops does the same.
        """
        unknown_lye = workshops["water"] * (USUAL_LYE - workshops["usual_lye"])
        unknown_room = workshops["warmth"] * (USUAL_ROOM_C - workshops["usual_room_c"])
        effects = np.vstack([*(workshops[name] for name in EFFECTS), unknown_lye, unknown_room])
        return np.asarray(self._known @ effects - self._gel_haste(workshops))

    def _gel_haste(self, workshops: Workshops) -> Array:
        return np.asarray(workshops["gel"] * self._gel_degree(workshops))

    def _gel_degree(self, workshops: Workshops) -> Array:
        """0 for none to 1 for full gel; not seen yet, it follows from heat, mass and the workshop's habit."""
        seen = self._columns["gel"]
        if not np.isnan(seen).any():
            return seen
        push = GEL_PUSH_OF_MASS * self._columns["log_mass"] - GEL_PUSH_OF_HEAT * self._columns["heat"]
        expected = 0.5 + 0.5 * np.tanh(workshops["gel_habit"] + push)
        return np.where(np.isnan(seen), expected, seen)

    def held_open(self, workshops: Workshops) -> Array:
        """What gel and heat add to log(closes / opens): less than they take off log(opens)."""
        haste = self._gel_haste(workshops) - workshops["heat"] * self._columns["heat"]
        return np.asarray(HASTE_WITHOUT_CLOSING * haste)

    def log_width(self, workshops: Workshops) -> Array:
        """log(closes / opens) for a typical loaf without gel and heat."""
        width = workshops["width"] * np.exp(-workshops["narrowing"] * self._columns["above_lard"])
        return np.asarray(np.minimum(width, WIDEST))
