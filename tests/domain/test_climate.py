import math

import pytest

from curelog.domain.climate import saturation_vapour_pressure_kpa, vapour_deficit_kpa
from tests.tables import rows

TABLE = rows("saturation_vapour_pressure.csv")


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['t_C']} C")
def test_saturation_pressure_follows_the_published_table(row: dict[str, str]) -> None:
    """CRC Handbook 1992-93, printed to 5 digits; the formula claims 0.03 %."""
    published = float(row["CRC_1992_93_Pa"]) / 1000
    assert saturation_vapour_pressure_kpa(float(row["t_C"])) == pytest.approx(published, rel=3e-4)


@pytest.mark.parametrize(("temp_c", "pascal"), [(5, 872.6), (25, 3169.7), (50, 12351.3)])
def test_saturation_pressure_follows_ashrae(temp_c: float, pascal: float) -> None:
    """ASHRAE Fundamentals 2017, chapter 1, table 3; at 50 C the formula is at the edge of its table."""
    assert saturation_vapour_pressure_kpa(temp_c) == pytest.approx(pascal / 1000, rel=6e-4)


def test_deficit_runs_from_nothing_to_saturation() -> None:
    assert vapour_deficit_kpa(100, 20) == 0
    assert vapour_deficit_kpa(0, 20) == saturation_vapour_pressure_kpa(20)
    assert vapour_deficit_kpa(50, 20) == pytest.approx(2.3388 / 2, rel=3e-4)


@pytest.mark.parametrize(("rh", "temp_c"), [(101, 20), (-1, 20), (math.nan, 20), (50, math.nan), (50, 68)])
def test_what_no_room_has_is_refused(rh: float, temp_c: float) -> None:
    with pytest.raises(ValueError, match="must lie between"):
        vapour_deficit_kpa(rh, temp_c)
