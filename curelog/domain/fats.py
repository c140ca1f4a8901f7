"""Fats and oils with their published values."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import cache

from curelog.domain.acids import ACIDS, iodine_value_of
from curelog.domain.tables import table_rows

ACID_NAMES: Mapping[str, str] = {name: name.capitalize() for name in ACIDS}

# Waxes start near 40 mg KOH/g and the lightest natural triglycerides end near 290; beyond that it is another
# unit (the ratio of alkali to fat, say) or a slip.
SAPONIFICATION_LIMITS = (20.0, 400.0)
IODINE_LIMITS = (0.0, 250.0)


@dataclass(frozen=True, slots=True)
class Fat:
    """One fat or wax.

    `saponification_value` in mg KOH per g is the value the sums use: the low end of the published range, so
    that a lot from the low end does not turn lye-heavy. `fatty_acids` are shares (by mass) of the acids,
    empty when unknown. `acid_share` is the part of the saponification value that free acid takes, without
    any glycerol: 1 for stearic acid.
    """

    key: str
    name: str
    inci: str
    is_wax: bool
    saponification_value: float
    saponification_range: tuple[float, float] | None
    iodine_value: float | None
    iodine_range: tuple[float, float] | None
    unsaponifiable: float
    # Left out of the hash, a mapping has none; equality still compares it.
    fatty_acids: Mapping[str, float] = field(hash=False)
    source: str
    is_own: bool = False
    acid_share: float = 0.0


class UnknownFat(ValueError):
    """The table has no fat of this name."""


@cache
def all_fats() -> tuple[Fat, ...]:
    """Every fat of the table, by name."""
    return tuple(sorted((_fat(row) for row in table_rows("fats.csv")), key=lambda fat: fat.name))


def find(name: str) -> Fat:
    """The fat of this name; spaces, hyphens and upper case are forgiven."""
    key = _as_key(name)
    known = _by_name()
    fat = known.get(key) or known.get(key.removesuffix("_oil"))
    if fat is None:
        near = ", ".join(get_close_matches(key, known, n=3))
        raise UnknownFat(f"no fat is called {name!r}" + (f"; near it: {near}" if near else ""))
    return fat


def own_fat(
    name: str,
    saponification_value: float,
    iodine_value: float | None = None,
    fatty_acids: Mapping[str, float] | None = None,
    is_wax: bool = False,
    inci: str = "",
) -> Fat:
    """A fat with the maker's own values, from a certificate or a supplier; ValueError says what is wrong."""
    if not name.strip():
        raise ValueError("the fat needs a name")
    _check("the saponification value (mg KOH per g)", saponification_value, SAPONIFICATION_LIMITS)
    if iodine_value is not None:
        _check("the iodine value", iodine_value, IODINE_LIMITS)
    acids = _checked_acids(fatty_acids or {})
    if iodine_value is None and acids and not is_wax:
        iodine_value = iodine_value_of(acids)
    return Fat(
        key=_as_key(name),
        name=name.strip(),
        inci=inci,
        is_wax=is_wax,
        saponification_value=saponification_value,
        saponification_range=None,
        iodine_value=iodine_value,
        iodine_range=None,
        unsaponifiable=0.0,
        fatty_acids=acids,
        source="the maker's own values",
        is_own=True,
    )


def certified(fat: Fat, saponification_value: float) -> Fat:
    """The fat with the value (mg KOH per g) of a lot's certificate: nothing of the published range is left to doubt."""
    _check("the saponification value (mg KOH per g)", saponification_value, SAPONIFICATION_LIMITS)
    as_measured = saponification_value, saponification_value
    return replace(fat, saponification_value=saponification_value, saponification_range=as_measured)


def _as_key(name: str) -> str:
    return "_".join(name.lower().replace("-", " ").replace("_", " ").split())


def _check(what: str, value: float, limits: tuple[float, float]) -> None:
    low, high = limits
    # Written so that NaN, which compares false with everything, is refused as well.
    if not low <= value <= high:
        raise ValueError(f"{what} must lie between {low:g} and {high:g}")


def _checked_acids(shares: Mapping[str, float]) -> dict[str, float]:
    """The shares scaled to 1. They may add to a little less: sheets often leave small acids out."""
    for name, share in shares.items():
        if name not in ACIDS:
            raise ValueError(f"no fatty acid is called {name!r}; known are {', '.join(ACIDS)}")
        _check(f"the share of {name} acid", share, (0.0, 1.0))
    total = sum(shares.values())
    if shares and not 0.9 <= total <= 1.02:
        raise ValueError(f"the fatty acids must add to 1, they add to {total:.3g}")
    return {name: share / total for name, share in shares.items()}


@cache
def _by_name() -> dict[str, Fat]:
    fats = {fat.key: fat for fat in all_fats()}
    also = {
        other: fats[row["fat"]]
        for row in table_rows("fats.csv")
        for other in row["also"].split("; ")
        if other
    }
    return also | fats


def _fat(row: Mapping[str, str]) -> Fat:
    acids = _acids_of(row["fat"])
    saponification = float(row["saponification_low"]), float(row["saponification_high"])
    iodine = _range(row["iodine_low"], row["iodine_high"])
    return Fat(
        key=row["fat"],
        name=row["name"],
        inci=row["inci"],
        is_wax=row["kind"] == "wax",
        saponification_value=saponification[0],
        saponification_range=saponification,
        iodine_value=_iodine_value(iodine, acids),
        iodine_range=iodine,
        unsaponifiable=float(row["unsaponifiable_g_per_kg"] or 0) / 1000,
        fatty_acids=acids,
        source=_source(row),
        acid_share=float(row["acid_value"] or 0) / saponification[0],
    )


def _range(low: str, high: str) -> tuple[float, float] | None:
    """A standard may give no value, or one side only: a side left open ends where no fat can be."""
    if not low and not high:
        return None
    return float(low or IODINE_LIMITS[0]), float(high or IODINE_LIMITS[1])


def _iodine_value(published: tuple[float, float] | None, acids: Mapping[str, float]) -> float | None:
    """The middle of the published range, or what the acids give where the range is open.

    Unlike the saponification value it needs no careful end: no alkali hangs on it.
    """
    if published is None:
        return None
    low, high = published
    if acids and (low == IODINE_LIMITS[0] or high == IODINE_LIMITS[1]):
        return iodine_value_of(acids)
    return (low + high) / 2


@cache
def _profiles() -> dict[str, dict[str, float]]:
    profiles: dict[str, dict[str, float]] = {}
    for row in table_rows("fat_acids.csv"):
        profiles.setdefault(row["fat"], {})[row["acid"]] = float(row["percent"])
    return profiles


def _acids_of(key: str) -> dict[str, float]:
    """Shares adding to 1: middles of published ranges add to 97 to 115 %, so they are scaled."""
    percents = _profiles().get(key, {})
    total = sum(percents.values())
    return {name: percents[name] / total for name in ACIDS if name in percents}


@cache
def _sources() -> dict[str, str]:
    return {row["id"]: f"{row['source']} ({row['seen']})" for row in table_rows("fat_sources.csv")}


def _source(row: Mapping[str, str]) -> str:
    parts = [("saponification value", row["saponification_source"]), ("iodine value", row["iodine_source"])]
    parts += [("fatty acids", source) for source in _profile_sources(row["fat"])]
    return "; ".join(f"{what}: {_sources()[source]}" for what, source in parts if source)


@cache
def _profile_sources(key: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row["source"] for row in table_rows("fat_acids.csv") if row["fat"] == key))
