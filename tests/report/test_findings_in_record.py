"""The record says what the checks found, what stays open, and which checks are silenced and why."""

from __future__ import annotations

import shutil
from pathlib import Path

from msgspec.structs import replace
from printed import ARCHIVE, BREWED, Made, assessed, texts

from reportgen.checks.base import run_checks, with_findings
from reportgen.record.finding import Severity
from reportgen.report.batch_record import batch_record
from reportgen.report.documents import RECORD, Document
from reportgen.report.record_sections.open_issues import MOST_ISSUES

DEMO = Path(__file__).parents[2] / "batches"


def test_the_printed_record_has_each_finding_and_how_to_fix_it(made: Made) -> None:
    pages = texts(made("record"))
    found = run_checks(assessed(BREWED))
    assert len(found) >= 3
    whole = " ".join(pages)
    assert "What the checks found" in whole
    for finding in found:
        start = finding.message[1:40]
        assert start in whole, finding.message
        assert f"{finding.position.file}, line {finding.position.line}" in whole


def test_the_first_page_lists_what_is_open(made: Made) -> None:
    first = texts(made("record"))[0]
    open_ = first[first.index("Open issues") : first.index("Decision")]
    assert "Minor: house has no lot Y-1 in stock.yaml" in open_
    assert "The plan was changed after the sheet was issued" in open_
    assert "1 note of the checks" in open_
    assert "None." not in open_


def test_a_cause_stands_once_with_all_that_it_shows_in(tmp_path: Path) -> None:
    """Three figures and a finding under one cause: one entry, and the finding stands in it."""
    root = tmp_path / "archive"
    shutil.copytree(ARCHIVE, root)
    path = root / "2026" / "2026-01.yaml"
    text = path.read_text(encoding="utf-8")
    old = "    - figure: mash_temperature\n"
    assert old in text
    new = "    - figures: [mash_temperature, final_gravity]\n      findings: [lot-unknown]\n"
    path.write_text(text.replace(old, new), encoding="utf-8")
    view = batch_record(with_findings(assessed(BREWED, root)), "A4")
    (cause,) = view.deviations
    assert cause.title == "Mash temperature, final gravity"
    assert [line.title for line in cause.shown] == ["Mash temperature", "Final gravity"]
    assert cause.findings == ("lot-unknown",)
    assert "lot-unknown" not in [line.check for line in view.checks]


def test_what_follows_from_a_cause_is_proposed_under_it(tmp_path: Path) -> None:
    """A weak first wort makes the kettle and the original gravity weak: confirmed with one line."""
    root = tmp_path / "archive"
    shutil.copytree(ARCHIVE, root)
    path = root / "2026" / "2026-01.yaml"
    text = path.read_text(encoding="utf-8")
    for old, new in (
        ("first_wort_gravity: {read: 1.070,", "first_wort_gravity: {read: 1.060,"),
        ("kettle_gravity: {read: 1.040,", "kettle_gravity: {read: 1.0345,"),
        ("cast_out_gravity: {read: 1.044,", "cast_out_gravity: {read: 1.0385,"),
        ("original_gravity: 1.044", "original_gravity: 1.0385"),
        ("figure: mash_temperature", "figure: first_wort_gravity"),
    ):
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    view = batch_record(with_findings(assessed(BREWED, root)), "A4")
    cause = next(d for d in view.deviations if d.title.startswith("First wort gravity"))
    proposed = [line.title for line in cause.shown if line.note.startswith("Proposed")]
    assert {"Kettle gravity, full", "Original gravity"} <= set(proposed)
    assert cause.is_open
    # In a line of the first page its first figures are named, and its weight is not cut off.
    more = len(cause.shown) - 3
    (issue,) = (line for line in view.issues if line.startswith("First wort gravity, "))
    assert issue.endswith(f" and {more} more: {cause.severity} deviation not closed")
    # The line that confirms stands once and is all of it.
    (line,) = (one.note for one in cause.shown if "confirm" in one.note)
    figures = line.partition("figures: ")[2]
    path.write_text(text.replace("figure: first_wort_gravity", f"figures: {figures}"), "utf-8")
    view = batch_record(with_findings(assessed(BREWED, root)), "A4")
    cause = next(d for d in view.deviations if d.title.startswith("First wort gravity"))
    assert not any(one.note.startswith("Proposed") for one in cause.shown)


