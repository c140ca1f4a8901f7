"""Fatty acids told by name and by chemistry."""

import pytest

from curelog.domain.acid_groups import acid_groups


def test_groups_follow_from_the_double_bonds():
    shares = {"lauric": 0.3, "palmitic": 0.1, "oleic": 0.4, "linoleic": 0.15, "linolenic": 0.05}
    saturated, mono, poly = acid_groups(shares)
    assert (saturated.name, saturated.acids) == ("Saturated", (("Lauric", 0.3), ("Palmitic", 0.1)))
    assert saturated.share == pytest.approx(0.4)
    assert mono.acids == (("Oleic", 0.4),)
    assert [name for name, _ in poly.acids] == ["Linoleic", "Linolenic"]


def test_traces_count_but_are_not_named_and_the_unknown_rest_is_told():
    groups = acid_groups({"lauric": 0.7, "caproic": 0.004})
    assert groups[0].share == pytest.approx(0.704)
    assert [name for name, _ in groups[0].acids] == ["Lauric"]
    assert groups[-1].name == "Not known"
    assert groups[-1].share == pytest.approx(0.296)
