"""``ledger.csv`` and ``ledger.json``: one row a batch, in base units, each column described.

For spreadsheets, statistics programs and scripts. Numbers are in base units whatever the house
prints in, shares are 0 to 1, dates are ISO 8601; what is not known is empty, never zero.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from msgspec import Struct

from reportgen import __version__
from reportgen.archive.links import Links
from reportgen.archive.summary import Summary
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.figures import FIGURES
from reportgen.history.measures import MEASURES
from reportgen.record.kinds import KINDS, is_share

FORMAT = 1
"""Version of the columns: raised when one is renamed or taken away, not when one is added."""

ABOUT = (
    "One row a batch, in order of batch id. Base units in every archive; shares are "
    "0 to 1; dates are ISO 8601; volumes at 20 degC; gravities SG 20/20; U is k = 2. Empty (null) "
    "is not known or does not apply; it never stands for zero. In the CSV a text that a "
    "spreadsheet would take for a formula (it begins with = + - @) has an apostrophe before it."
)

SHOWN = (
    "mash_ph", "mash_temperature", "kettle_volume", "kettle_gravity", "cast_out_volume",
    "fermenter_volume", "original_gravity", "final_gravity", "apparent_attenuation", "alcohol",
    "bitterness", "colour", "packaged_volume", "carbonation",
)  # fmt: skip
"""Figures that have columns of their own: expected, actual, U and verdict."""


PARTS = (
    ("expected", "expected", "expected by the plan"),
    ("actual", "actual", "as read and corrected, or derived from it"),
    ("U", "uncertainty", "U of the actual, k = 2"),
    ("verdict", "verdict", "verdict on the reading"),
)
"""Columns of a figure: the end of the name, what it has of the figure, what is said of it."""


def _unit(kind: str) -> str:
    return "0 to 1" if is_share(kind) else KINDS[kind].in_tables


Value = str | int | float | None


class DataColumn(Struct, frozen=True):
    """One column: its name, unit and meaning, and where its value comes from."""

    name: str
    unit: str
    description: str
    value: Callable[[Summary, Links], Value]


def _text(name: str) -> Callable[[Summary, Links], Value]:
    return lambda summary, links: getattr(summary, name) or None


def _figure(key: str, part: str, decimals: int) -> Callable[[Summary, Links], Value]:
    def value(summary: Summary, links: Links) -> Value:
        figure = summary.figure(key)
        given = getattr(figure, part) if figure is not None else None
        return round(given, decimals) if isinstance(given, float) else given or None

    return value


def _measure(key: str, part: str, decimals: int) -> Callable[[Summary, Links], Value]:
    def value(summary: Summary, links: Links) -> Value:
        measured = summary.measure(key)
        return None if measured is None else round(getattr(measured, part), decimals)

    return value


def _age(summary: Summary, links: Links) -> Value:
    link = links.yeast.get(summary.id)
    return link.age if link is not None and link.parent else None


def _parent(summary: Summary, links: Links) -> Value:
    link = links.yeast.get(summary.id)
    return link.parent or None if link is not None else None


def _counts(verdict: Verdict) -> Callable[[Summary, Links], Value]:
    return lambda summary, links: summary.count(verdict.value)


def columns() -> tuple[DataColumn, ...]:
    """Return every column, in order."""
    data_columns = [
        DataColumn("batch", "", "Batch id.", lambda s, links: s.id),
        DataColumn("file", "", "Record, relative to the archive.", lambda s, links: s.file),
        DataColumn("name", "", "Name of the beer.", _text("name")),
        DataColumn("beer", "", "Kind of beer, in the brewer's words.", _text("beer")),
        DataColumn("state", "", "planned, brewed, fermented, packed or tasted.", _text("state")),
        DataColumn(
            "disposition", "", "release, hold, rework, regrade, scrap.", _text("disposition")
        ),
        DataColumn("brewed", "date", "Brew day.", _text("brewed")),
        DataColumn("finished", "date", "Day on which gravity had been steady.", _text("finished")),
        DataColumn("packed", "date", "Day of packaging.", _text("packed")),
        DataColumn("best_before", "date", "As put on the label.", _text("best_before")),
        DataColumn(
            "plan_revision", "", "Counted version of the plan.", lambda s, links: s.revision
        ),
        DataColumn("plan_hash", "", "Short hash of the whole plan.", _text("plan_hash")),
        DataColumn("plan_from", "", "Batch whose plan this one starts from.", _text("like")),
        DataColumn("kit", "", "Kit, its name in brewery.yaml.", _text("kit")),
        DataColumn("liquor", "", "Liquor, or blend with shares.", _text("liquor")),
        DataColumn("yeast", "", "Yeast, its name in stock.yaml.", _text("yeast")),
        DataColumn("generation", "", "Generation as written; new is 0.", lambda s, _: s.generation),
        DataColumn("harvested_from", "", "Batch the yeast was harvested from.", _parent),
        DataColumn("yeast_age", "d", "Days from that harvest to pitching.", _age),
        DataColumn("boil_time", "min", "Planned boil.", lambda s, links: round(s.boil_minutes, 1)),
        DataColumn("packed_into", "", "keg, bottle or cask.", _text("into")),
        DataColumn(
            "also_packed_into", "", "What else part of it went into, by commas.",
            lambda s, links: ", ".join(kind for kind, _ in s.also_into) or None,
        ),
    ]
    for key in SHOWN:
        figure = FIGURES[key]
        unit, places = _unit(figure.kind), figure.decimals + 2
        data_columns += [
            DataColumn(
                f"{key}_{name}", "" if part == "verdict" else unit, f"{figure.title}: {words}.",
                _figure(key, part, places),
            )
            for name, part, words in PARTS
        ]
    for measure in MEASURES.values():
        unit = _unit(measure.kind)
        name = f"{measure.key}_at_66" if measure.key == "attenuation" else measure.key
        places = measure.decimals + 2
        about, value = f"{measure.title}. {measure.about}", _measure(measure.key, "value", places)
        u = _measure(measure.key, "uncertainty", places)
        data_columns += [
            DataColumn(name, unit, about, value),
            DataColumn(f"{name}_U", unit, f"{measure.title}: U, k = 2.", u),
        ]
    data_columns += [
        DataColumn("on_plan", "count", "Figures that are ON PLAN.", _counts(Verdict.ON_PLAN)),
        DataColumn("too_close", "count", "Figures TOO CLOSE TO CALL.", _counts(Verdict.TOO_CLOSE)),
        DataColumn("off_plan", "count", "Figures that are OFF PLAN.", _counts(Verdict.OFF_PLAN)),
        DataColumn("not_recorded", "count", "Figures NOT RECORDED.", _counts(Verdict.NOT_RECORDED)),
        DataColumn(
            "deviations", "count", "Deviations, closed or open.", lambda s, links: len(s.deviations)
        ),
        DataColumn(
            "open_deviations", "count", "Deviations not closed in the review.",
            lambda s, links: len(s.open_deviations),
        ),
        DataColumn(
            "findings", "count", "What the checks found in this record.",
            lambda s, links: len(s.findings),
        ),
    ]
    return tuple(data_columns)


def rows(summaries: Iterable[Summary], links: Links) -> Iterator[dict[str, Value]]:
    """Yield one row a batch, each column by its name."""
    every = columns()
    for summary in summaries:
        yield {c.name: c.value(summary, links) for c in every}


FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a text begins with that a spreadsheet would run as a formula instead of showing it."""