def test_what_is_open_of_some_containers_is_one_line_and_none_filled_are_not_told(
    tmp_path: Path,
) -> None:
    shutil.copytree(DEMO, tmp_path / "a")
    path = tmp_path / "a" / "2026" / "2026-06.yaml"
    text = path.read_text(encoding="utf-8")
    kegs = "  containers: 2\n  container_size: 19 L\n"
    assert kegs in text
    others = """  also:
    - {into: bottle, containers: 37, container_size: 0.5 L, priming_sugar: 130 g}
    - {into: cask, containers: 0}
"""
    path.write_text(text.replace(kegs, kegs.replace("2", "1", 1) + others), encoding="utf-8")
    view = batch_record(with_findings(assessed("2026-06", tmp_path / "a")), "A4")
    (open_,) = (line for line in view.issues if "riming sugar" in line)
    assert open_.startswith("Priming sugar (bottle half): ") and "g of sugar for" in open_
    told = [h.title for h in view.headlines if h.title.startswith(("Alcohol", "Carbonation"))]
    assert len(told) == 4 and not any("cask" in title for title in told)


def test_a_silenced_check_stands_with_its_reason_and_is_no_finding(tmp_path: Path) -> None:
    root = tmp_path / "archive"
    shutil.copytree(ARCHIVE, root)
    path = root / "2026" / "2026-01.yaml"
    text = path.read_text(encoding="utf-8")
    assert "\nreview:\n" in text
    silence = "\nreview:\n  silenced: [{check: lot-unknown, because: bought loose at the mill}]\n"
    path.write_text(text.replace("\nreview:\n", silence), encoding="utf-8")
    page = printed(RECORD, root)
    assert "Checks silenced in this record" in page and "bought loose at the mill" in page
    assert "house has no lot" not in page.lower()


def test_many_findings_do_not_push_the_decision_off_the_first_page() -> None:
    found = with_findings(assessed(BREWED))
    one = next(f for f in found.findings if f.rule == "lot-unknown")
    many = tuple(
        replace(one, message=f"fault {number}", severity=severity)
        for severity in (Severity.MINOR, Severity.CRITICAL)
        for number in range(MOST_ISSUES)
    )
    view = batch_record(replace(found, findings=many), "A4")
    assert list(view.issues[:MOST_ISSUES]) == [
        f"Critical: fault {number}" for number in range(MOST_ISSUES)
    ]
    # The minor ones, and the readings that were not recorded.
    assert view.issues[MOST_ISSUES] == (
        f"{MOST_ISSUES + 1} more: see Deviations and What the checks found"
    )
    assert len(view.checks) == 2 * MOST_ISSUES


def test_what_is_open_of_one_figure_stands_in_one_line(tmp_path: Path) -> None:
    root = tmp_path / "archive"
    shutil.copytree(ARCHIVE, root)
    path = root / "2026" / "2026-01.yaml"
    text = path.read_text(encoding="utf-8")
    start = text.index("original_gravity:")
    end = text.index("\n", start)
    assert "final_gravity" not in text[start:end]
    path.write_text(f"{text[:start]}original_gravity: 1.080{text[end:]}", encoding="utf-8")
    view = batch_record(with_findings(assessed(BREWED, root)), "A4")
    about = [i for i in view.issues if "original gravity" in i.lower()]
    assert len(about) == 1, view.issues
    assert "major deviation not closed" in about[0]
    assert "1.0800 in the fermenter" in about[0]


def printed(document: Document, root: Path) -> str:
    """Return the page for a screen of the batch: the text of the document without its layout."""
    return document.make(assessed(BREWED, root), "A4", 1, "html").decode()
