"""Runs every outside check value: one test a topic file in ``cases/``.

A case names the calculation, its inputs, the value published outside this project, the tolerance
that the source's rounding or accuracy allows, the source with table or page, and its mark:
``published``, ``reference library``, ``common practice`` or ``from memory``.
"""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest
import yaml

CASES = Path(__file__).parent / "cases"
MARKS = {"published", "reference library", "common practice", "from memory"}
KEYS = {"function", "inputs", "expected", "tolerance", "source", "mark"}


@pytest.mark.parametrize("topic", sorted(CASES.glob("*.yaml")), ids=lambda p: p.stem)
def test_topic(topic: Path) -> None:
    cases = yaml.safe_load(topic.read_text(encoding="utf-8"))
    wrong = []
    for number, case in enumerate(cases, 1):
        where = f"{topic.name} case {number}"
        assert KEYS <= set(case) <= KEYS | {"pick", "note"}, where
        assert case["mark"] in MARKS and case["source"].strip() and case["tolerance"] >= 0, where
        module, function = case["function"].split(".")
        calculation = getattr(importlib.import_module(f"reportgen.science.{module}"), function)
        result = calculation(**case["inputs"])
        # "pick" takes one member of a mapping or tuple or one attribute of a result.
        if "pick" in case:
            pick = case["pick"]
            named = isinstance(pick, str) and hasattr(result, pick)
            result = getattr(result, pick) if named else result[pick]
        if not abs(float(result) - case["expected"]) <= case["tolerance"]:
            told = f"gives {result}, source says {case['expected']}"
            wrong.append(f"{where}: {case['function']} {told}")
    assert not wrong, "\n".join(wrong)
