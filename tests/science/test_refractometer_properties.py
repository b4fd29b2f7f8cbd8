"""What must hold of the refractometer for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import density, refractometer

originals = st.floats(2, 30)
factors = st.floats(0.95, 1.10)


@given(originals, st.floats(0.02, 0.9), factors)
def test_a_lower_reading_is_a_lower_gravity(original: float, share: float, factor: float) -> None:
    # Fermented out, wort reads a little above 0.4 of what it read unfermented.
    now = factor * original * (1 - 0.5 * share)
    before = refractometer.present_gravity(original, now + 0.01 * original, factor)
    assert refractometer.present_gravity(original, now, factor) < before


@given(originals, factors)
def test_unfermented_wort_reads_extract_times_factor(original: float, factor: float) -> None:
    brix = original * factor
    assert refractometer.extract_from_brix(brix, factor) == pytest.approx(original, abs=1e-6)
    found = refractometer.present_gravity(original, brix, factor)
    assert found == pytest.approx(density.gravity_from_extract(original), abs=1e-7)


def test_readings_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="reads from 20.8 Brix unfermented down to .* not 1$"):
        refractometer.present_gravity(20, 1, 1.04)
    with pytest.raises(ValueError, match="12.5 Brix unfermented"):
        refractometer.present_gravity(12, 15, 1.04)
