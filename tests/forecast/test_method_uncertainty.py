"""The uncertainty of a manual page is data, and enters every figure of its method."""

from __future__ import annotations

import importlib
import math
import pkgutil
import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from houses import EXAMPLE, example_with
from hypothesis import given
from hypothesis import strategies as st
from monte_carlo import DEMO, PLANS, as_printed, case_of, drawn, ratios, spreads
from msgspec.structs import replace

import reportgen.science
from reportgen.assessment.assess import Assessment, assess
from reportgen.forecast import method_u
from reportgen.forecast.book import Expected
from reportgen.forecast.case import RestStep
from reportgen.forecast.walk import walk
from reportgen.loading import load_archive
from reportgen.science.density import extract_from_gravity
from reportgen.science.method import METHODS, Input, own_uncertainty, page, reckoning, widening
from reportgen.science.number import expanded_uncertainty, nominal, ufloat

for _module in pkgutil.iter_modules(reportgen.science.__path__):
    importlib.import_module(f"reportgen.science.{_module.name}")

NAMES = sorted(METHODS)
WITH_OWN = [name for name in NAMES if page(name).own]
TRUSTED = [
    (name, limit) for name in NAMES for limit in page(name).inputs if limit.trusted_low is not None
]

IN_UNIT_OF_FIGURE = {
    # A figure in another unit than the result of its method: what one unit of the result is.
    "% by volume": 0.01, "P": 0.0038,
}  # fmt: skip


# The pages


@pytest.mark.parametrize("name", NAMES)
def test_a_number_on_a_page_is_data_or_says_where_it_comes_from(name: str) -> None:
    found = page(name)
    assert not re.match(r"[\d<>~±]", found.uncertainty), "write it as U = … to make it data"
    for term in found.own:
        assert term.amount > 0
        # An amount is in the unit of the result, or nothing could be added to it.
        assert found.result.startswith(term.unit), (term.unit, found.result)


@pytest.mark.parametrize("name", WITH_OWN)
def test_a_page_whose_uncertainty_is_data_gives_one_number_or_a_mapping(name: str) -> None:
    # The only results that it can be added to; what gives more must have its U handed in.
    made_of = str(METHODS[name].__wrapped__.__annotations__["return"])  # type: ignore[attr-defined]
    assert made_of in ("Number", "float", "dict[str, Number]", "Mapping[str, Number]"), made_of


def test_what_is_handed_in_is_what_the_pages_say() -> None:
    def says(name: str, words: str) -> bool:
        return words in page(name).uncertainty

    assert says("carbonation.gauge_pressure", "U = 4 %") and method_u.SOLUBILITY_U == 0.04
    assert says("carbonation.co2_volumes", "U = 4 %")
    assert says("carbonation.priming_sugar", "U = 0.1 volumes") and method_u.DISSOLVED_U == 0.1
    assert says("yeast.pitch_rate", "U = 20 %") and method_u.CELLS_U == 0.20
    assert says("heat.strike_temperature", "2 degC before") and method_u.STRUCK_BLIND_U == 2.0
    assert says("heat.mash_cooling", "U = 20 % of the fall") and method_u.HEAT_LOSS_U == 0.20
    assert says("heat.decoction_volume", "U = 10 % of the volume") and method_u.DECOCTION_U == 0.1
    assert says("bitterness.time_and_gravity", "40 % steeped") and method_u.STEEP_U == 0.40
    assert says("carbonation.atmospheric_pressure", "U = 0.03 bar") and method_u.WEATHER_U == 0.03


# Beyond the trusted range


