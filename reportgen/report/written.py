"""What a brew-day page needs to be written on: every blank, its limits, tables, clocks, as data.

The script of the page (``templates/screen/written.js``) puts an input beside each blank of the
sheet, compares what is typed with the numbers from here, and sets out as YAML what was typed. It
computes nothing else and knows no key of the record: those come from here.
"""

from __future__ import annotations

import json
import math
from typing import Any

from reportgen.assessment.assess import Assessment
from reportgen.forecast.actions import ActionTable
from reportgen.forecast.figures import FIGURES
from reportgen.forecast.remedies import remedy, spans
from reportgen.record.model.flavours import TERMS, term_words
from reportgen.report.kettle_additions import kettle_additions
from reportgen.report.numbers import Units
from reportgen.report.parts import Identity, Raw, ReadingRow, SheetStep
from reportgen.report.rows import Counter
from reportgen.report.sheet import brew_day_sheet
from reportgen.report.shown import tables_of
from reportgen.report.weigh_out import weigh_groups
from reportgen.report.written_readings import Readings, unit_typed

Field = dict[str, Any]

_CLOCKS: dict[str, tuple[tuple[str, str], ...]] = {
    "Mash": (("Mash in", "brew_day.mash.started"),),
    "Run-off": (("First wort", "brew_day.run_off.started"),),
    "Boil": (("Boil from", "brew_day.boil.started"), ("Heat off", "brew_day.boil.ended")),
    "Cool and pitch": (("Yeast in", "brew_day.pitch.at"),),
}
"""Blanks for a time in each stage of the sheet, and where they stand in the record."""

_REMARKS = {
    "Mash": "brew_day.mash.remarks",
    "Run-off": "brew_day.run_off.remarks",
    "Boil": "brew_day.boil.remarks",
    "Cool and pitch": "brew_day.pitch.remarks",
}

STEEP_ENDED = "brew_day.boil.hop_stand_ended"


