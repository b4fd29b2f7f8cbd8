"""Every file in bad/syntax says exactly what its index says, at the line and column of the fault.

Expectations are written by hand from what is wrong in each file, not taken from the program.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from reportgen.record import yamlreader, yamltree
from reportgen.record.finding import Finding, Severity, render_text
from reportgen.record.source import Source, read_source, source_from_bytes

BAD = Path(__file__).parent / "bad"
INDEX = yaml.safe_load((BAD / "syntax.yaml").read_text(encoding="utf-8"))
FILES: dict[str, list[str]] = INDEX["files"]
BYTES: dict[str, dict[str, object]] = INDEX["bytes"]

RULES = {
    "after-bracket", "after-quote", "alias", "anchor", "bidi-control", "binary", "block-text",
    "bracket", "colon-in-text", "colon-space", "comment", "control-character", "dash-space",
    "directive", "duplicate-key", "empty-file", "encoding", "escape", "indent", "key-shape",
    "list-place", "merge-conflict", "merge-key", "no-colon", "not-utf-8", "open-quote",
    "several-documents", "space-indent", "start-character", "tab-indent", "tag", "too-deep",
}  # fmt: skip
"""Rules that a case must exist for. The rest are tested with sizes, folders and permissions."""


def _all(source: Source | None, findings: list[Finding]) -> list[Finding]:
    return findings + (yamltree.parse(source)[1] if source is not None else [])


def _said(findings: list[Finding]) -> list[str]:
    return [f"{f.rule} {f.position.line} {f.position.column}" for f in findings]


@pytest.fixture(params=["fast", "plain"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Run a case with PyYAML's C parser and with its plain one."""
    chosen = yamlreader._fast_parser() if request.param == "fast" else yamlreader._PlainParser
    monkeypatch.setattr(yamlreader, "_PARSER", chosen)


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize("name", sorted(FILES))
def test_a_bad_file_is_answered_at_its_faults(name: str) -> None:
    findings = _all(*read_source(BAD / "syntax" / name, name))
    assert _said(findings) == FILES[name]


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize("name", sorted(BYTES))
def test_bad_bytes_are_answered_at_their_faults(name: str) -> None:
    data = bytes.fromhex(str(BYTES[name]["hex"]))
    assert _said(_all(*source_from_bytes(data, name))) == BYTES[name]["says"]


def test_every_case_file_is_in_the_index_and_every_rule_has_a_case() -> None:
    assert {path.name for path in (BAD / "syntax").iterdir()} == set(FILES)
    said = [line for lines in FILES.values() for line in lines]
    said += [str(line) for case in BYTES.values() for line in case["says"]]  # type: ignore[attr-defined]
    assert {line.split()[0] for line in said} == RULES
    assert len(FILES) + len(BYTES) >= 50


@pytest.mark.parametrize("name", sorted(FILES))
def test_each_finding_shows_its_line_and_tells_how_to_fix_it(name: str) -> None:
    path = BAD / "syntax" / name
    lines = path.read_text(encoding="utf-8").splitlines()
    for finding in _all(*read_source(path, name)):
        position = finding.position
        assert finding.line == lines[position.line - 1]
        assert 1 <= position.column <= len(finding.line) + 1
        assert position.column <= position.end_column <= len(finding.line) + 1
        assert finding.message and "\n" not in finding.message
        assert finding.remedy or finding.expected
        assert render_text(finding).startswith(f"{name}:{position.line}:{position.column}: ")


def test_only_a_lost_comment_is_less_than_an_error() -> None:
    for name in FILES:
        for finding in _all(*read_source(BAD / "syntax" / name, name)):
            wanted = Severity.MINOR if finding.rule == "comment" else Severity.ERROR
            assert finding.severity is wanted
