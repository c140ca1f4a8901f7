"""What the invented workshop pours, and into what."""

from collections.abc import Mapping

from curelog.actions.recipes import AdditiveShare, FatAmount, RecipeDraft
from curelog.models import AdditiveRole, Recipe

MIXED, HARD, SALT, OLIVE = Recipe.Kind.MIXED, Recipe.Kind.HARD, Recipe.Kind.SALT, Recipe.Kind.OLIVE

LONG, SHORT = "Long beech mould", "Short mould"
# Inner length, width and height in mm.
MOULDS = {LONG: (260.0, 82.0, 65.0), SHORT: (200.0, 75.0, 60.0)}


def draft(
    name: str,
    fats_g: Mapping[str, float],
    kind: str = MIXED,
    superfat: float = 0.05,
    lye_concentration: float = 0.33,
    naoh_share: float = 1.0,
    thickness_mm: float = 25.0,
    additives: tuple[AdditiveShare, ...] = (),
    note: str = "",
) -> RecipeDraft:
    return RecipeDraft(
        name=name,
        kind=kind,
        superfat=superfat,
        naoh_share=naoh_share,
        naoh_purity=0.99,
        koh_purity=0.9,
        water_mode=Recipe.WaterMode.LYE_CONCENTRATION,
        water_value=lye_concentration,
        least_cure_days=Recipe.LEAST_CURE_DAYS[Recipe.Kind(kind)],
        settled_pct=None,
        settled_days=None,
        bar_thickness_mm=thickness_mm,
        note=note,
        fats=tuple(FatAmount(key, None, mass_g) for key, mass_g in fats_g.items()),
        additives=additives,
    )


ASSESSED = {"Pantry bar": "Dr Quillane, report 114", "Salt slab": "Dr Quillane, report 115"}

RECIPES = (
    draft(
        "Pantry bar",
        {"lard": 400, "olive": 260, "coconut": 220, "castor": 40},
        additives=(
            AdditiveShare(
                "Lavender and cedar",
                AdditiveRole.FRAGRANCE,
                0.02,
                0.0,
                limit_share=0.031,
                allergens="Linalool, Limonene, Coumarin",
            ),
        ),
        note="The everyday bar. Insulate, it likes to gel.",
    ),
    draft(
        "Plain lard", {"lard": 920}, HARD, superfat=0.06, lye_concentration=0.34, note="Cut it the next day."
    ),
    draft(
        "Winter olive",
        {"olive": 920},
        OLIVE,
        superfat=0.04,
        lye_concentration=0.4,
        note="Half a year on the rack.",
    ),
    draft(
        "Salt slab",
        {"coconut": 430, "olive": 80, "castor": 30},
        SALT,
        superfat=0.15,
        thickness_mm=28.0,
        additives=(AdditiveShare("Fine sea salt", AdditiveRole.SALT, 0.5, 0.0),),
        note="Pour in the morning only: it is cut the same day.",
    ),
    draft(
        "Oat and milk",
        {"olive": 350, "tallow": 280, "coconut": 210, "shea": 80},
        lye_concentration=0.36,
        additives=(
            AdditiveShare("Goat's milk", AdditiveRole.MILK, 0.08, 0.87),
            AdditiveShare("Ground oats", AdditiveRole.OTHER, 0.02, 0.1),
        ),
        note="Keep it cool, the milk heats up.",
    ),
    draft(
        "Green clay",
        {"olive": 370, "sunflower_high_oleic": 230, "coconut": 230, "cocoa_butter": 90},
        lye_concentration=0.35,
        additives=(
            AdditiveShare("Green clay", AdditiveRole.CLAY, 0.015, 0.0),
            AdditiveShare("Sodium lactate, 60 %", AdditiveRole.LACTATE, 0.02, 0.4),
        ),
    ),
    draft(
        "Shaving bar",
        {"tallow": 460, "coconut": 230, "castor": 140, "cocoa_butter": 90},
        lye_concentration=0.34,
        naoh_share=0.85,
        note="Part potash, so that it lathers softly.",
    ),
)