def as_json(data: dict[str, Any]) -> str:
    """Return the data of a page as JSON that may stand within a ``script`` element."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def written(assessment: Assessment, identity: Identity) -> dict[str, Any]:
    """Return the data of the page: what there is to write, in the order of the record."""
    record = assessment.record
    todo = tables_of(assessment)
    sheet = brew_day_sheet(assessment, identity.paper, int(identity.copy or 1), todo)
    readings = Readings(assessment)
    weighed, places = _weighed(assessment)
    fields: list[Field] = [
        {"id": "brew_day.date", "form": "day"},
        {"id": "brew_day.brewers", "form": "people"},
        *weighed,
        {"id": "brew_day.added", "form": "list", "keys": ADDED},
        {"id": "brew_day.taken", "form": "list", "keys": TAKEN},
    ]
    timers: list[Field] = []
    for step in sheet.steps:
        fields += _clocks(step)
        fields += [_reading(assessment, row, readings, todo) for row in step.rows]
        if step.title == "Boil":
            fields += _additions(assessment, places, timers)
        if step.title in _REMARKS:
            fields.append(
                {"id": _REMARKS[step.title], "form": "words", "stage": step.number}
            )
    return {
        **_page(assessment, identity, readings),
        # A record that has it keeps it: a key given twice is a mistake.
        "issued": record.issued is None,
        "day": "brew_day.date",
        "dayTitle": "Brew day",
        "fields": fields,
        "timers": _rests(assessment) + timers,
        "addable": _addable(assessment),
        "to": ["mash", "sparge", "kettle", "fermenter"],
        "from": ["mash", "kettle", "fermenter"],
        "volume": unit_typed("volume", readings.units.system),
    }


ADDED = ("what", "amount", "to", "temperature", "at", "by", "because")
TAKEN = ("what", "amount", "from", "at", "by", "because")
"""Keys of what was added or taken out, in the order of the record."""


def _weighed(assessment: Assessment) -> tuple[list[Field], dict[int, str]]:
    """Return the fields of what is weighed, and the id of each by the identity of its plan item.

    The order is that of the rows of the weigh-out sheet.
    """
    plan = assessment.record.plan
    steeped = plan.boil.hop_stand.hops if plan.boil.hop_stand else ()
    named: list[tuple[object, str]] = [
        *((g, str(g.malt)) for g in plan.grist),
        *((s, str(s.sugar)) for s in plan.sugars),
        *((s, str(s.salt)) for s in plan.liquor.salts),
        *((a, str(a.acid)) for a in plan.liquor.acids),
        *((h, str(h.hop)) for h in (*plan.boil.hops, *steeped)),
        *((f, str(f.fining)) for f in plan.boil.finings),
    ]
    rows = [row for group in weigh_groups(assessment, Counter()) for row in group.rows]
    fields, places = [], {}
    for (item, key), row in zip(named, rows, strict=True):
        name = f"brew_day.weighed.{row.number}"
        places[id(item)] = name
        fields.append(
            {"id": name, "form": "weighed", "at": f"w:{row.number}", "item": key,
             "unit": f" {row.unit}", "title": row.name}
        )  # fmt: skip
    return fields, places


def _clocks(step: SheetStep) -> list[Field]:
    # The heat goes off after the last addition by the clock, before what is steeped.
    boiled = sum(addition.plus.startswith("+") for addition in step.additions)
    below = {"after": f"a:{boiled - 1}", "at": f"a:{boiled - 1}"} if boiled else {}
    return [
        {"id": path, "form": "clock", "title": title, "stage": step.number, **(
            below if path.endswith(".ended") else {}
        )}
        for title, path in _CLOCKS.get(step.title, ())
    ]


def _reading(
    assessment: Assessment, row: ReadingRow, readings: Readings, todo: list[ActionTable]
) -> Field:
    figure, raw = FIGURES[row.key], row.raw
    assert raw is not None
    units = readings.units
    first = ".".join(FIGURES["first_wort_gravity"].path)
    return {
        "id": ".".join(figure.path),
        "form": "reading",
        # Last runnings cannot be stronger than the wort that is rinsed out.
        "under": first if row.key == "last_runnings_gravity" else "",
        "at": f"r:{row.key}",
        "title": row.title,
        "unit": unit_typed(raw.kind, units.system),
        "label": row.unit,
        "gravity": raw.kind == "gravity",
        "sample": row.sample,
        "critical": raw.critical,
        "decimals": units.decimals(raw.kind, figure.decimals if raw.kind == figure.kind else 1),
        "with": readings.of(figure, raw),
        **(_todo(assessment, row, todo, units, raw.kind) if row.todo else {}),
    }


def _todo(
    assessment: Assessment, row: ReadingRow, todo: list[ActionTable], units: Units, kind: str
) -> Field:
    """Return the what-to-do table of a reading: when each row goes and what it puts in; else."""
    table = next(t for t in todo if t.figure == row.key)
    found: list[Field] = []
    for number, (low, high) in enumerate(spans(table, assessment.planned)):
        if low > high:
            found.append({"never": True})
            continue
        found.append(
            {
                "above": _edge(low, kind, units),
                "upto": _edge(high, kind, units),
                "put": _put(assessment, table, number, units, row.todo),
            }
        )
    return {"todo": found, "otherwise": table.otherwise}


def _edge(value: float, kind: str, units: Units) -> float | None:
    return round(units.converted(value, kind), 9) if math.isfinite(value) else None


def _put(
    assessment: Assessment, table: ActionTable, number: int, units: Units, mark: str
) -> Field | None:
    made = remedy(
        table, number, assessment.case.boiling, assessment.record, assessment.stock
    )
    if made is None:
        return None
    amount = made.amount
    put = {
        "what": made.what,
        "to": made.to,
        "amount": units.number(amount.value, amount.kind, amount.decimals),
        "unit": unit_typed(amount.kind, units.system),
        "because": mark,
    }
    if made.temperature is not None:
        at = units.number(made.temperature, "temperature", 0)
        put["temperature"] = at + unit_typed("temperature", units.system)
    return put


def _additions(
    assessment: Assessment, places: dict[int, str], timers: list[Field]
) -> list[Field]:
    """Return a field for each addition to the kettle, in the order of the sheet, and its timers."""
    plan = assessment.record.plan
    boil = plan.boil.time.value
    fields: list[Field] = []
    for after, item in kettle_additions(plan):
        fields.append(_addition(len(fields), places[id(item)]))
        timers.append(
            {"id": f"in.{len(fields) - 1}", "of": fields[-1]["id"],
             "from": "brew_day.boil.started", "after": after, "until": "brew_day.boil.ended"}
        )  # fmt: skip
    timers.append(
        {"id": "boil", "of": "brew_day.boil.ended", "from": "brew_day.boil.started",
         "after": boil, "words": "Heat off"}
    )  # fmt: skip
    steep = plan.boil.hop_stand
    if steep is not None:
        for hop in steep.hops:
            # Heat off has a row between.
            fields.append(_addition(len(fields), places[id(hop)], 1))
        if steep.hops:
            timers.append(
                {"id": "steep", "of": STEEP_ENDED, "from": fields[-1]["id"],
                 "after": steep.time.value, "words": "Steep over: cool"}
            )  # fmt: skip
            fields.append({"id": STEEP_ENDED, "form": "clock", "title": "Steep ended, cooling",
                           "after": fields[-1]["at"]})  # fmt: skip
    return fields


def _addition(number: int, weighed: str, rows: int = 0) -> Field:
    return {"id": f"in.{number}", "form": "in", "at": f"a:{number + rows}", "weighed": weighed}


def _rests(assessment: Assessment) -> list[Field]:
    """Return a timer for the end of each rest, counted from mashing in."""
    units = Units(str(assessment.brewery.units or "metric"))
    found, after = [], 0.0
    for number, rest in enumerate(assessment.record.plan.mash.rests, 1):
        after += rest.time.value
        at = units.text(rest.temperature.value, "temperature", 0)
        found.append(
            {"id": f"rest.{number}", "from": "brew_day.mash.started", "after": after,
             "until": "brew_day.run_off.started", "words": f"Rest at {at} over"}
        )  # fmt: skip
    return found


def _addable(assessment: Assessment) -> list[str]:
    """Return what can be added, by its name in the files: first what the plan has."""
    plan, stock = assessment.record.plan, assessment.stock
    first = [str(part.liquor) for part in plan.liquor.blend]
    every = (
        assessment.brewery.liquors, stock.acids, stock.salts, stock.sugars, stock.malts, stock.hops,
        stock.finings, stock.yeasts,
    )  # fmt: skip
    return list(dict.fromkeys([*first, *(str(key) for table in every for key in table)]))


def cellar_written(assessment: Assessment, identity: Identity) -> dict[str, Any]:
    """Return the data of the cellar page: a line of the log a day, and how it ended."""
    from reportgen.report.cellar import cellar_sheet

    sheet = cellar_sheet(assessment, identity.paper, int(identity.copy or 1))
    readings = Readings(assessment)
    todo = tables_of(assessment)
    fields = [
        _log_line(f"d:{number}", day.title, day.on, day.raw)
        for number, day in enumerate(sheet.days, 1)
    ]
    fields += [_reading(assessment, row, readings, todo) for row in sheet.rows]
    fields += [
        _value("fermentation.finished", "Finished", 2, attributes={"type": "date"}),
        {"id": "fermentation.remarks", "form": "words", "stage": 2},
    ]
    return {**_page(assessment, identity, readings), "fields": fields}


def packaging_written(assessment: Assessment, identity: Identity) -> dict[str, Any]:
    """Return the data of the packaging page: two steady readings, what was filled, the label."""
    from reportgen.report.packaging import packaging_sheet

    sheet = packaging_sheet(assessment, identity.paper, int(identity.copy or 1))
    readings = Readings(assessment)
    todo = tables_of(assessment)
    fields: list[Field] = [
        _log_line(f"r:{row.key}", row.title, "", None) for row in sheet.gate_rows
    ]
    fields.append({"id": "packaging.date", "form": "day"})
    fields += [_reading(assessment, row, readings, todo) for row in sheet.rows]
    digits = {"inputmode": "numeric", "class": "digits"}
    size = unit_typed("volume", readings.units.system)
    people = [str(p) for p in assessment.brewery.people]
    fields += [
        _value("packaging.containers", "Containers", 3, attributes=digits),
        _value("packaging.container_size", "Size of one", 3, size, digits),
        _value("packaging.best_before", "Best before", 2, attributes={"type": "date"}),
        _value("packaging.label", "Label says", 2),
        _value("packaging.packaged_by", "Packed by", 3, choices=people),
        {"id": "packaging.remarks", "form": "words", "stage": 3},
    ]
    page = _page(assessment, identity, readings)
    return {**page, "fields": fields, "day": "packaging.date", "dayTitle": "Packed on"}


def tasting_written(assessment: Assessment, identity: Identity) -> dict[str, Any]:
    """Return the data of the tasting page: one taster's marks of one glass."""
    brewery = assessment.archive.brewery
    own = {} if brewery is None else brewery.flavours
    words = dict.fromkeys((*TERMS, *(str(word) for word in own)))
    fields: list[Field] = [
        {"id": f"score.{word}", "form": "score", "at": f"t:{term_words(word)}", "word": word,
         "title": term_words(word)}
        for word in words
    ]  # fmt: skip
    fields += [
        {"id": "evening", "form": "day"},
        _value("glass", "Glass code", 1, attributes={"inputmode": "numeric", "class": "digits"}),
        _value("another", "Another glass?", 1, choices=["yes", "no"]),
        {"id": "found", "form": "words", "stage": 0, "title": "In your own words"},
    ]
    page = _page(assessment, identity, Readings(assessment))
    return {**page, "fields": fields, "tasting": True, "day": "evening", "dayTitle": "Date"}


