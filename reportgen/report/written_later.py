"""What the pages after the brew day need to be written on: cellar, packaging, tasting."""

from __future__ import annotations

from typing import Any

from reportgen.assessment.assess import Assessment
from reportgen.record.model.flavours import TERMS, term_words
from reportgen.report.cellar import cellar_sheet
from reportgen.report.packaging import FillingSide, entry_of, packaging_sheet
from reportgen.report.parts import Identity, Raw
from reportgen.report.shown import tables_of
from reportgen.report.written import day_of, page, reading, remarks
from reportgen.report.written_parts import (
    EVENTS,
    Field,
    blanks,
    chosen,
    initials,
    part,
    part_of,
    unit_typed,
)
from reportgen.report.written_readings import Readings

FIRST_STEADY = 2000
"""The steady readings before packaging are numbered after all others of the log."""


def cellar_written(assessment: Assessment, identity: Identity) -> dict[str, Any]:
    """Return the data of the cellar page: a line of the log a day, and how it ended."""
    sheet = cellar_sheet(assessment, identity.paper, int(identity.copy or 1))
    readings, todo = Readings(assessment), tables_of(assessment, "fermentation")
    events = blanks(assessment, (*sheet.milestones, *sheet.harvest))
    fields = [
        *(
            _log_line(assessment, readings, number, f"d:{number}", day.title, day.raw)
            for number, day in enumerate(sheet.days, 1)
        ),
        *(event for event in events if event["id"].startswith(EVENTS)),
        *(reading(assessment, row, readings, todo) for row in sheet.rows),
        _date("fermentation.finished", "Finished"),
        *(event for event in events if not event["id"].startswith(EVENTS)),
        remarks("fermentation.remarks"),
    ]
    return page(assessment, identity, readings, fields)


def packaging_written(assessment: Assessment, identity: Identity) -> dict[str, Any]:
    """Return the data of the packaging page: two steady readings, what was filled, the label."""
    sheet = packaging_sheet(assessment, identity.paper, int(identity.copy or 1))
    readings = Readings(assessment)
    fields = [
        *(
            _log_line(assessment, readings, number, f"r:{row.key}", row.title, None)
            for number, row in enumerate(sheet.gate_rows, FIRST_STEADY)
        ),
        day_of("packaging.date", "Packed on"),
        *(
            field for of, side in zip(assessment.planned_kinds, sheet.sides, strict=True)
            for field in _filling(of, side, readings)
        ),
        _date("packaging.best_before", "Best before"),
        _value(assessment, "packaging.label", "Label says"),
        _value(assessment, "packaging.packaged_by", "Packed by"),
        remarks("packaging.remarks"),
    ]
    return page(assessment, identity, readings, fields)


def _filling(of: Assessment, side: FillingSide, readings: Readings) -> list[Field]:
    """Return the fields of the side of one kind of container, as those of its entry."""
    todo, entry = tables_of(of, "packaging"), entry_of(of)
    fields = [reading(of, row, readings, todo) for row in side.rows]
    fields += blanks(of, side.containers, entry)
    if entry:
        fields = [_named(field, of.packed_in) for field in fields]
        into = {"id": f"{entry}.into", "entry": f"{entry}.", "stands": of.case.packed_into}
        fields.insert(0, into)
    return fields


def _named(field: Field, kind: str) -> Field:
    """Return a field that says of which containers it is, as there is one like it of the first."""
    parts = [part | {"label": f"{kind}: {part['label']}"} for part in field["parts"]]
    return field | {"title": f"{kind}: {field['title']}", "parts": parts}


def tasting_written(assessment: Assessment, identity: Identity) -> dict[str, Any]:
    """Return the data of the tasting page: one taster's marks of one glass."""
    brewery = assessment.archive.brewery
    own = {} if brewery is None else brewery.flavours
    words = dict.fromkeys((*TERMS, *(str(word) for word in own)))
    taster = "tasting.1.marks.1"
    scores = [
        part(word, "mark", term_words(word), at=f"t:{term_words(word)}") for word in words
    ]
    code = part("", "count", "Glass code")
    fields: list[Field] = [
        day_of("tasting.1.date", "Date"),
        {"id": "tasting.1.blind_code", "at": "blind_code", "title": "Glass code", "parts": [code]},
        {"id": f"{taster}.by", "me": "NOT RECORDED"},
        {"id": f"{taster}.scores", "title": "Scores", "parts": scores},
        {"id": f"{taster}.another", "at": "another", "title": "Another glass?",
         "parts": [chosen("", "Another glass?", ("yes", "no"))]},
        remarks(f"{taster}.remarks", "In your own words", at="found"),
    ]  # fmt: skip
    return page(assessment, identity, Readings(assessment), fields)


def _log_line(
    assessment: Assessment, readings: Readings, number: int, at: str, title: str, band: Raw | None
) -> Field:
    degree = readings.units.label("temperature")
    field: Field = {
        "id": f"fermentation.log.{number}",
        "at": at,
        "title": title,
        "main": "gravity",
        "needs": ["at", "gravity"],
        "parts": [
            part("at", "moment", f"{title}: at", more=True),
            part("gravity", "main", f"{title}: gravity", unit="SG", gravity=True, kind="gravity"),
            part("temperature", "digits", f"{title}: beer, {degree}", unit=degree,
                 typed=unit_typed("temperature", readings.units.system), kind="temperature"),
            initials(assessment, f"{title}: by", more=True),
        ],
    }  # fmt: skip
    if band is None:
        return field
    edges = [band.low, band.low, band.high, band.high]
    return field | {
        "with": [{"name": "", "edges": [edges], "u": 0}], "decimals": 4,
        "says": {"ON PLAN": "IN ITS BAND", "OFF PLAN": "OUTSIDE ITS BAND: T1"},
    }  # fmt: skip


def _date(place: str, title: str) -> Field:
    return {"id": place, "at": place, "title": title, "parts": [part("", "date", title)]}


def _value(assessment: Assessment, place: str, title: str) -> Field:
    made = part_of(assessment, place, "", title)
    return {"id": place, "at": place, "title": title, "parts": [made]}
