"""Two batches compared, on paper: both papers, the same bytes, nothing outside, all of it told."""

from __future__ import annotations

import contextlib
import io
import re
import shutil
from pathlib import Path

import pdfua
import pypdfium2
import pytest
from printed import ARCHIVE, assessed, chars, texts

from reportgen.assessment.assess import assess
from reportgen.checks.base import run_checks
from reportgen.cli import main
from reportgen.forecast.figures import Stage
from reportgen.loading import load_archive
from reportgen.report.step_difference import difference_chart, share_a_plan, step_difference

MM = 25.4 / 72


def compared(root: Path, *options: str) -> Path:
    """Run ``compare --pdf`` and return the file it says."""
    said = io.StringIO()
    with contextlib.chdir(root), contextlib.redirect_stdout(said):
        assert main(["compare", "2026-01", "2026-02", "--pdf", *options]) == 0
    return root / said.getvalue().strip()


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("compared") / "house"
    shutil.copytree(ARCHIVE, root)
    return root


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_comparison_is_a_printable_document(house: Path, paper: str) -> None:
    path = compared(house, "--paper", paper)
    data = path.read_bytes()
    assert data == compared(house, "--paper", paper).read_bytes()
    said = " ".join(texts(path))
    for words in ("2026-01 and 2026-02", "Shed Bitter, brewed 2026-02-01", "Plan",
                  "What the plan's differences do", "Figures that differ"):
        assert words in said
    with pypdfium2.PdfDocument(path) as document:
        for number, page in enumerate(document):
            assert f"page {number + 1} of {len(document)}" in texts(path)[number]
            image = page.render(scale=2, grayscale=True).to_pil()
            ink = image.point(lambda value: 255 if value < 200 else 0).getbbox()
            assert ink is not None
            left, top, right, bottom = (edge / 2 * MM for edge in ink)
            assert left >= 19.7 and right <= 195.4 and top >= 19.7 and bottom <= 264.3
            assert min(c.size for c in chars(path, number)) >= 9
    assert [str(f) for f in pdfua.validate(str(path)).findings] == []


DEMO = Path(__file__).parents[2] / "batches"


def told(*batches: str, root: Path = DEMO) -> str:
    said = io.StringIO()
    with contextlib.chdir(root), contextlib.redirect_stdout(said):
        assert main(["compare", *batches]) == 0
    return said.getvalue()


def test_the_triangle_between_the_two_comes_first_and_only_one_evening_counts() -> None:
    text = told("2025-01", "2025-02")
    # 8 of 12, the least for 5 % in ISO 4120, table A.1; its exact p is 0.0188.
    assert text.count("8 of 12 found the different glass; p = 0.019") == 1
    places = [text.index(words) for words in (
        "Triangle test", "Tasted together", "Figures that differ beyond U", "Within U:", "Plan, A")]
    assert places == sorted(places)
    # 2025-01 was tasted on two evenings, 2025-02 on one of these.
    assert "mean scores of 2025-11-01" in text and "2025-10-05" not in text
    assert "revision" not in text and "Calcium" not in text
    assert "never on one evening" not in text


def test_scores_of_different_evenings_are_said_not_to_be_compared() -> None:
    text = told("2026-06", "2026-07")
    assert text.count("never on one evening") == 1 and "Tasted together" not in text
    assert "never on one evening" not in told("2026-06", "2026-10")


def test_containers_are_compared_with_those_of_their_kind(tmp_path: Path) -> None:
    """One in a keg and bottles against one all in bottles, then a third all in kegs."""
    root = tmp_path / "house"
    shutil.copytree(DEMO, root)
    path = root / "2026/2026-06.yaml"
    text = path.read_text(encoding="utf-8")
    kegs = "  containers: 2\n  container_size: 19 L\n"
    assert kegs in text
    both = kegs.replace("2", "1", 1) + """  also:
    - {into: bottle, containers: 36, container_size: 0.5 L, priming_sugar: 110 g}
"""
    path.write_text(text.replace(kegs, both), encoding="utf-8")
    two = told("2026-06", "2026-05", root=root)
    (row,) = (line for line in two.splitlines() if line.strip().startswith("Carbonation ("))
    assert "Carbonation (bottle)" in row
    assert "Packaged volume   " in two and "(keg)" not in two
    three = told("2026-06", "2026-05", "2026-07", root=root)
    keg, bottle = (
        line.split()[-3:] for line in three.splitlines() if line.strip().startswith("Carbonation (")
    )
    assert (keg[1], bottle[2]) == ("—", "—") and bottle[:2] == row.split()[-4:-2]
    assert keg[0] != bottle[0]


