"""The lives of the demo's loaves, oldest first. All invented; chosen so that every stage and every trouble is there.

Days count back from today to the pour, hours forward from the pour to the cut, cure days forward from the cut.
"""

from dataclasses import dataclass

from curelog.demo.recipes import LONG, SHORT

# In the order of a round.
RACK_TOP, RACK_BOTTOM, WINDOW, CRATE, TIN, ATTIC = PLACES = (
    "Long rack, top",
    "Long rack, bottom",
    "Window shelf",
    "Market crate",
    "Sample tin",
    "Attic box",
)
Feeling = tuple[float, str]  # hours after the pour, the finger's word
Parting = tuple[float, str, int, str]  # cure day, how, how many bars, to whom
ROUNDS = (4.0, 9.0, 16.0, 24.0, 34.0, 46.0, 60.0, 77.0, 98.0, 130.0)


@dataclass(frozen=True, slots=True)
class CheckTold:
    cure_day: float
    kind: str
    outcome: str
    value: str = ""
    note: str = ""
    answered: str = ""


@dataclass(frozen=True, slots=True)
class Life:
    """One batch. `gel` None: nobody looked yet; `cut_h` None: not cut yet.

    `melted`: soap of the lives poured so many days ago, in g, instead of a recipe's pour.
    """

    recipe: str
    days_ago: float
    gel: str | None = "full"
    heat: str = "insulated"
    felt: tuple[Feeling, ...] = ()
    unmould_h: float | None = 21.0
    cut_h: float | None = 22.5
    result: str = "clean"
    signs: tuple[str, ...] = ()
    moulds: tuple[str, ...] = (LONG,)
    face: str = ""
    rounds: tuple[float, ...] = ROUNDS
    checks: tuple[CheckTold, ...] = ()
    planed_day: float | None = None
    mistyped_day: float | None = None
    tray_left_on_day: float | None = None
    lies_on: str = RACK_TOP
    released_day: float | None = None
    early_why: str = ""
    sample_in: str = TIN
    sample_to: str = ""
    left: tuple[Parting, ...] = ()
    finished_day: float | None = None
    thrown: bool = False
    note: str = ""
    melted: tuple[tuple[float, float], ...] = ()


def titration(cure_day: float = 30.0) -> CheckTold:
    return CheckTold(cure_day, "titration", "pass", "0.02 % NaOH")


def lather(cure_day: float = 45.0) -> CheckTold:
    return CheckTold(cure_day, "lather", "pass", note="Creamy, rinses clean.")


