"""Run-off: the gamma function and its integral by scipy, tanks in series integrated in time."""

from __future__ import annotations

import numpy as np
import pytest
from reference import gammaincc, gammainccinv, quad, solve_ivp
from uncertainties import ufloat

from reportgen.science import density, extract, lautering

CHECKS = (
    "lautering.runnings_gravity",
    "lautering.continuous_recovery",
    "lautering.sparge_volume_at_gravity",
    "lautering.batch_runnings_gravities",
    "lautering.recovery_in_batches",
    "lautering.batch_runnings",
    "lautering.recovery_no_sparge",
    "lautering.tun_wort_volume",
    "lautering.first_wort_extract",
    "lautering.hold_up",
)


@pytest.mark.parametrize("tanks", [1, 2, 3, 5, 10, 30, 1.5, 2.7, 4.25, 12.5])
def test_gamma_function(tanks: float) -> None:
    for x in (0.0, 0.01, 0.3, 1.0, 2.0, 5.0, 12.0, 40.0, 120.0):
        assert lautering._upper_gamma(tanks, x) == pytest.approx(
            gammaincc(tanks, x), rel=1e-10, abs=1e-14
        )


@pytest.mark.parametrize("tanks", [1, 3, 5, 10])
@pytest.mark.parametrize("bed_volumes", [0.5, 1.0, 1.5, 2.0, 3.0])
def test_runnings_against_scipy(tanks: int, bed_volumes: float) -> None:
    first = 1.070
    gravity = lautering.runnings_gravity(first, 8 * bed_volumes, 8, tanks)
    share = extract.extract_mass(1, gravity) / extract.extract_mass(1, first)
    assert share == pytest.approx(gammaincc(tanks, tanks * bed_volumes), abs=1e-9)
    # The points of gravity follow the concentration within the curve of the sucrose table.
    points = (first - 1) * gammaincc(tanks, tanks * bed_volumes)
    assert gravity - 1 == pytest.approx(points, abs=0.0004)


@pytest.mark.parametrize("tanks", [1, 2, 5, 2.6])
@pytest.mark.parametrize("bed_volumes", [0.5, 1.0, 2.0])
def test_recovery_against_an_integral(tanks: float, bed_volumes: float) -> None:
    washed, _ = quad(lambda u: gammaincc(tanks, tanks * u), 0, bed_volumes)
    expected = 1 - 6 / 18 * (1 - washed)
    found = lautering.continuous_recovery(18, 6, 6 * bed_volumes, tanks)
    assert found == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("tanks", [1, 3, 6])
def test_recovery_against_tanks_filled_and_emptied_in_time(tanks: int) -> None:
    """Each tank holds a share of the hold-up; liquor flows in at 1 L a unit of time."""
    held, sparge = 7.0, 12.0
    part = held / tanks

    def change(_: float, c: np.ndarray) -> np.ndarray:
        entering = np.concatenate(([0.0], c[:-1]))
        return (entering - c) / part

    run = solve_ivp(change, (0, sparge), np.ones(tanks), rtol=1e-10, atol=1e-12)
    left = float(run.y[:, -1].sum() * part)
    found = lautering.continuous_recovery(20, held, sparge, tanks)
    assert found == pytest.approx(1 - left / 20, abs=1e-7)
    gravity = lautering.runnings_gravity(1.06, sparge, held, tanks)
    share = extract.extract_mass(1, gravity) / extract.extract_mass(1, 1.06)
    assert share == pytest.approx(float(run.y[-1, -1]), abs=1e-7)


CASES = [  # malt kg, liquor kg, sparges kg: wort in the tun, hold-up (from the water shortfall)
    (4, 28, []),
    (4, 14, [14]),
    (4, 12, [8, 8]),
    (8, 20, [12]),
    (100, 300, [150, 150]),
]


