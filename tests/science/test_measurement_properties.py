"""What must hold of uncertainties for any numbers in range."""

from __future__ import annotations

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
