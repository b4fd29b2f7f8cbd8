"""Carbonate equilibria held against the PHREEQC engine."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from reportgen.science import carbonate

CHECKS = (
    "carbonate.pk1",
    "carbonate.pk2",
    "carbonate.charge",
    "carbonate.hydroxide_less_hydrogen",
    "carbonate.log_activity",
)
TEMPERATURES = [5.0, 10.0, 20.0, 25.0, 40.0, 66.0, 78.0]


@cache
def engine() -> Any:
    return pytest.importorskip("phreeqpython").PhreeqPython()


def water(ph: float, temperature: float, alkalinity: float = 3.0) -> Any:
    """A sodium bicarbonate water: no ion pairs worth mention."""
    return engine().add_solution(
        {
            "units": "mmol/kgw",
            "temp": temperature,
            "pH": ph,
            "Alkalinity": alkalinity,
            "Na": alkalinity,
        }
    )


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_first_constant(temperature: float) -> None:
    solution = water(7.0, temperature)
    pk = solution.pH - _log(solution, "HCO3-") + _log(solution, "CO2")
    solution.forget()
    # Two editions of the engine's own carbonic acid differ by 0.005.
    assert carbonate.pk1(temperature) == pytest.approx(pk, abs=0.005)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_second_constant(temperature: float) -> None:
    solution = water(8.5, temperature)
    pk = solution.pH - _log(solution, "CO3-2") + _log(solution, "HCO3-")
    solution.forget()
    assert carbonate.pk2(temperature) == pytest.approx(pk, abs=0.005)


def _log(solution: Any, species: str) -> float:
    import math

    return math.log10(solution.species_activities[species])


@pytest.mark.parametrize(
    ("ph", "temperature"),
    [(p, t) for p in (5.2, 5.6, 6.0, 7.0, 8.0, 9.0) for t in (10.0, 20.0, 66.0)],
)
def test_mean_charge(ph: float, temperature: float) -> None:
    solution = water(ph, temperature, 1.0)
    total = sum(solution.species[s] for s in ("CO2", "HCO3-", "CO3-2"))
    mean = (solution.species["HCO3-"] + 2 * solution.species["CO3-2"]) / total
    strength = solution.I
    solution.forget()
    assert carbonate.charge(ph, temperature, strength) == pytest.approx(mean, abs=0.005)


@pytest.mark.parametrize("ph", [6.2, 9.5, 10.0, 10.5])
def test_mean_charge_in_salt_water(ph: float) -> None:
    solution = engine().add_solution(
        {"units": "mmol/kgw", "temp": 25, "pH": ph, "C": 0.1, "K": 50, "Cl": 50}
    )
    total = sum(solution.species[s] for s in ("CO2", "HCO3-", "CO3-2"))
    mean = (solution.species["HCO3-"] + 2 * solution.species["CO3-2"]) / total
    strength = solution.I
    solution.forget()
    assert carbonate.charge(ph, 25.0, strength) == pytest.approx(mean, abs=0.012)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_hydroxide(temperature: float) -> None:
    solution = water(9.5, temperature)
    found = 1000 * (solution.species["OH-"] - solution.species["H+"])
    strength = solution.I
    solution.forget()
    assert carbonate.hydroxide_less_hydrogen(9.5, temperature, strength) == pytest.approx(
        found, rel=0.05
    )


@pytest.mark.parametrize("temperature", [5.0, 25.0, 50.0, 75.0])
def test_ionic_product_of_water_by_iapws(temperature: float) -> None:
    iapws = pytest.importorskip("iapws")
    water = iapws.IAPWS95(T=temperature + 273.15, P=0.101325)
    pkw = iapws._iapws._Kw(water.rho, temperature + 273.15)
    found = carbonate.hydroxide_less_hydrogen(9.0, temperature, 0.0) + 1000 * 10**-9.0
    assert found == pytest.approx(1000 * 10 ** (9.0 - pkw), rel=0.03)


@pytest.mark.parametrize(("salt", "mmol"), [("NaCl", 2.0), ("NaCl", 10.0), ("CaCl2", 5.0)])
def test_activity_coefficient(salt: str, mmol: float) -> None:
    solution = engine().add_solution({"temp": 25})
    solution.add(salt, mmol, "mmol")
    strength = solution.I
    ion = "Cl-"
    gamma = solution.species_activities[ion] / solution.species_molalities[ion]
    solution.forget()
    assert 10 ** -carbonate.log_activity(strength, 25.0) == pytest.approx(gamma, abs=0.01)
