"""Liquor treatment: what must hold for any liquor and any wish."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.science import treatment
from reportgen.science.mash_ph import MaltAcidity
from reportgen.science.salts import SALTS
from reportgen.science.treatment import Treatment, treat, treated_liquor

LIQUOR = st.fixed_dictionaries(
    {
        "calcium": st.floats(0.0, 150.0),
        "magnesium": st.floats(0.0, 30.0),
        "sodium": st.floats(0.0, 60.0),
        "chloride": st.floats(0.0, 80.0),
        "sulfate": st.floats(0.0, 150.0),
        "bicarbonate": st.floats(0.0, 300.0),
    }
)
WISH = st.fixed_dictionaries(
    {"calcium": st.floats(30.0, 200.0)},
    optional={
        "sulfate": st.floats(0.0, 400.0),
        "chloride": st.floats(0.0, 200.0),
        "sodium": st.floats(0.0, 100.0),
        "magnesium": st.floats(0.0, 40.0),
    },
)
WHERE = st.sampled_from(["mash", "both"])
SCALE = st.sampled_from([0.1, 0.5, 1.0])
MALTS = [MaltAcidity(4.0, 5.70, 40.0), MaltAcidity(0.4, 4.60, 35.0)]
SOFT = {
    "calcium": 20.0,
    "magnesium": 3.0,
    "sodium": 8.0,
    "chloride": 12.0,
    "sulfate": 15.0,
    "bicarbonate": 60.0,
}


def steps(value: float, scale: float) -> float:
    return abs(value / scale - round(value / scale))


@settings(max_examples=20, deadline=None)
@given(LIQUOR, WISH, WHERE, SCALE)
def test_what_is_weighed_can_be_weighed(
    liquor: dict[str, float], wish: dict[str, float], where: str, scale: float
) -> None:
    found = treat(liquor, 15.0, 18.0, wish, where=where, scale=scale, most_salts=3)
    for doses in (found.mash_doses, found.sparge_doses):
        for salt, grams in doses.items():
            assert grams > 0.0 and steps(grams, scale) < 1e-6
            limit = SALTS[salt].solubility
            if limit:
                assert grams <= limit * 18.0 * 2
    if where == "mash":
        assert found.sparge_doses == {}
        for ion, value in liquor.items():
            assert found.ions.sparge[ion] == pytest.approx(value)


@settings(max_examples=20, deadline=None)
@given(LIQUOR, WISH, WHERE)
def test_never_worse_than_doing_nothing(
    liquor: dict[str, float], wish: dict[str, float], where: str
) -> None:
    found = treat(liquor, 15.0, 18.0, wish, where=where, most_salts=3)
    nothing = sum(
        ((liquor[ion] - value) / max(5.0, 0.1 * value)) ** 2 for ion, value in wish.items()
    )
    ours = sum((found.differences[ion] / max(5.0, 0.1 * value)) ** 2 for ion, value in wish.items())
    # A tenth is what the smallest set may cost against the best.
    assert ours <= 1.1 * nothing + 0.1


@settings(max_examples=20, deadline=None)
@given(LIQUOR, WISH, WHERE)
def test_differences_are_reached_less_wanted(
    liquor: dict[str, float], wish: dict[str, float], where: str
) -> None:
    found = treat(liquor, 15.0, 18.0, wish, where=where, most_salts=2)
    reached = found.ions.mash
    again = treated_liquor(liquor, 15.0, 18.0, found.mash_doses, found.sparge_doses)
    for ion, value in wish.items():
        assert found.differences[ion] == pytest.approx(reached[ion] - value)
        assert again.total[ion] == pytest.approx(found.ions.total[ion])
    missed = {miss.what for miss in found.misses}
    for ion, value in wish.items():
        assert (ion in missed) == (abs(found.differences[ion]) > max(5.0, 0.1 * value))


@settings(max_examples=15, deadline=None)
@given(LIQUOR, st.floats(5.2, 5.7), st.sampled_from(["lactic", "phosphoric", "sulfuric"]))
def test_mash_ph_is_reached_or_reported(liquor: dict[str, float], ph: float, acid: str) -> None:
    found = treat(
        liquor,
        15.0,
        18.0,
        {"calcium": 80.0},
        where="mash",
        most_salts=2,
        acid=acid,
        acid_fraction=0.10,
        target_ph=ph,
        malts=MALTS,
    )
    assert found.mash_ph is not None and found.mash_acid_millilitres >= 0.0
    assert steps(found.mash_acid_millilitres, 0.1) < 1e-6
    off = abs(found.mash_ph - ph)
    assert off <= 0.05 or any(miss.what == "mash_ph" for miss in found.misses)
    if found.mash_acid_millilitres > 0.0:
        # Acid is at hand, so the target is met to half a step of the measure.
        assert off < 0.01
        assert not any(SALTS[salt].alkalinity > 0.0 for salt in found.mash_doses)


@settings(max_examples=20, deadline=None)
@given(LIQUOR, st.floats(5.0, 40.0), st.floats(5.0, 40.0))
def test_both_liquors_salted_alike(liquor: dict[str, float], mash: float, sparge: float) -> None:
    found = treat(liquor, mash, sparge, {"calcium": 180.0}, ("gypsum",), scale=0.1)
    # One step of the scale, shared over the smaller volume: 0.1 g of gypsum holds 23 mg calcium.
    step = 0.1 * 232.8 / min(mash, sparge)
    assert found.ions.mash["calcium"] == pytest.approx(
        found.ions.sparge["calcium"], abs=1.01 * step
    )


def causes(found: Treatment) -> dict[str, str]:
    return {miss.what: miss.cause for miss in found.misses}


def test_what_the_liquor_already_holds_cannot_be_taken_away() -> None:
    hard = {**SOFT, "sulfate": 300.0, "calcium": 140.0}
    found = treat(hard, 15.0, 15.0, {"sulfate": 100.0}, ("gypsum", "epsom_salt"))
    assert found.doses == {} and causes(found) == {"sulfate": "liquor_above"}


def test_an_ion_that_no_salt_brings() -> None:
    found = treat(SOFT, 15.0, 15.0, {"magnesium": 20.0}, ("gypsum",))
    assert causes(found)["magnesium"] == "no_salt"


def test_gypsum_beyond_what_dissolves() -> None:
    found = treat(SOFT, 10.0, 0.0, {"calcium": 800.0, "sulfate": 2000.0}, ("gypsum",))
    assert causes(found)["sulfate"] == "solubility"
    assert found.mash_doses["gypsum"] <= 25.5


def test_a_scale_too_coarse() -> None:
    found = treat(SOFT, 5.0, 0.0, {"chloride": 30.0}, ("table_salt",), "mash", scale=1.0)
    assert found.doses == {} and causes(found)["chloride"] == "scale"


def test_an_untreated_sparge_thins_what_the_mash_got() -> None:
    wish = {"calcium": 80.0, "sulfate": 100.0}
    both, mash = (treat(SOFT, 15.0, 15.0, wish, where=where) for where in ("both", "mash"))
    assert mash.ions.mash["calcium"] == pytest.approx(both.ions.mash["calcium"], abs=8.0)
    assert mash.ions.total["calcium"] < both.ions.total["calcium"] - 20.0


def test_a_dark_mash_gets_alkali_and_no_acid() -> None:
    dark = [MaltAcidity(3.0, 5.70, 40.0), MaltAcidity(1.0, 4.5, 35.0)]
    found = treat(
        SOFT, 15.0, 15.0, {"calcium": 50.0}, where="mash", acid="lactic", target_ph=5.5, malts=dark
    )
    assert found.mash_acid_millilitres == 0.0
    assert found.mash_doses.get("baking_soda", 0.0) > 0.0
    assert found.mash_ph == pytest.approx(5.5, abs=0.1)


def test_fewest_salts_when_one_will_do() -> None:
    found = treat(SOFT, 20.0, 0.0, {"calcium": 60.0, "sulfate": 110.0})
    assert set(found.doses) == {"gypsum"}


@pytest.mark.parametrize(
    "wrong",
    [{"where": "kettle"}, {"target_ph": 5.4}],
)
def test_a_question_that_makes_no_sense_is_an_error(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValueError):
        treat(SOFT, 15.0, 15.0, {"calcium": 60.0}, **wrong)


def test_chalk_acts_as_two_alkalis() -> None:
    bicarbonate, lime = treatment._mash_bases({"chalk": 10.0086}, {})
    assert bicarbonate + 2.0 * lime == pytest.approx(200.0, rel=1e-3)
