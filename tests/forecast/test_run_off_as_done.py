"""Running off as it is done: drained in batches, a bag that is only lifted, decoctions."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from checked import archive_with
from houses import example_with

from reportgen.assessment.assess import assess
from reportgen.checks.base import run_checks
from reportgen.report.sheet import brew_day_sheet
from reportgen.science.number import nominal
from reportgen.verbs.blanks import missing

SPARGED = ("sparge_liquor", "sparge_temperature", "last_runnings_gravity")


RUN_OFF = "sparge: continuous, sparge_temperature: 76 C, cut_off_gravity: 1.006"
DAY = "\nbrew_day:\n  date: 2026-03-14\n  run_off: {last_runnings_gravity: 1.004}\n"


def test_each_running_has_its_volume_gravity_and_blank(tmp_path: Path) -> None:
    found = example_with(tmp_path / "a", (RUN_OFF, "sparge: batch, sparge_batches: 2"))
    book = found.planned
    assert len(book.runnings) == 3
    gravities = [nominal(sg) for _, sg in book.runnings]
    assert gravities == sorted(gravities, reverse=True)
    # What is drained is what goes in, less what the grain keeps.
    drained = sum(nominal(volume) for volume, _ in book.runnings)
    kettle = nominal(book["kettle_volume"]) - nominal(book["top_up_liquor"])
    assert drained == pytest.approx(kettle, rel=0.02)
    # The first wort's gravity, the kettle when it is full and the last gravity have rows.
    labels = [blank.label for blank in brew_day_sheet(found, "A4").steps[1].after]
    assert [label.split(":")[0] for label in labels if ":" in label] == ["Kettle after 1", "2"]
    assert "1.0" in labels[2]


def test_draining_is_not_judged_by_a_gravity_to_stop_at(tmp_path: Path) -> None:
    found = example_with(tmp_path / "a", (RUN_OFF, "sparge: batch, sparge_batches: 2"), later=DAY)
    assert found.result("last_runnings_gravity").verdict is None
    assert "over-sparged" not in {f.rule for f in run_checks(found)}
    run_off = brew_day_sheet(found, "A4").steps[1]
    row = next(r for r in run_off.rows if r.key == "last_runnings_gravity")
    assert (row.expect_label, row.ok) == ("Expect", "")
    assert "Stop" not in " ".join(run_off.doing)


@pytest.mark.parametrize(
    "run_off", ["sparge: continuous", RUN_OFF, "sparge: batch, cut_off_gravity: 1.008"]
)
def test_a_gravity_to_stop_at_is_judged(tmp_path: Path, run_off: str) -> None:
    found = example_with(tmp_path / "a", (RUN_OFF, run_off), later=DAY)
    assert found.result("last_runnings_gravity").verdict is not None
    assert "over-sparged" in {f.rule for f in run_checks(found)}


@pytest.mark.parametrize("run_off", ["sparge: none", "sparge: bag"])
def test_without_a_sparge_nothing_asks_for_one(tmp_path: Path, run_off: str) -> None:
    day = DAY.replace("last_runnings_gravity: 1.004", "remarks: lifted")
    found = example_with(tmp_path / "a", (RUN_OFF, run_off), later=day)
    assert not any(key in found.planned for key in SPARGED)
    assert not {figure.key for figure in missing(found.record)} & set(SPARGED)
    assert not {r.figure.key for r in found.results} & set(SPARGED)
    rows = {row.key for row in brew_day_sheet(found, "A4").steps[1].rows}
    assert not rows & set(SPARGED)
    assert not any("sparge" in f.rule for f in run_checks(found))


def test_a_bag_that_is_rinsed_has_its_sparge(tmp_path: Path) -> None:
    found = example_with(tmp_path / "a", (RUN_OFF, "sparge: bag, sparge_temperature: 75 C"))
    litres = nominal(found.planned["sparge_liquor"])
    assert litres > 0
    (doing,) = brew_day_sheet(found, "A4").steps[1].doing
    amount = re.search(r"rinse it with ([\d.]+)", doing)
    assert amount is not None and float(amount[1]) == pytest.approx(litres, abs=0.06)


def test_a_decoction_says_how_much_to_draw(tmp_path: Path) -> None:
    rests = "      - {temperature: 66 C, time: 60 min}\n"
    two = (
        "      - {temperature: 62 C, time: 40 min}\n"
        "      - {temperature: 72 C, time: 20 min, reached_by: decoction}\n"
    )
    found = example_with(tmp_path / "a", (rests, two))
    drawn = found.planned.expected["decoction_volume"]
    # 10 K of the 37.6 K to the boil (99.6 degC at 100 m) is a share of 0.266 of the mash's heat.
    # A thick part holds less heat in a litre than the whole, so rather more than that share.
    whole = found.planned.expected["mash_volume"].value
    assert 0.25 * whole < drawn.value < 0.40 * whole
    assert drawn.uncertainty >= 0.09 * drawn.value
    assert "colour is not forecast" in drawn.note
    assert "by decoction of " in brew_day_sheet(found, "A4").steps[0].doing[0]


RESTS = "      - {temperature: 66 C, time: 60 min}\n"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("", " thick, 20 min."),
        (", decoction: thick, decoction_boil: 20 min", " thick, boiled 20 min, 20 min."),
        (", decoction: thin, decoction_boil: 10 min", " thin, boiled 10 min, 20 min."),
    ],
)
def test_a_decoction_is_thick_or_thin_and_boiled(more: str, words: str, tmp_path: Path) -> None:
    two = (
        "      - {temperature: 62 C, time: 40 min}\n"
        f"      - {{temperature: 72 C, time: 20 min, reached_by: decoction{more}}}\n"
    )
    found = example_with(tmp_path / "a", (RESTS, two))
    drawn = found.planned.expected["decoction_volume"].value
    # Thin: the heat to raise 7.35 kg of grist (1.67 kJ/kg/K), 20 kg of liquor and the tun (6 kJ/K)
    # by 10 K, over the 37.6 K to the boil, held by liquor alone: (12.3 + 83.7 + 6) 10 / 37.6 / 4.19
    if "thin" in words:
        assert drawn == pytest.approx((12.27 + 83.7 + 6) * 10 / 37.6 / 4.19, rel=0.02)
    else:
        assert drawn > 7
    assert words in brew_day_sheet(found, "A4").steps[0].doing[0]
    assert "colour is not forecast" in found.planned.expected["decoction_volume"].note


@pytest.mark.parametrize(
    ("bag", "kept", "words"),
    [
        ("{sparge: bag}", 0.9, "let it drain."),
        ("{sparge: bag, bag: drained}", 0.9, "let it drain."),
        ("{sparge: bag, bag: squeezed}", 0.6, "let it drain, then squeeze it."),
    ],
)
@pytest.mark.parametrize("stated", ["", "0.7 L/kg"])
def test_a_bag_is_hoisted_and_may_be_squeezed(
    bag: str, kept: float, words: str, stated: str, tmp_path: Path
) -> None:
    """What the kit states of its grain holds; else a squeezed bag keeps less."""
    kit = f'brewery: {{kits: {{main: {{grain_absorption: "{stated}"}}}}}}'
    # The keys of the example's sparge are taken away.
    run_off = bag.replace("}", ', sparge_temperature: "", cut_off_gravity: ""}')
    archive = archive_with(f"{kit}\nplan: {{run_off: {run_off}}}", tmp_path / "a")
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    assert nominal(found.case.grain_absorption) == pytest.approx(0.7 if stated else kept)
    doing = brew_day_sheet(found, "A4").steps[1].doing[0]
    assert doing.startswith("Hoist the bag") and words in doing
