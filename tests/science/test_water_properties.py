"""Water: what must hold for any analysis."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import water

MG = st.floats(0.0, 500.0)
IONS = st.fixed_dictionaries(
    {
        ion: MG
        for ion in (
            "calcium",
            "magnesium",
            "sodium",
            "potassium",
            "chloride",
            "sulfate",
            "nitrate",
            "bicarbonate",
        )
    }
)
LITRES = st.floats(0.1, 500.0)
UNIT = st.sampled_from(sorted(water.UNITS_OF_HARDNESS))


@given(st.floats(-100.0, 1000.0), UNIT, UNIT)
def test_conversions_invert(value: float, one: str, other: str) -> None:
    there = water.convert_hardness(value, one, other)
    assert water.convert_hardness(there, other, one) == pytest.approx(value, rel=1e-9, abs=1e-12)


@given(IONS, IONS, LITRES, LITRES)
def test_mixing_loses_nothing(a: dict[str, float], b: dict[str, float], v: float, w: float) -> None:
    mixed = water.mix([(v, a), (w, b)])
    for ion in a:
        assert mixed[ion] * (v + w) == pytest.approx(a[ion] * v + b[ion] * w, rel=1e-9, abs=1e-9)
    whole = water.mix([(v, a), (w, b)])
    assert water.cations(whole) * (v + w) == pytest.approx(
        water.cations(a) * v + water.cations(b) * w, rel=1e-9, abs=1e-9
    )


@given(IONS, LITRES)
def test_mixing_with_itself_changes_nothing(ions: dict[str, float], v: float) -> None:
    mixed = water.mix([(v, ions), (2 * v, ions)])
    for ion in ions:
        assert mixed[ion] == pytest.approx(ions[ion], rel=1e-9, abs=1e-12)


@given(IONS)
def test_balance_lies_between_the_ends(ions: dict[str, float]) -> None:
    assert -100.0 <= water.ion_balance(ions) <= 100.0


@given(IONS, st.floats(1.0, 100.0))
def test_more_calcium_less_residual_alkalinity(ions: dict[str, float], more: float) -> None:
    alkalinity = water.alkalinity(ions)
    before = water.residual_alkalinity(alkalinity, ions["calcium"], ions["magnesium"])
    after = water.residual_alkalinity(alkalinity, ions["calcium"] + more, ions["magnesium"])
    assert after < before <= alkalinity


def test_nothing_mixed_is_an_error() -> None:
    with pytest.raises(ValueError):
        water.mix([(0.0, {"calcium": 50.0})])


def test_acid_in_excess_is_kept_as_negative_alkalinity() -> None:
    mixed = water.mix([(1.0, {"alkalinity": -2.0}), (1.0, {"bicarbonate": 61.017})])
    assert mixed["alkalinity"] == pytest.approx(-0.5, abs=1e-3)
    assert mixed["bicarbonate"] == 0.0


def test_uncertainty_of_the_analysis_is_carried() -> None:
    from uncertainties import ufloat

    ions = {"calcium": ufloat(100.0, 5.0), "bicarbonate": 300.0}
    assert water.ion_balance(ions).std_dev == pytest.approx(2.5, abs=0.2)
