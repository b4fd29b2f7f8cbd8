"""The record on its pages: how long it is, how full its first and last sides are, and that no
table is torn however much stands in it."""

from __future__ import annotations

import io
import os
import re
from pathlib import Path

import pypdfium2
import pytest
from extremes import EMPTY, LONG, MAXIMAL
from fontTools.ttLib import TTFont
from printed import DEMO, Made, assessed, texts

from reportgen.typeface import packaged

MM = 72 / 25.4
BODY = 26.6 * MM, 258.5 * MM
"""From where to where a page of a record is filled, points from the top, on both papers."""

WITH_DEVIATIONS, ORDINARY = 6, 4
"""Sides at most."""


NEAREST = {
    "2025-01": "set tighter, and still all but full on its fourth side",
    "2025-05": "with deviations, least on its last side",
    "2026-02": "set tighter; its first side is the emptiest",
    "2026-07": "the fullest four sides",
    "2026-12": "with deviations; its first side is the fullest, its third the emptiest",
}
"""Records of the demo that come nearest to a bound, each with the reason. The others lie further
within: ``REPORTGEN_SIDES=1`` lays out all of them."""


def brewed() -> list[str]:
    files = sorted(DEMO.glob("20*/*.yaml"))
    found = [f.stem for f in files if "\nbrew_day:" in f.read_text(encoding="utf-8")]
    assert set(NEAREST) <= set(found)
    return found if os.environ.get("REPORTGEN_SIDES") else list(NEAREST)


def filled(path: Path) -> list[float]:
    """Return how far down each page is filled, as a share of the room between head and foot."""
    found = []
    with pypdfium2.PdfDocument(path) as document:
        for page in document:
            text, height = page.get_textpage(), page.get_height()
            bottoms = [height - text.get_rect(n)[1] for n in range(text.count_rects())]
            lowest = max((b for b in bottoms if b < BODY[1] + 2), default=BODY[0])
            found.append((lowest - BODY[0]) / (BODY[1] - BODY[0]))
    return found


def check_sides(path: Path, most: int) -> None:
    sides = filled(path)
    assert len(sides) <= most
    # The first side is neither half empty nor so full that anything runs over.
    assert 0.7 <= sides[0] <= 0.98, sides
    assert "page 1 of" in texts(path)[0] and "Decision:" in texts(path)[0]
    assert ", every computed number in" in texts(path)[0]
    # No side between is half empty, and no last side holds one stray line.
    assert min(sides[1:-1], default=1.0) >= 0.5, sides
    assert sides[-1] >= 0.15, sides


def has_deviations(batch: str) -> bool:
    one = assessed(batch, DEMO)
    review = one.record.review
    return bool(one.departures or (review is not None and review.deviations))


@pytest.mark.parametrize("batch", brewed())
def test_length_of_each_record_of_the_demo(made_of_demo: Made, batch: str) -> None:
    sides = WITH_DEVIATIONS if has_deviations(batch) else ORDINARY
    check_sides(made_of_demo("record", batch), sides)


def test_on_letter_each_side_holds_the_same(made_of_demo: Made) -> None:
    """The live area is that of both papers."""
    batch = "2026-12"
    letter = made_of_demo("record", batch, "Letter")
    check_sides(letter, WITH_DEVIATIONS if has_deviations(batch) else ORDINARY)
    assert filled(letter) == pytest.approx(filled(made_of_demo("record", batch)), abs=0.01)


@pytest.mark.parametrize(("batch", "paper"), [
    (MAXIMAL, "A4"), (LONG, "A4"), (EMPTY, "Letter"),
])  # fmt: skip
def test_the_first_side_is_one_side_whatever_stands_in_it(
    made: Made, batch: str, paper: str
) -> None:
    first, second = texts(made("record", batch, paper))[:2]
    assert "Decision:" in first and ", every computed number in" in first
    # The second begins with the first section behind it.
    assert re.search(r"(Deviations|From plan to glass|Plan against actual)", second[:220])


def test_no_table_of_a_maximal_record_is_torn(made: Made) -> None:
    """Sixty days, four alphabets, every field: rows whole, with their heads on every side."""
    pages = texts(made("record", MAXIMAL, "A4"))
    heads = {
        r"Day \d+: nothing to be seen through the glass, a little foam\.": "Gravity, SG",
        r"k?g M-0000\d\d": "Planned Weighed Lot",
        r"±[\d.]+ (?:ON PLAN|TOO CLOSE TO CALL|OFF PLAN)": "OK range",
    }  # fmt: skip
    rows = re.compile(r"(2026-\d\d-\d\d) 14:00 [^:]*?AB (Day \d+): nothing .*? foam\.")
    whole = [match.group(2) for page in pages for match in rows.finditer(page)]
    assert whole == [f"Day {day}" for day in range(1, 61)]
    for row, head in heads.items():
        sides = [page for page in pages[1:] if len(re.findall(row, page)) >= 2]
        assert sides, row
        for page in sides:
            assert head in re.split(row, page)[0], page[:200]
    everything = " ".join(pages)
    assert not re.search(r"[\ufffd\x00]", everything)
    for word in ("Солод", "Βύνη", "dunkelgeröstetes", "Žitný"):
        assert word.lower() in everything.lower()


def test_many_findings_of_one_check_are_told_once(made: Made) -> None:
    text = " ".join(texts(made("record", MAXIMAL, "A4")))
    assert text.count("has no lot M-") <= 3
    assert re.search(r"And \d+ more of this check", text)


def test_the_smallest_type_can_be_read_at_a_desk() -> None:
    """9 pt of this typeface at 400 mm: digits of 16 minutes of arc or more, a small x of 12."""
    metrics = TTFont(io.BytesIO(packaged("upright")))
    minutes = 9 / 72 * 25.4 / 400 / (3.14159 / 180 / 60)
    em = metrics["head"].unitsPerEm
    digits = metrics["glyf"][metrics.getBestCmap()[ord("8")]].yMax
    assert minutes * digits / em >= 16
    assert minutes * metrics["OS/2"].sxHeight / em >= 12