def test_a_plan_is_held_against_plans(tmp_path: Path) -> None:
    """Of a batch not brewed yet there is no actual, and U of no reading to be within."""
    root = tmp_path / "house"
    shutil.copytree(DEMO, root)
    plan = (root / "2026/2026-10.yaml").read_text(encoding="utf-8")
    other = plan.replace("batch: 2026-10", "batch: 2026-13").replace("3.80 kg", "4.20 kg")
    (root / "2026/2026-13.yaml").write_text(other, encoding="utf-8")
    for text in (told("2026-10", "2026-13", root=root), told("2026-10", "2026-06", root=root)):
        assert "What the plans expect" in text and "beyond U" not in text
        head, row = (
            next(x for x in text.splitlines() if words in x)
            for words in ("expected A", "  Original gravity  ")
        )
        ours, theirs, apart = (float(x.replace("\N{MINUS SIGN}", "-")) for x in row.split()[3:6])
        assert theirs - ours == pytest.approx(apart, abs=1.01e-4)
        assert ("actual B" in head) is ("2026-06" in text) and "actual A" not in head
    (root / "2026/2026-14.yaml").write_text(
        plan.replace("batch: 2026-10", "batch: 2026-14").replace("3.80 kg", "4.50 kg"), "utf-8"
    )
    three = told("2026-10", "2026-13", "2026-14", root=root)
    assert "What the plans expect" in three and three.count("  Original gravity") == 1


def test_a_batch_that_was_poured_away_differs_and_nothing_more_is_asked_of_it(
    tmp_path: Path,
) -> None:
    root = tmp_path / "house"
    shutil.copytree(DEMO, root)
    text = (root / "2026/2026-06.yaml").read_text(encoding="utf-8")
    text = text.replace("batch: 2026-06", "batch: 2026-13")[: text.index("\npackaging:")]
    text += """
review:
  deviations: [{figure: sour, what: Sour., severity: major, cause: lid ajar, correction: none}]
  disposition: scrap
  decided_by: PS
  decided_on: 2026-10-11
"""
    (root / "2026/2026-13.yaml").write_text(text, encoding="utf-8")
    said = told("2026-06", "2026-13", root=root)
    assert "brewed 2026-09-05, scrapped" in said and "Nothing differs" not in said
    assert "Deviations of B only: sour" in said
    with contextlib.chdir(root), contextlib.redirect_stdout(io.StringIO()) as blanks:
        assert main(["blanks", "2026/2026-13.yaml"]) == 0
    assert "packaging:" not in blanks.getvalue() and "harvest" not in blanks.getvalue()
    with contextlib.chdir(root), contextlib.redirect_stderr(io.StringIO()) as refused:
        assert main(["sheet", "2026/2026-13.yaml", "--tasting", "2026-12-05"]) == 2
    assert "2026-13 was poured away" in refused.getvalue()
    batch = assessed("2026-13", root)
    warm = {f.remedy for f in run_checks(batch) if f.rule == "ferment-outside-yeast-range"}
    assert all("next time" in remedy for remedy in warm) and warm


def test_an_amount_of_yeast_is_no_column_of_several() -> None:
    """One pitched slurry, the other grams of dry yeast."""
    assert "Yeast amount" not in told("2026-05", "2026-06", "2026-07").split("\nPlan\n")[0]
    # Of slurry, who pitched how much is told.
    figures = told("2026-01", "2026-04").split("\nPlan\n")[0]
    assert re.search(r"Yeast amount .* 0\.45 +0\.33 +−0\.12 L", figures)


def test_three_batches_stand_side_by_side() -> None:
    text = told("2025-01", "2025-02", "2025-03")
    assert "All plans have the same kit, fermenter-volume" in text
    row = next(line for line in text.splitlines() if "Original gravity" in line)
    assert row.split()[-3:] == ["1.0443", "1.0438", "1.0388"]
    # A long text of a plan stands below the columns, and widens none.
    assert max(map(len, text.splitlines())) <= 110
    assert re.search(r"notes\n    2025-01: First of a pair", text)


def test_two_batches_of_one_plan_are_explained_step_by_step(tmp_path: Path) -> None:
    root = tmp_path / "archive"
    shutil.copytree(ARCHIVE, root)
    text = (root / "2026/2026-01.yaml").read_text(encoding="utf-8")
    other = text.replace("batch: 2026-01", "batch: 2026-03")
    for old, new in (
        ("kettle_gravity: {read: 1.040,", "kettle_gravity: {read: 1.044,"),
        ("cast_out_gravity: {read: 1.044,", "cast_out_gravity: {read: 1.048,"),
        ("original_gravity: 1.044", "original_gravity: 1.048"),
    ):
        assert old in other
        other = other.replace(old, new)
    (root / "2026/2026-03.yaml").write_text(other, encoding="utf-8")
    archive = load_archive(root)
    one, two = (assess(archive, archive.batches[name]) for name in ("2026-01", "2026-03"))
    assert one is not None and two is not None
    assert share_a_plan(one, two)
    steps = step_difference(one, two)
    for key in steps.planned:
        rest = steps.unexplained(key)
        total = sum(size for _, size in steps.by_stage(key)) + (rest.size if rest else 0.0)
        assert steps.planned[key] + total == pytest.approx(steps.brewed[key], abs=1e-9), key
    assert dict(steps.by_stage("original_gravity"))[Stage.RUN_OFF] == pytest.approx(0.004, abs=5e-4)
    assert difference_chart(one, two, ("2026-01", "2026-03")) is not None
