"""Bad content: each fault is said once, at its place, all at once, and nothing is raised."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from bad_cases import BAD, EXAMPLE, Case, cases
from houses import inside

from reportgen.archive.checked import findings_in
from reportgen.archive.published import finding_line
from reportgen.checks.base import names
from reportgen.loading import load_archive
from reportgen.record.finding import Severity, render_text

ALL = [case for path in sorted(BAD.glob("*.yaml")) for case in cases(path.stem)]
USUAL = {(f.rule, f.message) for f in findings_in(load_archive(EXAMPLE, names()))}
"""What the checks say of the example archive as it is."""


def test_there_are_many_cases_and_none_twice() -> None:
    assert len(ALL) >= 200
    assert len({case.name for case in ALL}) == len(ALL)


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.name)
def test_a_fault_is_said_once_at_its_place(case: Case, tmp_path: Path) -> None:
    root = tmp_path / "archive"
    case.lay_over(root)
    archive = load_archive(root, names())
    found = [f for f in findings_in(archive) if (f.rule, f.message) not in USUAL]
    said = sorted(
        (f.rule, f.position.file, f.position.line, f.position.column) for f in found
    )
    wanted = sorted((p.rule, p.file, p.line, p.column) for p in case.expected)
    assert said == wanted, "\n".join(render_text(f) for f in found)
    ends = {(p.file, p.line, p.column): p.end for p in case.expected if p.end is not None}
    for finding in found:
        position = finding.position
        assert ends.get((position.file, position.line, position.column)) in (
            None,
            position.end_column,
        )
        assert finding.message
        assert finding.expected or finding.remedy
        json.loads(finding_line(finding))


SHARE = ALL[::24]


@pytest.mark.parametrize("case", SHARE, ids=lambda case: case.name)
def test_the_command_says_the_same(case: Case, tmp_path: Path) -> None:
    root = tmp_path / "archive"
    case.lay_over(root)
    done = inside("check", "--format", "json", cwd=root)
    assert done.returncode == 1 and done.stderr.count("\n") <= 1
    found = [json.loads(line) for line in done.stdout.splitlines()]
    errors = [f for f in found if (f["rule"], f["message"]) not in USUAL]
    assert sorted((f["rule"], f["file"], f["line"], f["column"]) for f in errors) == sorted(
        (p.rule, p.file, p.line, p.column) for p in case.expected
    )
    assert {f["severity"] for f in found} <= {s.value for s in Severity}