LIVES = (
    Life(
        "Pantry bar",
        301,
        felt=((18, "dents"),),
        checks=(titration(), lather()),
        finished_day=150,
    ),
    Life(
        "Plain lard",
        293,
        heat="oven",
        felt=((20, "hard"),),
        cut_h=30,
        result="too_hard",
        signs=("crumble", "split"),
        face="crumbled",
        finished_day=3,
        thrown=True,
        rounds=(),
        note="Left it a night too long. Crumbs everywhere; the pieces went to the wash-house.",
    ),
    Life(
        "Green clay",
        284,
        gel="partial",
        felt=((20, "firm"),),
        face="clay",
        checks=(titration(),),
        finished_day=140,
    ),
    Life(
        "Plain lard",
        270,
        heat="oven",
        felt=((14, "firm"),),
        unmould_h=14.5,
        cut_h=15,
        finished_day=120,
    ),
    Life(
        "Salt slab",
        258,
        moulds=(SHORT,),
        felt=((1.5, "dents"), (2.4, "firm")),
        unmould_h=2.4,
        cut_h=2.5,
        checks=(lather(60),),
        finished_day=130,
    ),
    Life(
        "Pantry bar",
        212,
        felt=((20, "firm"),),
        face="ash",
        checks=(
            CheckTold(
                9, "look", "watch", note="Beads of sweat on all bars, the shed is wet through. Fan on."
            ),
            CheckTold(40, "look", "pass", note="Dry again. A little soda ash on the ends."),
            titration(44),
        ),
        rounds=(4, 8, 12, 16, 20, 25, 31, 38, 47, 60, 80, 110, 150),
        released_day=152,
        sample_to=ATTIC,
        left=(
            (158, "sold", 4, "Fell Bridge market"),
            (171, "given", 1, "The postman"),
            (186, "sold", 2, "At the door"),
        ),
        note="The damp weeks: hardly any loss, once even a gain.",
    ),
    Life(
        "Shaving bar",
        201,
        gel="partial",
        felt=((20, "firm"),),
        checks=(titration(),),
        finished_day=120,
    ),
    Life(
        "Oat and milk",
        188,
        gel="none",
        heat="none",
        felt=((24, "sticky"),),
        unmould_h=33,
        cut_h=34,
        finished_day=150,
    ),
    Life(
        "Winter olive",
        176,
        gel="none",
        heat="none",
        felt=((22, "dents"),),
        unmould_h=26,
        cut_h=27,
        face="olive",
    ),
    Life(
        "Green clay",
        163,
        gel="partial",
        cut_h=14.0,
        unmould_h=13.5,
        felt=((13, "sticky"),),
        result="too_soft",
        signs=("drag",),
        face="clay",
        checks=(lather(),),
        finished_day=120,
    ),
    Life(
        "Pantry bar",
        149,
        moulds=(LONG, LONG),
        felt=((19, "firm"),),
        face="cream",
        lies_on=RACK_BOTTOM,
        checks=(titration(),),
        released_day=104,
        left=((112, "sold", 3, "Lantern Fair"), (126, "sold", 2, "The corner shop in Fell Bridge")),
    ),
    Life(
        "Plain lard",
        131,
        heat="oven",
        felt=((13, "firm"),),
        unmould_h=13.2,
        cut_h=14,
        checks=(
            CheckTold(
                12,
                "titration",
                "fail",
                "0.11 % NaOH",
                note="Too early, perhaps.",
                answered="Done again three weeks later by the same hand: 0.03 %. May go on.",
            ),
            lather(),
        ),
        finished_day=110,
    ),
    Life(
        "Scullery block",
        122,
        melted=((131, 420.0), (149, 260.0)),
        gel=None,
        heat="none",
        felt=(),
        moulds=(SHORT,),
        unmould_h=26,
        cut_h=27,
        lies_on=WINDOW,
        rounds=(4, 16, 34, 60, 90),
        checks=(lather(30),),
        released_day=92,
        left=((97, "sold", 2, "Fell Bridge market"),),
        note="Trimmings and broken bars melted again, for the scullery.",
    ),
    Life(
        "Salt slab",
        118,
        lies_on=WINDOW,
        felt=((2.2, "firm"),),
        unmould_h=2.4,
        cut_h=2.6,
        checks=(lather(55),),
    ),
    Life(
        "Green clay",
        104,
        gel="partial",
        felt=((20, "firm"),),
        face="clay",
        checks=(
            titration(),
            CheckTold(62, "spots", "watch", note="One bar with a faint orange spot on the corner."),
        ),
    ),
    Life(
        "Oat and milk",
        88,
        gel="none",
        heat="none",
        felt=((28, "firm"),),
        unmould_h=29,
        cut_h=30,
        face="rivers",
    ),
    Life(
        "Pantry bar",
        73,
        gel="partial",
        felt=((20, "firm"),),
        face="lye",
        checks=(
            CheckTold(
                41,
                "titration",
                "fail",
                "0.14 % NaOH",
                note="White pocket in bar 5, wet and sharp. Nothing leaves the rack.",
            ),
        ),
    ),
    Life(
        "Shaving bar",
        62,
        gel="partial",
        felt=((22, "firm"),),
        face="white",
        planed_day=25.0,
        rounds=(4, 9, 16, 24, 34),
        checks=(titration(),),
    ),
    Life(
        "Salt slab",
        47,
        lies_on=WINDOW,
        felt=((2.4, "firm"),),
        unmould_h=2.5,
        cut_h=2.7,
        face="salt",
        mistyped_day=16.0,
    ),
    Life(
        "Winter olive",
        37,
        gel="none",
        heat="none",
        felt=((24, "dents"), (30, "firm")),
        unmould_h=31,
        cut_h=32,
    ),
    Life("Green clay", 26, gel="partial", felt=((20, "firm"),), face="clay", tray_left_on_day=16.0),
    Life("Pantry bar", 15, felt=((19, "firm"),)),
    Life(
        "Oat and milk", 6, gel="none", heat="none", felt=((26, "firm"),), unmould_h=27, cut_h=28, face="milk"
    ),
    Life("Plain lard", 31 / 24, heat="oven", felt=((16, "firm"), (24, "hard")), unmould_h=24.1, cut_h=None),
    Life("Winter olive", 19 / 24, gel=None, heat="none", unmould_h=None, cut_h=None),
    Life(
        "Pantry bar",
        17 / 24,
        felt=((15.5, "firm"),),
        unmould_h=None,
        cut_h=None,
        note="Thick trace, poured quickly.",
    ),
    Life("Green clay", 1.2 / 24, gel=None, unmould_h=None, cut_h=None),
)
