"""What the sheets ask for is in the record: each field of a full record is found in its text."""

from __future__ import annotations

import html
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from printed import ARCHIVE, BREWED, assessed

from reportgen.assessment.assess import assess
from reportgen.loading import load_archive
from reportgen.record.each_value import member_names
from reportgen.record.units import Quantity
from reportgen.record.values import Clock, Day, Moment, Reading, Text
from reportgen.report.documents import RECORD, WORKING
from reportgen.report.record_sections.instruments import instrument_lines

PLAN = (ARCHIVE / "2026" / f"{BREWED}.yaml").read_text(encoding="utf-8").split("\nissued:")[0]

FULL = (Path(__file__).parent / "full.yaml").read_text(encoding="utf-8")
"""All that stands below the plan, with every field of the model."""

SAID_OTHERWISE = {
    # An instrument is named where it was read with; the scale's own name is not a reading.
    "brew_day.instruments.scale",
    # Printed as words: Released, Strike too hot (known), closed.
    "review.disposition", "review.deviations.1.figure", "review.deviations.1.figures.1",
    # Printed as their names in stock.yaml.
    "brew_day.weighed.1.item", "brew_day.weighed.2.item", "brew_day.weighed.3.item",
}  # fmt: skip


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, object]:
    """Return the text of the full record, and the record itself."""
    root = tmp_path_factory.mktemp("full") / "archive"
    shutil.copytree(ARCHIVE, root)
    with (root / "brewery.yaml").open("a", encoding="utf-8") as house:
        house.write("containers:\n  cellar_keg: {is: keg, pressure_rating: 3 bar}\n")
    path = root / "2026" / f"{BREWED}.yaml"
    path.write_text(PLAN + "\n" + FULL, encoding="utf-8")
    now = assessed(BREWED, root).batch.plan_hash
    path.write_text(PLAN + "\n" + FULL.replace("0f1e2d3c", now), encoding="utf-8")
    batch = assessed(BREWED, root)
    # What was read before it was corrected stands in the Working.
    pages = (d.make(batch, "A4", 1, "html").decode() for d in (RECORD, WORKING))
    body = " ".join(page[page.index("<body") :] for page in pages)
    # A title of a drawing is read aloud and drawn nowhere.
    body = re.sub(r"<title>.*?</title>", " ", body, flags=re.S)
    shown = " ".join(html.unescape(re.sub(r"<[^>]*>", " ", body)).split())
    return shown.replace("\u202f", " "), batch.record


def written(value: object, place: str = "") -> Iterator[tuple[str, str]]:
    """Yield each thing that was typed, with its place: the text, or the number without its unit."""
    if isinstance(value, Quantity):
        yield place, value.text.split(" ")[0]
    elif isinstance(value, (Text, Clock, Day, Moment, str)):
        yield place, " ".join(str(value).split())
    elif isinstance(value, dict) or hasattr(value, "items"):
        for key, item in value.items():  # type: ignore[union-attr]
            yield from written(item, f"{place}.{key}")
    elif isinstance(value, tuple):
        for number, item in enumerate(value, 1):
            yield from written(item, f"{place}.{number}")
    else:
        skipped = {"position", *(("state",) if isinstance(value, Reading) else ())}
        for name in member_names(value):
            if name not in skipped and getattr(value, name) not in (None, ""):
                step = f"{place}.{name}" if place else name
                yield from written(getattr(value, name), step)


SECTIONS = (
    "issued", "brew_day", "fermentation", "packaging", "analysis", "tasting", "review"
)  # fmt: skip


def test_every_field_of_a_full_record_is_printed(text: tuple[str, object]) -> None:
    shown, record = text
    lost = [
        (place, typed)
        for section in SECTIONS
        for place, typed in written(getattr(record, section), section)
        if typed not in shown and typed.replace("_", " ") not in shown
        and place not in SAID_OTHERWISE
    ]  # fmt: skip
    assert not lost, lost


def test_the_full_record_has_every_field(text: tuple[str, object]) -> None:
    """A field that is added to the model has to be added above, and so printed."""
    _, record = text
    empty = [
        place
        for section in SECTIONS
        for place in _unset(getattr(record, section), section)
    ]
    # A keg has no priming sugar; instruments that took no reading here.
    assert [p for p in empty if "instruments" not in p] == [
        "packaging.priming_sugar", "packaging.sugar_each"
    ]  # fmt: skip


def _unset(value: object, place: str) -> Iterator[str]:
    if isinstance(value, (Reading, Quantity, Text, Clock, Day, Moment)):
        return
    if isinstance(value, tuple):
        if not value:
            yield place
        else:
            # What one entry of a list has counts for the list.
            first = value[0]
            yield from _unset(first, f"{place}.1")
    else:
        for name in member_names(value):
            found = getattr(value, name)
            if found is None:
                yield f"{place}.{name}"
            elif name != "position":
                yield from _unset(found, f"{place}.{name}")


def test_an_instrument_that_corrects_for_temperature_is_said_to() -> None:
    archive = load_archive(Path(__file__).parents[2] / "batches")
    batch = assess(archive, archive.batches["2025-01"])
    assert batch is not None
    lines = {line.name: line.description for line in instrument_lines(batch)}
    assert lines["ph meter 1"].endswith("; corrects for temperature")
    assert not lines["dipstick"].endswith("temperature")
