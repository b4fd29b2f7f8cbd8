"""One air pressure of the place, in everything that hangs on it."""

from __future__ import annotations

import pytest
from houses import EXAMPLE
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment, assess
from reportgen.forecast.actions import keg_pressure, priming
from reportgen.forecast.case import Case
from reportgen.forecast.house_steps import HouseSteps
from reportgen.forecast.walk import walk
from reportgen.loading import load_archive
from reportgen.science.carbonation import co2_volumes
from reportgen.science.number import nominal


@pytest.fixture(scope="module")
def base() -> Case:
    archive = load_archive(EXAMPLE)
    found = assess(archive, archive.batches["2026-01"])
    assert isinstance(found, Assessment)
    return replace(found.case, altitude=1600.0)


def value(case: Case, key: str, readings: dict[str, float] | None = None) -> float:
    return walk(case, readings)[0].expected[key].value


def test_pressure_at_1600_m(base: Case) -> None:
    # ISO 2533 gives 0.8352 bar at 1600 m. 2.4 volumes of 1.977 g/L are 4.745 g/L; at 5 degC
    # exp(-10.73797 + 2617.25/278.15) = 0.26495, so 4.745 / 2.6495 - 0.8352 = 0.956 bar.
    keg = replace(base, packed_into="keg", carbonation=2.4, packaging_temperature=5.0)
    assert value(keg, "pressure") == pytest.approx(0.956, abs=0.002)


def test_the_keg_table_is_of_the_place(base: Case) -> None:
    keg = replace(base, packed_into="keg", carbonation=2.4)
    table = keg_pressure(keg, HouseSteps())
    assert table is not None
    for row in table.rows[:4]:
        temperature, pressure = (getattr(entry, "value", entry) for entry in row)
        held = nominal(co2_volumes(float(pressure), float(temperature), 0.8352))  # type: ignore[arg-type]
        assert held == pytest.approx(2.4, abs=0.01)


def test_priming_at_1600_m(base: Case) -> None:
    # 0.8352 bar of gas at 20 degC: 10 x 0.8352 x exp(-10.73797 + 2617.25/293.15) / 1.977
    # = 0.691 volumes. (2.4 - 0.691) x 1.977 x V / 0.5143 g of sucrose: 6.569 g/L.
    bottle = replace(
        base, packed_into="bottle", carbonation=2.4, highest_temperature=20.0,
        ferment_pressure=0.0, priming_sugar="sucrose",
    )  # fmt: skip
    book = walk(bottle)[0]
    grams = 1000 * book.expected["priming_sugar"].value / nominal(book["packaged_volume"])
    assert grams == pytest.approx(6.569, rel=0.005)
    table = priming(bottle, book, HouseSteps())
    assert table is not None


def test_less_is_isomerised_where_water_boils_cooler(base: Case) -> None:
    # Water boils at 94.7 degC at 1600 m (IAPWS). k1(94.7)/k1(100) = exp(-11858 (1/367.85 -
    # 1/373.15)) = 0.632: 60 min count as 37.9. The curve of time gives (1 - exp(-0.04 x 37.9))
    # / (1 - exp(-0.04 x 60)) = 0.859 of the sea's.
    one = replace(
        base, hops=(replace(base.hops[0], minutes=60.0),), cooling_minutes=0.01
    )
    sea = replace(one, altitude=0.0)
    assert value(one, "bitterness") / value(sea, "bitterness") == pytest.approx(0.859, abs=0.01)


def figures(case: Case) -> dict[str, float]:
    return {key: e.value for key, e in walk(case)[0].expected.items()}


@pytest.mark.parametrize("into", ["keg", "bottle", "cask"])
@pytest.mark.parametrize("height", [300.0, 1600.0, 2500.0])
def test_the_place_moves_all_that_hangs_on_its_air_and_nothing_else(
    base: Case, into: str, height: float
) -> None:
    """Thin air: more gauge for the same gas, more sugar, a cooler boil that isomerises less."""
    sea = figures(replace(base, packed_into=into, altitude=0.0))
    place = figures(replace(base, packed_into=into, altitude=height))
    more = {"pressure"} if into == "keg" else {"priming_sugar", "alcohol"}
    more |= {"highest_pressure"}
    less = {"bitterness", "cast_out_volume_hot"}
    for key in more:
        assert place[key] > sea[key], key
    for key in less:
        assert place[key] < sea[key], key
    moved = {key for key in sea if abs(place[key] - sea[key]) > 1e-9}
    # The label's pressure and the keg's table follow from these.
    assert moved == more | less, moved ^ (more | less)


@pytest.mark.parametrize("into", ["keg", "bottle"])
def test_the_air_read_is_the_air_of_the_altitude_that_has_it(base: Case, into: str) -> None:
    one = replace(base, packed_into=into)
    read = replace(one, altitude=0.0, air_read=one.air)
    assert figures(read) == pytest.approx(figures(one), rel=1e-9)


def test_gas_of_a_pressure_read_is_that_of_the_place(base: Case) -> None:
    # 0.72 bar at 8.5 degC and 1600 m: 10 (0.72 + 0.8352) exp(-10.73797 + 2617.25/281.65)
    # / 1.977 = 1.855 volumes; by the sea 2.07.
    from reportgen.forecast.pack import gas_under

    assert nominal(gas_under(base, 0.72, 8.5)) == pytest.approx(1.855, abs=0.005)
    sea = replace(base, altitude=0.0)
    assert nominal(gas_under(sea, 0.72, 8.5)) == pytest.approx(2.07, abs=0.01)


def test_a_pressure_stated_counts_before_the_altitude(base: Case) -> None:
    keg = replace(base, packed_into="keg", air_read=0.85)
    thin = replace(base, packed_into="keg")
    assert value(thin, "pressure") - value(keg, "pressure") == pytest.approx(0.0148, abs=0.001)
    assert value(keg, "cast_out_volume_hot") > 0
    assert keg.boiling > thin.boiling
