"""What ``blanks`` proposes: entries of the sheet's tables and causes, each a line to confirm."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive
from reportgen.verbs.blanks import as_yaml, issued_blank
from reportgen.verbs.proposed_blanks import cause_lines, clock_lines, remedy_lines

EXAMPLE = Path(__file__).parents[1] / "example"
RECORD = "2026/2026-01.yaml"
DAY = """
brew_day:
  date: 2026-03-14
  brewers: [AB]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    copy = tmp_path_factory.mktemp("blanks") / "house"
    shutil.copytree(EXAMPLE, copy)
    return copy


def test_a_batch_brewed_without_its_sheet_is_offered_plan_and_numbers(folder: Path) -> None:
    found = brewed(folder, "")
    assert re.match(
        r"# issued: \{plan: \w{8}, numbers: \w{8}, copy: 1, on: ", issued_blank(found.batch, found)
    )


def brewed(folder: Path, more: str) -> Assessment:
    text = (folder / RECORD).read_text(encoding="utf-8") + DAY + more
    archive = load_archive(folder, given={RECORD: text.encode()})
    assert archive.findings == (), archive.findings
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def warmer(folder: Path, by: float) -> tuple[str, Assessment]:
    """A mash that is off plan by some kelvin."""
    aim = brewed(folder, "").planned.expected["mash_temperature"].value
    mash = f"  mash: {{mash_temperature: {aim + by:.1f} C}}\n"
    return mash, brewed(folder, mash)


@pytest.mark.parametrize("by", [-2.0, 2.0])
def test_a_mash_off_plan_is_offered_the_entry_of_its_table(folder: Path, by: float) -> None:
    mash, found = warmer(folder, by)
    (line,) = remedy_lines(found, "metric")
    entry = line.partition("  #")[0]
    assert "to: mash" in entry and "because: T" in entry
    found_at = re.search(r"temperature: (\d+) C", entry)
    assert found_at is not None
    assert (int(found_at[1]) > 90) is (by < 0), "boiling liquor for a cold mash, cold for a hot one"
    # The mark taken off, it is an entry that is read, and it is not asked for again.
    after = brewed(folder, f"{mash}  added:\n    - {entry[:-1]}, at: 09:40}}\n")
    assert list(remedy_lines(after, "metric")) == []


def test_a_mash_on_plan_is_offered_nothing(folder: Path) -> None:
    _, found = warmer(folder, 0.1)
    assert list(remedy_lines(found, "metric")) == [] and list(cause_lines(found)) == []


def test_a_cause_is_one_line_that_is_read_when_it_is_filled_in(folder: Path) -> None:
    mash, found = warmer(folder, -2.0)
    (line,) = cause_lines(found)
    assert line.startswith("- {figures: [mash_temperature")
    filled = line.partition("  #")[0].replace(": ,", ": cold tun,").replace(": }", ": cold tun}")
    after = brewed(folder, f"{mash}review:\n  deviations:\n    {filled}\n")
    assert list(cause_lines(after)) == []


def test_boiling_longer_and_pitching_later_are_proposed_as_their_times(folder: Path) -> None:
    aim = brewed(folder, "").planned
    thin = f"{aim.expected['kettle_gravity'].value - 0.006:.4f}"
    run_off = f"  run_off: {{kettle_volume: 46 L, kettle_gravity: {thin}}}\n"
    found = brewed(folder, run_off)
    ((place, words),) = clock_lines(found)
    assert place == ("brew_day", "boil", "ended") and "min longer; heat off" in words
    assert f"ended:                       # {words}" in as_yaml(found.record, [], batch=found)
    boiled = run_off + "  boil: {started: 12:00, ended: 13:00}\n"
    text = as_yaml(brewed(folder, boiled).record, [], batch=brewed(folder, boiled))
    assert f"{words}, in place of 13:00" in text
    hot = brewed(folder, "  pitch: {pitch_temperature: 23 C}\n")
    ((place, words),) = clock_lines(hot)
    assert place == ("brew_day", "pitch", "at") and words.endswith("yeast in, actual time")
    late = brewed(folder, "  pitch: {pitch_temperature: 23 C, at: 18:30}\n")
    assert list(clock_lines(late)) == []
