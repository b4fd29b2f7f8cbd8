"""The demo archive shows all that the tool can say: on the documents made from it, not on paper."""

from __future__ import annotations

import html
import re
from functools import lru_cache
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.balance import closures, extract_steps
from reportgen.assessment.verdicts import Verdict
from reportgen.checks.base import names, run_checks
from reportgen.forecast.actions import ActionTable, tables
from reportgen.loading import load_archive
from reportgen.record.load import Archive
from reportgen.report.documents import ALL
from reportgen.report.render import SCREEN
from reportgen.report.render import html as html_of

DEMO = Path(__file__).parents[1] / "batches"
SEVERITIES = ("note", "minor", "major", "critical")


@lru_cache(maxsize=1)
def demo() -> Archive:
    return load_archive(DEMO, names())


@lru_cache(maxsize=1)
def batches() -> tuple[Assessment, ...]:
    archive = demo()
    found = [assess(archive, batch) for batch in archive.batches.values()]
    return tuple(one for one in found if one is not None)


@lru_cache(maxsize=64)
def printed(batch: str, name: str) -> str:
    """Return the text of a document as it is shown on a screen, without its marks."""
    document = next(d for d in ALL if d.name == name)
    found = next(b for b in batches() if b.batch.id == batch)
    page = html_of(document.template, document.view(found, "A4", 1), "A4", DEMO, SCREEN)
    body = page[page.index("<body") :]
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", body)).split())


def test_the_demo_is_whole() -> None:
    assert demo().findings == ()
    assert len(batches()) == len(demo().batches) >= 12
    assert all(batch.problems == () for batch in batches())


def test_no_plan_of_the_demo_was_changed_after_its_sheet() -> None:
    for batch in batches():
        issued = batch.record.issued
        assert issued is None or str(issued.plan) == batch.batch.plan_hash, batch.batch.id


@pytest.mark.parametrize("verdict", Verdict)
def test_each_verdict_stands_on_some_record(verdict: Verdict) -> None:
    having = [b for b in batches() if any(r.verdict is verdict for r in b.results)]
    assert having
    assert verdict.value in printed(having[0].batch.id, "record")


@pytest.mark.parametrize("severity", SEVERITIES)
def test_each_severity_of_deviation_stands_on_some_record(severity: str) -> None:
    found = [(b, d) for b in batches() for d in b.departures if d.severity == severity]
    assert found
    batch, departure = found[0]
    status = "open" if departure.is_open else "closed"
    text = printed(batch.batch.id, "record")
    # A cause names all that it shows in, then its severity and whether it is closed.
    figure = departure.result.figure.in_sentence.partition(",")[0]
    assert re.search(rf"{figure}[^.;]* {severity}, {status}", text, re.I)


def test_an_open_and_a_closed_deviation_stand_on_some_record() -> None:
    departures = [(b, d) for b in batches() for d in b.departures]
    open_ = [b for b, d in departures if d.is_open]
    closed = [b for b, d in departures if not d.is_open]
    assert open_ and closed
    assert "deviation not closed" in printed(open_[0].batch.id, "record").lower()
    assert "closed by" in printed(closed[0].batch.id, "record").lower() or re.search(
        r"closed \d{4}-\d\d-\d\d", printed(closed[0].batch.id, "record")
    )


def test_findings_and_a_silenced_check_stand_on_some_record() -> None:
    found = [b for b in batches() if b.record.brew_day is not None and run_checks(b)]
    severities = {f.severity.value for b in found for f in run_checks(b)}
    assert {"note", "minor"} <= severities
    assert "What the checks found" in printed(found[0].batch.id, "record")
    silenced = [b for b in batches() if b.record.review and b.record.review.silenced]
    brewed = [b for b in silenced if b.record.brew_day is not None]
    assert brewed
    assert "Checks silenced in this record" in printed(brewed[0].batch.id, "record")


@lru_cache(maxsize=1)
def kinds() -> dict[str, tuple[Assessment, ActionTable]]:
    found: dict[str, tuple[Assessment, ActionTable]] = {}
    for batch in batches():
        for table in tables(batch.case, batch.planned):
            found.setdefault(table.figure, (batch, table))
    return found


TABLES = {
    "malt_temperature": "brew-day", "original_gravity": "brew-day",
    "mash_temperature": "brew-day", "mash_ph": "brew-day", "kettle_volume": "brew-day",
    "kettle_gravity": "brew-day", "cast_out_volume": "brew-day", "pitch_temperature": "brew-day",
    "final_gravity": "cellar", "apparent_attenuation": "cellar", "pressure": "packaging",
    "priming_sugar": "packaging",
}  # fmt: skip
"""Sheet on which the table of each figure belongs."""


def test_every_kind_of_table_is_asked_for_below() -> None:
    assert set(kinds()) == set(TABLES)


@pytest.mark.parametrize("figure", TABLES)
def test_each_kind_of_what_to_do_table_stands_on_some_sheet(figure: str) -> None:
    batch, table = kinds()[figure]
    sheet = printed(batch.batch.id, TABLES[figure])
    assert table.title in sheet
    assert f"Not listed: {table.otherwise}" in sheet


def test_the_correction_of_a_hydrometer_stands_beside_its_blank() -> None:
    batch = next(b for b in batches() if b.record.brew_day is not None)
    assert re.search(r"Hydrometer Sample Add", printed(batch.batch.id, "brew-day"))


def one(batch: str) -> Assessment:
    return next(b for b in batches() if b.batch.id == batch)


def test_a_day_of_the_demo_has_six_remedies_a_wrong_weight_and_late_additions() -> None:
    day = one("2026-11").record.brew_day
    assert day is not None
    assert {str(a.to) for a in day.added} == {"mash", "kettle", "fermenter"}
    assert len(day.added) == 6 and all(a.because and a.at for a in day.added)
    assert [str(w.item) for w in day.weighed if w.added_at is not None] == ["goldings"]
    assert [f.rule for f in run_checks(one("2026-11"))] == ["weighed-differs"]


def test_a_wort_of_the_demo_is_shared_by_two_yeasts() -> None:
    first, second = one("2026-11"), one("2026-12")
    assert second.record.wort_from is not None
    assert first.record.plan.pitch.yeast != second.record.plan.pitch.yeast
    assert first.record.plan.grist == second.record.plan.grist
    # One beer got liquor in its fermenter, the other not: its bitterness is as the kettle's.
    assert first.now.expected["bitterness"].value < second.now.expected["bitterness"].value - 0.5


def test_the_volumes_of_the_shared_day_balance_with_all_that_went_in_and_out() -> None:
    found = {c.title: c for c in closures(one("2026-11")) if c.measured}
    assert len(found) == 3 and all(c.is_explained for c in found.values())
    assert found["Cast-out to fermenter"].known_loss == pytest.approx(2.0 + 19.0 + 0.5)
    # Sugar beside the grist and half a litre spilt: nothing but the kettle's loss is missing.
    shares = [s.actual for s in extract_steps(one("2026-11"))[1:]]
    assert shares[0] == pytest.approx(shares[1], abs=0.03)
    assert shares[1] - shares[2] == pytest.approx(0.045, abs=0.03)
