"""Facts that contradict each other: two phones told of what can be only once, or corrected the same thing twice."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from curelog.models.fact import Fact
from curelog.models.facts import Cut, Finish, Unmoulding
from curelog.models.sale import Release

ONCE: dict[type[Fact], str] = {
    Unmoulding: "Unmoulded twice.",
    Cut: "Cut twice.",
    Release: "Released twice.",
    Finish: "Finished twice.",
}
FIRST_COUNTS = "The first to arrive counts. Withdraw the one that is wrong."


@dataclass(frozen=True)
class Conflict:
    """In words, and the facts: of rivals the one that counts first."""

    words: str
    facts: tuple[Fact, ...]


def rivals(facts: Mapping[type[Fact], Sequence[Fact]], stands: Callable[[Fact], bool]) -> list[Conflict]:
    """Facts of which only one can hold."""
    found = []
    for kind, told in facts.items():
        for group in [told] if kind in ONCE else _by_what_they_correct(told):
            standing = sorted(filter(stands, group), key=lambda fact: _received(fact, told))
            if len(standing) > 1:
                found.append(
                    Conflict(f"{ONCE.get(kind, 'Corrected twice.')} {FIRST_COUNTS}", tuple(standing))
                )
    return found


def _by_what_they_correct(facts: Sequence[Fact]) -> list[list[Fact]]:
    groups: dict[object, list[Fact]] = defaultdict(list)
    for fact in facts:
        if fact.corrects_id:
            groups[fact.corrects_id].append(fact)
    return list(groups.values())


def _received(fact: Fact, told: Sequence[Fact]) -> tuple[datetime, datetime]:
    """A correction stands in the place of what was told first."""
    by_key = {other.pk: other for other in told}
    first = fact
    while first.corrects_id in by_key:
        first = by_key[first.corrects_id]
    return first.received_at, fact.received_at


def out_of_order(unmoulding: Unmoulding | None, cut: Cut | None) -> list[Conflict]:
    """One phone cut what the other unmoulded. Both hold; their moments cannot both be right."""
    if not unmoulding or not cut or unmoulding.happened_at <= cut.happened_at:
        return []
    words = "Unmoulded after it was cut? Correct the moment of one, or withdraw it."
    return [Conflict(words, (cut, unmoulding))]