@pytest.mark.parametrize(("malt", "liquor", "sparges"), CASES)
def test_batches_against_a_balance_of_masses(
    malt: float, liquor: float, sparges: list[float]
) -> None:
    """Masses of water and extract through every drain and refill, by the densities alone.

    Laboratory extract 0.80 as is, moisture 0.04, all converted, shortfall 0.85 L/kg.
    """
    e, moisture, water = 0.80, 0.04, 0.998203
    held = lautering.hold_up(malt, 0.85, e, 1.0, moisture)
    tun = lautering.tun_wort_volume(malt, e, 1.0, moisture, liquor / water)
    dissolved, wet = malt * e, liquor + malt * moisture

    def volume(sugar: float, water_mass: float) -> float:
        total = sugar + water_mass
        return 1000 * total / density.solution_density(100 * sugar / total, 20)

    assert tun == pytest.approx(volume(dissolved, wet), rel=1e-5)
    start = dissolved
    gravities = []
    collected = 0.0
    for sparge in [*sparges, 0.0]:
        full = volume(dissolved, wet)
        gravities.append(1000 * (dissolved + wet) / full / 998.203)
        collected += full - held
        dissolved, wet = dissolved * held / full, wet * held / full + sparge
    recovered = 1 - dissolved / start
    first = density.gravity_from_extract(lautering.first_wort_extract(e, 1.0, liquor / malt, 0.04))
    batches = [s / water for s in sparges]
    found = lautering.batch_runnings_gravities(first, held, batches)
    assert found == pytest.approx(gravities, abs=0.00002)
    assert lautering.recovery_in_batches(tun, held, batches) == pytest.approx(recovered, abs=0.0007)
    if not sparges:
        assert lautering.recovery_no_sparge(tun, held) == pytest.approx(recovered, abs=0.0001)
    # What the shortfall means: liquor in less wort out, for each kilogram, before any sparge.
    assert liquor / water - (tun - held) == pytest.approx(0.85 * malt, abs=0.02 * malt)


@pytest.mark.parametrize("tanks", [1, 2, 5, 10])
@pytest.mark.parametrize(("first", "stop"), [(1.070, 1.008), (1.050, 1.008), (1.090, 1.012)])
def test_stopping_point_by_the_inverse_gamma_function(
    tanks: int, first: float, stop: float
) -> None:
    share = extract.extract_mass(1, stop) / extract.extract_mass(1, first)
    expected = 8.0 / tanks * gammainccinv(tanks, share)
    found = lautering.sparge_volume_at_gravity(first, stop, 8.0, tanks)
    assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("tanks", [1, 4, 3.3])
def test_uncertainty_of_the_stopping_point(tanks: float) -> None:
    plain = lautering.sparge_volume_at_gravity
    by_hold_up = plain(1.07, 1.008, ufloat(8, 0.4), tanks)
    assert by_hold_up.std_dev / by_hold_up.nominal_value == pytest.approx(0.05, rel=1e-3)
    by_first = plain(ufloat(1.07, 0.001), 1.008, 8, tanks)
    difference = (plain(1.0701, 1.008, 8, tanks) - plain(1.0699, 1.008, 8, tanks)) / 0.2
    assert by_first.std_dev == pytest.approx(difference, rel=1e-3)


def test_uncertainty_of_a_recovery_with_tanks_uncertain() -> None:
    found = lautering.continuous_recovery(ufloat(16, 0.2), ufloat(6, 0.5), 10, ufloat(3, 0.5))
    assert found.nominal_value == pytest.approx(lautering.continuous_recovery(16, 6, 10, 3))
    assert 0.005 < found.std_dev < 0.05


@pytest.mark.parametrize("batches", [[], [12.0], [9.0, 9.0], [5.0, 8.0, 3.0]])
def test_each_running_by_masses(batches: list[float]) -> None:
    """Wort, liquor and extract as a matrix by numpy: nothing is made and nothing lost."""
    first, held, whole = 1.072, 8.0, 26.0
    runnings = lautering.batch_runnings(whole, first, held, batches)
    assert len(runnings) == 1 + len(batches)
    assert runnings[0] == (whole - held, first)
    volumes, gravities = np.array(runnings).T
    left = extract.extract_mass(held, float(gravities[-1]))
    drawn = sum(extract.extract_mass(float(v), float(g)) for v, g in runnings)
    assert drawn + left == pytest.approx(extract.extract_mass(whole, first), rel=1e-6)
    mass = float(np.dot(volumes, gravities)) + held * float(gravities[-1])
    assert mass == pytest.approx(whole * first + sum(batches), rel=1e-9)
