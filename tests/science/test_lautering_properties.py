"""What must hold of the run-off for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import lautering
from reportgen.science.extract import extract_mass
from reportgen.science.number import nominal, ufloat

grists = st.floats(1, 200)
extracts = st.floats(0.6, 0.85)
conversions = st.floats(0.7, 1.0)
ratios = st.floats(2, 8)
moistures = st.floats(0.01, 0.08)
tanks = st.one_of(st.integers(1, 30), st.floats(1, 30))


@given(extracts, conversions, ratios, moistures)
def test_conversion_inverts(e: float, k: float, ratio: float, moisture: float) -> None:
    first = lautering.first_wort_extract(e, k, ratio, moisture)
    assert 0 < first < 50
    back = lautering.conversion_from_first_wort(first, e, ratio, moisture)
    assert back == pytest.approx(k, rel=1e-10)


@given(grists, extracts, conversions, ratios, moistures)
def test_wort_takes_more_room_than_its_liquor(
    grist: float, e: float, k: float, ratio: float, moisture: float
) -> None:
    volume = lautering.tun_wort_volume(grist, e, k, moisture, ratio * grist)
    assert ratio * grist < volume < ratio * grist + grist


@given(st.floats(10, 500), st.floats(0.05, 0.7), st.lists(st.floats(0, 300), max_size=4))
def test_recovery_is_a_share_and_sparging_helps(
    volume: float, held_share: float, batches: list[float]
) -> None:
    held = held_share * volume
    none = lautering.recovery_no_sparge(volume, held)
    found = lautering.recovery_in_batches(volume, held, batches)
    assert 0 <= none <= found + 1e-12
    assert found <= 1


@given(st.floats(10, 500), st.floats(0.05, 0.7), st.floats(5, 300), st.floats(0.1, 0.9))
def test_equal_batches_recover_most(
    volume: float, held_share: float, sparge: float, split: float
) -> None:
    held = held_share * volume
    equal = lautering.recovery_in_batches(volume, held, [sparge / 2, sparge / 2])
    uneven = lautering.recovery_in_batches(volume, held, [split * sparge, (1 - split) * sparge])
    assert equal >= uneven - 1e-12


@given(st.floats(10, 500), st.floats(0.05, 0.7), st.floats(0.1, 4), tanks)
def test_continuous_beats_one_batch(
    volume: float, held_share: float, theta: float, number: float
) -> None:
    held = held_share * volume
    sparge = theta * held
    one = lautering.recovery_in_batches(volume, held, [sparge])
    found = lautering.continuous_recovery(volume, held, sparge, number)
    assert one <= found + 1e-9
    assert found <= 1 + 1e-12


@given(st.floats(1.03, 1.12), st.floats(0.05, 0.95), st.floats(1, 100), tanks)
def test_stopping_point_inverts(first: float, share: float, held: float, number: float) -> None:
    stop = 1 + (first - 1) * share
    if stop < 1.0005:
        return
    volume = lautering.sparge_volume_at_gravity(first, stop, held, number)
    assert volume > 0
    assert lautering.runnings_gravity(first, volume, held, number) == pytest.approx(stop, abs=1e-8)


@given(st.floats(1.02, 1.12), st.floats(0, 3), st.floats(1, 100), tanks)
def test_runnings_get_thinner(first: float, theta: float, held: float, number: float) -> None:
    now = lautering.runnings_gravity(first, theta * held, held, number)
    later = lautering.runnings_gravity(first, (theta + 0.2) * held, held, number)
    assert 1 - 1e-12 <= later <= now <= first + 1e-9


@given(st.floats(1, 29), st.floats(0.1, 3))
def test_whole_and_broken_numbers_of_tanks_join(number: float, theta: float) -> None:
    whole = round(number)
    exact = lautering.continuous_recovery(20, 6, 6 * theta, whole)
    beside = lautering.continuous_recovery(20, 6, 6 * theta, whole + 1e-7)
    assert beside == pytest.approx(exact, abs=1e-6)


def test_no_sparge_at_all_leaves_the_hold_up() -> None:
    assert lautering.continuous_recovery(20, 5, 0, 4) == pytest.approx(0.75)
    assert lautering.sparge_volume_at_gravity(1.006, 1.008, 5, 3) == 0


def test_more_held_than_there_is_wort_is_refused() -> None:
    with pytest.raises(ValueError, match="more than the 5 L of wort"):
        lautering.recovery_no_sparge(5, 6)
    with pytest.raises(ValueError, match="negative"):
        lautering.recovery_in_batches(20, 6, [-3])


def test_uncertain_wort_sparged_in_twenty_parts_keeps_its_extract() -> None:
    """Twenty is what anyone drains at most; each running uses the one before it twice over."""
    held, sparge = ufloat(9.0, 0.4, "held"), [2.0] * 20
    runnings = lautering.batch_runnings(40.0, ufloat(1.07, 0.001, "gravity"), held, sparge)
    drained = sum(extract_mass(volume, gravity) for volume, gravity in runnings)
    share = nominal(drained) / nominal(extract_mass(40.0, 1.07))
    recovered = nominal(lautering.recovery_in_batches(40.0, held, sparge))
    assert share == pytest.approx(recovered, abs=2e-3)
