"""A record is judged by the numbers of its sheet, as long as these can be had again."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pypdfium2
import pytest
import yaml
from houses import commit, edit, git, house, inside, loaded

from reportgen.archive.checked import findings_in
from reportgen.archive.issued import as_issued
from reportgen.assessment import issued_numbers
from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.assessment.verdicts import Verdict
from reportgen.report.documents import HTML, PDF, RECORD, SHEETS

RULE = "numbers-changed-since-issued"
NAME = "2026/2026-01.yaml"
DAY = """
brew_day:
  date: 2026-03-14
  boil: {cast_out_volume: 42.0 L}
"""


def seen(folder: Path) -> Assessment:
    archive = loaded(folder)
    found = as_issued(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def record(folder: Path) -> str:
    return RECORD.make(seen(folder), "A4", 1, HTML).decode()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A sheet was issued and brewed by, all of it committed."""
    folder = house(tmp_path / "a", {"2026-01": DAY})
    one = seen(folder)
    line = f"{{plan: {one.batch.plan_hash}, numbers: {numbers_hash(one)}, copy: 1}}"
    path = folder / NAME
    path.write_text(f"{path.read_text(encoding='utf-8')}issued: {line}\n", encoding="utf-8")
    git(folder, "init", "-q", "-b", "main")
    commit(folder, "Brewed")
    return folder


def without_day(folder: Path) -> None:
    """More is found to stay in the kettle, and its figure is written over, with no day."""
    path = folder / "brewery.yaml"
    house = yaml.safe_load(path.read_text(encoding="utf-8"))
    house["kits"]["main"]["kettle"]["loss"] = "6 L"
    path.write_text(yaml.safe_dump(house, sort_keys=False), encoding="utf-8")


def test_verdicts_stay_those_of_the_paper(folder: Path) -> None:
    before = seen(folder)
    without_day(folder)
    for committed in (False, True):
        if committed:
            commit(folder, "More stays in the kettle")
        after = seen(folder)
        assert numbers_hash(after) == numbers_hash(before)
        assert [(r.limits, r.verdict) for r in after.results] == [
            (r.limits, r.verdict) for r in before.results
        ]
        (found,) = [f for f in findings_in(after.archive) if f.rule == RULE]
        assert "kettle, loss: 2 L → 6 L" in found.message
        assert "goes by brewery and stock of revision" in found.message
    archive = loaded(folder)
    by_now = assess(archive, archive.batches["2026-01"])
    assert by_now is not None
    assert by_now.result("cast_out_volume").verdict is not before.result("cast_out_volume").verdict


def test_the_record_prints_the_numbers_of_the_paper_and_says_by_what(folder: Path) -> None:
    def rows(page: str) -> list[str]:
        return re.findall(r"<tr.*?</tr>", page, re.DOTALL)

    before = record(folder)
    without_day(folder)
    after = record(folder)
    told = "by brewery and stock of revision"
    assert told in after and told not in before
    # What is new is the finding; every row of numbers is the same.
    assert [row for row in rows(before) if row not in rows(after)] == []


def test_a_sheet_printed_again_is_the_same_sheet(folder: Path) -> None:
    def sheets() -> list[bytes]:
        one = seen(folder)
        return [s.make(one, "A4", 1, HTML) for s in SHEETS if s.applies(one)]

    before = sheets()
    without_day(folder)
    assert sheets() == before


@pytest.mark.parametrize("how", ["no git", "never committed", "the tool computes otherwise"])
def test_where_they_cannot_be_had_it_is_said(
    folder: Path, how: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if how == "no git":
        shutil.rmtree(folder / ".git")
        without_day(folder)
    elif how == "never committed":
        edit(folder / NAME, seen(folder).record.issued.numbers, "0badc0de")  # type: ignore[union-attr, arg-type]
    else:
        monkeypatch.setattr(issued_numbers, "SCIENCE", "a later one")
    after = seen(folder)
    assert after.house_then is not None and after.house_then.why_not
    (found,) = [f for f in findings_in(after.archive) if f.rule == RULE]
    assert after.house_then.why_not in found.message
    assert "cannot be had again" in record(folder)
    assert all(r.verdict is not None for r in after.results if r.actual is not None)


def test_the_verbs_go_by_the_paper(folder: Path) -> None:
    without_day(folder)
    commit(folder, "More stays in the kettle")
    shown = inside("figures", "2026-01", "--format", "json", cwd=folder).stdout
    assert '"verdict": "OFF PLAN"' not in shown
    done = inside("record", "2026-01", "--html", cwd=folder)
    assert done.returncode == 0, done.stderr
    page = (folder / done.stdout.strip()).read_text(encoding="utf-8")
    assert "by brewery and stock of revision" in page


def test_the_foot_of_every_sheet_bears_what_is_to_be_written(folder: Path) -> None:
    one = seen(folder)
    assert one.record.issued is not None
    packaging = next(sheet for sheet in SHEETS if sheet.name == "packaging")
    with pypdfium2.PdfDocument(packaging.make(one, "A4", 1, PDF)) as document:
        for page in document:
            assert f"numbers {one.record.issued.numbers}" in page.get_textpage().get_text_range()


def test_a_verdict_is_one_that_can_change(folder: Path) -> None:
    """Or the tests above would hold whatever was printed."""
    assert seen(folder).result("cast_out_volume").verdict in (Verdict.ON_PLAN, Verdict.OFF_PLAN)
