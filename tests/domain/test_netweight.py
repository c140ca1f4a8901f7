"""Net content rules against every row of the published tables (tests/data, with source and what was seen)."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curelog.domain.net_rules import (
    RULES,
    RuleName,
    maximum_allowable_variation_g,
    tolerable_negative_error_g,
)
from curelog.domain.netweight import Left, net_weight
from tests.tables import rows

TNE = rows("eu_76_211_tolerable_negative_error.csv")
MAV = rows("us_hb133_table_2_5_mav.csv")
EXAMPLES = rows("eu_tne_examples_computed.csv")
KEPT = Left(1, 1, 1)


@pytest.mark.parametrize("row", TNE, ids=lambda row: row["from_g_or_ml"])
def test_tolerable_negative_errors_row_by_row(row: dict[str, str]) -> None:
    """Both edges and the middle; neighbouring rows agree at their edge."""
    low, high = float(row["from_g_or_ml"]), float(row["to_g_or_ml"] or 20_000)
    for nominal_g in (low, (low + high) / 2, high):
        percent = row["tne_percent_of_Qn"]
        exact = nominal_g * float(percent) / 100 if percent else float(row["tne_g_or_ml"])
        assert exact - 1e-9 <= tolerable_negative_error_g(nominal_g) < exact + 0.1


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["nominal_g"])
def test_rounded_errors_and_limits(row: dict[str, str]) -> None:
    nominal_g, error_g = float(row["nominal_g"]), float(row["TNE_g_rounded_up_to_0.1"])
    assert tolerable_negative_error_g(nominal_g) == error_g
    assert nominal_g - error_g == pytest.approx(float(row["T1_limit_g"]))
    assert nominal_g - 2 * error_g == pytest.approx(float(row["T2_limit_g_minus_2TNE"]))


@pytest.mark.parametrize("row", MAV, ids=lambda row: row["labelled_g_to"])
def test_maximum_allowable_variations_row_by_row(row: dict[str, str]) -> None:
    """Just over the lower edge, the middle, and the upper edge, which still belongs to the row."""
    low, high = float(row["labelled_g_over"] or 0), float(row["labelled_g_to"])
    for label_g in (low + 0.01, (low + high) / 2, high):
        expected = float(row["mav_g"]) if row["mav_g"] else label_g / 10
        assert maximum_allowable_variation_g(label_g) == pytest.approx(expected)


def test_the_one_variation_that_was_seen() -> None:
    """NIST Handbook 133, chapter 2: 7.2 g at 113 g."""
    assert maximum_allowable_variation_g(113) == 7.2


def test_a_weight_outside_its_table_is_refused() -> None:
    with pytest.raises(ValueError, match="from 5 to inf g"):
        tolerable_negative_error_g(4.9)
    with pytest.raises(ValueError, match="from 0 to 1450 g"):
        maximum_allowable_variation_g(1500)


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["nominal_g"])
def test_the_average_rule_at_its_edges(row: dict[str, str]) -> None:
    """Of 40 bars one may lie at twice the error, not beyond; a second one beyond the error is too many."""
    nominal_g, error_g = float(row["nominal_g"]), float(row["TNE_g_rounded_up_to_0.1"])
    bears = RULES["average_eu"].bears
    heavy = nominal_g + error_g

    def lot(*light_g: float) -> np.ndarray:
        return np.array([*light_g, *[heavy] * (40 - len(light_g))])

    assert bears(nominal_g, lot(nominal_g - 2 * error_g))
    assert not bears(nominal_g, lot(nominal_g - 2 * error_g - 0.001))
    assert bears(nominal_g, lot(nominal_g - error_g, nominal_g - error_g))
    assert not bears(nominal_g, lot(nominal_g - error_g - 0.001, nominal_g - error_g - 0.001))
    assert bears(nominal_g, np.full(40, nominal_g))
    assert not bears(nominal_g, np.full(40, nominal_g - 0.001))


@pytest.mark.parametrize("row", MAV, ids=lambda row: row["labelled_g_to"])
def test_handbook_133_at_its_edges(row: dict[str, str]) -> None:
    label_g = float(row["labelled_g_to"])
    variation_g = float(row["mav_g"] or label_g / 10)
    bears = RULES["hb133"].bears
    heavy = label_g + variation_g
    assert bears(label_g, np.array([label_g - variation_g, heavy]))
    assert not bears(label_g, np.array([label_g - variation_g - 0.001, heavy, heavy]))
    assert not bears(label_g, np.array([label_g - 0.001]))


@pytest.mark.parametrize(
    ("rule", "declared"),
    [
        # Lightest 108 g, of which 90 % stay with a chance of 95 %: 97.2 g, down to the whole gram.
        ("minimum", 97),
        # Average 112 g: 100.8 g. The lightest, 97.2 g, is within 4.5 g of 100 g.
        ("average_eu", 100),
        # The same average; 7.2 g are allowed at 100 g.
        ("hb133", 100),
    ],
)
def test_worked_by_hand(rule: RuleName, declared: float) -> None:
    found = net_weight([108, 110, 112, 114, 116], Left(0.90, 0.93, 0.95), rule)
    assert found.declare_g == declared
    assert found.expected_mean_g == pytest.approx(112 * 0.9265, abs=0.2)


def test_one_light_bar_pulls_the_average_rule_down() -> None:
    """99 g among 110 g: 103 g allows 98.3 g (error 4.7 g), 104 g allows no less than 99.3 g."""
    bars_g = [99.0] + [110.0] * 9
    assert net_weight(bars_g, KEPT, "average_eu").declare_g == 103
    assert net_weight(bars_g, KEPT, "minimum").declare_g == 99


@given(
    st.lists(st.floats(40, 160), min_size=1, max_size=60),
    st.tuples(st.floats(0.7, 1), st.floats(0.7, 1), st.floats(0.7, 1)).map(sorted),
    st.sampled_from(list(RULES)),
    st.sampled_from([0.1, 0.5, 1.0, 5.0]),
    st.sampled_from([0.8, 0.9, 0.95, 0.99]),
)
def test_the_greatest_weight_that_holds_with_the_chance(
    bars_g: list[float], shares: list[float], rule: RuleName, step_g: float, chance: float
) -> None:
    left = Left(*shares)
    declare_g = net_weight(bars_g, left, rule, step_g, chance).declare_g
    assert declare_g / step_g == pytest.approx(round(declare_g / step_g))
    held = [RULES[rule].bears(declare_g, np.array(bars_g) * share) for share in left.grid()]
    assert np.mean(held) >= chance - 0.005
    worst = np.array(bars_g) * left.quantile(1 - chance)
    higher = np.arange(declare_g + step_g, worst.mean() + step_g, step_g)
    assert not any(RULES[rule].bears(float(label_g), worst) for label_g in higher)


def test_share_below_counts_bars_over_the_doubt() -> None:
    """Half of the shares left lie below the median."""
    found = net_weight([100.0] * 5, Left(0.8, 0.9, 1.0), "minimum", chance=0.5)
    assert (found.declare_g, found.share_below) == (90, 0.5)
    assert net_weight([100.0], Left(0.8, 0.9, 1.0), "minimum", chance=0.95).share_below == pytest.approx(
        0.05, abs=0.003
    )


def test_what_is_from_memory_and_what_is_stricter_is_said() -> None:
    assert "from memory" in net_weight([100.0], KEPT, "hb133").caution
    assert "when packed" in net_weight([100.0], KEPT, "average_eu").caution
    for rule in RULES.values():
        assert "Local rules decide" in rule.caution


def test_bars_too_light_for_any_step_are_refused() -> None:
    with pytest.raises(ValueError, match="no label weight"):
        net_weight([40.0], KEPT, "minimum", step_g=50)
    assert math.isclose(net_weight([40.0], KEPT, "minimum", step_g=0.1).declare_g, 40)
