"""A plan changed after its sheet was issued: what was changed is told from the history in git."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from houses import commit, edit, git, house, loaded

from reportgen.archive.checked import findings_in
from reportgen.archive.issued import with_issued_plan
from reportgen.assessment.assess import assess
from reportgen.report.documents import RECORD

RULE = "plan-changed-since-issued"
PLANS = {
    "2026-01": "plan: {grist: [{malt: pale, amount: 7.0 kg}, {malt: crystal, amount: 350 g}]}",
    "2026-02": "plan: {like: 2026-01, fermenter_volume: 38 L}\nbrew_day: {date: 2026-03-14}",
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An archive in git whose batch 2026-02 was issued as it stands."""
    folder = house(tmp_path / "a", PLANS)
    short = "format: 1\nbatch: 2026-02\nname: Second\n"
    short += "plan: {like: 2026-01, fermenter_volume: 38 L}\n"
    path = folder / "2026" / "2026-02.yaml"
    path.write_text(f"{short}brew_day: {{date: 2026-03-14}}\n", encoding="utf-8")
    git(folder, "init", "-q", "-b", "main")
    commit(folder, "First")
    return folder


def issue(folder: Path, batch: str = "2026-02") -> Path:
    """Write into a record that its sheet was printed from the plan as it is now."""
    plan = loaded(folder).batches[batch].plan_hash
    path = folder / "2026" / f"{batch}.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(f"{text}\nissued: {{plan: {plan}, copy: 1}}\n", encoding="utf-8")
    return path


def said(folder: Path) -> list[str]:
    return [f.message for f in findings_in(loaded(folder)) if f.rule == RULE]


def document(folder: Path, batch: str = "2026-02") -> str:
    archive = loaded(folder)
    found = assess(archive, archive.batches[batch])
    assert found is not None
    return RECORD.make(found, "A4", 1, "html").decode()


def test_an_unchanged_plan_is_not_looked_up(folder: Path) -> None:
    issue(folder)
    archive = loaded(folder)
    found = assess(archive, archive.batches["2026-02"])
    assert found is not None and with_issued_plan(found) is found
    assert said(folder) == []


def test_each_changed_value_is_said_old_and_new(folder: Path) -> None:
    path = issue(folder)
    commit(folder, "Issued")
    edit(path, "38 L", "36 L")
    commit(folder, "Smaller")
    (message,) = said(folder)
    assert "volume: 38 L → 36 L" in message
    first = git(folder, "rev-parse", "HEAD~1")
    assert f"changed since revision {first[:10]} of " in message


def test_a_change_in_the_plan_it_starts_from_counts_too(folder: Path) -> None:
    issue(folder)
    commit(folder, "Issued")
    edit(folder / "2026" / "2026-01.yaml", "7.0 kg", "6.8 kg")
    commit(folder, "Less malt in the other")
    (message,) = said(folder)
    assert "7.0 kg → 6.8 kg" in message and "volume" not in message


def test_what_is_added_or_taken_away_is_said(folder: Path) -> None:
    path = issue(folder, "2026-01")
    commit(folder, "Issued")
    edit(path, "amount: 350 g", "amount: 400 g\n    lot: C-1")
    (message,) = said(folder)
    assert "amount: 350 g → 400 g" in message and "lot: (none) → C-1" in message


def test_a_value_written_otherwise_is_no_change(folder: Path) -> None:
    path = issue(folder, "2026-01")
    commit(folder, "Issued")
    edit(path, "350 g", "0.350 kg")
    assert said(folder) == []


def test_a_raised_revision_is_another_plan_though_every_value_is_as_it_was(folder: Path) -> None:
    path = issue(folder, "2026-01")
    commit(folder, "Issued")
    edit(path, "plan:\n", "plan:\n  revision: 7\n")
    (message,) = said(folder)
    assert "every value is as in revision" in message


def test_the_record_is_the_same_with_and_without_its_history(folder: Path, tmp_path: Path) -> None:
    path = issue(folder)
    commit(folder, "Issued")
    edit(path, "38 L", "36 L")
    copy = tmp_path / "without"
    shutil.copytree(folder, copy, ignore=shutil.ignore_patterns(".git"))
    page = document(folder)
    assert "The plan was changed after the sheet was issued" in page
    assert document(copy) == page


