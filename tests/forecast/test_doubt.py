"""An instrument found wrong: the readings since its last good check are in doubt.

What must be done: ICH Q7 5.35 (find out whether batches since the last successful calibration are
affected), 21 CFR 211.68(a), 211.160(b)(4), 211.194(d).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from msgspec.json import decode

from reportgen.archive.summary import Summary, as_json, summary_of
from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.doubt import DoubtfulReading, doubts_of
from reportgen.checks.base import names, run_checks
from reportgen.forecast.figures import FIGURES
from reportgen.history.difference import difference_of
from reportgen.history.measures import MEASURES
from reportgen.history.row import BatchRow, row_of
from reportgen.history.series import aside_of
from reportgen.loading import load_archive
from reportgen.record.finding import Finding
from reportgen.record.load import Archive

EXAMPLE = Path(__file__).parents[1] / "example"
RECORD = "2026/2026-01.yaml"
DAY = """
brew_day:
  date: 2026-03-14
  weighed: [{item: pale, amount: {read: 7.0 kg, instrument: scale}}]
  mash: {mash_temperature: 66.4 C}
  pitch: {fermenter_volume: 39 L, original_gravity: 1.0475}
fermentation:
  log: [{at: 2026-03-16 18:00, gravity: 1.020}]
  final_gravity: 1.011
