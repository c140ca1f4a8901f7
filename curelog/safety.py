"""The usual cautions, shown where they matter. They never replace local rules or qualified advice."""

LYE = (
    "Sodium and potassium hydroxide burn skin and eyes and react hot with water: "
    "goggles, gloves, long sleeves, good air.",
    "Lye into water, never water into lye. No aluminium. Children and animals out of the room.",
    "Splashed? Rinse at once with plenty of water, never neutralise on the skin, and get medical help.",
)
FRESH = ("Fresh soap is still caustic: gloves on.",)
SWEET = ("Sugar, honey and milk heat up on their own: keep the loaf cooler and watch it.",)
OVEN = (
    "A warm oven is hot metal, and the loaf can rise: stay near, gloves, no other use of the oven meanwhile.",
)
MELTING = (
    "Hot soap sticks and burns: gloves, sleeves, and a water bath or a low oven, never left alone.",
    "Melting takes no lye out of lye-heavy soap: what failed its check stays out of the pot until that is answered.",
)
BLADES = (
    "Fresh soap is still caustic: gloves on.",
    "Wires and blades are sharp, and a hard loaf lets them jump.",
)
HARD_LOAF = (
    "A loaf gone too hard is not lost. Warm it through at about 75 °C in a low oven, with air in the room and "
    "gloves on, then cut with a fresh wire or a long knife pressed straight down. One public report says about "
    "an hour was enough: try one end first, it is a report and not a method.",
)
ZAP = (
    "This only records a test that was done. It can burn the tongue, and passing it proves nothing; a titration "
    "tells. Soap that fails is lye-heavy: do not use it, do not sell it.",
)
INDICATOR = (
    "On a wet bar phenolphthalein turns pink on sound soap too. It tells only in alcohol, as the standards "
    "describe it. Alcohol burns: no flame near.",
)
TITRATION = (
    "Acid and indicator are poured with goggles and gloves on. Alcohol burns: warm it in a water bath, no flame near.",
)
PH = ("A sound soap solution has a pH of about 9 to 11. pH alone does not prove that no free lye is left.",)
LABELS = (
    "What must stand on a label, in which words, language and size, is local law: this sheet is a draft of it. "
    "A qualified assessor or your weights and measures office tells.",
)
# Seen: Regulation (EC) No 1223/2009, article 23.
ADVERSE = (
    "Skin that burns or swells: rinse with plenty of water, stop using the soap, and get medical help.",
    "Serious undesirable effects have to be reported without delay, in the EU to the authority of the member state "
    "(Regulation (EC) No 1223/2009, article 23). Elsewhere local rules decide.",
)
SELLING = ("Selling soap is regulated. Local rules and a qualified assessor decide.",)
