"""One wort, several beers: the brew day is written once, and the shares balance."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import own_findings, run_checks
from reportgen.forecast.figures import Stage
from reportgen.loading import load_archive
from reportgen.planning.proposing import plan_of
from reportgen.planning.resized import as_lines, resized
from reportgen.report.batch_record import batch_record
from reportgen.report.sheet import brew_day_sheet
from reportgen.report.weigh_out import weigh_out_sheet
from reportgen.science.number import nominal
from reportgen.store.takings import takings_of
from reportgen.verbs.blanks import missing
from reportgen.verbs.proposed_blanks import cause_lines

EXAMPLE = Path(__file__).parents[1] / "example"
DAY = """
brew_day:
  date: 2026-03-14
  brewers: [RB]
  weighed: [{item: pale, amount: 7.2 kg}]
  boil: {started: 12:00, ended: 13:00, cast_out_volume: 41.5 L, cast_out_gravity: 1.044}
  pitch: {fermenter_volume: 20 L, original_gravity: 1.0445, pitch_temperature: 18 C}
"""
OTHER = """format: 1
batch: 2026-02
name: Other yeast
plan:
  like: 2026-01
  pitch: {yeast: ale, generation: 0}
  fermentation: {temperature: 17 C, highest_temperature: 18 C}
wort_from: {batch: 2026-01, volume: 19 L}
brew_day:
  date: 2026-03-14
  pitch: {pitch_temperature: 17 C}
