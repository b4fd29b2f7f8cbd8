"""What must hold of bitterness for any numbers in range."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import bitterness
from reportgen.science.method import OutOfRange, reckoning

gravities = st.floats(1.0, 1.15)
minutes = st.floats(0, 240)
warm = st.floats(20, 105)
steps = st.lists(st.tuples(st.floats(0, 120), warm), max_size=8)
names = st.sampled_from(sorted(bitterness.MODELS))


@given(steps, st.floats(0, 1))
def test_utilisation_is_a_share(profile: list[tuple[float, float]], losses: float) -> None:
    used = bitterness.utilisation_by_isomerisation(profile, losses)
    assert 0.0 <= used <= losses
    assert math.isfinite(used)


@given(minutes, st.floats(1, 60), gravities)
def test_longer_boil_and_thinner_wort_use_more(time: float, more: float, gravity: float) -> None:
    used = bitterness.utilisation_by_time_and_gravity(gravity, time)
    assert bitterness.utilisation_by_time_and_gravity(gravity, time + more) >= used >= 0
    assert bitterness.utilisation_by_time_and_gravity(gravity + 0.01, time) <= used


@given(names, gravities, st.floats(0, 90), st.floats(0, 60), st.floats(60, 98))
def test_models_know_what_a_steep_adds(
    name: str, gravity: float, boil: float, steep: float, celsius: float
) -> None:
    model = bitterness.MODELS[name]
    without = model(gravity, boil, [(boil, 100.0)])
    with_it = model(gravity, boil, [(boil, 100.0), (steep, celsius)])
    assert 0 <= without <= with_it + 1e-12 < 0.5
    # A steep never gives more than the same time at the boil.
    assert with_it <= model(gravity, boil, [(boil, 100.0), (steep, 100.0)]) + 1e-12


@given(names, st.floats(1, 90), st.integers(1, 7))
def test_cutting_the_boil_into_steps_changes_nothing(name: str, boil: float, parts: int) -> None:
    model = bitterness.MODELS[name]
    whole = model(1.05, boil, [(boil, 100.0), (10, 80.0)])
    pieces = [(boil / parts, 100.0)] * parts
    assert model(1.05, boil, [*pieces, (10, 80.0)]) == pytest.approx(whole, rel=1e-9)


@pytest.mark.parametrize("name", sorted(bitterness.MODELS))
def test_a_profile_without_its_boil_is_refused(name: str) -> None:
    """Handed the steep and cooling only, a model would take them for the boil."""
    model = bitterness.MODELS[name]
    with pytest.raises(ValueError, match="does not start with the boil"):
        model(1.05, 60, [(80, 78.0)])
    with pytest.raises(ValueError, match="shorter than the boil"):
        model(1.05, 60, [(30, 100.0)])


def test_a_step_of_negative_time_is_refused() -> None:
    with pytest.raises(ValueError, match="less than no time"):
        bitterness.utilisation_by_isomerisation([(60, 100.0), (-5, 80.0)])
    with pytest.raises(ValueError, match="less than no time"):
        bitterness.time_and_gravity(1.05, 60, [(60, 100.0), (-5, 80.0)])


@given(st.floats(0.01, 0.2), st.floats(0, 0.9), st.floats(-20, 20), st.floats(0, 700))
def test_hops_only_lose(alpha: float, loss: float, celsius: float, days: float) -> None:
    now = bitterness.hop_storage_alpha(alpha, loss, celsius, days)
    assert 0 < now <= alpha
    assert bitterness.hop_storage_alpha(alpha, loss, celsius - 5, days) >= now
    assert bitterness.hop_storage_alpha(alpha, loss, celsius, days, 0.5) >= now


@given(st.floats(0, 90), st.floats(0, 90))
def test_storage_in_two_spells_is_storage_in_one(first: float, second: float) -> None:
    halfway = bitterness.hop_storage_alpha(0.08, 0.4, 10, first)
    twice = bitterness.hop_storage_alpha(halfway, 0.4, 10, second)
    once = bitterness.hop_storage_alpha(0.08, 0.4, 10, first + second)
    assert twice == pytest.approx(once, rel=1e-12)


def test_the_defaults_and_the_range() -> None:
    assert bitterness.DEFAULT in bitterness.MODELS
    with pytest.raises(OutOfRange):
        bitterness.utilisation_by_time_and_gravity(1.05, math.nan)
    with reckoning() as marks:
        bitterness.isomerisation_rates(75.0)
    assert [m.name for m in marks] == ["temperature"]
