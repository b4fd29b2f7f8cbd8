"""The faults of `mutations.yaml` can still be put in: each stands for code that is there."""

from __future__ import annotations

from pathlib import Path

import yaml

ROOT = Path(__file__).parents[1]
FAULTS = yaml.safe_load(Path(__file__).with_name("mutations.yaml").read_text(encoding="utf-8"))


def test_each_fault_has_its_place_and_its_tests() -> None:
    assert len(FAULTS) == 40
    for fault in FAULTS:
        text = (ROOT / fault["file"]).read_text(encoding="utf-8")
        assert text.count(fault["old"]) == 1 and fault["old"] != fault["new"], fault
        assert (ROOT / fault["test"].split()[0].partition("::")[0]).is_file(), fault
