"""What holds for every check: a page without gaps, and content that no formula covers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import SimpleNamespace

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks import base
from reportgen.checks.base import Check, Group, Remark, Told, all_checks, read_page, run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Finding, Severity
from reportgen.science.density import gravity_from_extract

EXAMPLE = Path(__file__).parents[1] / "example"
PAGE = """Title.

Text.

Fix: fix it
Source: common practice, no source
Passes:
    {}
Fails:
    {}
"""


@pytest.mark.parametrize(
    ("section", "text"),
    [
        ("Text", PAGE.replace("Text.", "")),
        ("Fix", PAGE.replace("Fix: fix it\n", "")),
        ("Source", PAGE.replace("common practice, no source", "")),
        ("Passes", PAGE.replace("Passes:\n    {}", "Passes:")),
        ("Fails", PAGE.replace("Fails:", "Fail:")),
    ],
)
def test_a_page_with_a_gap_is_refused(section: str, text: str) -> None:
    assert read_page(PAGE, "name", Group.MASH, Severity.NOTE).fix == "fix it"
    with pytest.raises(SyntaxError, match=f"check name: the docstring has no {section}"):
        read_page(text, "name", Group.MASH, Severity.NOTE)


@pytest.mark.parametrize("fault", [lambda: 1 / 0, lambda: gravity_from_extract(95.0)])
def test_a_number_that_no_formula_covers_is_said(
    monkeypatch: pytest.MonkeyPatch, fault: Callable[[], object]
) -> None:
    def check(batch: Assessment) -> Iterator[Remark]:
        fault()
        yield from ()

    archive = load_archive(EXAMPLE)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    one = next(iter(all_checks().values())).module
    odd = SimpleNamespace(
        __doc__=one.__doc__, GROUP=one.GROUP, SEVERITY=Severity.NOTE, check=check
    )
    monkeypatch.setattr(base, "all_checks", lambda: {"odd": Check("odd", odd)})
    (said,) = run_checks(found)
    assert said.rule == "odd" and said.severity is Severity.NOTE
    assert said.message.startswith("this check cannot be made: ")


def test_a_fault_after_a_first_finding_was_folded_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def check(batch: Assessment) -> Iterator[Remark]:
        yield Remark(None, "one")
        yield Remark(None, "other")

    def check_findings(
        batch: Assessment, findings: Sequence[Finding], told: Told
    ) -> Iterator[tuple[Remark, set[Finding]]]:
        yield Remark(None, "both"), set(findings)
        yield Remark("nowhere", "a fault"), set()  # type: ignore[arg-type]

    archive = load_archive(EXAMPLE)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    page = {"__doc__": PAGE, "GROUP": Group.MASH, "SEVERITY": Severity.NOTE}
    modules = {"a": {"check": check}, "b": {"check_findings": check_findings}}
    checks = {name: Check(name, SimpleNamespace(**page, **of)) for name, of in modules.items()}
    monkeypatch.setattr(base, "all_checks", lambda: checks)
    told = run_checks(found)
    assert [f.message for f in told if f.rule in ("a", "b")] == ["both"]
    assert len(told) == 2 and any("itself failed here" in f.message for f in told)
