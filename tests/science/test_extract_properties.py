"""Extract is neither made nor lost, for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import extract

volumes = st.floats(0.5, 2000)
gravities = st.floats(1.0, 1.15)
real_gravities = st.floats(1.005, 1.15)


@given(st.lists(st.tuples(volumes, gravities), min_size=1, max_size=6))
def test_mixing_keeps_the_extract(parts: list[tuple[float, float]]) -> None:
    gravity = extract.gravity_of_mix(parts)
    held = sum(extract.extract_mass(v, g) for v, g in parts)
    mass = sum(v * g for v, g in parts)
    assert extract.extract_mass(mass / gravity, gravity) == pytest.approx(held, rel=1e-9, abs=1e-9)
    assert min(g for _, g in parts) - 1e-9 <= gravity <= max(g for _, g in parts) + 1e-9


@given(volumes, real_gravities, st.floats(0, 1000))
def test_topping_up_inverts(volume: float, gravity: float, liquor: float) -> None:
    after = extract.gravity_after_topping_up(volume, gravity, liquor)
    assert after <= gravity + 1e-12
    if after > 1.0006:
        assert extract.topping_up_liquor(volume, gravity, after) == pytest.approx(
            liquor, rel=1e-6, abs=1e-6
        )


@given(volumes, gravities, st.floats(0, 0.2), st.floats(0, 1))
def test_sugar_keeps_mass_and_extract(
    volume: float, gravity: float, per_litre: float, share: float
) -> None:
    sugar = per_litre * volume
    after_volume, after = extract.gravity_after_sugar(volume, gravity, sugar, share)
    assert extract.extract_mass(after_volume, after) == pytest.approx(
        extract.extract_mass(volume, gravity) + share * sugar, rel=1e-8, abs=1e-9
    )
    assert after_volume >= volume * (1 - 1e-9)


@given(real_gravities, st.floats(0.01, 200))
def test_volume_of_extract_inverts(gravity: float, mass: float) -> None:
    volume = extract.volume_of_extract(mass, gravity)
    assert volume > 0
    assert extract.extract_mass(volume, gravity) == pytest.approx(mass, rel=1e-10)


def test_no_wort_and_too_much_sugar_are_refused() -> None:
    with pytest.raises(ValueError, match="no wort"):
        extract.gravity_of_mix([])
    with pytest.raises(ValueError, match="negative volume"):
        extract.gravity_of_mix([(10, 1.05), (-1, 1.0)])
