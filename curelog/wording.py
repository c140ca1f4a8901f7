"""What was worked out, in the maker's language: what it says, and what it rests on."""

from curelog import units
from curelog.domain import cutting, drying
from curelog.models.promise import NoPromise, Promise

THIRSTIER = (0.8, 1.25)  # less of a difference is a day's weather


def counted(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def recent(number: int, one: str, many: str) -> str:
    return f"your last {one}" if number == 1 else f"your last {number} {many}"


def listed(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]


def window_rests_on(window: cutting.CutWindow) -> str:
    parts = ["the recipe and the room"]
    if window.rests_on.past_cuts:
        parts.append(recent(window.rests_on.past_cuts, "cut", "cuts"))
    if window.rests_on.checks:
        parts.append(counted(window.rests_on.checks, "finger check"))
    return f"From {listed(parts)}."


def window_sharpener(window: cutting.CutWindow) -> str:
    """What would narrow the window down."""
    if not window.rests_on.checks:
        return "A finger check would sharpen it."
    if not window.rests_on.past_cuts:
        return "Each cut you note teaches it your own pace."
    return ""


def forecast_rests_on(rests_on: drying.RestsOn) -> str:
    if not rests_on.weighings:
        return "From the recipe alone: no bar was weighed yet, so the doubt is wide."
    parts = [counted(rests_on.weighings, "weighing")]
    if rests_on.past_loaves:
        parts.insert(0, recent(rests_on.past_loaves, "loaf", "loaves"))
    return f"From {listed(parts)}."


def rule_words(pct: float, days: int) -> str:
    """ "under 1 % a week over 4 weeks, and at least 28 days"."""
    weeks = days / 7
    return f"under {units.plain(pct / weeks, 2)} % a week over {units.plain(weeks, 1)} weeks, and at least {days} days"


def promise_rests_on(promised: Promise) -> str:
    """ "From 3 test bars of 11, last weighed on 3 May 2026, the usual spread ..., and the drying forecast." """
    sample, weighed = promised.sample, counted(len(promised.sample.bars_g), "bar")
    day = f"{promised.weighed_at:%-d %B %Y}"
    if sample.is_whole:
        return f"From {weighed}, all of them weighed on {day}, and the drying forecast."
    few = weighed if promised.wish.weights_g else f"{counted(len(sample.bars_g), 'test bar')}"
    together = ", all bars weighed together at the cut" if sample.loaf else ""
    return (
        f"From {few} of {sample.count}, last weighed on {day}{together}, {spread_words(promised)}, "
        "and the drying forecast."
    )


def spread_words(promised: Promise) -> str:
    share = f"{units.plain(100 * promised.sample.spread.share, 1)} %"
    if promised.wish.spread_share is not None:
        return f"your spread of cutting of {share}"
    if promised.past_loaves:
        return f"a spread of cutting of {share} learnt from {recent(promised.past_loaves, 'loaf', 'loaves')}"
    return f"the usual spread of hand cutting of {share} (common practice, no source)"


def promise_basis(promised: Promise | NoPromise | None) -> str:
    """What is kept with a release: what was borne, under which rule, resting on what."""
    if not isinstance(promised, Promise):
        return f"Not worked out. {promised.reason}" if promised else ""
    held, wish = promised.held, promised.wish
    return (
        f"{held.declare_g:g} g borne until {wish.hold_until:%-d %B %Y} with a chance of {wish.chance:.0%}, about "
        f"{held.share_below:.0%} of the bars below it then. {promise_rests_on(promised)} Rule: {held.basis}."
    )


def air(lacks_kpa: float, usually_kpa: float) -> str:
    """How readily the room takes up water; bars need longer where the air lacks little."""
    if lacks_kpa < THIRSTIER[0] * usually_kpa:
        against = "damper than usual, bars dry more slowly"
    elif lacks_kpa > THIRSTIER[1] * usually_kpa:
        against = "drier than usual, bars dry faster"
    else:
        against = "about as usual"
    return f"{against} (could take up {lacks_kpa:.1f} kPa of vapour, usually {usually_kpa:.1f})"
