"""One yeast dry, liquid, as a starter and as slurry of one's own: what the wort needs of each."""

from __future__ import annotations

from pathlib import Path

import pytest
from checked import archive_with, findings_with

from reportgen.assessment.assess import Assessment, assess
from reportgen.forecast.figures import FIGURES
from reportgen.forecast.yeast_pitched import USUAL_CELLS
from reportgen.loading import load_archive
from reportgen.planning.new_text import text_of
from reportgen.report.rows import row_of
from reportgen.science.number import expanded_uncertainty, nominal
from reportgen.verbs.blanks import as_yaml, missing

ONE = """
stock:
  yeasts:
    ale:
      form: dry
      cells: {dry: 10 billion/g, slurry: 1.2 billion/mL, liquid: 1.6 billion/mL, starter: 0.12 billion/mL}
      lots:
        D: {}
        L: {form: liquid, made: 2026-02-12, viability: 97 %%}
        S: {form: starter, cells: 0.15 billion/mL, made: 2026-03-12}
plan:
  %s
  pitch: {yeast: ale, pitch_rate: 0.75, %s}
others:
  2026-00:
    brew_day: {date: 2026-02-01}
    fermentation: {harvest: {at: 2026-03-08 10:00, amount: 1.2 L, %s}}
"""  # noqa: E501
TO_BREW = "brew_on: 2026-03-14"


def batch(folder: Path, pitch: str, harvest: str = "stored_at: 5 C", plan: str = TO_BREW,
          more: str = "") -> Assessment:  # fmt: skip
    archive = archive_with(ONE % (plan, pitch, harvest) + more, folder)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    return found


def billions(found: Assessment) -> float:
    return nominal(found.planned["viable_cells"])


# 7 % lost in 6 d at 1 degC, 14 % at 5 degC (R. McCaig and D.S. Bendiak 1985, MBAA Tech. Q. 22; the
# fit through their losses is good to 0.02 of all cells); a liquid pack loses about a fifth in a
# month in the cold (suppliers).
@pytest.mark.parametrize(
    ("pitch", "harvest", "per_litre", "living", "within"),
    [
        ("harvested_from: 2026-00", "stored_at: 5 C, viability: 95 %",
         1200, 0.95 * 0.86, 0.02 / 0.86),
        ("harvested_from: 2026-00", "stored_at: 1 C, viability: 95 %", 1200, 0.95 * 0.93, 0.02),
        ("harvested_from: 2026-00", "stored_at: 5 C, viability: 95 %, cells: 0.8 billion/mL",
         800, 0.95 * 0.86, 0.02 / 0.86),
        ("harvested_from: 2026-00, viability: 90 %, cells: 1.1 billion/mL", "stored_at: 25 C",
         1100, 0.90, 1e-9),
        ("lot: L", "stored_at: 5 C", 1600, 0.97 * 0.80, 0.04),
        ("lot: S", "stored_at: 5 C", 150, 0.94, 0.02),
        ("lot: D, form: starter", "stored_at: 5 C", 120, 1.0, 1e-9),
    ],
)  # fmt: skip
def test_litres_that_the_wort_needs(
    pitch: str, harvest: str, per_litre: float, living: float, within: float, tmp_path: Path
) -> None:
    found = batch(tmp_path / "a", pitch, harvest)
    litres = nominal(found.planned["yeast_amount"])
    assert litres == pytest.approx(billions(found) / per_litre / living, rel=within)
    assert expanded_uncertainty(found.planned["yeast_amount"]) > 0.15 * litres
    row = row_of(found, FIGURES["yeast_amount"], "1", {})
    assert row.unit == "mL"


def test_dry_yeast_is_weighed(tmp_path: Path) -> None:
    found = batch(tmp_path / "a", "lot: D")
    # 10 billion in a gram, all of it living while nothing says how old it is.
    assert nominal(found.planned["yeast_amount"]) == pytest.approx(billions(found) / 10 / 1000)
    assert row_of(found, FIGURES["yeast_amount"], "1", {}).unit == "g"


def test_planned_and_needed_stand_on_one_line_in_the_unit_it_is_measured_in(tmp_path: Path) -> None:
    found = batch(tmp_path / "a", "harvested_from: 2026-00, yeast_amount: 300 mL")
    row = row_of(found, FIGURES["yeast_amount"], "1", {})
    assert row.expect.replace("\u202f", " ") == "300 mL"
    assert "mL needed" in row.note.replace("\u202f", " ")
    dry = batch(tmp_path / "b", "lot: D, yeast_amount: 23 g")
    row = row_of(dry, FIGURES["yeast_amount"], "1", {})
    assert row.expect.replace("\u202f", " ") == "23.0 g" and "g needed" in row.note


