"""What must hold of yeast for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import yeast

forms = st.sampled_from(["slurry", "liquid", "dry"])
ages = st.floats(0, 400)
degrees = st.floats(-2, 30)


@given(st.floats(0.1, 1000), st.floats(0.5, 30), st.floats(0.01, 5))
def test_rate_and_cells_turn_round(volume: float, extract: float, rate: float) -> None:
    cells = yeast.cells_to_pitch(volume, extract, rate)
    assert yeast.pitch_rate(cells, volume, extract) == pytest.approx(rate)


@given(ages, degrees, forms, st.floats(0.5, 1.0))
def test_the_range_holds_the_expected_share(
    age: float, celsius: float, form: str, fresh: float
) -> None:
    found = yeast.viability(age, celsius, form, fresh)
    assert 0 <= found.low <= found.expected <= found.high <= fresh


@given(ages, degrees, forms, st.floats(0, 30))
def test_yeast_only_dies(age: float, celsius: float, form: str, more: float) -> None:
    now = yeast.viability(age, celsius, form).expected
    assert yeast.viability(age + more, celsius, form).expected <= now


@given(ages, st.floats(-2, 25), forms)
def test_warmth_kills(age: float, celsius: float, form: str) -> None:
    cold, warm = (yeast.viability(age, t, form).expected for t in (celsius, celsius + 5))
    assert warm <= cold


def test_dry_yeast_keeps_best() -> None:
    shares = [yeast.viability(60, 4, form).expected for form in ("slurry", "liquid", "dry")]
    assert shares == sorted(shares)


def test_an_unknown_form_is_an_error() -> None:
    with pytest.raises(KeyError):
        yeast.viability(3, 4, "frozen")
