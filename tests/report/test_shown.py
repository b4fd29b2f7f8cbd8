"""Sheets for a house whose instruments are all off: everything is printed as they show it.

Each expected number is the plan's own value plus what the instrument shows too much, added by hand.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive
from reportgen.report.cellar import cellar_sheet
from reportgen.report.packaging import packaging_sheet
from reportgen.report.parts import ReadingRow, Todo
from reportgen.report.sheet import SheetView, brew_day_sheet
from reportgen.report.weigh_out import weigh_out_sheet

EXAMPLE = Path(__file__).parents[1] / "example"
OFF = {
    "hydrometer": "0.002", "thermometer": "1.3 K", "ph_meter": "-0.08", "dipstick": "-0.5 L",
    "scale": "-20 g", "gauge": "0.1 bar",
}  # fmt: skip


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Assessment, Assessment]:
    """Return the example with instruments that show what is true, and with all of them off."""
    return tuple(_batch(tmp_path_factory.mktemp("h") / "a", off) for off in ({}, OFF))  # type: ignore[return-value]


def _batch(root: Path, off: dict[str, str]) -> Assessment:
    shutil.copytree(EXAMPLE, root)
    house = root / "brewery.yaml"
    lines = house.read_text(encoding="utf-8").splitlines()
    for number, line in enumerate(lines):
        name = line.strip().split(":")[0]
        if name in off and "reads:" in line:
            check = f"checks: [{{on: 2026-01-02, reads_high_by: {off[name]}}}]}}"
            lines[number] = line.replace(", checked: 2026-01-02}", "}")[:-1] + f", {check}"
    house.write_text("\n".join(lines) + "\n", encoding="utf-8")
    archive = load_archive(root)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def _rows(sheet: SheetView) -> dict[str, ReadingRow]:
    return {row.key: row for step in sheet.steps for row in step.rows}


def _number(text: str) -> float:
    return float(text.replace("\u202f", " ").replace("−", "-").split()[0])


def _todo(sheet: SheetView, words: str) -> Todo:
    return next(t for step in sheet.steps for t in step.todos if words in t.title)


def test_the_bold_number_the_range_and_the_true_value(both: tuple[Assessment, Assessment]) -> None:
    plain, off = (_rows(brew_day_sheet(one, "A4")) for one in both)
    for key, offset in (
        ("strike_temperature", 1.3), ("mash_temperature", 1.3), ("mash_ph", -0.08),
        ("first_wort_gravity", 0.002), ("kettle_volume", -0.5), ("last_runnings_gravity", 0.002),
        ("pitch_temperature", 1.3), ("fermenter_volume", -0.5), ("original_gravity", 0.002),
    ):  # fmt: skip
        # The true value may stand at the edge of its last decimal.
        half = 10.0 ** -len(off[key].true.split(".")[1]) * 1.01
        assert _number(off[key].expect) == pytest.approx(
            _number(plain[key].expect) + offset, abs=half
        ), key
        assert off[key].true == plain[key].expect.split("\u202f")[0] and off[key].offset, key
        assert plain[key].true == "" and plain[key].offset == ""
        ends = [
            [_number(end) for end in row.ok.replace(" or more", "").split("–")]
            for row in (plain[key], off[key])
        ]
        for before, after in zip(*ends, strict=True):
            assert after == pytest.approx(before + offset, abs=half), key


def test_the_bold_number_lies_within_its_range(both: tuple[Assessment, Assessment]) -> None:
    for one in both:
        rows = _rows(brew_day_sheet(one, "A4"))
        for key in ("strike_temperature", "mash_temperature", "mash_ph", "kettle_volume"):
            low, high = (float(end) for end in rows[key].ok.split("–"))
            assert low <= _number(rows[key].expect) <= high, key


def test_the_words_of_the_plan_are_as_shown(both: tuple[Assessment, Assessment]) -> None:
    sheet = brew_day_sheet(both[1], "A4")
    mash, pitch = sheet.steps[0], sheet.steps[3]
    assert "Rest 67.3" in mash.doing[0]
    assert pitch.hold_point is not None and pitch.hold_point.items[0].startswith("Wort at 19.3")


def test_tables_are_in_what_is_shown(both: tuple[Assessment, Assessment]) -> None:
    sheet = brew_day_sheet(both[1], "A4")
    mash = [_number(row[0].text) for row in _todo(sheet, "Mash cold").rows]
    assert mash == pytest.approx([66 + d + 1.3 for d in (-3, -2, -1, 1, 2, 3)])
    plain = _todo(brew_day_sheet(both[0], "A4"), "Mash cold")
    # What is stirred in is no reading: it stays as it is.
    assert [r[1].text for r in plain.rows] == [
        r[1].text for r in _todo(sheet, "Mash cold").rows
    ]
    ph = _todo(sheet, "Mash pH").rows[0][0].text
    assert _number(ph) == pytest.approx(
        _number(_todo(brew_day_sheet(both[0], "A4"), "Mash pH").rows[0][0].text) - 0.08, abs=0.011
    )


def test_liquor_that_is_not_added_is_not_read(both: tuple[Assessment, Assessment]) -> None:
    assert "top_up_liquor" not in _rows(brew_day_sheet(both[1], "A4"))


def test_the_cellar_sheet_is_as_shown(both: tuple[Assessment, Assessment]) -> None:
    plain, off = (cellar_sheet(one, "A4") for one in both)
    assert off.planned_temperature.startswith("20.3")
    assert {f.label: f.value for f in off.facts}["Maximum"].startswith("21.3")
    for before, after in zip(plain.days, off.days, strict=True):
        assert after.true == before.expect and before.true == ""
        assert float(after.expect) == pytest.approx(float(before.expect) + 0.002, abs=0.0011)
        low, high = (float(x) for x in after.band.split("–"))
        assert low <= float(after.expect) <= high
    hot = next(t for t in off.todos if "hot" in t.title)
    assert hot.rows[0][0].text.startswith("22") and "thermometer +1.3 K" in hot.note


def test_the_packaging_sheet_is_as_shown(both: tuple[Assessment, Assessment]) -> None:
    plain, off = (packaging_sheet(one, "A4") for one in both)
    rows = {row.key: row for row in off.sides[0].rows}
    before = {row.key: row for row in plain.sides[0].rows}
    assert rows["beer_temperature"].expect.startswith("7.3")
    assert _number(rows["pressure"].expect) == pytest.approx(
        _number(before["pressure"].expect) + 0.1, abs=0.011
    )
    # The table beside it: 2 C true is shown as 3.3, the pressure 0.1 bar higher.
    first, was = off.sides[0].todos[0].rows[0], plain.sides[0].todos[0].rows[0]
    assert first[0].text.startswith("3") and was[0].text.startswith("2")
    assert _number(first[1].text) == pytest.approx(_number(was[1].text) + 0.1, abs=0.011)
    assert off.gate_rows[0].true == plain.gate_rows[0].expect


def test_what_is_weighed_is_as_the_scale_shows(both: tuple[Assessment, Assessment]) -> None:
    groups = weigh_out_sheet(both[1], "A4").groups
    rows = {row.name: row for group in groups for row in group.rows}
    assert (rows["Pale ale malt"].plan, rows["Pale ale malt"].true) == ("6.98", "7.00")
    # 5 g on a scale that shows 20 g too little would be shown as nothing.
    assert (rows["Gypsum"].plan, rows["Gypsum"].true) == ("5", "")
    lines = {line.reads: line.offset for line in weigh_out_sheet(both[1], "A4").instruments}
    assert lines["Thermometer"] == "+1.3 K" and lines["pH meter"] == "−0.08"


def test_nothing_moves_where_instruments_are_true(both: tuple[Assessment, Assessment]) -> None:
    sheet = brew_day_sheet(both[0], "A4")
    assert all(row.true == "" for row in _rows(sheet).values())
    assert not any("Readings as shown" in t.note for step in sheet.steps for t in step.todos)