@given(st.sampled_from(TRUSTED), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_beyond_the_trusted_range_it_grows(
    found: tuple[str, Input], one: float, two: float
) -> None:
    _, limit = found
    assert limit.trusted_low is not None and limit.trusted_high is not None
    assert limit.low is not None and limit.high is not None
    near, far = sorted((one, two))
    for edge, end in ((limit.trusted_low, limit.low), (limit.trusted_high, limit.high)):
        a, b = (widening(limit, edge + part * (end - edge)) for part in (near, far))
        assert 1.0 <= a <= b
    inside = limit.trusted_low + one * (limit.trusted_high - limit.trusted_low)
    assert widening(limit, inside) == 1.0


@pytest.mark.parametrize("name", [n for n in WITH_OWN if any(n == m for m, _ in TRUSTED)])
def test_no_method_is_surer_outside_than_at_the_edge(name: str) -> None:
    """Each input alone goes from the edge of its trusted range to the end of its range."""
    for limit in page(name).inputs:
        if limit.trusted_low is None or limit.trusted_high is None:
            continue
        assert limit.low is not None and limit.high is not None
        for edge, end in ((limit.trusted_low, limit.low), (limit.trusted_high, limit.high)):
            at_edge = own_uncertainty(name, 1.5, {limit.name: edge})
            at_end = own_uncertainty(name, 1.5, {limit.name: end})
            assert at_end >= at_edge
            if abs(end - edge) > 1e-9 and at_edge > 0 and limit.name not in _own_of(name):
                assert at_end > at_edge


def _own_of(name: str) -> set[str]:
    return {term.of for term in page(name).own}


@pytest.mark.parametrize("hotter", [True, False])
def test_attenuation_is_less_sure_the_further_the_mash_is_from_the_one_it_is_stated_for(
    hotter: bool,
) -> None:
    from reportgen.forecast.mash_course import result
    from reportgen.science.mash_kinetics import REFERENCE_REST

    case = case_of("2026-01")
    wide = []
    for celsius in (66, 69, 72, 75, 78) if hotter else (66, 63, 60, 57, 54, 51):
        made_by = result(case, [(0.0, float(celsius)), (60.0, float(celsius))])
        reference = result(case, list(REFERENCE_REST))
        wide.append(expanded_uncertainty(made_by.attenuation / reference.attenuation))
    assert wide == sorted(wide) and wide[-1] > 0.04


# Every figure


def figures(of: dict[str, Expected]) -> Iterator[tuple[str, float, float]]:
    """Yield each figure of a walk with its U, and that of its method at its value."""
    for key, expected in of.items():
        name = expected.method
        if not name or not page(name).own or key in MIXED:
            continue
        size = [
            (t.amount if not t.of else 0.0) * IN_UNIT_OF_FIGURE.get(t.unit, 1.0)
            for t in page(name).own
        ]
        share = own_uncertainty(name, expected.value) if any(t.of for t in page(name).own) else 0.0
        yield key, expected.uncertainty, max(math.sqrt(sum(s * s for s in size)), share)


MIXED = {
    # What the formula adds is a part of the figure: ions of the salts, extract of the sum, the
    # acid's share of the alkalinity, the grist's part of the volume.
    *(f"{where}_liquor_{ion}" for where in ("mash", "sparge")
      for ion in ("calcium", "magnesium", "sodium", "chloride", "sulfate")),
    "sparge_alkalinity_left", "mash_volume",
}  # fmt: skip


@pytest.mark.parametrize("batch", PLANS)
def test_no_figure_is_surer_than_its_method(batch: str) -> None:
    case = case_of(batch)
    rng = random.Random(batch)
    plans = [case, as_printed(drawn(case, rng, {}, "")), drawn(case, rng, {}, "")]
    seen = set()
    for one in plans:
        book, _ = walk(one)
        for key, u, least in figures(book.expected):
            assert u >= 0.999 * least, (batch, key, u, least)
            seen.add(key)
    assert {"alcohol", "strike_temperature", "kettle_gravity", "temperature_rise"} <= seen


@pytest.mark.parametrize("batch", ["2025-06", "2026-03", "2026-04", "2026-07"])
def test_no_actual_is_surer_than_its_method(batch: str) -> None:
    """What follows from readings, and what a reading stands for once a formula corrected it."""
    archive = load_archive(DEMO, only=[f"{batch[:4]}/{batch}.yaml"])
    found = assess(archive, archive.batches[batch])
    assert found is not None
    followed = {
        key: found.now.expected[key]
        for key, actual in found.actuals.items()
        if actual.derived_from and key in found.now.expected
    }
    for key, u, least in figures(followed):
        assert u >= 0.999 * least, (key, u, least)
        actual = found.actuals[key]
        assert actual.uncertainty >= 0.999 * least, key
    for key, actual in found.actuals.items():
        if actual.method and actual.value is not None and page(actual.method).own:
            assert actual.uncertainty >= 0.999 * own_uncertainty(actual.method, actual.value), key


def test_nothing_that_a_method_leaves_open_is_left_out() -> None:
    """A figure with no U at all stands in the plan as it is printed."""
    book, _ = walk(case_of("2026-01"))
    sure = {key for key, e in book.expected.items() if e.uncertainty == 0}
    assert all(not book.expected[key].method for key in sure), sure


def test_a_call_within_another_adds_nothing_and_a_plain_one_stays_plain() -> None:
    gravity = extract_from_gravity(1.048)
    assert isinstance(gravity, float)
    with reckoning(lambda name, value, u: ufloat(value, u / 2, name)):
        found = METHODS["alcohol.alcohol_by_volume_fermentation_balance"](1.048, 1.010)
    # It calls real_extract and the densities, each with a U of its own, which its 0.15 % covers.
    assert expanded_uncertainty(found) == pytest.approx(0.15)


DAY = """
brew_day:
  date: 2026-03-14
  pitch: {original_gravity: 1.048, viable_cells: 320 billion}
fermentation: {final_gravity: 1.012}
packaging: {date: 2026-03-24, beer_temperature: 6.0 C, pressure: 0.70 bar}
"""


@pytest.fixture(scope="module")
def plan() -> Assessment:
    archive = load_archive(EXAMPLE)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


@pytest.fixture(scope="module")
def brewed(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    folder: Path = tmp_path_factory.mktemp("u") / "a"
    return example_with(folder, later=DAY)


def test_of_what_is_forecast(plan: Assessment) -> None:
    expected = plan.planned.expected
    assert expected["alcohol"].uncertainty >= 0.0015
    assert expected["strike_temperature"].uncertainty >= 0.5
    for key in ("pressure", "highest_pressure"):
        found = expected[key]
        assert found.uncertainty >= 0.0399 * (found.value + plan.case.air)
    # Good enough to decide on an acid dose, which is given in steps of 0.1.
    assert 0.1 < expected["mash_ph"].uncertainty < 0.2


def test_of_what_follows_from_readings(brewed: Assessment) -> None:
    gas, strength = brewed.actuals["carbonation"], brewed.actuals["alcohol"]
    assert gas.value is not None and gas.uncertainty >= 0.0399 * gas.value
    # Two gravities good to 0.001 are 0.13 % vol each; with the model's 0.15 it is more than either.
    assert strength.uncertainty > 0.0015
    cells = brewed.actuals["viable_cells"]
    assert cells.value is not None and cells.uncertainty >= 0.2 * cells.value


def test_of_a_pressure_read_nothing_is_added(brewed: Assessment) -> None:
    # The gauge says what the gauge says: only what is computed from it has the method's U.
    assert brewed.actuals["pressure"].uncertainty < 0.06


# Beside a Monte Carlo


@pytest.mark.parametrize("batch", ["2025-03", "2026-10"])
def test_carried_to_first_order_as_drawn(batch: str) -> None:
    """JCGM 101. The table of ten plans is printed by ``python -m tests.support.monte_carlo``."""
    for key, ratio in ratios(batch, 500).items():
        # 500 draws know the ratio to 3 %.
        assert 0.9 < ratio < 1.1, (key, ratio)


@pytest.mark.parametrize("rests", [((62.0, 10.0), (77.0, 10.0)), ((66.0, 20.0), (77.0, 10.0))])
def test_of_a_short_mash_too(rests: tuple[tuple[float, float], ...]) -> None:
    """Starch opens many times faster within the spread of the heat it needs: no straight line."""
    steps = tuple(
        RestStep(celsius, minutes, "heat" if n else "strike", None)
        for n, (celsius, minutes) in enumerate(rests)
    )
    case = as_printed(replace(case_of("2026-01"), rests=steps))
    book, _ = walk(case)
    keys = {"mash_attenuation_share": 0.1, "heating_effect": 0.1, "starch_left_at_heating": 0.25}
    for key, drawn_ in spreads(case, keys, 400).items():
        carried = expanded_uncertainty(book.expected[key].number) / 2
        assert carried == pytest.approx(drawn_, rel=keys[key]), key


def test_the_mash_ph_of_a_malt_that_was_measured_is_surer() -> None:
    case = case_of("2026-10")
    base = max(case.malts, key=lambda m: nominal(m.amount))
    known = replace(
        base, distilled_water_mash_ph=5.7, distilled_water_mash_ph_u=0.05
    )
    malts = tuple(known if m is base else m for m in case.malts)
    before, _ = walk(case)
    after, _ = walk(replace(case, malts=malts, causes={}))
    assert after.expected["mash_ph"].uncertainty < 0.85 * before.expected["mash_ph"].uncertainty