def test_a_rate_that_nobody_chose_is_less_sure(tmp_path: Path) -> None:
    chosen = batch(tmp_path / "a", "lot: D").planned["viable_cells"]
    patch = (ONE % (TO_BREW, "lot: D", "stored_at: 5 C")).replace("pitch_rate: 0.75, ", "")
    archive = archive_with(patch, tmp_path / "b")
    open_ = assess(archive, archive.batches["2026-01"])
    assert open_ is not None
    assert nominal(open_.planned["viable_cells"]) == pytest.approx(nominal(chosen))
    assert expanded_uncertainty(open_.planned["viable_cells"]) > 0.3 * nominal(chosen)


def test_the_numbers_of_the_sheet_do_not_follow_the_day(tmp_path: Path) -> None:
    pitch, harvest = "harvested_from: 2026-00", "stored_at: 5 C, viability: 95 %"
    before = batch(tmp_path / "a", pitch, harvest, plan="revision: 1")
    after = batch(
        tmp_path / "b", pitch, harvest, plan="revision: 1", more="brew_day: {date: 2026-03-20}\n"
    )
    key = "yeast_amount"
    assert nominal(before.planned[key]) == nominal(after.planned[key])


@pytest.mark.parametrize(
    ("pitch", "harvest", "word"),
    [
        # 300 mL of slurry at its usual count is enough when fresh, and a fifth of it at 23 degC
        # for 40 days: 68 % lost in 6 d at 25 degC (McCaig and Bendiak 1985).
        ("harvested_from: 2026-00, yeast_amount: 300 mL", "viability: 95 %, stored_at: 4 C", ""),
        ("harvested_from: 2026-00, yeast_amount: 300 mL", "viability: 95 %, stored_at: 25 C",
         "too little"),
        ("lot: D, yeast_amount: 11 g", "stored_at: 4 C", "too little"),
        ("lot: D, yeast_amount: 36 g", "stored_at: 4 C", ""),
        ("lot: S, yeast_amount: 2.4 L", "stored_at: 4 C", ""),
        ("lot: S, yeast_amount: 0.3 L", "stored_at: 4 C", "too little"),
        ("lot: L, yeast_amount: 300 mL", "stored_at: 4 C", ""),
        ("lot: L, yeast_amount: 35 mL", "stored_at: 4 C", "too little"),
        ("lot: L, yeast_amount: 2 L", "stored_at: 4 C", "too much"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("done", [False, True])
def test_too_little_and_too_much_of_each_form(
    pitch: str, harvest: str, word: str, done: bool, tmp_path: Path
) -> None:
    more = "brew_day: {date: 2026-03-14}\n" if done else ""
    found = [
        f for f in findings_with(ONE % (TO_BREW, pitch, harvest) + more, tmp_path / "a")
        if f.rule == "yeast-amount-unusual"
    ]
    assert [word in f.message for f in found] == ([True] if word else [])
    assert all("about" in f.expected and f.remedy for f in found)


@pytest.mark.parametrize(
    ("patch", "rule"),
    [
        ("brew_day: {date: 2026-02-10}", "yeast-age"),
        ("brew_day: {date: 2026-03-14}", ""),
    ],
)
def test_a_lot_pitched_before_it_was_made(patch: str, rule: str, tmp_path: Path) -> None:
    rules = [f.rule for f in findings_with(ONE % (TO_BREW, "lot: L", "stored_at: 4 C") + patch,
                                           tmp_path / "a")]  # fmt: skip
    assert ("yeast-age" in rules) == bool(rule)


@pytest.mark.parametrize(
    "wrong",
    [
        "stock: {yeasts: {ale: {cells: {slurry: 0 billion/mL}}}}",
        "stock: {yeasts: {ale: {cells: {wet: 1 billion/mL}}}}",
        "stock: {yeasts: {ale: {lots: {X: {viability: 0 %}}}}}",
        "plan: {pitch: {yeast: ale, viability: 120 %}}",
        "plan: {pitch: {yeast: ale, form: cake}}",
        "plan: {pitch: {yeast: ale, cells: -1 billion/mL}}",
        "brew_day: {date: 2026-03-14}\n"
        "fermentation: {harvest: {at: 2026-03-20 10:00, viability: 0 %}}",
    ],
)
def test_a_count_of_nought_is_one_error(wrong: str, tmp_path: Path) -> None:
    with pytest.raises(AssertionError):
        archive_with(wrong, tmp_path / "a")
    (finding,) = load_archive(tmp_path / "a").findings
    assert finding.severity.value == "error" and finding.position.line > 1 and finding.expected


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ("{slurry: 12 billion/mL}", True), ("{dry: 10 billion/mL}", True),
        ("{liquid: 1 billion/g}", True), ("{dry: 1 billion/g}", True),
        ("{slurry: 1.1 billion/g}", False), ("{dry: 18 billion/g, starter: 80 million/mL}", False),
    ],
)  # fmt: skip
def test_cells_in_another_unit_are_told(cells: str, said: bool, tmp_path: Path) -> None:
    other = f"{{ferments: ale, apparent_attenuation: 77 %, cells: {cells}}}"
    patch = f"stock: {{yeasts: {{other: {other}}}}}"
    rules = {f.rule for f in findings_with(patch, tmp_path / "a")}
    assert ("yeast-cells-odd" in rules) == said


def test_the_harvest_is_offered_to_the_next_plan(tmp_path: Path) -> None:
    archive = archive_with(ONE % (TO_BREW, "lot: D", "stored_at: 3 C, cells: 1.3 billion/mL"),
                           tmp_path / "a")  # fmt: skip
    path = archive.root / "2026" / "2026-02.yaml"
    for like in (None, "2026-00"):
        text = text_of(archive, "2026-02", "Next", like, path)
        said = "# harvested_from: 2026-00  # 2026-03-08 10:00, 1.2 L, 1.3 billion/mL, at 3 C"
        assert said in text
        marked = text.replace("# harvested_from", "harvested_from").replace("  # pitch", "  pitch")
        path.write_text(marked, encoding="utf-8")
        found = load_archive(archive.root)
        assert found.findings == ()
        record = found.batches["2026-02"].record
        assert record is not None and record.plan.pitch.harvested_from == "2026-00"


def test_blanks_ask_for_the_harvest(tmp_path: Path) -> None:
    record = batch(tmp_path / "a", "lot: D").record
    assert "# harvest:" in as_yaml(record, missing(record))


def test_usual_cells_lie_within_what_is_published() -> None:
    # Dry: 8 to 18 billion/g, Van Den Berg and Van Landschoot 2003. Slurry: 1.2, worked example.
    assert 8 <= USUAL_CELLS["dry"] <= 18
    assert USUAL_CELLS["slurry"] == pytest.approx(1.2)


def test_a_plan_cannot_take_more_than_was_harvested(tmp_path: Path) -> None:
    """The same harvest, and plans of a fifth, of all, and of five times it."""
    parent = """
others:
  2026-00:
    brew_day: {date: 2026-03-01}
    fermentation: {harvest: {at: 2026-03-10 10:00, amount: 0.5 L}}
plan: {brew_on: 2026-03-14, pitch: {yeast: ale, harvested_from: 2026-00, %s yeast_amount: %s}}
"""
    for form, amount, is_told in (
        ("", "0.1 L", False), ("", "0.5 L", False), ("", "2.5 L", True), ("", "2500 g", True),
        ("form: starter,", "2.5 L", False),
    ):  # fmt: skip
        folder = tmp_path / f"{form[:4]}{amount}".replace(" ", "")
        found = {f.rule for f in findings_with(parent % (form, amount), folder)}
        assert ("yeast-not-harvested" in found) == is_told, (form, amount)


@pytest.mark.parametrize(
    "kept",
    ["stored_at: -20 C", "stored_at: 35 C", "viability: 3 %", "made: 2006-03-01",
     "made: 2006-03-01, stored_at: 35 C, viability: 100 %"],
)  # fmt: skip
def test_yeast_kept_beyond_what_was_measured_is_known_ill_and_stops_nothing_else(
    kept: str, tmp_path: Path
) -> None:
    """Frozen, warm, half dead, a year mistyped: a number or none, and all else goes on."""
    lot = f"{{cells: 1.0 billion/mL, {kept if 'made' in kept else f'made: 2026-02-20, {kept}'}}}"
    text = (
        f"stock: {{yeasts: {{ale: {{lots: {{Y-1: {lot}}}}}}}}}\n"
        "plan: {brew_on: 2026-03-14, pitch: {yeast: ale, lot: Y-1}}\n"
    )
    archive = archive_with(text, tmp_path / "a")
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    assert {stage for stage, _ in found.problems} <= {"pitch"}
    assert nominal(found.planned["alcohol"]) > 0.03
    assert expanded_uncertainty(found.case.yeast.living) > 0.4
