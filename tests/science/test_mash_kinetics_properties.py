"""The whole mash: what it was fitted to, what must hold for any profile, what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from reportgen.science.mash_kinetics import mash_change, mash_course, mash_result, mash_spread
from reportgen.science.method import OutOfRange


def hour(celsius: float) -> list[tuple[float, float]]:
    """A rest of an hour."""
    return [(0.0, celsius), (60.0, celsius)]


def with_causes(profile: list[tuple[float, float]]):
    """The result with every cause of the spread."""
    spread = mash_spread(profile)
    return mash_result(
        profile,
        ufloat(1, spread.activity),
        ufloat(0, spread.heat_shift),
        ufloat(0, spread.starch_shift),
        ufloat(0, spread.model),
    )


@pytest.mark.parametrize(("celsius", "limit"), [(65, 0.82), (70, 0.70), (75, 0.50), (80, 0.30)])
def test_the_series_that_it_was_fitted_to(celsius: float, limit: float) -> None:
    assert mash_result(hour(celsius)).attenuation == pytest.approx(limit, abs=0.015)


def test_the_optimum_of_attenuation_and_extract_that_rises_with_heat() -> None:
    """Hamilton and Lewis 1974: best near 62.5 degC; hotter mashes have more extract."""
    found = {t / 2: mash_result(hour(t / 2)) for t in range(100, 150)}
    best = max(found, key=lambda t: found[t].attenuation)
    assert 60.0 <= best <= 64.0
    assert found[50].extract < found[55].extract < found[60].extract


def test_hotter_than_seventy_costs_four_per_cent_a_degree() -> None:
    """Mashing trials of K. Troester 2008 (from memory): 4 % of the limit for each degree."""
    fall = mash_result(hour(70)).attenuation - mash_result(hour(74)).attenuation
    assert fall / 4 == pytest.approx(0.04, abs=0.005)


@pytest.mark.parametrize(("celsius", "share"), [(58.65, 0.617), (62.95, 0.975)])
def test_sugars_of_a_short_mash(celsius: float, share: float) -> None:
    """Rittenauer and others 2021: sugars over those of an hour at 65 degC.

    Ten minutes at the temperature, between the ends of the ranges printed; the way to it is taken
    as 1 K/min from 50 degC.
    """
    way = celsius - 50.0
    short = mash_course([(0, 50), (way, celsius), (way + 10, celsius)])[-1].sugars
    assert short / mash_course(hour(65))[-1].sugars == pytest.approx(share, abs=0.08)


def test_uncertainty_grows_away_from_what_is_known() -> None:
    hot = [2 * with_causes(hour(t)).attenuation.std_dev for t in (63, 66, 69, 72, 75, 80)]
    cold = [2 * with_causes(hour(t)).attenuation.std_dev for t in (62, 58, 55, 52, 48)]
    assert hot == sorted(hot) and cold == sorted(cold)
    assert hot[0] < 0.03 and hot[-1] > 0.1
    assert mash_spread(hour(66), 8.0).model > mash_spread(hour(66), 3.0).model
    assert mash_spread(hour(66), 1.4).model > mash_spread(hour(66), 2.0).model


def test_every_step_counts() -> None:
    """Mashes whose first rest is the same, or whose last is, differ as brewers know they do."""
    two = mash_result([(0, 62), (30, 62), (40, 72), (70, 72)]).attenuation
    protein = mash_result([(0, 52), (20, 52), (34, 66), (94, 66)]).attenuation
    hot = mash_result([(0, 52), (20, 52), (20, 72), (60, 72)]).attenuation
    three = mash_result([(0, 52), (20, 52), (36, 68), (66, 68), (70, 72), (90, 72)]).attenuation
    assert hot < three < protein < two + 0.02
    assert two - hot > 0.08


def test_a_cold_rest_and_a_hot_stand_are_no_error() -> None:
    cold = mash_result([(0, 40), (20, 40), (45, 65), (105, 65)])
    assert cold.conversion > 0.97 and cold.attenuation == pytest.approx(0.81, abs=0.02)
    hot = mash_result([*hour(66), (70, 85), (180, 85)])
    assert hot.attenuation == pytest.approx(mash_result(hour(66)).attenuation, abs=0.02)
    scalded = mash_result([(0, 95), (60, 95)])
    assert scalded.conversion < 0.6


def test_mash_out_too_early_finds_starch_and_says_so() -> None:
    early = mash_change([(0, 62), (8, 62), (18, 77), (30, 77)], 8, ufloat(1, 0.1), ufloat(0, 0.4))
    assert early.unconverted.nominal_value > 0.1
    assert early.converted.nominal_value == pytest.approx(early.unconverted.nominal_value, abs=0.03)
    assert early.change.nominal_value > 0.0
    # The two sides share their causes.
    apart = (early.before.std_dev**2 + early.after.std_dev**2) ** 0.5
    assert early.change.std_dev < apart


def test_a_decoction_takes_enzymes_and_opens_starch() -> None:
    profile = [(0, 52), (30, 52), (30, 65), (75, 65)]
    plain, boiled = mash_result(profile), mash_result(profile, boiled=[(30, 0.33)])
    assert boiled.attenuation < plain.attenuation
    assert boiled.conversion == pytest.approx(plain.conversion, abs=0.001)
    opened = mash_course(profile, boiled=[(30, 0.33)])
    assert opened[2].starch < mash_course(profile)[2].starch


times = st.lists(st.floats(0, 90), min_size=1, max_size=6)


@given(times, st.lists(st.floats(0, 100), min_size=7, max_size=7))
def test_shares_stay_shares(steps: list[float], heats: list[float]) -> None:
    profile, now = [(0.0, heats[0])], 0.0
    for step, celsius in zip(steps, heats[1:], strict=False):
        now += step
        profile.append((now, celsius))
    course = mash_course(profile)
    assert len(course) == len(profile)
    for early, late in zip(course, course[1:], strict=False):
        assert late.starch <= early.starch + 1e-12 and late.sugars >= early.sugars - 1e-12
        assert late.alpha <= early.alpha and late.beta <= early.beta
    end = course[-1]
    assert 0.0 <= end.starch <= 1.0 and 0.0 <= end.dextrins <= 0.8
    assert 0.12 <= end.attenuation <= 0.9
    assert end.sugars + end.dextrins + 0.11 == pytest.approx(end.extract, abs=1e-9)


def test_profiles_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="goes back in time"):
        mash_result([(0, 65), (30, 65), (20, 70)])
    with pytest.raises(ValueError, match="two points"):
        mash_result([(0, 65)])
    with pytest.raises(OutOfRange, match="temperature is 150"):
        mash_result([(0, 65), (30, 150)])
    with pytest.raises(OutOfRange, match="temperature is nan"):
        mash_result([(0, 65), (30, float("nan"))])
    with pytest.raises(ValueError, match="time of the mash profile is inf"):
        mash_result([(0, 65), (float("inf"), 65)])
    with pytest.raises(ValueError, match="no point at 20 min"):
        mash_change(hour(65), 20)
    with pytest.raises(ValueError, match="between 0 and 1"):
        mash_result(hour(65), boiled=[(10, 1.5)])
