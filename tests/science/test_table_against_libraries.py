"""Reading a printed table: numpy's linear interpolation, scipy's going on beyond the ends."""

from __future__ import annotations

import numpy
import pytest
from reference import interp1d
from uncertainties import ufloat

from reportgen.science.table import interpolated

CHECKS = ("table.interpolated",)

# Gypsum in water, g in 100 mL at degC, as handbooks print it (Lange's Handbook of Chemistry).
GYPSUM = [
    (0.0, 0.223), (10.0, 0.244), (20.0, 0.255), (30.0, 0.264), (40.0, 0.265), (60.0, 0.244),
    (80.0, 0.234), (100.0, 0.205),
]  # fmt: skip


@pytest.mark.parametrize("x", [0.0, 3.7, 10.0, 25.0, 59.9, 60.0, 71.3, 100.0])
def test_between_the_entries_as_numpy_does(x: float) -> None:
    expected = numpy.interp(x, *zip(*GYPSUM, strict=True))
    assert interpolated(GYPSUM, x) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("x", [-20.0, -0.1, 101.0, 140.0])
def test_the_end_lines_go_on(x: float) -> None:
    line = interp1d(*zip(*GYPSUM, strict=True), fill_value="extrapolate")
    assert interpolated(GYPSUM, x) == pytest.approx(float(line(x)), rel=1e-12)


def test_uncertainty_is_the_slope_times_that_of_x() -> None:
    found = interpolated(GYPSUM, ufloat(70.0, 1.0))
    assert found.nominal_value == pytest.approx(0.239)
    assert found.std_dev == pytest.approx((0.244 - 0.234) / 20.0)
