"""A step mash: the liquor of its infusions is counted, by heat and by volume.

Worked by hand for 7.35 kg of grist in 20 L (19.964 kg): to bring it from 52 to 66 degC with liquor
of 95 degC takes 14 x (7.35 x 1.67 + 19.964 x 4.19 + 6) / (4.19 x 29) = 14 x 101.92 / 121.51 =
11.74 kg, which is 11.76 L at 20 degC.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import assess
from reportgen.loading import load_archive

EXAMPLE = Path(__file__).parents[1] / "example"


def test_an_infusion_brings_heat_and_liquor(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLE, tmp_path / "a")
    path = tmp_path / "a" / "2026" / "2026-01.yaml"
    text = path.read_text(encoding="utf-8").replace(
        "      - {temperature: 66 C, time: 60 min}\n",
        "      - {temperature: 52 C, time: 10 min}\n"
        "      - {temperature: 66 C, time: 60 min, reached_by: infusion, "
        "liquor_temperature: 95 C}\n",
    )
    path.write_text(text, encoding="utf-8")
    archive = load_archive(tmp_path / "a")
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    value = {key: e.value for key, e in found.planned.expected.items()}
    assert value["infusion_liquor"] == pytest.approx(11.76, abs=0.01)
    # What the infusion brings need not be sparged: the kettle still fills to the plan.
    assert value["kettle_volume"] == pytest.approx(46.5, abs=1e-6)
    assert value["sparge_liquor"] == pytest.approx(33.2475 - 11.76, abs=0.01)
