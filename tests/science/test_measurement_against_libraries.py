"""Uncertainty of a reading: spreads by scipy, sums by uncertainties."""

from __future__ import annotations

import pytest
from reference import stats
from uncertainties import ufloat

from reportgen.science import measurement

CHECKS = (
    "measurement.rectangular",
    "measurement.combined",
    "measurement.reading_uncertainty",
)


@pytest.mark.parametrize("resolution", [0.0001, 0.001, 0.02, 0.1, 0.5, 1.0])
def test_step_is_a_rectangular_spread(resolution: float) -> None:
    reference = stats.uniform(-resolution / 2, resolution).std()
    assert measurement.rectangular(resolution) == pytest.approx(reference, rel=1e-12)
    assert measurement.reading_uncertainty(resolution) == pytest.approx(reference, rel=1e-12)


@pytest.mark.parametrize("parts", [(0.3, 0.4), (0.001, 0.0005, 0.0002), (1.0,), (0.2,) * 10])
def test_sum_of_independent_errors(parts: tuple[float, ...]) -> None:
    total = sum(ufloat(0, part) for part in parts)
    assert measurement.combined(*parts) == pytest.approx(total.std_dev, rel=1e-12)


@pytest.mark.parametrize(("resolution", "stated"), [(0.001, 0.001), (0.5, 0.3), (0.02, 0.05)])
def test_check_and_step_together(resolution: float, stated: float) -> None:
    total = ufloat(0, stated / 2) + ufloat(0, stats.uniform(0, resolution).std())
    ours = measurement.reading_uncertainty(resolution, stated)
    assert ours == pytest.approx(total.std_dev, rel=1e-12)
