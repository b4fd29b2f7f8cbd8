"""What must hold of alcohol and attenuation for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import alcohol, density
from reportgen.science.method import OutOfRange

originals = st.floats(4, 25)
shares = st.floats(0, 1.05)
names = st.sampled_from(sorted(alcohol.MODELS))


def gravities(original: float, share: float) -> tuple[float, float]:
    return (
        density.gravity_from_extract(original),
        density.gravity_from_extract(original * (1 - share)),
    )


@given(st.floats(4, 22), st.floats(0, 0.98), names)
def test_more_fermentation_is_more_alcohol(original: float, share: float, name: str) -> None:
    start, now = gravities(original, share)
    later = density.gravity_from_extract(original * (1 - share - 0.02))
    model = alcohol.MODELS[name]
    assert model(start, later) > model(start, now)
    assert model(start, now) >= -1e-9


@given(st.floats(4, 20), st.floats(0.1, 1.0))
def test_models_stay_together(original: float, share: float) -> None:
    """The published models differ by less than 4 % and 0.1 % by volume over the trade's range."""
    start, now = gravities(original, share)
    results = [model(start, now) for model in alcohol.MODELS.values()]
    assert max(results) - min(results) < 0.1 + 0.04 * max(results)


@given(originals, shares)
def test_attenuation_inverts(original: float, share: float) -> None:
    start, now = gravities(original, share)
    assert alcohol.apparent_attenuation(start, now) == pytest.approx(share, abs=1e-9)
    assert alcohol.gravity_at_attenuation(start, share) == pytest.approx(now, abs=1e-10)
    assert alcohol.real_attenuation(start, now) == pytest.approx(0.8192 * share, abs=1e-9)


@given(st.floats(0, 0.3))
def test_spirit_is_lighter_with_more_alcohol(fraction: float) -> None:
    assert alcohol.ethanol_water_density(fraction + 0.01) < alcohol.ethanol_water_density(fraction)


def test_impossible_inputs_are_refused() -> None:
    with pytest.raises(OutOfRange, match="original gravity is 1.48 SG"):
        alcohol.alcohol_by_volume_fermentation_balance(1.48, 1.012)
    with pytest.raises(ValueError, match="past the duty table"):
        alcohol.alcohol_by_volume_duty_table(1.12, 1.01)
    with pytest.raises(OutOfRange, match="nan"):
        alcohol.alcohol_by_volume_fermentation_balance(float("nan"), 1.012)
