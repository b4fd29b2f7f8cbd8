"""Every check: its manual page is whole, its passing example passes, its failing example fails."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from checked import findings_with

import reportgen.checks
from reportgen.checks.base import WRITE, Group, all_checks, names
from reportgen.record.finding import Finding, Severity

METRIC = re.compile(r"[\d.]+ (?:°C|C|L|bar)\b(?!/)")


KNOWN: dict[str, set[str]] = {}
"""What is said of each example that passes: many checks have the same one."""


def rules_of(patch: str, folder: Path) -> set[str]:
    if patch not in KNOWN:
        KNOWN[patch] = {f.rule for f in findings_with(patch, folder / f"passes-{len(KNOWN)}")}
    return KNOWN[patch]


@pytest.mark.parametrize("name", names())
def test_examples_of_the_manual_page(name: str, tmp_path: Path) -> None:
    page = all_checks()[name].page
    assert name not in rules_of(page.passes, tmp_path.parent)
    failing = findings_with(page.fails, tmp_path / "fails")
    assert name in [f.rule for f in failing], f"found only {failing}"
    listed = {page.severity, *(severity for severity, _ in page.also)}
    # Of a reading that is off plan as well it is as heavy as that.
    own = [f for f in failing if f.rule == name and WRITE not in f.remedy]
    assert {f.severity for f in own} <= listed
    if any(metric_numbers(f) for f in failing if f.rule == name):
        in_gallons = findings_with(page.fails, tmp_path / "gallons", "US")
        said = {number for f in in_gallons if f.rule == name for number in metric_numbers(f)}
        assert said <= as_written(tmp_path / "gallons"), f"not in the units of the house: {said}"


def metric_numbers(finding: Finding) -> list[str]:
    """Return the temperatures, volumes and pressures that a finding tells in metric units."""
    return METRIC.findall(f"{finding.message} {finding.expected}")


def as_written(folder: Path) -> set[str]:
    """Return the metric numbers in the files of an archive: a check may quote what it reads."""
    return {n for file in folder.rglob("*.yaml") for n in METRIC.findall(file.read_text())}


@pytest.mark.parametrize("name", names())
def test_every_severity_of_a_message_is_on_its_page(name: str) -> None:
    """Each severity that a module speaks of is its own, or is listed with what decides."""
    page = all_checks()[name].page
    module = Path(reportgen.checks.__path__[0]) / f"{name.replace('-', '_')}.py"
    spoken = set(re.findall(r"Severity\.([A-Z]+)\b", module.read_text(encoding="utf-8")))
    listed = {page.severity.name, *(severity.name for severity, _ in page.also)}
    # ERROR is asked for among the findings of the reader, and is never the severity of a check.
    assert spoken - {"ERROR"} <= listed
    assert all(when for _, when in page.also)
    assert page.weight.startswith(page.severity.value)


def test_pages_read_well() -> None:
    for name, check in all_checks().items():
        page = check.page
        assert len(page.title) <= 72 and page.title[0].isupper(), name
        assert len(page.text) >= 60, name
        assert isinstance(page.group, Group) and isinstance(page.severity, Severity), name
        assert "\n" not in page.fix and len(page.fix) <= 120, name


def test_a_silenced_check_is_silent(tmp_path: Path) -> None:
    page = all_checks()["gravity-rises"].page
    silence = "review: {silenced: [{check: gravity-rises, because: a trial}]}\n"
    found = findings_with(page.fails + "\n" + silence, tmp_path / "silenced")
    assert "gravity-rises" not in [f.rule for f in found]