"""
LINES = {
    "thermometer": "reads: thermometer, resolution: 0.1 K, uncertainty: 0.4 K",
    "hydrometer": "reads: hydrometer, resolution: 0.001, uncertainty: 0.001",
    "scale": "reads: scale, resolution: 10 g, uncertainty: 20 g",
}


def files(name: str, checks: str, more: str = "") -> dict[str, bytes]:
    text = (EXAMPLE / "brewery.yaml").read_text(encoding="utf-8")
    old = next(x for x in text.splitlines() if x.startswith(f"  {name}: {{reads"))
    text = text.replace(old, f"  {name}: {{{LINES[name]}, checks: [{checks}]}}")
    record = (EXAMPLE / RECORD).read_text(encoding="utf-8") + DAY + more
    return {"brewery.yaml": text.encode(), RECORD: record.encode()}


def batch(name: str, checks: str, more: str = "") -> tuple[Assessment, list[Finding]]:
    archive = load_archive(EXAMPLE, names(), given=files(name, checks, more))
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found, [f for f in run_checks(found) if f.rule == "instrument-in-doubt"]


GOOD = "{on: 2026-01-02}, "


@pytest.mark.parametrize(
    "checks, doubted",
    [
        (GOOD + "{on: 2026-06-01, reads_high_by: 1.3 K}", True),
        (GOOD + "{on: 2026-06-01, reads_high_by: -1.3 K}", True),
        ("{on: 2026-06-01, reads_high_by: 1.3 K}", True),
        # Found wrong and adjusted: it reads true again, the batch before is in doubt all the same.
        (GOOD + "{on: 2026-06-01, found_high_by: 1.3 K, reads_high_by: 0 K}", True),
        (GOOD + "{on: 2026-06-01, reads_high_by: 0.3 K}", False),
        # A good check between: what came after it cannot have been on the brew day.
        (GOOD + "{on: 2026-04-01}, {on: 2026-06-01, reads_high_by: 1.3 K}", False),
        # It was known, and is taken off: the next check finds the same.
        ("{on: 2026-01-02, reads_high_by: 1.3 K}, {on: 2026-06-01, reads_high_by: 1.3 K}", False),
        # Known and then adjusted, with nothing said of how it was found.
        ("{on: 2026-01-02, reads_high_by: 1.3 K}, {on: 2026-06-01, found_high_by: 1.3 K}", False),
        ("{on: 2026-01-02}, {on: 2026-03-14, reads_high_by: 1.3 K}", False),
    ],
)
def test_doubt_goes_back_to_the_last_good_check(checks: str, doubted: bool) -> None:
    found, said = batch("thermometer", checks)
    assert bool(said) is doubted
    if doubted:
        assert "mash temperature 66.4 °C, perhaps 6" in said[0].message
        assert said[0].line.strip().startswith("mash:")
        # The record keeps what it printed: the reading is not moved by what came to light later.
        assert found.actuals["mash_temperature"].value == 66.4


def test_all_that_a_hydrometer_read_and_what_it_could_do() -> None:
    """4 points off at the start and the end alike: 0.0040 in OG, 0.0040 in FG."""
    found, said = batch("hydrometer", GOOD + "{on: 2026-06-01, reads_high_by: 0.004}")
    (doubt,) = doubts_of(found)
    assert [r.figure.key for r in doubt.readings] == [
        "original_gravity", "final_gravity", "log_gravity"
    ]
    could = dict(doubt.finished)
    assert could["original_gravity"] == pytest.approx(-0.004, abs=1e-6)
    assert could["final_gravity"] == pytest.approx(-0.004, abs=1e-6)
    # The alcohol hangs on their difference, so that an offset of both all but cancels.
    assert abs(could.get("alcohol", 0.0)) < 0.002
    assert "original gravity −0.0040, final gravity −0.0040" in said[0].message


def test_a_scale_casts_doubt_on_what_was_weighed() -> None:
    found, said = batch("scale", GOOD + "{on: 2026-06-01, reads_high_by: 200 g}")
    assert [r.what for r in doubts_of(found)[0].readings] == [" of pale"]
    assert "of pale 7.000 kg, perhaps 6.800 kg" in said[0].message


def test_a_closed_deviation_that_names_it_answers_it() -> None:
    checks = GOOD + "{on: 2026-06-01, reads_high_by: 1.3 K}"
    open_ = "review: {deviations: [{figure: mash_temperature, what: x, instrument: thermometer%s}]}"
    assert batch("thermometer", checks, open_ % "")[1]
    assert not batch("thermometer", checks, open_ % ", closed_by: RB, closed_on: 2026-06-02")[1]
    assert batch("thermometer", checks, open_.replace("thermometer", "scale")
                 % ", closed_by: RB, closed_on: 2026-06-02")[1]


def test_a_deviation_names_an_instrument_that_is_listed() -> None:
    review = "review: {deviations: [{figure: mash_temperature, what: x, instrument: termometer}]}"
    archive = load_archive(EXAMPLE, names(), given=files("thermometer", GOOD, review))
    (one,) = archive.findings
    assert one.rule == "unknown-name" and one.remedy == "did you mean `thermometer`?"


@pytest.mark.parametrize("u, shift", [(0.4, 1.3), (0.4, -0.5), (0.001, 0.004), (0.5, 0.5)])
def test_the_widened_u_covers_nineteen_of_twenty(u: float, shift: float) -> None:
    """Error uniform between 0 and d, and normal noise of U/2: Monte Carlo as in JCGM 101."""
    rng = np.random.default_rng(7)
    error = shift * rng.uniform(0, 1, 200_000) + rng.normal(0, u / 2, 200_000)
    reading = DoubtfulReading(FIGURES["mash_temperature"], "", 66.0, shift, u, None)
    assert np.mean(np.abs(error) <= reading.widened) >= 0.95
    # And not far wider: its mean square is that of the errors (JCGM 100, F.2.4.5).
    assert reading.widened / 2 == pytest.approx(float(np.sqrt(np.mean(error**2))), rel=0.01)


def rows(archive: Archive) -> dict[str, BatchRow]:
    found: dict[str, BatchRow] = {}
    for one in archive.batches.values():
        assessment = assess(archive, one)
        assert assessment is not None
        summary = decode(as_json(summary_of(assessment, ())), type=Summary)
        found[one.id] = row_of(summary)
    return found


@pytest.mark.parametrize("high, doubted", [("0.004", True), ("0.0005", False)])
def test_history_and_compare_set_a_doubtful_batch_apart(high: str, doubted: bool) -> None:
    """Read 1.0475 against 1.0430: different by a sound hydrometer, unknown by one in doubt."""
    given = files("hydrometer", GOOD + f"{{on: 2026-06-01, reads_high_by: {high}}}")
    other = given[RECORD].replace(b"batch: 2026-01", b"batch: 2026-02")
    other = other.replace(b"2026-03-1", b"2026-06-1").replace(b"1.0475", b"1.0420")
    given["2026/2026-02.yaml"] = other
    archive = load_archive(EXAMPLE, names(), given=given, only=["2026/2026-02.yaml", RECORD])
    found = rows(archive)
    measure = MEASURES["attenuation"]
    assert aside_of(found["2026-01"], measure) == ("hydrometer in doubt" if doubted else "")
    assert not aside_of(found["2026-02"], measure)
    one, two = (assess(archive, archive.batches[f"2026-0{n}"]) for n in (1, 2))
    assert one is not None and two is not None
    pairs = {pair.figure: pair for pair in difference_of(one, two).results}
    pair = pairs["original_gravity"]
    assert pair.can_be_told is not doubted
    assert pair.doubt == (" (hydrometer in doubt)" if doubted else "")
    assert bool(pairs["alcohol"].doubt) is doubted
