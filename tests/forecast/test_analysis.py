"""The analysis of the packed beer: it stands before what is computed, and it is judged."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.explained import explain
from reportgen.assessment.verdicts import Verdict
from reportgen.checks.base import run_checks
from reportgen.forecast.figures import ANALYSED
from reportgen.history.measures import measured
from reportgen.loading import load_archive
from reportgen.record.model.later import Analysis
from reportgen.science.number import nominal

EXAMPLE = Path(__file__).parents[1] / "example"
BREWED = """
brew_day:
  date: 2026-03-14
  pitch: {original_gravity: 1.049}
fermentation: {final_gravity: 1.011}
packaging: {date: 2026-03-24, beer_temperature: 6 C, pressure: 0.85 bar}
"""


def batch(folder: Path, analysis: str, methods: str = "") -> Assessment:
    """Return the example, brewed, with an analysis."""
    shutil.copytree(EXAMPLE, folder)
    record, house = folder / "2026" / "2026-01.yaml", folder / "brewery.yaml"
    text = record.read_text(encoding="utf-8") + BREWED
    record.write_text(f"{text}analysis: {{date: 2026-04-02, {analysis}}}\n", encoding="utf-8")
    if methods:
        kept = house.read_text(encoding="utf-8")
        house.write_text(f"{kept}\nmethods: {methods}\n", encoding="utf-8")
    archive = load_archive(folder)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def test_each_figure_that_can_be_analysed_has_a_place_and_its_uncertainty() -> None:
    places = {*Analysis.fields, "position"}
    for figure in ANALYSED:
        assert {figure.key, f"{figure.key}_uncertainty"} <= places


def test_what_was_measured_stands_before_what_is_computed(tmp_path: Path) -> None:
    given = "laboratory: own bench, report: L-1, bitterness: 29 IBU, bitterness_uncertainty: 3 IBU"
    found = batch(tmp_path / "a", given)
    actual = found.actuals["bitterness"]
    assert actual.value == 29.0
    # The U stated and that of the last figure written add in squares: GUM (JCGM 100:2008) 5.1.2.
    assert actual.uncertainty == pytest.approx((3.0**2 + 4 / 12) ** 0.5, rel=1e-6)
    assert actual.analysed == "2026-04-02"
    # Nothing was left uncorrected: there is nothing to correct.
    assert "not-corrected" not in {finding.rule for finding in run_checks(found)}
    assert nominal(found.as_brewed("bitterness") or 0.0) == 29.0
    # What nobody measured is still computed with the readings.
    assert found.as_brewed("colour") is not None
    assert "colour" not in found.actuals


def test_without_a_stated_uncertainty_the_last_figure_counts(tmp_path: Path) -> None:
    # A step of 1 IBU, evenly spread: U = 2 / sqrt(12), GUM (JCGM 100:2008) 4.3.7.
    found = batch(tmp_path / "a", "bitterness: 29 IBU")
    assert found.actuals["bitterness"].uncertainty == pytest.approx(2 / 12**0.5, rel=0.01)


@pytest.mark.parametrize(
    ("share", "expected"),
    [(1.0, Verdict.ON_PLAN), (1.19, Verdict.TOO_CLOSE), (1.4, Verdict.OFF_PLAN)],
)
def test_a_measured_bitterness_is_judged(
    tmp_path: Path, share: float, expected: Verdict
) -> None:
    planned = batch(tmp_path / "plan", "colour: 12 EBC").planned.expected["bitterness"].value
    found = batch(
        tmp_path / "a", f"bitterness: {share * planned:.1f} IBU, bitterness_uncertainty: 2 IBU"
    )
    assert found.result("bitterness").verdict is expected
    told = [d for d in found.departures if d.result.figure.key == "bitterness"]
    assert bool(told) is (expected is Verdict.OFF_PLAN)
    change = explain(found).replay.unexplained("bitterness")
    if told:
        assert change is not None
        assert change.size == pytest.approx((share - 1) * planned, abs=0.1)


def test_a_beer_that_was_not_analysed_lacks_nothing(tmp_path: Path) -> None:
    found = batch(tmp_path / "a", "remarks: lost in the post")
    for figure in ANALYSED:
        result = found.find(figure.key)
        if result is not None and result.actual is None:
            assert result.verdict is None


def test_measured_alcohol_and_gas_are_not_derived_again(tmp_path: Path) -> None:
    derived = batch(tmp_path / "a", "colour: 12 EBC")
    assert derived.actuals["alcohol"].derived_from
    assert derived.actuals["carbonation"].derived_from
    found = batch(tmp_path / "b", "alcohol: 4.6 %, carbonation: 2.05 vol")
    assert found.actuals["alcohol"].value == pytest.approx(0.046)
    assert found.actuals["carbonation"].value == pytest.approx(2.05)
    assert not found.actuals["alcohol"].derived_from


@pytest.mark.parametrize("stated", ["", "{bitterness_factor: 0.8}"])
def test_the_bitterness_factor_is_that_of_the_model_alone(tmp_path: Path, stated: str) -> None:
    """Whatever factor the house has adopted, the same beer proposes the same one."""
    plain = batch(tmp_path / "plain", "colour: 12 EBC")
    computed = nominal(plain.now["bitterness"])
    assert "bitterness_factor" not in measured(plain)
    found = batch(tmp_path / "a", "bitterness: 27.0 IBU, bitterness_uncertainty: 1.5 IBU", stated)
    factor = measured(found)["bitterness_factor"]
    assert factor.value == pytest.approx(27.0 / computed, rel=1e-6)
    assert factor.uncertainty == pytest.approx(1.5 / computed, rel=0.01)  # step 0.1
    assert factor.expected == (0.8 if stated else 1.0)
