"""Whole brews gone wrong: what is called actual follows what happened, and the record tells it."""

from __future__ import annotations

from pathlib import Path

import pytest
from checked import archive_with, findings_with
from houses import inside

from reportgen.assessment.assess import Assessment, assess
from reportgen.history.difference import HOUSE, difference_of
from reportgen.report.record_sections.course import course_lines
from reportgen.report.record_sections.first_page import verdict_sentence, went_lines
from reportgen.report.svg import nice_ticks
from reportgen.science.number import nominal

PITCHED = """
brew_day:
  date: 2026-03-14
  mash: {started: 09:10}
  boil: {started: 11:50, ended: 12:50, below_60_at: 22:30}
  pitch: {fermenter_volume: 40 L, original_gravity: 1.0430, at: 2026-03-15 09:00}
"""


def day(patch: str, folder: Path) -> Assessment:
    archive = archive_with(patch, folder)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def test_a_leak_before_the_fermenter_is_topped_up_takes_its_extract_along(tmp_path: Path) -> None:
    leaked = PITCHED + (
        "fermentation:\n"
        "  taken: [{amount: 16 L, from: fermenter, what: leak, at: 2026-03-16 08:00}]\n"
        "  added: [{what: reservoir, amount: 16 L, to: fermenter, at: 2026-03-16 10:00}]\n"
        "  final_gravity: 1.006\n"
    )
    sound, batch = day(PITCHED, tmp_path / "a"), day(leaked, tmp_path / "b")
    # 24 of 40 L of the wort are left in 40 L: a balance by mass, within what mixing takes up.
    kept = 24 / 40
    assert nominal(batch.now["starting_gravity"]) - 1 == pytest.approx(0.043 * kept, rel=0.02)
    assert nominal(batch.now["bitterness"]) == pytest.approx(
        kept * nominal(sound.now["bitterness"]), rel=0.01
    )
    # No reading is off; the strength is, and the first page does not call that no deviation.
    assert verdict_sentence(batch, ()).endswith("No reading off plan.")
    assert any("alcohol" in line for line in went_lines(batch, ()))


def test_the_course_goes_over_midnight(tmp_path: Path) -> None:
    lines = [line.what for line in course_lines(day(PITCHED, tmp_path / "a"))]
    wanted = ["Brewed", "Mash in", "Boil begins", "Heat off", "Below 60 °C", "Yeast pitched"]
    assert [line for line in lines if line in wanted] == wanted


def test_sugar_fed_in_many_parts_is_as_much_as_in_one(tmp_path: Path) -> None:
    def fed(parts: int) -> Assessment:
        doses = ", ".join(
            f"{{what: cane, amount: {2 / parts:g} kg, to: fermenter, at: 2026-03-17 {hour:02d}:00}}"
            for hour in range(parts)
        )
        cane = "{cane: {extract: 100 %, fermentability: 100 %, colour: 0 EBC}}"
        patch = f"stock: {{sugars: {cane}}}\nfermentation: {{added: [{doses}]}}\n"
        return day(PITCHED + patch, tmp_path / str(parts))

    once, often = fed(1), fed(20)
    for key in ("alcohol", "starting_gravity", "bitterness"):
        assert nominal(often.now[key]) == pytest.approx(nominal(once.now[key]), rel=1e-4)


def test_a_second_yeast_that_ferments_more_lowers_the_expected_end(tmp_path: Path) -> None:
    second = PITCHED + (
        "stock: {yeasts: {dry: {ferments: ale, form: dry, apparent_attenuation: 85 %}}}\n"
        "fermentation: {added: [{what: dry, amount: 5 g, to: fermenter, at: 2026-03-20 18:00}]}\n"
    )
    sound, batch = day(PITCHED, tmp_path / "a"), day(second, tmp_path / "b")
    before, after = (nominal(b.now["final_gravity"]) - 1 for b in (sound, batch))
    # By the definition of the apparent attenuation: 15 of 100 left, where it were 23.
    assert after / before == pytest.approx(15 / 23, rel=0.03)


STOCK = """
stock:
  yeasts:
    ale: {highest_alcohol: %s}
    lacto: {ferments: ale, form: liquid, apparent_attenuation: 20 %%, sours: yes}
    wine: {ferments: ale, form: dry, apparent_attenuation: 95 %%, highest_alcohol: 16 %%}
brew_day:
  date: 2026-03-14
  mash: {started: 09:10}
  boil: {started: 11:50, ended: 12:50}
  pitch: {original_gravity: 1.049}
  added: [{what: %s, amount: %s, to: %s, at: %s}]
fermentation: {final_gravity: 1.003}
"""


@pytest.mark.parametrize(
    "values, wanted",
    [
        (("12 %", "lacto", "100 mL", "kettle", "11:00"), {"attenuation-too-high"}),
        (("12 %", "ale", "100 mL", "kettle", "11:00"),
         {"addition-misplaced", "attenuation-too-high"}),
        (("12 %", "wine", "5 g", "fermenter", "2026-03-20 18:00"), set()),
        (("3 %", "wine", "5 g", "fermenter", "2026-03-20 18:00"), set()),
        (("3 %", "lacto", "100 mL", "kettle", "11:00"), {"attenuation-too-high"}),
        (("3 %", "reservoir", "10 mL", "kettle", "11:00"),
         {"attenuation-too-high", "alcohol-beyond-yeast"}),
    ],
)  # fmt: skip
def test_what_each_yeast_of_a_batch_can_do(
    values: tuple[str, ...], wanted: set[str], tmp_path: Path
) -> None:
    asked = {"addition-misplaced", "attenuation-too-high", "alcohol-beyond-yeast"}
    found = {finding.rule for finding in findings_with(STOCK % values, tmp_path / "a")}
    assert found & asked == wanted


def test_another_water_report_differs_though_the_plans_do_not(tmp_path: Path) -> None:
    patch = """
brewery: {liquors: {reservoir: {since: [{from: 2026-06-01, calcium: 90 mg/L}]}}}
brew_day: {date: 2026-03-14}
others: {2026-02: {brew_day: {date: 2026-05-31}}, 2026-03: {brew_day: {date: 2026-06-01}}}
"""
    archive = archive_with(patch, tmp_path / "a")
    march, may, june = (assess(archive, archive.batches[f"2026-0{n}"]) for n in (1, 2, 3))
    assert march is not None and may is not None and june is not None
    assert difference_of(march, may).is_none
    found = difference_of(march, june)
    assert found.sections == (HOUSE,) and not found.is_none
    assert {"mash_ph", "cast_out_calcium_of_liquor"} <= {e.figure for e in found.effects}


@pytest.mark.parametrize("value", [0.944, 94.4, 1.052, -3.0, 0.0])
def test_batches_all_alike_have_an_axis(value: float) -> None:
    ticks = nice_ticks(value, value + 4e-16 * abs(value), 3)
    assert ticks[0] <= value < ticks[-1]


def test_a_beer_of_one_malt_is_brewed_in_another_size(tmp_path: Path) -> None:
    patch = "plan: {grist: [{malt: pale, amount: 7.2 kg}]}"
    archive_with(patch, tmp_path / "a")
    done = inside("new", "2026-09", "--like", "2026-01", "--volume", "12 L", cwd=tmp_path / "a")
    assert done.returncode == 0, done.stderr
