"""``trace INSTRUMENT``: which batches an instrument read, what of each, and what is in doubt."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from reportgen.cli import main

EXAMPLE = Path(__file__).parents[1] / "example"
DAY = "\nbrew_day: {date: 2026-03-14, mash: {mash_temperature: 66.4 C, strike_temperature: 72 C}}\n"


@pytest.mark.parametrize("high, code", [("0.2 K", 0), ("1.3 K", 1)])
def test_an_instrument_is_traced_to_its_batches_and_readings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], high: str, code: int
) -> None:
    root = tmp_path / "house"
    shutil.copytree(EXAMPLE, root)
    house, record = root / "brewery.yaml", root / "2026" / "2026-01.yaml"
    checks = f"checks: [{{on: 2026-01-02}}, {{on: 2026-06-01, reads_high_by: {high}}}]}}"
    text = house.read_text(encoding="utf-8")
    text = text.replace("uncertainty: 0.4 K, checked: 2026-01-02}", f"uncertainty: 0.4 K, {checks}")
    house.write_text(text, encoding="utf-8")
    record.write_text(record.read_text(encoding="utf-8") + DAY, encoding="utf-8")
    assert main(["trace", "thermometer", "--archive", str(root)]) == code
    said = capsys.readouterr().out
    assert f"checked 2026-06-01, reads high by {high}" in said
    assert "2026-01  " in said and "Strike temperature of the liquor, Mash temperature" in said
    assert ("in doubt by the check of 2026-06-01: Strike" in said) is bool(code)
    main(["trace", "thermometer", "--archive", str(root), "--format", "json"])
    (one,) = json.loads(capsys.readouterr().out)
    assert [b["batch"] for b in one["batches"]] == ["2026-01"]
    assert main(["trace", "scale", "--archive", str(root)]) == 0
    assert "nothing yet" in capsys.readouterr().out
