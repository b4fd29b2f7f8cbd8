"""What paper must say by itself: who signs and when, what day it is, when a steep ends."""

from __future__ import annotations

import html as escapes
import re

import pypdfium2
import pytest
from printed import DEMO, assessed

from reportgen.assessment.assess import Assessment
from reportgen.report.documents import SHEETS
from reportgen.report.render import html


@pytest.fixture(scope="module")
def steeped() -> Assessment:
    """A batch of the demo with hops steeped at 80 °C for 15 min."""
    found = assessed("2026-04", DEMO)
    assert found.record.plan.boil.hop_stand is not None
    return found


def paper(batch: Assessment, name: str) -> str:
    """Return the text of a sheet as it is set for paper, a stroke between pieces."""
    document = next(d for d in SHEETS if d.name == name)
    page = html(document.template, document.view(batch, "A4", 1), "A4")
    body = re.sub(r"<[^>]*>", "|", page[page.index("<body") :])
    return re.sub(r"[|\s]*\|[|\s]*", "|", escapes.unescape(body)).replace("\u202f", " ")


@pytest.mark.parametrize(("name", "who"), [
    ("weigh-out", ["Weigher"]), ("brew-day", ["Brewer", "Checker"]),
    ("packaging", ["Packer", "Checker"]),
])  # fmt: skip
def test_a_line_to_sign_says_whose_it_is_and_has_room_for_the_day(
    steeped: Assessment, name: str, who: list[str]
) -> None:
    signed = re.findall(r"\|(\w+)\|: [^|]+\|Name\|Date(?=\|)", paper(steeped, name))
    assert signed == who


@pytest.mark.parametrize("name", ["weigh-out", "brew-day", "packaging", "tasting"])
def test_a_sheet_of_one_day_has_a_place_for_its_date(steeped: Assessment, name: str) -> None:
    assert "|Date|" in paper(steeped, name)


def test_the_cellar_sheet_says_when_it_was_pitched_or_has_a_blank(steeped: Assessment) -> None:
    assert "|Pitched|Brewer|" in paper(steeped, "cellar")
    assert "|04-11|" in paper(steeped, "cellar")


def test_a_steep_has_its_minutes_and_the_boil_its_end(steeped: Assessment) -> None:
    sheet = paper(steeped, "brew-day")
    assert "|stand 15 min|" in sheet and "|cool + 15 min|" in sheet
    # As the probe shows 80.0.
    assert "|Heat off|" in sheet
    assert sheet.index("|+ 50 min|") < sheet.index("|Heat off|") < sheet.index("|at 80.1 °C|")


def test_a_side_with_remedies_has_a_line_for_what_went_in(steeped: Assessment) -> None:
    sheet = paper(steeped, "brew-day")
    view = next(d for d in SHEETS if d.name == "brew-day").view(steeped, "A4", 1)
    entries = [list(step.entries) for step in view.steps]
    assert entries == [
        [("T2", "reservoir", "mash"), ("T3", "lactic_80", "mash")],
        [("T4, T5", "reservoir", "kettle")],
        [("T6", "reservoir", "kettle")], [("T7", "reservoir", "fermenter")],
    ]  # fmt: skip
    for marks, what, to in (entry for side in entries for entry in side):
        assert f"By {marks}:" in sheet and f"of {what} to {to}, at" in sheet


def test_a_side_says_which_times_its_tables_move_and_stays_a_side(
    steeped: Assessment
) -> None:
    """Boiling longer and pitching later are written in the rows that they have."""
    sheet = paper(steeped, "brew-day")
    assert "If later, actual time: T5 Heat off." in sheet
    assert "If later, actual time: T7 Heat off; T8 Yeast in." in sheet
    document = next(d for d in SHEETS if d.name == "brew-day")
    # The live area is that of both papers.
    with pypdfium2.PdfDocument(document.make(steeped, "A4", 1)) as pages:
        assert len(pages) == len(document.view(steeped, "A4", 1).steps) == 4


@pytest.mark.parametrize(
    ("batch", "size"), [("2025-02", "A4"), ("2026-05", "Letter"), ("2026-08", "A4")]
)
def test_the_packaging_sheet_has_two_sides(batch: str, size: str) -> None:
    """A cask, bottles, and a keg whose thermometer reads high: no third side of empty lines."""
    (packaging,) = (d for d in SHEETS if d.name == "packaging")
    with pypdfium2.PdfDocument(packaging.make(assessed(batch, DEMO), size, 1)) as pages:
        assert len(pages) == 2
