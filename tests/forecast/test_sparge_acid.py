"""The alkalinity that the acid leaves in the sparge liquor."""

from __future__ import annotations

from pathlib import Path

import pytest
from houses import example_with

from reportgen.checks.base import run_checks

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


def test_without_acid_there_is_no_such_figure(tmp_path: Path) -> None:
    found = example_with(tmp_path / "a")
    assert "sparge_alkalinity_left" not in found.planned
    assert "sparge-alkaline" not in {f.rule for f in run_checks(found)}
