"""The bench's brick, from which the forecast's beliefs were read, against diffusion's own solution."""

import csv
from pathlib import Path

import numpy as np
import pytest

from tests.bench.brick import Soap, dry

DATA = Path(__file__).parents[1] / "data"
MM2_A_DAY = 1e6 * 86_400


def examples():
    with (DATA / "brick_product_examples.csv").open() as file:
        return [
            {key: float(value) for key, value in row.items() if key != "status"}
            for row in csv.DictReader(file)
        ]


def plain_soap(diffusivity_mm2_day: float) -> Soap:
    """Constant diffusivity, no resistance at any face, nothing held in balance with the room."""
    one = np.ones(1)
    return Soap(
        diffusivity=diffusivity_mm2_day * one,
        slope=0 * one,
        exchange=1e7 * one,
        balance=1e-4 * one,
        power=one,
        crust=0 * one,
        underside=one,
    )


@pytest.mark.parametrize("row", examples()[::3])
def test_a_plain_brick_follows_the_product_of_three_slabs(row):
    """Crank, The Mathematics of Diffusion (1975): a brick's moisture is the product of its three slabs'."""
    size = np.array([[row["Lx_m"], row["Ly_m"], row["Lz_m"]]]) * 1000
    soap = plain_soap(row["D_m2_s"] * MM2_A_DAY)
    air = np.full((1, 60), 60.0)
    times, moisture = dry(soap, size, np.array([0.3]), air, np.full((1, 60), 20.0), until=57)
    left = np.interp(row["t_days"], times, moisture[0]) / 0.3
    # Cells are coarse in the middle and steps up to half a day: two hundredths of the water are good enough.
    assert left == pytest.approx(row["MR_average_product_of_three_slabs"], abs=0.02)


def test_a_brick_in_balance_stays_as_it_is():
    soap = plain_soap(2.0)
    soap.balance = np.array([0.12])
    air = np.full((1, 60), 60.0)
    _, moisture = dry(
        soap, np.array([[75.0, 50.0, 25.0]]), np.array([0.12]), air, np.full((1, 60), 20.0), until=30
    )
    assert moisture[0] == pytest.approx(0.12, abs=1e-6)
