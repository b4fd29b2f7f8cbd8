"""The alkalinity that the acid leaves in the sparge liquor."""

from __future__ import annotations

from pathlib import Path

import pytest
from houses import example_with, house

from reportgen.assessment.assess import assess
from reportgen.checks.base import run_checks
from reportgen.loading import load_archive

ACID = "      - {acid: lactic_80, amount: 3 mL, to: mash}\n"


def test_what_the_acid_leaves(tmp_path: Path) -> None:
    more = ACID + "      - {acid: lactic_80, amount: 2 mL, to: sparge}\n"
    found = example_with(tmp_path / "a", (ACID, more)).planned
    # 2 mL of 80 % lactic acid are 2 x 1.19 x 0.80 / 90.08 = 21.1 mmol; at pH 5.6 all but 1.7 %
    # (pK 3.83) is ionised: 20.8 mEq, each 50.04 mg as CaCO3.
    before, left = (
        found.expected[key].value
        for key in ("sparge_liquor_alkalinity", "sparge_alkalinity_left")
    )
    litres = found.expected["sparge_liquor"].value
    assert (before - left) * litres == pytest.approx(20.8 * 50.04, rel=0.02)


@pytest.mark.parametrize("millilitres", [1.0, 2.0, 4.0, 8.0])
def test_the_ph_it_gives(tmp_path: Path, millilitres: float) -> None:
    """Held against PHREEQC with hydrochloric acid for the part of the lactic acid that ionises."""
    engine = pytest.importorskip("phreeqpython").PhreeqPython()
    more = ACID + f"      - {{acid: lactic_80, amount: {millilitres} mL, to: sparge}}\n"
    found = example_with(tmp_path / "a", (ACID, more)).planned.expected
    litres, ph = found["sparge_liquor"].value, found["sparge_ph"]
    alkalinity = found["sparge_liquor_alkalinity"].value / 50.04
    # 80 % lactic acid: 10.52 mol/L (1.1848 g/mL, 90.08 g/mol); pK 3.83 in liquor.
    mmol = millilitres * 10.52 / litres
    ionised = mmol / (1.0 + 10.0 ** (3.83 - ph.value))
    water = engine.add_solution(
        {"units": "mmol/kgw", "temp": 20, "pH": 7.6, "Alkalinity": alkalinity, "Ca": alkalinity / 2}
    )
    water.add("HCl", ionised, "mmol")
    assert ph.value == pytest.approx(float(water.pH), abs=0.03)
    # The page's own 0.1, and more of the dose where little alkalinity is left.
    assert ph.uncertainty >= 0.1


def test_a_ph_read_says_more_than_the_acid_planned(tmp_path: Path) -> None:
    """Hard liquor with too little acid on paper, and what the meter found of it."""
    hard = "liquors: {reservoir: {bicarbonate: 300 mg/L}}"
    plan = "plan: {liquor: {acids: [{acid: lactic_80, amount: 1 mL, to: sparge}]}}"
    day = "brew_day: {date: 2026-03-14, run_off: {sparge_ph: %s}}"
    for read, rules in (
        ("", {"sparge-alkaline"}),
        ("6.8", {"sparge-alkaline"}),
        ("5.7", set()),
        ("4.0", {"sparge-too-sour"}),
        ("not done because the meter was away", {"sparge-alkaline"}),
    ):
        text = plan + ("\n" + day % read if read else "")
        root = house(tmp_path / (read or "none"), {"2026-02": text}, hard)
        archive = load_archive(root)
        found = assess(archive, archive.batches["2026-02"])
        assert found is not None
        said = {f.rule for f in run_checks(found)}
        assert said & {"sparge-alkaline", "sparge-too-sour"} == rules, read


def test_without_acid_there_is_no_such_figure(tmp_path: Path) -> None:
    found = example_with(tmp_path / "a")
    assert "sparge_alkalinity_left" not in found.planned
    assert "sparge-alkaline" not in {f.rule for f in run_checks(found)}
