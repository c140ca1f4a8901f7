"""What was worked out, in the maker's language: what it says, and what it rests on."""

from curelog import units
from curelog.domain import cutting, drying


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


def bars_words(bar_ids: tuple[str, ...]) -> str:
    return f"bar {bar_ids[0]}" if len(bar_ids) == 1 else f"bars {listed(list(bar_ids))} together"
