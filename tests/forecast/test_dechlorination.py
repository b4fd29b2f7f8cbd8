"""Chlorine and chloramine: what is left, what takes it, dosed by ``treat``, told, on the sheet."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from checked import archive_with, findings_with

from reportgen.assessment.assess import Assessment, assess
from reportgen.planning.treatment_text import advise, as_text
from reportgen.report.weigh_out import weigh_out_sheet
from reportgen.science.number import nominal

HOUSE = """
brewery:
  liquors: {reservoir: {%s}}
  instruments: {scale: {reads: scale, resolution: 0.01 g, uncertainty: 0.02 g}}
stock: {salts: {kmbs: {is: potassium_metabisulfite}, nmbs: {is: sodium_metabisulfite}}}
plan: {liquor: {mash_liquor: 20 L, sparge_liquor: 28 L, %s salts: [%s]}}
"""


def brewed(folder: Path, water: str, how: str = "", salts: str = "") -> Assessment:
    archive = archive_with(HOUSE % (water, how, salts), folder)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    return found


# Per mg of chlorine as Cl2: 1.34 mg of sodium metabisulfite (White's Handbook of Chlorination) and
# 1.57 mg of the potassium salt (222.33 / (2 x 70.90)).
@pytest.mark.parametrize(
    ("water", "how", "salts", "left"),
    [
        ("chlorine: 1 mg/L", "", "", 1.0),
        ("chlorine: 1 mg/L, chloramine: 2 mg/L", "", "", 3.0),
        ("chlorine: 1 mg/L, chloramine: 2 mg/L", "dechlorinated_by: carbon,", "", 0.0),
        ("chlorine: 1 mg/L, chloramine: 2 mg/L", "dechlorinated_by: boiling,", "", 2.0),
        ("chlorine: 1 mg/L", "dechlorinated_by: standing,", "", 0.0),
        # 20 L of 3 mg/L hold 60 mg: half of them take 40 mg of the sodium salt.
        ("chloramine: 3 mg/L", "", "{salt: nmbs, amount: 40.2 mg, to: mash}", 1.5),
        ("chloramine: 3 mg/L", "", "{salt: kmbs, amount: 94.2 mg, to: mash}", 0.0),
        ("chloramine: 3 mg/L", "", "{salt: kmbs, amount: 94.2 mg, to: sparge}", 3.0),
    ],
)
def test_what_is_left_in_the_mash_liquor(
    water: str, how: str, salts: str, left: float, tmp_path: Path
) -> None:
    found = brewed(tmp_path / "a", water, how, salts)
    assert nominal(found.planned["mash_liquor_chlorine"]) == pytest.approx(left, abs=0.01)


def test_a_liquor_without_chlorine_shows_none(tmp_path: Path) -> None:
    assert "mash_liquor_chlorine" not in brewed(tmp_path / "a", "chlorine: 0 mg/L").planned


BOTH = "{salt: kmbs, amount: %s, to: mash}, {salt: kmbs, amount: %s, to: sparge}"


@pytest.mark.parametrize(
    ("water", "how", "salts", "rules"),
    [
        ("chlorine: 0.3 mg/L", "", "", set()),
        ("chlorine: 0.8 mg/L", "", "", {"chlorine-left"}),
        ("chloramine: 0.3 mg/L", "", "", {"chlorine-left"}),
        ("chloramine: 2 mg/L", "dechlorinated_by: carbon,", "", set()),
        ("chloramine: 2 mg/L", "dechlorinated_by: boiling,", "", {"chlorine-left"}),
        ("chlorine: 2 mg/L", "dechlorinated_by: boiling,", "", set()),
        ("chloramine: 2 mg/L", "", BOTH % ("0.10 g", "0.14 g"), set()),
        ("chloramine: 2 mg/L", "", BOTH % ("0.10 g", "0.02 g"), {"chlorine-left"}),
        # The dose for 5 mg/L with half as much again is 12 mg/L of the salt: no excess.
        ("chloramine: 5 mg/L", "", BOTH % ("0.24 g", "0.33 g"), set()),
        ("chloramine: 0.2 mg/L", "", BOTH % ("0.50 g", "0.60 g"), {"sulfite-in-liquor"}),
        ("chlorine: 0 mg/L", "", BOTH % ("0.50 g", "0.60 g"), {"sulfite-in-liquor"}),
    ],
)
def test_what_is_told(
    water: str, how: str, salts: str, rules: set[str], tmp_path: Path
) -> None:
    found = findings_with(HOUSE % (water, how, salts), tmp_path / "a")
    about = {"chlorine-left", "sulfite-in-liquor"}
    assert {f.rule for f in found} & about == rules
    assert all("kmbs" in f.expected for f in found if f.rule == "chlorine-left")


def test_treat_doses_what_then_leaves_none(tmp_path: Path) -> None:
    found = brewed(tmp_path / "a", "chlorine: 0.5 mg/L, chloramine: 2 mg/L")
    text = as_text(found, advise(found, {"calcium": 80.0}, 5.4, "mash"))
    doses = [d for d in yaml.safe_load(text)["salts"] if d["salt"] == "kmbs"]
    # 2.5 mg/L in 20 and 28 L, 1.57 mg a mg, half as much again, rounded up to 10 mg.
    grams = {d["to"]: float(str(d["amount"]).split()[0]) for d in doses}
    assert grams == pytest.approx({"mash": 0.12, "sparge": 0.17}, abs=0.0101)
    salts = ", ".join(f"{{salt: kmbs, amount: {g} g, to: {to}}}" for to, g in grams.items())
    after = brewed(tmp_path / "b", "chlorine: 0.5 mg/L, chloramine: 2 mg/L", "", salts)
    assert nominal(after.planned["mash_liquor_chlorine"]) == 0
    assert nominal(after.planned["sparge_liquor_chlorine"]) == 0


def test_treat_without_metabisulfite_says_what_else(tmp_path: Path) -> None:
    archive = archive_with("brewery: {liquors: {reservoir: {chloramine: 2 mg/L}}}", tmp_path / "a")
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    text = as_text(found, advise(found, {}, None, "mash"))
    assert "no metabisulfite in stock.yaml" in text and "carbon" in text


def test_the_sheet_says_how_it_is_drawn_and_weighs_the_salt(tmp_path: Path) -> None:
    found = brewed(tmp_path / "a", "chloramine: 2 mg/L", "dechlorinated_by: carbon,")
    assert any("through carbon" in line for line in weigh_out_sheet(found, "A4").hold_point.items)
    dosed = brewed(tmp_path / "b", "chloramine: 2 mg/L", "", BOTH % ("0.10 g", "0.14 g"))
    rows = [row for group in weigh_out_sheet(dosed, "A4").groups for row in group.rows]
    assert [row.use for row in rows if row.name == "Kmbs"] == ["mash liquor", "sparge liquor"]
