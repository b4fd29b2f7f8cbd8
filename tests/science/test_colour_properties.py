"""What must hold of colour for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from reportgen.science import colour

names = st.sampled_from(sorted(colour.MODELS))
malts = st.lists(st.tuples(st.floats(0, 50), st.floats(0, 1500)), max_size=6)


@given(st.floats(0, 1000))
def test_scales_turn_round(value: float) -> None:
    assert colour.ebc_to_srm(colour.srm_to_ebc(value)) == pytest.approx(value, abs=1e-9)


@given(malts, st.floats(5, 500), names)
def test_colour_is_never_below_nothing_and_grows(
    grist: list[tuple[float, float]], volume: float, name: str
) -> None:
    if colour.malt_colour_units([*grist, (1.0, 1000.0)], volume) > 1000:
        return
    value = colour.colour(grist, volume, name)
    assert value >= 0
    assert colour.colour([*grist, (1.0, 1000.0)], volume, name) > value
    assert colour.colour(grist, volume * 1.1, name) <= value + 1e-12


@given(st.floats(2, 10))
def test_models_stay_together_for_pale_beers(mcu: float) -> None:
    results = [model(mcu) for model in colour.MODELS.values()]
    assert max(results) / min(results) < 1.45


def test_no_malt_has_no_colour_by_the_default() -> None:
    assert colour.DEFAULT in colour.MODELS
    assert colour.colour([], 20) == 0
    # A number with an uncertainty must not break on the power of nothing.
    assert colour.srm_power_law(ufloat(0.0, 0.1)).nominal_value == 0


def test_a_malt_of_negative_weight_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be below 0"):
        colour.colour([(-1.0, 5.0)], 20)
