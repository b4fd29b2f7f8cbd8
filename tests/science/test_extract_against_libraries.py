"""Mass balances redone with the handbook's densities, scipy and pint."""

from __future__ import annotations

import pytest
from reference import PINT, CubicSpline, brentq
from uncertainties import ufloat

from reportgen.science import extract

CHECKS = (
    "extract.gravity_of_mix",
    "extract.gravity_after_topping_up",
    "extract.topping_up_liquor",
    "extract.boil_volume_for",
    "extract.gravity_after_sugar",
    "extract.extract_mass",
    "extract.gravity_from_extract_mass",
    "extract.volume_of_extract",
)

# M. Asadi 2007, Beet-Sugar Handbook, Table A.1: density relative to water, 20/20 degC, of
# sucrose solutions of 0 to 21 % (5 % is misprinted there and left out).
_PERCENT = [0, 1, 2, 3, 4, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21]
_GRAVITY = [
    1.0, 1.00389, 1.00779, 1.01172, 1.01567, 1.02366, 1.02770, 1.03176, 1.03586, 1.03998,
    1.04413, 1.04831, 1.05252, 1.05677, 1.06104, 1.06534, 1.06968, 1.07404, 1.07844, 1.08287,
    1.08733,
]  # fmt: skip
WATER = 0.99820  # kg/L at 20 degC


def table(percent: float) -> float:
    return float(CubicSpline(_PERCENT, _GRAVITY)(percent))


def back(gravity: float) -> float:
    return float(CubicSpline(_GRAVITY, _PERCENT)(gravity))


def mass(volume: float, gravity: float) -> float:
    return volume * gravity * WATER


def of_extract(volume: float, gravity: float) -> float:
    return mass(volume, gravity) * back(gravity) / 100


TOPPING = [(22, 1.048, 4), (24, 1.036, 3), (20, 1.060, 5), (25, 1.045, 2), (300, 1.080, 60)]


@pytest.mark.parametrize(("volume", "gravity", "liquor"), TOPPING)
def test_topping_up(volume: float, gravity: float, liquor: float) -> None:
    percent = 100 * of_extract(volume, gravity) / (mass(volume, gravity) + liquor * WATER)
    expected = table(percent)
    assert extract.gravity_after_topping_up(volume, gravity, liquor) == pytest.approx(
        expected, abs=0.00003
    )
    assert extract.topping_up_liquor(volume, gravity, expected) == pytest.approx(
        liquor, abs=0.001 * volume
    )


@pytest.mark.parametrize(
    "parts",
    [[(22, 1.040), (3, 1.004)], [(15, 1.076), (14, 1.0217)], [(10, 1.08), (5, 1.03), (2, 1.0)]],
)
def test_mixing(parts: list[tuple[float, float]]) -> None:
    total = sum(mass(v, g) for v, g in parts)
    percent = 100 * sum(of_extract(v, g) for v, g in parts) / total
    assert extract.gravity_of_mix(parts) == pytest.approx(table(percent), abs=0.00003)


@pytest.mark.parametrize(
    ("volume", "gravity", "after"), [(26, 1.040, 21), (30, 1.032, 22), (500, 1.05, 450)]
)
def test_boiling_down(volume: float, gravity: float, after: float) -> None:
    held = of_extract(volume, gravity)
    percent = brentq(lambda p: after * table(p) * WATER * p / 100 - held, 0, 21)
    expected = table(percent)
    assert extract.boil_volume_for(volume, gravity, expected) == pytest.approx(after, rel=0.0008)


@pytest.mark.parametrize(
    ("volume", "gravity", "sugar", "share"),
    [(20, 1.040, 1.0, 1.0), (20, 1.040, 1.0, 0.91), (40, 1.050, 3.0, 0.8), (25, 1.0, 1.0, 1.0)],
)
def test_adding_sugar(volume: float, gravity: float, sugar: float, share: float) -> None:
    total = mass(volume, gravity) + sugar
    expected = table(100 * (of_extract(volume, gravity) + share * sugar) / total)
    found_volume, found = extract.gravity_after_sugar(volume, gravity, sugar, share)
    assert found == pytest.approx(expected, abs=0.00003)
    assert found_volume == pytest.approx(total / (expected * WATER), rel=0.0001)


@pytest.mark.parametrize(("litres", "points"), [(25, 386.0), (10, 385.2), (5, 383.8)])
def test_a_kilogram_of_sucrose_made_up_to_a_volume(litres: float, points: float) -> None:
    """Gravity points times litres, by the older table."""
    percent = brentq(lambda p: litres * table(p) * WATER * p / 100 - 1, 0.1, 21)
    by_table = 1000 * (table(percent) - 1) * litres
    gravity = extract.gravity_from_extract_mass(1.0, litres)
    assert 1000 * (gravity - 1) * litres == pytest.approx(by_table, abs=0.6)
    assert by_table == pytest.approx(points, abs=0.6)


def test_a_pound_in_a_gallon_with_pint() -> None:
    """A pound of sucrose made up to a US gallon gives 46.2 points by the trade's figure."""
    concentration = (1 * PINT.pound / PINT.US_liquid_gallon).to("kg/L").magnitude
    gravity = extract.gravity_from_extract_mass(concentration, 1.0)
    assert 1000 * (gravity - 1) == pytest.approx(46.2, abs=0.1)
    litres = (1 * PINT.US_liquid_gallon).to("L").magnitude
    assert extract.extract_mass(litres, gravity) == pytest.approx(
        (1 * PINT.pound).to("kg").magnitude, rel=1e-9
    )


def test_correlated_readings_keep_their_correlation() -> None:
    gravity = ufloat(1.05, 0.0005)
    held = extract.extract_mass(20, gravity)
    assert held.std_dev / held.nominal_value == pytest.approx(0.0101, rel=0.05)
    same = extract.volume_of_extract(held, gravity)
    assert same.nominal_value == pytest.approx(20) and same.std_dev < 1e-9
    diluted = extract.gravity_after_topping_up(ufloat(20, 0.2), gravity, 4)
    assert 0.0004 < diluted.std_dev < 0.0006
