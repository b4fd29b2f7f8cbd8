"""What additions do, against handbook densities, the steam tables and balances by mass.

Nothing here comes from the tool's own formulas: gravities from a table of sucrose solutions, heat
from IAPWS-97, bitterness from the amount that stays the same.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest
from msgspec.structs import replace
from reference import IAPWS97, CubicSpline

from reportgen.assessment.assess import assess
from reportgen.forecast.case import Case, LiquorAdded, Withdrawal
from reportgen.forecast.ferment import mixed
from reportgen.forecast.walk import walk
from reportgen.loading import load_archive
from reportgen.science.heat import infusion_liquor
from reportgen.science.number import nominal

DEMO = Path(__file__).parents[2] / "batches"

# M. Asadi 2007, Beet-Sugar Handbook, Table A.1 (ICUMSA): density relative to water, 20/20 degC, of
# sucrose solutions of 0 to 21 % (5 % is misprinted there and left out).
_PERCENT = [0, 1, 2, 3, 4, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21]
_GRAVITY = [
    1.0, 1.00389, 1.00779, 1.01172, 1.01567, 1.02366, 1.02770, 1.03176, 1.03586, 1.03998,
    1.04413, 1.04831, 1.05252, 1.05677, 1.06104, 1.06534, 1.06968, 1.07404, 1.07844, 1.08287,
    1.08733,
]  # fmt: skip
WATER = 0.99820  # kg/L at 20 degC


@lru_cache(maxsize=1)
def plain() -> Case:
    archive = load_archive(DEMO)
    found = assess(archive, archive.batches["2026-06"])
    assert found is not None
    return found.case


def added(litres: float, to: str = "fermenter") -> Case:
    return replace(plain(), liquor_added=(LiquorAdded("reservoir", to, litres, 20.0, True),))


@pytest.mark.parametrize("litres", [0.5, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("gravity", [1.036, 1.048, 1.060, 1.080])
def test_liquor_into_the_fermenter_by_masses(gravity: float, litres: float) -> None:
    wort = 40 * gravity * WATER
    percent = float(CubicSpline(_GRAVITY, _PERCENT)(gravity)) * wort / (wort + litres * WATER)
    wanted = float(CubicSpline(_PERCENT, _GRAVITY)(percent))
    volume = (wort + litres * WATER) / (wanted * WATER)
    got = mixed(40.0, gravity, added(litres))
    assert nominal(got[1]) == pytest.approx(wanted, abs=5e-5)
    assert nominal(got[0]) == pytest.approx(volume, abs=0.01)


@pytest.mark.parametrize("litres", [1.0, 3.0, 6.0])
@pytest.mark.parametrize("place", ["fermenter", "cast_out"])
def test_bitterness_is_shared_out_over_the_whole_volume(place: str, litres: float) -> None:
    before, _ = walk(plain(), {})
    after, _ = walk(added(litres, place), {})
    wort = nominal(before["fermenter_volume" if place == "fermenter" else "cast_out_volume"])
    # Within what mixing takes off the volume; the same milligrams in more litres.
    wanted = nominal(before["bitterness"]) * wort / (wort + litres)
    assert nominal(after["bitterness"]) == pytest.approx(wanted, rel=0.001)


@pytest.mark.parametrize("litres", [1.0, 3.0, 6.0])
def test_what_is_taken_out_leaves_the_strength(litres: float) -> None:
    before, _ = walk(plain(), {})
    after, _ = walk(replace(plain(), withdrawals=(Withdrawal("cast_out", litres),)), {})
    assert nominal(after["original_gravity"]) == pytest.approx(nominal(before["original_gravity"]))
    assert nominal(after["bitterness"]) == pytest.approx(nominal(before["bitterness"]))
    lost = nominal(before["fermenter_volume"]) - nominal(after["fermenter_volume"])
    assert lost == pytest.approx(litres)


def enthalpy(celsius: float) -> float:
    """kJ/kg of water at the pressure of the air, below its boiling point."""
    return float(IAPWS97(T=celsius + 273.15, P=0.101325).h)


@pytest.mark.parametrize("off", [-4.0, -2.0, -1.0, 2.0, 4.0])
@pytest.mark.parametrize("target", [64.0, 67.0])
def test_liquor_that_brings_the_mash_back_by_enthalpies(target: float, off: float) -> None:
    now, liquor = target + off, 98.0 if off < 0 else 20.0
    grist, water, tun, malt = 6.5, 25.0, 7.0, 1.7
    mass = nominal(infusion_liquor(now, target, liquor, grist, water, tun, malt))
    gained = water * (enthalpy(target) - enthalpy(now)) + (grist * malt + tun) * (target - now)
    wanted = gained / (enthalpy(liquor) - enthalpy(target))
    assert mass == pytest.approx(wanted, rel=0.01)