def test_without_git_it_is_said_that_nothing_can_be_told(tmp_path: Path) -> None:
    folder = house(tmp_path / "a", PLANS)
    path = issue(folder)
    edit(path, "38 L", "26.5 L")
    (message,) = said(folder)
    assert "cannot be shown: the archive is not kept in git" in message


@pytest.mark.parametrize("slip", ["83 L", "3.8 L", "38 gal", "38 mL", "36 L"])
def test_one_mistyped_value_is_known_by_the_hash_without_git(slip: str, tmp_path: Path) -> None:
    folder = house(tmp_path / "a", PLANS, brewery="gallon: US")
    path = issue(folder)
    edit(path, "38 L", slip)
    (message,) = said(folder)
    assert "by its hash one value differs: fermenter volume: 38 L → " in message


def test_a_plan_that_was_never_committed_is_said_to_be_so(folder: Path) -> None:
    edit(folder / "2026" / "2026-02.yaml", "38 L", "37 L")
    path = issue(folder)
    edit(path, "37 L", "26.5 L")
    (message,) = said(folder)
    assert "cannot be shown: none of the" in message and "not committed" in message


def test_a_hop_at_another_time_is_one_change_not_two(folder: Path) -> None:
    path = issue(folder, "2026-01")
    commit(folder, "Issued")
    edit(path, "amount: 60 g\n      time: 60 min", "amount: 60 g\n      time: 45 min")
    (message,) = said(folder)
    assert "time: 60 min → 45 min" in message and "(none)" not in message


def test_another_scale_of_gravity_is_another_value(folder: Path) -> None:
    """A refractometer's degrees are not the Plato of the plan, though the number is the same."""
    path = folder / "2026" / "2026-01.yaml"
    edit(path, "cut_off_gravity: '1.006'", "cut_off_gravity: 1.5 P")
    issue(folder, "2026-01")
    commit(folder, "Issued")
    edit(path, "1.5 P", "1.5 Bx")
    (message,) = said(folder)
    assert "1.5 P → 1.5 Bx" in message


DAY = (
    "brew_day:\n  date: 2026-03-14\n"
    "  run_off: {{kettle_volume: {kettle:.1f} L}}\n"
    "  pitch: {{fermenter_volume: {fermenter:.1f} L}}\n"
)


def test_a_plan_changed_by_a_slip_after_the_brew_is_one_finding(folder: Path) -> None:
    path = issue(folder)
    found = assess(archive := loaded(folder), archive.batches["2026-02"])
    assert found is not None
    day = DAY.format(
        kettle=found.planned.expected["kettle_volume"].number.nominal_value,
        fermenter=found.planned.expected["fermenter_volume"].number.nominal_value,
    )
    edit(path, "brew_day: {date: 2026-03-14}\n", day)
    commit(folder, "Issued and brewed")
    before = {f.rule for f in findings_in(loaded(folder), {"2026/2026-02.yaml"})}
    edit(path, "fermenter_volume: 38 L}", "fermenter_volume: 83 L}")
    after = [f for f in findings_in(loaded(folder), {"2026/2026-02.yaml"})]
    (one,) = (f for f in after if f.rule == RULE)
    assert "other findings that come of it: " in one.expected
    assert "off-plan-without-review" not in {f.rule for f in after} - before
    # What the plan itself has wrong now is told all the same.
    assert "unusual-value" in {f.rule for f in after}


def test_a_day_by_the_changed_plan_hides_nothing(folder: Path) -> None:
    """The plan was changed before the brew, and its sheet not printed again."""
    path = issue(folder)
    commit(folder, "Issued")
    edit(path, "fermenter_volume: 38 L}", "fermenter_volume: 30 L}")
    found = assess(archive := loaded(folder), archive.batches["2026-02"])
    assert found is not None
    day = DAY.format(
        kettle=found.planned.expected["kettle_volume"].number.nominal_value, fermenter=24
    )
    edit(path, "brew_day: {date: 2026-03-14}\n", day)
    after = [f for f in findings_in(loaded(folder), {"2026/2026-02.yaml"})]
    assert {"off-plan-without-review", RULE} <= {f.rule for f in after}
    (one,) = (f for f in after if f.rule == RULE)
    assert "come of it" not in one.expected