"""


def both(
    folder: Path, share: str = "{2026-02: 19 L}", other: str = OTHER, day: str = DAY
) -> tuple[Assessment, Assessment | None, list[tuple[str, str]]]:
    """Return the two batches and what is found at each: (rule, file)."""
    shutil.copytree(EXAMPLE, folder)
    record = folder / "2026" / "2026-01.yaml"
    text = record.read_text(encoding="utf-8")
    record.write_text(
        text.replace("  grist:", f"  wort_to_others: {share}\n  grist:") + day, encoding="utf-8"
    )
    (folder / "2026" / "2026-02.yaml").write_text(other, encoding="utf-8")
    archive = load_archive(folder)
    found = [(f.rule, f.position.file) for f in archive.findings]
    batches = [assess(archive, archive.batches[name]) for name in ("2026-01", "2026-02")]
    for batch in batches:
        if batch is not None:
            found += [(f.rule, f.position.file) for f in run_checks(batch)]
    assert batches[0] is not None
    return batches[0], batches[1], [f for f in found if f[0] == "wort-shared-out" or "error" in f]


def test_both_beers_follow_from_the_one_brew_day(tmp_path: Path) -> None:
    first, second, found = both(tmp_path / "a")
    assert second is not None and found == []
    assert nominal(second.now["original_gravity"]) == pytest.approx(1.044, abs=0.0003)
    assert nominal(second.now["fermenter_volume"]) == 19
    assert nominal(first.planned["fermenter_volume"]) == pytest.approx(21, abs=0.01)
    assert nominal(second.now["bitterness"]) == pytest.approx(nominal(first.now["bitterness"]))
    # Its own pitching is its own: the other's reading is not taken over.
    assert "original_gravity" not in second.now.readings
    assert nominal(second.now["pitch_temperature"]) == 17
    assert [str(w.item) for w in second.record.brew_day.weighed] == ["pale"]


def test_sheets_and_checks_of_each_have_its_own_share(tmp_path: Path) -> None:
    first, second, _ = both(tmp_path / "a", day="", other=OTHER.partition("brew_day")[0])
    assert second is not None
    assert (first.case.kept_volume, second.case.kept_volume) == (21, 19)
    # 40 L of wort, of which 19 L go elsewhere, fit a fermenter of 24 L.
    small = replace(first, case=replace(first.case, fermenter_brim=24.0))
    assert "fermenter-overfull" not in {f.rule for f in run_checks(small)}
    # Nothing that is brewed with the first is weighed, heated or read once more.
    view, weighing = brew_day_sheet(second, "A4"), weigh_out_sheet(second, "A4")
    assert [step.title for step in view.steps] == ["Cool and pitch"]
    assert (weighing.groups, weighing.liquor, weighing.hold_point) == ((), (), None)
    assert {f.stage for f in missing(second.record)} == {Stage.PITCH, Stage.FERMENT, Stage.PACK}


def test_a_wort_that_was_shared_is_made_in_another_size_for_itself(tmp_path: Path) -> None:
    first, _, _ = both(tmp_path / "a", day="", other=OTHER.partition("brew_day")[0])
    outcome = resized(plan_of(first.archive, first.batch), None, "20 L")
    assert outcome.after.book.expected["fermenter_volume"].value == pytest.approx(20, abs=0.5)
    assert "wort_to_others" not in "\n".join(as_lines(outcome, "2026-01", 0.5))


def test_what_is_spilt_after_the_boil_is_gone_beside_what_others_get(tmp_path: Path) -> None:
    day = DAY.replace("fermenter_volume: 20 L, ", "")
    spilt = "  taken: [{amount: 1.5 L, from: kettle, at: 13:20, because: spilt}]\n"
    before, _, _ = both(tmp_path / "a", day=day)
    after, other, _ = both(tmp_path / "b", day=day + spilt)
    lost = nominal(before.now["fermenter_volume"]) - nominal(after.now["fermenter_volume"])
    assert lost == pytest.approx(1.5)
    assert other is not None and nominal(other.now["fermenter_volume"]) == 19


def test_a_change_of_the_one_brew_day_changes_both(tmp_path: Path) -> None:
    _, before, _ = both(tmp_path / "a")
    _, after, _ = both(tmp_path / "b", day=DAY.replace("1.044}", "1.050}"))
    assert before is not None and after is not None
    assert nominal(after.now["alcohol"]) > nominal(before.now["alcohol"]) + 0.004


@pytest.mark.parametrize(
    "share, other, at_first, at_second",
    [
        ("{2026-02: 25 L}", OTHER, 1, 1),
        ("{2026-02: 60 L}", OTHER.replace("19 L", "60 L"), 1, 1),
        ("{2026-09: 19 L}", OTHER, 1, 1),
        ("{2026-02: 19 L}", OTHER.replace("wort_from: {batch: 2026-01, volume: 19 L}\n", ""), 1, 0),
        ("{2026-02: 19 L}", OTHER.replace("{batch: 2026-01", "{batch: 2026-02"), 1, 1),
    ],
)  # fmt: skip
def test_shares_that_do_not_balance_are_found_at_both_records(
    tmp_path: Path, share: str, other: str, at_first: int, at_second: int
) -> None:
    _, _, found = both(tmp_path / "a", share, other)
    files = [file for _, file in found]
    assert files.count("2026/2026-01.yaml") == at_first, found
    assert files.count("2026/2026-02.yaml") == at_second, found


def test_wort_of_a_record_that_cannot_be_read_is_not_guessed(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLE, tmp_path / "a")
    record = tmp_path / "a" / "2026" / "2026-01.yaml"
    text = record.read_text(encoding="utf-8").replace("volume: 40 L", "volume: fourty")
    record.write_text(text, encoding="utf-8")
    (tmp_path / "a" / "2026" / "2026-02.yaml").write_text(OTHER, encoding="utf-8")
    archive = load_archive(tmp_path / "a")
    assert archive.batches["2026-02"].record is None
    files = [f.position.file for f in archive.findings]
    assert files == ["2026/2026-01.yaml", "2026/2026-02.yaml"], archive.findings


@pytest.mark.parametrize("fault", ["  kit: a: b", "  kit", "  kit: [main]", "  kit: no_such_kit"])
def test_wort_of_a_record_with_any_fault_is_told_at_both(tmp_path: Path, fault: str) -> None:
    shutil.copytree(EXAMPLE, tmp_path / "a")
    record = tmp_path / "a" / "2026" / "2026-01.yaml"
    text = record.read_text(encoding="utf-8").replace("  kit: main", fault)
    record.write_text(text, encoding="utf-8")
    (tmp_path / "a" / "2026" / "2026-02.yaml").write_text(OTHER, encoding="utf-8")
    found = {f.position.file for f in load_archive(tmp_path / "a").findings}
    assert found == {"2026/2026-01.yaml", "2026/2026-02.yaml"}


def test_a_batch_that_is_to_take_wort_and_cannot_be_read_is_there(tmp_path: Path) -> None:
    first, _, found = broken_taker(tmp_path / "a")
    assert found == ["the record of batch 2026-02 cannot be read"]
    assert nominal(first.planned["fermenter_volume"]) == pytest.approx(21, abs=0.01)


def broken_taker(folder: Path) -> tuple[Assessment, None, list[str]]:
    shutil.copytree(EXAMPLE, folder)
    record = folder / "2026" / "2026-01.yaml"
    text = record.read_text(encoding="utf-8")
    record.write_text(text.replace("  grist:", "  wort_to_others: {2026-02: 19 L}\n  grist:") + DAY)
    (folder / "2026" / "2026-02.yaml").write_text(OTHER.replace("plan:", "plan"))
    archive = load_archive(folder)
    first = assess(archive, archive.batches["2026-01"])
    assert first is not None
    return first, None, [f.message for f in run_checks(first) if f.rule == "wort-shared-out"]


def test_one_wort_in_a_circle_of_three_is_told_at_each(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLE, tmp_path / "a")
    folder = tmp_path / "a" / "2026"
    text = (folder / "2026-01.yaml").read_text(encoding="utf-8")
    (folder / "2026-01.yaml").write_text(text + "\nwort_from: {batch: 2026-03, volume: 5 L}\n")
    (folder / "2026-02.yaml").write_text(OTHER)
    third = OTHER.replace("2026-02", "2026-03").replace("2026-01", "2026-02")
    (folder / "2026-03.yaml").write_text(third)
    archive = load_archive(tmp_path / "a")
    for batch in archive.batches.values():
        found = assess(archive, batch)
        assert found is None or "wort-shared-out" in [f.rule for f in run_checks(found)], batch.id


def test_a_brew_day_stands_in_one_record(tmp_path: Path) -> None:
    day = DAY.replace("  boil:", "  mash: {mash_temperature: 66.2 C}\n  boil:")
    twice = OTHER.replace("  pitch: {pitch", "  mash: {mash_temperature: 64.1 C}\n  pitch: {pitch")
    _, _, found = both(tmp_path / "a", other=twice, day=day)
    assert found == [("wort-shared-out", "2026/2026-02.yaml")]
    _, _, found = both(tmp_path / "b", day="")
    assert found == [("wort-shared-out", "2026/2026-02.yaml")]


REVIEW = """review:
  deviations:
    - {figures: [mash_temperature], what: Mash two kelvin cold., cause: cold tun, severity: minor}
