"""What other programs read is as the published schemas say, and the recipes for it run."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from houses import house
from jsonschema import Draft202012Validator

from reportgen.archive.published import SCHEMAS, render
from reportgen.cli import main
from reportgen.resources import schema_dir, templates_dir

PLANS = {
    "2026-01": "plan: {grist: [{malt: pale, amount: 7.0 kg}]}",
    "2026-02": "plan: {grist: [{malt: pale, amount: 9.0 kg}]}",
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive with its ledger, as the recipes find it."""
    folder = house(tmp_path_factory.mktemp("published") / "a", PLANS)
    assert main(["ledger", "--archive", str(folder)]) == 0
    return folder


def validator(name: str) -> Draft202012Validator:
    schema = json.loads((schema_dir() / f"{name}.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_published_file_is_that_of_the_code(name: str) -> None:
    """If not: python -m reportgen.archive.published."""
    assert (schema_dir() / f"{name}.json").read_text(encoding="utf-8") == render(name)


def test_findings(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(folder), "--format", "json"])
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert lines
    for line in lines:
        assert [e.message for e in validator("findings").iter_errors(line)] == []
        assert line["end_line"] == line["line"] and line["end_column"] >= line["column"]
    # The same words as a person is shown.
    main(["check", str(folder)])
    text = capsys.readouterr().out
    for line in lines:
        assert f"{line['severity']}: {line['message']} [{line['rule']}]" in text


def test_figures(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["figures", str(folder), "--format", "json"])
    rows = json.loads(capsys.readouterr().out)
    assert [e.message for e in validator("figures").iter_errors(rows)] == []
    main(["figures", str(folder), "--format", "csv"])
    head = capsys.readouterr().out.splitlines()[0].split(",")
    assert head == validator("figures").schema["items"]["required"]


def test_ledger(folder: Path) -> None:
    data = json.loads((folder / "build/ledger.json").read_text(encoding="utf-8"))
    assert [e.message for e in validator("ledger").iter_errors(data)] == []
    head = (folder / "build/ledger.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
    batch = validator("ledger").schema["properties"]["batches"]["items"]
    assert head == batch["required"] == [column["name"] for column in data["columns"]]


RECIPES = (templates_dir() / "manual/guide/recipes.md").read_text(encoding="utf-8")
PROGRAMS = re.findall(r"^```python\n(.*?)^```$", RECIPES, re.M | re.S)


@pytest.mark.parametrize("program", PROGRAMS, ids=["pandas", "sql"])
def test_the_programs_of_the_recipes_run(folder: Path, program: str) -> None:
    if "import pandas" in program:
        pytest.importorskip("pandas", reason="pandas is not installed")
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=folder, capture_output=True, text=True, timeout=60
    )
    assert (done.returncode, done.stderr) == (0, "")


def test_every_column_that_a_recipe_names_is_there(folder: Path) -> None:
    head = (folder / "build/ledger.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
    assert {"yeast", "apparent_attenuation_actual", "brewed", "packed"} <= set(head)