def _page(assessment: Assessment, identity: Identity, readings: Readings) -> dict[str, Any]:
    """Return what every page that can be written on has beside its fields."""
    units = readings.units
    return {
        "batch": identity.batch,
        "name": identity.name,
        "plan": identity.plan_hash,
        "numbers": identity.numbers,
        "copy": identity.copy,
        "file": assessment.batch.file,
        "people": [str(p) for p in assessment.brewery.people],
        "issued": False,
        "day": "",
        "dayTitle": "",
        "tables": readings.tables,
        "timers": [],
        "sample": {"unit": unit_typed("temperature", units.system),
                   "label": units.label("temperature")},
    }  # fmt: skip


def _log_line(at: str, title: str, date: str, band: Raw | None) -> Field:
    field = {"id": f"fermentation.log.{at[2:]}", "form": "log", "at": at, "title": title,
             "unit": "", "gravity": True, "date": date}  # fmt: skip
    if band is None:
        return field
    return field | {"edges": [band.low, band.low, band.high, band.high]}


def _value(
    place: str, title: str, stage: int, unit: str = "",
    attributes: dict[str, str] | None = None, choices: list[str] | None = None,
) -> Field:
    field: Field = {"id": place, "form": "value", "title": title, "stage": stage, "unit": unit}
    if choices is not None:
        return field | {"choices": choices}
    return field | {"attributes": attributes or {}}
