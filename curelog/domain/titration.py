"""Free alkali from the volumes of a titration, in the unit of the soap standards: % NaOH by mass.

Molar masses as in acids. The steps of ISO 456 and ISO 684 were seen in their abstracts only; the sums are
stoichiometry: one mole of hydroxide takes up one mole of acid protons.
"""

from curelog.domain.acids import KOH_G_PER_MOL, NAOH_G_PER_MOL

PROTONS = {"hydrochloric": 1, "sulfuric": 2, "citric": 3}
MOLAR_MASS = {"NaOH": NAOH_G_PER_MOL, "KOH": KOH_G_PER_MOL}


def free_caustic_alkali(
    acid_ml: float,
    blank_ml: float,
    acid_mol_per_l: float,
    sample_g: float,
    acid: str = "hydrochloric",
    alkali: str = "NaOH",
) -> float:
    """Free caustic alkali in % by mass of the sample.

    Soap dissolved in neutralised ethanol, titrated with acid until phenolphthalein loses its colour (ISO 456:1973,
    ethanol method). `acid_ml` and `blank_ml`: volumes used for sample and blank, in ml; `acid_mol_per_l`: the acid's
    amount concentration, 0.001 to 2; `sample_g`: 0.1 to 100. A blank above the sample's volume raises ValueError: then
    there is free acid, or a slip.
    """
    used_ml = acid_ml - blank_ml
    if used_ml < 0:
        raise ValueError("the blank took more acid than the sample")
    return _percent(used_ml * acid_mol_per_l * PROTONS[acid], sample_g, alkali)


def total_free_alkali(
    acid_ml: float,
    acid_mol_per_l: float,
    back_ml: float,
    back_mol_per_l: float,
    sample_g: float,
    acid: str = "sulfuric",
    alkali: str = "NaOH",
) -> float:
    """Free caustic and carbonate alkali together, in % by mass of the sample.

    Soap boiled in ethanol with acid in excess, which is titrated back with alkali (ISO 684). `acid_ml` of acid added,
    `back_ml` of sodium or potassium hydroxide used, in ml; concentrations in mol/l; `sample_g` in g. More alkali used
    than acid given raises ValueError.
    """
    millimoles = acid_ml * acid_mol_per_l * PROTONS[acid] - back_ml * back_mol_per_l
    if millimoles < 0:
        raise ValueError("more alkali was titrated back than acid was given")
    return _percent(millimoles, sample_g, alkali)


def _percent(millimoles: float, sample_g: float, alkali: str) -> float:
    return millimoles * MOLAR_MASS[alkali] / 1000 / sample_g * 100
