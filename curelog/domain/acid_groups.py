"""A soap's fatty acids by name, in the order of chemistry: saturated, mono- and polyunsaturated."""

from collections.abc import Mapping
from dataclasses import dataclass

from curelog.domain.acids import ACIDS, by_saturation

LEAST_SHOWN = 0.005  # up to half a per cent rounds to nothing


@dataclass(frozen=True, slots=True)
class AcidGroup:
    """`share` of all fatty acids, and the acids of the group that are worth a name."""

    name: str
    share: float
    acids: tuple[tuple[str, float], ...]


def acid_groups(shares: Mapping[str, float]) -> tuple[AcidGroup, ...]:
    """`shares` of the acids by name, as fractions. What they lack to 1 is told as not known."""
    groups = [
        AcidGroup(saturation.capitalize(), share, _named(shares, saturation))
        for saturation, share in by_saturation(shares).items()
    ]
    unknown = 1 - sum(shares.values())
    if unknown > LEAST_SHOWN:
        groups.append(AcidGroup("Not known", unknown, ()))
    return tuple(groups)


def _named(shares: Mapping[str, float], saturation: str) -> tuple[tuple[str, float], ...]:
    return tuple(
        (name.capitalize(), share)
        for name, share in shares.items()
        if ACIDS[name].saturation == saturation and share > LEAST_SHOWN
    )
