"""Suppliers' limits, of the finished soap and of the fats."""

import pytest

from curelog.domain.limits import Limited, over_limit


@pytest.mark.parametrize(
    ("mass_g", "limit", "is_of_fats", "share"),
    [
        (30, 0.03, True, None),  # of 1000 g fats: just met
        (30.1, 0.03, True, 0.0301),
        (30, 0.025, False, None),  # of 1200 g without water: just met
        (30.1, 0.025, False, 30.1 / 1200),
        (0, 0.0, False, None),
    ],
)
def test_above_a_limit(mass_g, limit, is_of_fats, share):
    found = list(over_limit([Limited("Clove", mass_g, limit, is_of_fats)], fats_g=1000, dry_g=1200))
    assert [over.share for over in found] == ([] if share is None else [pytest.approx(share)])


def test_its_words_name_the_limit():
    over = next(over_limit([Limited("Clove", 36, 0.005)], 1000, 1200))
    assert over.words.startswith("Clove is 3.00% of the finished soap")
    assert over.words.endswith("limit is 0.50%.")
