"""What must hold of the boil for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import boil
from reportgen.science.method import OutOfRange


@given(st.floats(0.1, 1000), st.floats(0, 200), st.floats(0, 600))
def test_a_kettle_never_holds_less_than_nothing(
    volume: float, evaporation: float, minutes: float
) -> None:
    try:
        left = boil.volume_after_boil(volume, evaporation, minutes)
    except OutOfRange as error:
        # Boiled dry: the message says for how long it could have been boiled.
        assert error.name == "minutes"
        assert error.high == pytest.approx(60 * volume / evaporation)
        return
    assert 0 < left <= volume


@given(st.floats(10, 100), st.floats(1, 10), st.floats(1, 50), st.floats(1, 50))
def test_two_boils_are_one(volume: float, rate: float, first: float, second: float) -> None:
    if rate * (first + second) / 60 >= volume:
        return
    twice = boil.volume_after_boil(boil.volume_after_boil(volume, rate, first), rate, second)
    assert twice == pytest.approx(boil.volume_after_boil(volume, rate, first + second))


@given(st.floats(0, 300), st.floats(60, 108), st.floats(0.1, 60))
def test_precursor_goes_faster_hot_and_with_time(
    minutes: float, celsius: float, more: float
) -> None:
    left = boil.dms_precursor_left(minutes, celsius)
    assert 0 < left <= 1
    assert boil.dms_precursor_left(minutes + more, celsius) <= left
    assert boil.dms_precursor_left(minutes, celsius + 2) <= left
