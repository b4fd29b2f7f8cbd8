"""Every row of the table of units against the pint library, and against printed tables."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from reference import PINT, PropsSI

from reportgen.record import unit_library, unit_names, unit_table, units
from reportgen.record.unit_table import BASE, EXAMPLES, KINDS, NAMES, UNITS, Unit

PINT_BASE = {
    "volume": "liter", "mass": "kilogram", "temperature": "degC",
    "temperature_difference": "delta_degC", "time": "minute", "fraction": "dimensionless",
    "alpha": "dimensionless", "pressure": "bar", "concentration": "milligram/liter",
    "bitterness": "milligram/liter", "power": "kilowatt", "energy": "kilojoule", "length": "meter",
    "heat_capacity": "kilojoule/delta_degC", "evaporation": "liter/hour",
    "specific_volume": "liter/kilogram",
}  # fmt: skip

CONVENTIONS = {
    ("gravity", "SG"), ("gravity", "P"), ("gravity", "Bx"), ("carbonation", "vol"),
    ("carbonation", "g/L"), ("concentration", "ppm"), ("concentration", "ppb"), ("colour", "EBC"),
    ("colour", "SRM"), ("colour", "°L"), ("bitterness", "IBU"), ("ph", "pH"), ("cells", "billion"),
    ("cells", "million"), ("cells", "trillion"), ("cells", "cells"), ("cell_density", "billion/mL"),
    ("cell_density", "million/mL"), ("cell_density", "cells/mL"), ("cell_density", "billion/L"),
    ("cell_density", "billion/g"), ("cell_density", "million/g"), ("cell_density", "cells/g"),
}  # fmt: skip
"""Rows that no units library has; each is checked below or is a name for its base unit."""

WITH_PINT = [unit for unit in UNITS if unit.pint]


@pytest.mark.parametrize("unit", WITH_PINT, ids=lambda unit: f"{unit.kind} {unit.name}")
def test_a_row_is_what_pint_says(unit: Unit) -> None:
    for number in (0.0, 1.0, 7.25, 212.0):
        wanted = PINT.Quantity(number, unit.pint).to(PINT_BASE[unit.kind]).magnitude
        value = (number + unit.offset) * unit.factor
        assert value == pytest.approx(wanted, rel=1e-12, abs=1e-10)


def test_only_conventions_of_the_trade_are_without_pint() -> None:
    assert {(unit.kind, unit.name) for unit in UNITS if not unit.pint} == CONVENTIONS


@pytest.mark.parametrize(
    ("kind", "name", "value"),
    # NIST Special Publication 811 (2008), appendix B.8, as printed (seven figures).
    [
        ("volume", "US gal", 3.785412), ("volume", "imp gal", 4.54609),
        ("volume", "US qt", 0.9463529), ("volume", "US pt", 0.4731765),
        ("volume", "US fl oz", 0.02957353), ("volume", "imp fl oz", 0.02841306),
        ("mass", "lb", 0.4535924), ("mass", "oz", 0.02834952), ("pressure", "psi", 0.06894757),
        ("pressure", "atm", 1.01325), ("energy", "BTU", 1.055056), ("energy", "kWh", 3600.0),
        ("energy", "kcal", 4.184), ("power", "hp", 0.7456999), ("length", "ft", 0.3048),
        ("length", "in", 0.0254), ("power", "BTU/h", 0.2930711e-3),
    ],
)  # fmt: skip
def test_a_row_is_what_the_standard_prints(kind: str, name: str, value: float) -> None:
    unit = unit_names.EXACT[kind, name]
    assert unit.factor == pytest.approx(value, rel=3e-7)


def test_barrels_are_those_of_beer() -> None:
    # 27 CFR 25.11: a barrel of beer is 31 gallons; UK Alcoholic Liquor Duties Act 1979, section 4
    # (as enacted): 36 gallons.
    assert unit_names.EXACT["volume", "US bbl"].factor == pytest.approx(31 * 231 * 2.54**3 / 1000)
    assert unit_names.EXACT["volume", "imp bbl"].factor == 36 * 4.54609


def test_a_volume_of_carbon_dioxide() -> None:
    density = PropsSI("D", "T", 273.15, "P", 101325, "CO2")
    assert density == pytest.approx(unit_table.CO2_GRAMS_PER_LITRE, abs=5e-5)


def test_colour_and_cells() -> None:
    # EBC 9.6: 25 times the absorbance in a 10 mm cell; ASBC Beer-10: 10 times that in half an inch.
    assert round(unit_table.EBC_PER_SRM, 2) == 1.97
    factors = {unit.name: unit.factor for unit in UNITS if unit.kind == "cells"}
    assert factors == {"billion": 1, "million": 1e-3, "trillion": 1e3, "cells": 1e-9}


def test_every_kind_is_named_has_examples_and_a_base_unit_of_factor_one() -> None:
    assert set(KINDS) == set(BASE) == set(NAMES) == set(EXAMPLES)
    for kind, base in BASE.items():
        if base:
            unit = unit_names.EXACT[kind, base if base != "degC" else "C"]
            assert (unit.factor, unit.offset) == (1.0, 0.0)


def test_no_spelling_means_two_units_of_a_kind() -> None:
    seen: dict[tuple[str, str], Unit] = {}
    for unit in UNITS:
        for name in (unit.name, *unit.also):
            assert units.cleaned(name) == name
            assert seen.setdefault((unit.kind, name), unit) is unit
    folded: dict[tuple[str, str], set[float]] = {}
    for (kind, name), unit in seen.items():
        folded.setdefault((kind, name.casefold()), set()).add(unit.factor)
    assert {key for key, factors in folded.items() if len(factors) > 1} <= set()


@pytest.mark.parametrize(
    ("unit", "kind", "factor"),
    [
        ("stone", "mass", 6.35029318),
        ("furlong", "length", 201.168),
        ("torr", "pressure", 1.01325 / 760),
        ("US gal/min", "evaporation", 3.785411784 * 60),
        ("imp gal/min", "evaporation", 4.54609 * 60),
        ("fortnight", "time", 14 * 1440),
        ("dm3", "volume", 1),
        ("kg/m3", "concentration", 1000),
    ],
)
def test_the_library_knows_the_rest(unit: str, kind: str, factor: float) -> None:
    found = unit_library.look_up(unit)
    assert found is not None and found[0] == kind
    assert found[1] == pytest.approx(factor, rel=1e-5)


@pytest.mark.parametrize(
    "unit",
    [
        "hs", "ds", "mins2", "kgal", "cup", "bushel", "gill", "ton", "hundredweight", "month",
        "year", "Da", "parsec", "kelvin", "m**9", "x" * 30, "", "9", "a b", "gallon", "pint",
        "quart", "__import__", "eval", "m^2", "light_year", "grain", "carat",
    ],
)  # fmt: skip
def test_what_a_brewer_cannot_have_meant_is_not_looked_up(unit: str) -> None:
    assert unit_library.look_up(unit) is None


def _python(code: str, **environment: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), **environment},
    )
    return done.stdout.strip()


def test_daily_units_are_read_without_the_library() -> None:
    code = (
        "import sys\n"
        "from reportgen.record.units import parse_quantity, UnitError, KINDS\n"
        "from reportgen.record.unit_table import UNITS\n"
        "for unit in UNITS:\n"
        "    parse_quantity(('1.05 ' if unit.name == 'SG' else '7 ') + unit.name, unit.kind)\n"
        "for text in ('20', '20 L', '6 tsp', '9,5 P', '1038', '5 gal'):\n"
        "    try: parse_quantity(text, 'mass')\n"
        "    except UnitError: pass\n"
        "print([m for m in ('pint', 'yaml', 'jsonschema', 'numpy') if m in sys.modules])"
    )
    assert _python(code) == "[]"
