"""Mash pH: what must hold for any mash."""

from __future__ import annotations

import time
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.science import mash_ph
from reportgen.science.mash_ph import MaltAcidity
from reportgen.science.method import OutOfRange

MALT = st.builds(MaltAcidity, st.floats(0.1, 20.0), st.floats(4.2, 6.2), st.floats(20.0, 60.0))
MASH = st.fixed_dictionaries(
    {
        "malts": st.lists(MALT, min_size=1, max_size=6),
        "mash_liquor": st.floats(2.0, 100.0),
        "alkalinity": st.floats(-0.5, 6.0),
        "calcium": st.floats(0.0, 300.0),
        "magnesium": st.floats(0.0, 60.0),
        "liquor_ph": st.floats(6.5, 8.5),
    }
)


@given(MASH)
def test_pure_water_leaves_the_grist_between_its_malts(mash: dict[str, Any]) -> None:
    malts = mash["malts"]
    thin = min(mash["mash_liquor"], 10.0 * sum(m.mass for m in malts))
    ph = mash_ph.charge_balance(malts, thin, 0.0, 0.0, 0.0)
    # Free hydrogen ion of sour malt in much water: a few thousandths.
    assert min(m.distilled_water_mash_ph for m in malts) - 0.01 <= ph
    assert ph <= max(m.distilled_water_mash_ph for m in malts) + 0.05


def tried(model: Any, **mash: Any) -> float | None:
    """The pH, or None where the numbers lead out of anything a mash could be."""
    try:
        return float(model(**mash))
    except ValueError:
        return None


@pytest.mark.parametrize("name", mash_ph.MODELS)
@given(mash=MASH, more=st.floats(1.0, 30.0))
def test_direction_of_each_addition(name: str, mash: dict[str, Any], more: float) -> None:
    model = mash_ph.MODELS[name]
    before = tried(model, **mash)
    lower = tried(model, **mash, acid_equivalents={"lactic": more})
    higher = tried(model, **mash, bicarbonate_mmol=more)
    lime = tried(model, **mash, lime_mmol=more)
    sour = tried(model, **mash, acidulated_mmol=more)
    if before is None or lower is None or higher is None or lime is None or sour is None:
        return
    assert lower < before and sour == pytest.approx(lower)
    # Where all carbonate is bicarbonate already, more of it moves nothing.
    assert before <= higher + 1e-9 and higher <= lime + 1e-9 and before < lime
    calcium = tried(model, **{**mash, "calcium": mash["calcium"] + more})
    assert calcium is None or calcium < before


@given(MASH, st.floats(5.0, 5.8), st.sampled_from(["lactic", "phosphoric", "sulfuric"]))
def test_the_acid_asked_for_reaches_the_target(
    mash: dict[str, Any], target: float, acid: str
) -> None:
    mmol = mash_ph.acid_for_mash(target, acid, **mash)
    if mmol < 0.0:
        return
    reached = mash_ph.charge_balance(**mash, acid_equivalents={acid: mmol})
    assert reached == pytest.approx(target, abs=1e-6)


@given(MASH, st.floats(0.1, 10.0))
def test_a_mash_of_twice_the_size_has_the_same_ph(mash: dict[str, Any], factor: float) -> None:
    before = tried(mash_ph.charge_balance, **mash)
    scaled = {
        **mash,
        "malts": [
            MaltAcidity(m.mass * factor, m.distilled_water_mash_ph, m.buffering)
            for m in mash["malts"]
        ],
        "mash_liquor": mash["mash_liquor"] * factor,
    }
    if before is not None:
        assert mash_ph.charge_balance(**scaled) == pytest.approx(before, abs=1e-6)


@given(st.floats(3.0, 9.0), st.floats(0.0, 100.0))
def test_hot_wort_reads_lower(ph: float, degrees: float) -> None:
    room = mash_ph.room_temperature_ph(ph, degrees)
    assert (room > ph) == (degrees > 20.0) or degrees == pytest.approx(20.0)


@given(st.sampled_from(sorted(mash_ph.MALT_CLASSES)), st.floats(0.0, 400.0))
def test_every_class_has_a_believable_malt(malt_class: str, ebc: float) -> None:
    ph, buffering = mash_ph.malt_acidity(malt_class, ebc)
    assert 2.5 < ph <= 6.0 and 15.0 <= buffering <= 60.0


@given(st.sampled_from(sorted(mash_ph.MALT_CLASSES)))
def test_a_malt_that_was_measured_is_better_known(malt_class: str) -> None:
    unknown, measured = (mash_ph.acidity_uncertainty(malt_class, m) for m in (False, True))
    assert 0 < measured.ph < unknown.ph and measured.buffering == unknown.buffering > 0


@settings(max_examples=25)
@given(MASH)
def test_uncertainty_is_carried_as_the_slope_says(mash: dict[str, Any]) -> None:
    from uncertainties import ufloat

    plain = tried(mash_ph.charge_balance, **mash)
    if plain is None or mash["alkalinity"] < 0.1:
        return
    carried = mash_ph.charge_balance(**{**mash, "alkalinity": ufloat(mash["alkalinity"], 0.05)})
    step = 1e-4
    up = mash_ph.charge_balance(**{**mash, "alkalinity": mash["alkalinity"] + step})
    assert carried.nominal_value == pytest.approx(plain, abs=1e-7)
    assert carried.std_dev == pytest.approx(0.05 * (up - plain) / step, rel=0.01)


def test_correlated_inputs_stay_correlated() -> None:
    """The same uncertain pH of one malt in two portions is not averaged away."""
    from uncertainties import ufloat

    ph = ufloat(5.7, 0.05)
    one = mash_ph.charge_balance([MaltAcidity(4.0, ph, 40.0)], 12.0, 0.0, 0.0, 0.0)
    two = mash_ph.charge_balance(
        [MaltAcidity(2.0, ph, 40.0), MaltAcidity(2.0, ph, 40.0)], 12.0, 0.0, 0.0, 0.0
    )
    # Free hydrogen ion in the water damps it by less than a thousandth.
    assert one.std_dev == pytest.approx(0.05, rel=1e-3)
    assert two.std_dev == pytest.approx(one.std_dev, rel=1e-6)


def test_quick_enough_for_a_forecast() -> None:
    mash = ([MaltAcidity(3.0, 5.7, 40.0), MaltAcidity(0.4, 4.8, 35.0)], 10.0, 3.0, 60.0, 5.0, 7.6)
    mash_ph.charge_balance(*mash, {"lactic": 10.0})
    best = min(_timed(mash) for _ in range(20))
    assert best < 1e-3


def _timed(mash: tuple[Any, ...]) -> float:
    start = time.perf_counter()
    mash_ph.charge_balance(*mash, {"lactic": 10.0})
    return time.perf_counter() - start


def test_no_grist_no_mash_ph() -> None:
    with pytest.raises(ValueError):
        mash_ph.charge_balance([], 10.0, 1.0, 50.0, 5.0)


def test_alkalinity_that_water_cannot_hold_at_that_ph() -> None:
    with pytest.raises(ValueError, match="carbon dioxide"):
        mash_ph.charge_balance([MaltAcidity(4.0, 5.7, 40.0)], 12.0, 5.0, 50.0, 5.0, 4.6)


def test_ph_typed_as_a_temperature_is_refused() -> None:
    with pytest.raises(OutOfRange):
        mash_ph.room_temperature_ph(65.0, 20.0)
