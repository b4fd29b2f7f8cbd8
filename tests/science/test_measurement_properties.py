"""What must hold of uncertainties for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import measurement

steps = st.just(0.0) | st.floats(1e-6, 100)


@given(steps, st.none() | steps)
def test_a_reading_is_never_better_than_its_step(step: float, stated: float | None) -> None:
    u = measurement.reading_uncertainty(step, stated)
    assert u >= measurement.rectangular(step) * (1 - 1e-12)
    if stated is not None:
        assert u >= stated / 2 * (1 - 1e-12)
        assert u <= measurement.rectangular(step) + stated / 2 + 1e-12


@given(st.lists(steps, max_size=6))
def test_combined_lies_between_the_largest_and_the_sum(parts: list[float]) -> None:
    total = measurement.combined(*parts)
    assert max(parts, default=0.0) * (1 - 1e-9) - 1e-150 <= total <= sum(parts) + 1e-9


@given(st.integers(0, 5), st.integers(0, 99999))
def test_each_decimal_written_is_ten_times_finer(decimals: int, digits: int) -> None:
    text = f"{digits / 10**decimals:.{decimals}f}"
    coarse = measurement.decimals_uncertainty(text)
    finer = measurement.decimals_uncertainty(f"{float(text):.{decimals + 1}f}")
    assert finer == pytest.approx(coarse / 10)


@pytest.mark.parametrize("text", ["", "warm", "1,040", "nan", "inf"])
def test_no_number_is_an_error(text: str) -> None:
    with pytest.raises(ValueError, match="number"):
        measurement.decimals_uncertainty(text)