def shown_as_text(value: Value) -> Value:
    """Return a value as a spreadsheet may have it: an apostrophe before what it would run.

    Numbers are left as they are, a minus sign included. The JSON has every text as written.
    """
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA) else value


def tables(summaries: Iterable[Summary], links: Links, house: str) -> tuple[bytes, bytes]:
    """Return the table as CSV and as JSON, each row worked out once.

    The CSV is RFC 4180 in UTF-8, its lines end with a line feed; the JSON says what every column
    means.
    """
    document: dict[str, Any] = {
        "format": FORMAT,
        "tool": f"reportgen {__version__}",
        "house": house,
        "about": ABOUT,
        "columns": [
            {"name": c.name, "unit": c.unit or None, "description": c.description}
            for c in columns()
        ],
        "batches": [],
    }
    # A batch at a time: the table as objects is many times as large as its text.
    lined, data = io.BytesIO(), io.BytesIO()
    text = io.TextIOWrapper(lined, encoding="utf-8", newline="")
    writer = csv.DictWriter(text, [c.name for c in columns()], lineterminator="\n")
    writer.writeheader()
    data.write(json.dumps(document, ensure_ascii=False, indent=1).removesuffix("]\n}").encode())
    mark = "\n"
    for row in rows(summaries, links):
        writer.writerow({name: shown_as_text(value) for name, value in row.items()})
        data.write((mark + _json_row(row)).encode())
        mark = ",\n"
    text.flush()
    data.write(b"]\n}\n" if mark == "\n" else b"\n ]\n}\n")
    return lined.getvalue(), data.getvalue()


def _json_row(row: Mapping[str, Value]) -> str:
    """Return a flat row as JSON, indented as ``json`` would, which does that by slow code only."""
    inside = json.dumps(row, ensure_ascii=False, separators=(",\n   ", ": "))[1:-1]
    return f"  {{\n   {inside}\n  }}"