"""


@pytest.mark.parametrize("review", ["", REVIEW])
def test_what_went_wrong_with_the_wort_is_written_where_it_was_brewed(
    tmp_path: Path, review: str
) -> None:
    day = DAY.replace("  boil:", "  mash: {mash_temperature: 64 C}\n  boil:") + review
    first, second, _ = both(tmp_path / "a", day=day)
    assert second is not None
    for batch in (first, second):
        (cold,) = [d for d in batch.departures if d.result.figure.key == "mash_temperature"]
        assert cold.is_open is not bool(review), batch.batch.id
    assert cold.batch == "2026-01"
    # Nothing of it is to be written twice.
    assert not [line for line in cause_lines(second) if "mash_temperature" in line]
    asked = [f for f in run_checks(second) if f.rule == "off-plan-without-review"]
    assert not [f for f in asked if "Mash temperature" in f.message]
    views = {v.title: v for v in batch_record(second, "A4").deviations}
    said = views["Mash temperature"]
    assert said.status.endswith("in 2026-01") if review else "in 2026-01" in said.what


def test_a_cause_closed_where_the_wort_was_brewed_answers_for_both(tmp_path: Path) -> None:
    day = DAY.replace("  boil:", "  mash: {mash_ph: 5.95}\n  boil:")
    closed = "review: {deviations: [{figure: mash_ph, what: no acid, cause: forgotten}]}\n"
    for name, review, is_told in (("a", "", True), ("b", closed, False)):
        first, second, _ = both(tmp_path / name, day=day + review)
        assert second is not None
        told = {f.rule for batch in (first, second) for f in run_checks(batch)}
        assert ("mash-ph-off" in told) is is_told
        # A list of both has it once, of the batch that brewed the wort.
        assert "mash-ph-off" not in {f.rule for f in own_findings(second)}


def test_what_one_of_the_beers_was_given_stands_beside_what_the_wort_was(tmp_path: Path) -> None:
    """A list of its own does not do away with what was added on the one brew day."""
    sugar = "  added: [{what: white_sugar, amount: 400 g, to: kettle, at: 12:20}]\n"
    day = DAY.replace(", cast_out_gravity: 1.044", "") + sugar
    own = OTHER.replace(
        "  pitch: {pitch", "  added: [{what: reservoir, amount: 1 L, to: fermenter, at: 14:00}]\n"
        "  pitch: {at: 13:50, pitch"
    )
    _, plain, _ = both(tmp_path / "a", day=day)
    _, more, found = both(tmp_path / "b", other=own, day=day)
    assert plain is not None and more is not None and found == []
    assert [str(a.what) for a in more.record.all_added] == ["white_sugar", "reservoir"]
    before, after = plain.now["original_gravity"], more.now["starting_gravity"]
    assert nominal(after - 1) == pytest.approx(nominal(before - 1) * 19 / 20, rel=0.01)


@pytest.mark.parametrize("own", [
    "  added: [{what: reservoir, amount: 2 L, to: kettle, at: 12:30}]\n  pitch: {pitch",
    "  taken: [{amount: 2 L, from: kettle, at: 12:30}]\n  pitch: {pitch",
    "  pitch: {fermenter_volume: 26 L, pitch",
])  # fmt: skip
def test_what_was_done_to_the_wort_is_written_where_it_was_brewed(tmp_path: Path, own: str) -> None:
    _, _, found = both(tmp_path / "a", other=OTHER.replace("  pitch: {pitch", own))
    assert found == [("wort-shared-out", "2026/2026-02.yaml")]


def test_the_yeast_of_each_beer_comes_from_the_store(tmp_path: Path) -> None:
    """Of the second beer its own yeast does, and nothing of what the wort was brewed from."""
    both(tmp_path / "a", other=OTHER.replace("{pitch_temp", "{yeast_amount: 0.31 L, pitch_temp"))
    stock = (tmp_path / "a" / "stock.yaml").read_text(encoding="utf-8")
    for old, new in (("generations: 8}", "generations: 8, lots: {Y-1: {amount: 2 L}}}"),
                     ("M-1: {", "M-1: {amount: 50 kg, ")):
        stock = stock.replace(old, new)
    archive = load_archive(tmp_path / "a", given={"stock.yaml": stock.encode()})
    taken = {}
    for name in ("2026-01", "2026-02"):
        record = archive.batches[name].record
        assert record is not None and archive.stock is not None
        found = takings_of(record, archive.stock)
        assert found is not None
        taken[name] = {str(t.item): t.amount for t in found.takings}
    assert taken["2026-01"]["pale"] == pytest.approx(7.2)
    assert taken["2026-02"] == {"ale": pytest.approx(0.31)}
