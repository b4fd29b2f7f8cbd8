"""What must hold of the heat balances for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import heat

masses = st.floats(0.5, 500)


@given(masses, st.floats(2, 8), st.floats(40, 78), st.floats(0, 35), st.floats(0, 100))
def test_strike_and_mash_temperature_invert(
    grist: float, ratio: float, mash: float, malt: float, tun: float
) -> None:
    liquor = ratio * grist
    strike = heat.strike_temperature(
        grist, liquor, mash, malt, tun_heat_capacity=tun, tun_temperature=malt
    )
    assert strike > mash
    if strike <= 110:
        back = heat.mash_temperature_from_strike(
            grist, liquor, strike, malt, tun_heat_capacity=tun, tun_temperature=malt
        )
        assert back == pytest.approx(mash, abs=1e-9)


@given(masses, st.floats(1.5, 8), st.floats(35, 75), st.floats(1, 20), st.floats(0, 60))
def test_infused_mash_has_the_heat_of_its_parts(
    grist: float, ratio: float, now: float, rise: float, tun: float
) -> None:
    target, boiling = now + rise, 99.0
    if target > 90:
        return
    liquor = ratio * grist
    added = heat.infusion_liquor(now, target, boiling, grist, liquor, tun)
    assert added > 0
    before = (grist * 1.67 + liquor * 4.19 + tun) * now + added * 4.19 * boiling
    after = (grist * 1.67 + (liquor + added) * 4.19 + tun) * target
    assert after == pytest.approx(before, rel=1e-10)
    energy = heat.direct_heat_energy(now, target, grist, liquor, tun)
    assert energy == pytest.approx(added * 4.19 * (boiling - target), rel=1e-9)


@given(masses, st.floats(0, 105))
def test_liquor_mass_and_volume_invert(mass: float, t: float) -> None:
    assert heat.liquor_mass(heat.liquor_volume(mass, t), t) == pytest.approx(mass, rel=1e-12)


@given(st.floats(20, 100), st.floats(-10, 40), st.floats(0, 2), st.floats(0, 2000))
def test_cooling_stays_between(start: float, room: float, rate: float, time: float) -> None:
    now = heat.mash_cooling(start, room, rate, time)
    assert min(start, room) - 1e-9 <= now <= max(start, room) + 1e-9


def test_liquor_that_cannot_do_it_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot bring a mash from 66 to 76 degC"):
        heat.infusion_liquor(66, 76, 70, 5, 12)
    with pytest.raises(ValueError, match="cannot cool"):
        heat.decoction_fraction(66, 60, 99)
    assert heat.infusion_liquor(66, 66, 99, 5, 12) == 0
    assert heat.infusion_liquor(70, 65, 15, 5, 12) > 0
