"""What a page needs to be written on: every blank of the brew day, its limits, tables, clocks.

The script of the page (``templates/screen/written.js``) puts an input beside each blank of the
sheet, compares what is typed with the numbers from here, and sets out as YAML what was typed. It
computes nothing else and knows no key of the record: those come from here.
"""

from __future__ import annotations

import math
import weakref
from typing import Any, ClassVar

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.forecast.actions import ActionTable
from reportgen.forecast.figures import FIGURES, Figure
from reportgen.forecast.remedies import remedy, spans
from reportgen.record.kinds import KINDS
from reportgen.record.printed import Units
from reportgen.record.units import parse_quantity
from reportgen.report.kettle_additions import kettle_additions
from reportgen.report.parts import Identity, Raw, ReadingRow, SheetStep
from reportgen.report.rows import Counter
from reportgen.report.sheet import HEAT_OFF, brew_day_sheet
from reportgen.report.shown import tables_of
from reportgen.report.weigh_out import weigh_groups
from reportgen.report.written_parts import (
    INPUTS,
    Field,
    Part,
    blanks,
    chosen,
    declared,
    initials,
    measured,
    part,
    unit_typed,
    units_of,
)
from reportgen.report.written_readings import Readings

DAY = "brew_day.date"
STARTED, ENDED = "brew_day.boil.started", "brew_day.boil.ended"
STEEP_ENDED = "brew_day.boil.hop_stand_ended"
LINES = 12
"""Lines for what was added or taken out beyond the plan: more than a bad day needs."""


def written(assessment: Assessment, identity: Identity) -> dict[str, Any]:
    """Return the data of the page: what there is to write, in the order of the record."""
    day = _BrewDay.of(assessment, identity.paper, int(identity.copy or 1))
    return page(assessment, identity, day.readings, day.fields) | {
        # A record that has it keeps it: a key given twice is a mistake.
        "issued": assessment.record.issued is None,
        "timers": day.timers,
    }


class _BrewDay(Struct, frozen=True):
    """What there is to write on a brew day, and what decides about it.

    The weigh-out and the brew-day sheet of a batch have it alike, and it takes longer than either:
    of the batch asked for last it is kept.
    """

    readings: Readings
    fields: list[Field]
    timers: list[Field]

    _last: ClassVar[tuple[weakref.ref[Assessment], str, int, _BrewDay] | None] = None

    @classmethod
    def of(cls, assessment: Assessment, paper: str, copy: int) -> _BrewDay:
        """Return that of a batch, for a paper and a copy of its sheet."""
        last = cls._last
        if last is not None and last[0]() is assessment and last[1:3] == (paper, copy):
            return last[3]
        made = _brew_day(assessment, paper, copy)
        cls._last = weakref.ref(assessment), paper, copy, made
        return made


def _brew_day(assessment: Assessment, paper: str, copy: int) -> _BrewDay:
    todo = tables_of(assessment, "brew_day")
    sheet = brew_day_sheet(assessment, paper, copy, todo)
    readings = Readings(assessment)
    weighed, places = _weighed(assessment)
    fields: list[Field] = [
        day_of(DAY, "Brew day"),
        {"id": "brew_day.brewers", "people": True},
        *weighed,
        *added(assessment, readings.units.system),
        *_taken(assessment, readings.units.system),
    ]
    timers: list[Field] = []
    for step in sheet.steps:
        fields += blanks(assessment, (*step.blanks, *step.after))
        if step.additions:
            fields += _additions(assessment, step, places, timers)
        fields += [reading(assessment, row, readings, todo) for row in step.rows]
        fields.append(remarks(step.remarks))
    fields.append(remarks("brew_day.remarks"))
    return _BrewDay(readings, fields, _rests(assessment) + timers)


def day_of(place: str, title: str) -> Field:
    """Return the field for the day of a sheet that is of one day."""
    return {"id": place, "day": True, "title": title, "parts": [part("", "date", title)]}


def remarks(place: str, label: str = "Remarks", **more: Any) -> Field:
    """Return the field for words; ``place`` is both its place on the page and in the record."""
    return {"id": place, "at": place, "title": label, "parts": [part("", "words", label)], **more}


def added(assessment: Assessment, system: str) -> list[Field]:
    """Return the lines for what went in beyond the plan; a what-to-do table fills one as well."""
    words = ("mash", "sparge", "kettle", "fermenter")
    return [
        {"id": f"brew_day.added.{n}", "list": "brew_day.added", "title": f"Added {n}",
         "foot": "Added beyond the plan", "needs": ["what", "amount", "to"],
         "parts": [
             chosen("what", f"Added {n}: what", _addable(assessment), "what"),
             _amount(f"Added {n}: amount", "volume", system),
             chosen("to", f"Added {n}: to", words, "to"),
             part("temperature", "digits", f"Added {n}: temperature", before="at", more=True,
                  **_kind("temperature", system)),
             part("at", "time", f"Added {n}: time", more=True),
             initials(assessment, f"Added {n}: by", more=True),
             part("because", "text", f"Added {n}: because", hint="because", more=True),
         ]}
        for n in range(1, LINES + 1)
    ]  # fmt: skip


def _taken(assessment: Assessment, system: str) -> list[Field]:
    return [
        {"id": f"brew_day.taken.{n}", "list": "brew_day.taken", "title": f"Taken out {n}",
         "foot": "Taken out", "main": "amount", "needs": ["amount", "from"],
         "parts": [
             part("what", "text", f"Taken out {n}: what", hint="what", more=True),
             _amount(f"Taken out {n}: amount", "volume", system),
             chosen("from", f"Taken out {n}: from", ("mash", "kettle", "fermenter"), "from"),
             part("at", "time", f"Taken out {n}: time", more=True),
             initials(assessment, f"Taken out {n}: by", more=True),
             part("because", "text", f"Taken out {n}: because", hint="because", more=True),
         ]}
        for n in range(1, LINES + 1)
    ]  # fmt: skip


def _kind(kind: str, system: str) -> dict[str, str]:
    return {"kind": kind, "unit": Units(system).label(kind), "typed": unit_typed(kind, system)}


def _amount(label: str, kind: str, system: str) -> Part:
    # A unit that is typed stands: what is added may be weighed as well.
    return part("amount", "digits", label, **_kind(kind, system) | {"kind": "amount"})


def _weighed(assessment: Assessment) -> tuple[list[Field], dict[int, str]]:
    """Return the fields of what is weighed, and the id of each by the identity of its plan item.

    The order is that of the rows of the weigh-out sheet.
    """
    is_own = assessment.record.wort_from is None
    planned = [
        item for item in assessment.record.plan.ingredients
        if not item.later and (is_own or item.of_fermenter)
    ]
    system = assessment.brewery.system
    scales = [n for n, i in assessment.brewery.instruments.items() if i.reads == "scale"]
    groups = weigh_groups(assessment, Counter())
    rows = [(row, group.twice) for group in groups for row in group.rows]
    fields, places = [], {}
    for item, (row, twice) in zip(planned, rows, strict=True):
        name, title = f"brew_day.weighed.{row.number}", row.name
        places[id(item.entry)] = name
        unit = row.unit
        parts = [
            part("amount", "main", f"{title} weighed, {unit}", **measured("amount", unit, system)),
            part("lot", "short", f"{title}: lot", hint="lot", more=True),
            part("at", "time", f"{title}: time", more=True),
            initials(assessment, f"{title}: by", more=True),
        ]
        if twice:
            parts.append(initials(assessment, f"{title}: checked by", "checked_by", more=True))
        if len(scales) > 1:
            parts.append(chosen("scale", f"{title}: scale", scales, "scale", more=True))
        fields.append(
            {"id": name, "at": f"w:{row.number}", "title": title, "parts": parts,
             "fixed": [["item", str(item.name)]], "needs": ["amount"]}
        )  # fmt: skip
    return fields, places


def reading(
    assessment: Assessment, row: ReadingRow, readings: Readings, todo: list[ActionTable]
) -> Field:
    """Return the field of one reading: its parts, what decides about it, its what-to-do table."""
    figure, raw = FIGURES[row.key], row.raw
    assert raw is not None
    units, title = readings.units, row.title
    typed = {
        "unit": row.unit, "typed": unit_typed(raw.kind, units.system), "kind": figure.kind,
        "gravity": raw.kind == "gravity", "usual": _usual(figure, raw, units),
    }  # fmt: skip
    sample = _kind("temperature", units.system)
    ways = readings.of(figure, raw)
    parts = [part("read", "main", f"{title}, {row.unit}", **typed)]
    if "edges" in ways[0]:
        parts.append(
            part("again", "digits", f"{title}, again", before="again", again=True, **typed)
        )
    if row.sample:
        label = f"{title}: sample at, {sample['unit']}"
        parts.append(part("sample", "digits", label, before="sample at", **sample))
    parts += [
        part("at", "time", f"{title}: time", more=True),
        *([_instrument(title, [way["name"] for way in ways])] if len(ways) > 1 else []),
        initials(assessment, f"{title}: by", more=True),
    ]
    first = ".".join(FIGURES["first_wort_gravity"].path)
    return {
        "id": f"{row.within}.{figure.path[-1]}" if row.within else ".".join(figure.path),
        "at": f"r:{row.at}",
        "title": title,
        "parts": parts,
        "reading": True,
        "twice": row.twice,
        # Last runnings cannot be stronger than the wort that is rinsed out.
        "under": first if row.key == "last_runnings_gravity" else "",
        "sample": row.sample,
        "critical": raw.critical,
        "decimals": units.decimals(raw.kind, figure.decimals if raw.kind == figure.kind else 1),
        "with": ways,
        **todo_of(assessment, row, todo, units, raw.kind),
    }


def _usual(figure: Figure, raw: Raw, units: Units) -> list[float]:
    """Return the least and the most that a reading plausibly is; beyond, a unit may be mistaken.

    As the field of the record declares it; of a volume half and twice what is expected.
    """
    declares = declared(".".join(figure.path))[1].usual
    if declares is not None:
        edges = [parse_quantity(text, figure.kind).value for text in declares]
    elif raw.kind == "volume" and raw.expected:
        edges = [raw.expected / 2, raw.expected * 2]
    else:
        return []
    decimals = units.decimals(raw.kind, KINDS[figure.kind].on_sheets or 0)
    return [round(units.converted(edge, raw.kind), decimals) for edge in edges]


def _instrument(title: str, names: list[str]) -> Part:
    made = chosen("instrument", f"{title}: instrument", names[1:], more=True)
    made["choices"][0][1] = names[0].replace("_", " ")
    return made


def todo_of(
    assessment: Assessment, row: ReadingRow, todo: list[ActionTable], units: Units, kind: str
) -> Field:
    """Return the what-to-do table of a reading: when each row goes and what it puts in; else."""
    if not row.todo:
        return {}
    table = next(t for t in todo if t.figure == row.key)
    fields: list[Field] = []
    for number, (low, high) in enumerate(spans(table, assessment.planned)):
        if low > high:
            fields.append({"never": True})
            continue
        fields.append(
            {
                "above": _edge(low, kind, units),
                "upto": _edge(high, kind, units),
                "put": _put(assessment, table, number, units, row.todo),
            }
        )
    return {"todo": fields, "otherwise": table.otherwise}


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
    assessment: Assessment, step: SheetStep, places: dict[int, str], timers: list[Field]
) -> list[Field]:
    """Return a field for each row of the boil, in the order of the sheet, and its timer."""
    plan = assessment.record.plan
    steep = plan.boil.hop_stand
    # What each row is of, and when it is due; heat off, and a steep without hops, are of nothing.
    steeped: list[object] = [*(steep.hops or [None])] if steep is not None else []
    items: list[tuple[float | None, object]] = [
        *kettle_additions(plan, assessment.stock), (None, None), *((None, hop) for hop in steeped)
    ]
    fields: list[Field] = []
    for number, (row, (after, item)) in enumerate(zip(step.additions, items, strict=True)):
        at, name = f"a:{number}", f"in.{number}"
        if item is not None:
            fields.append(
                {"id": name, "at": at, "title": row.what, "silent": True, "timed": name,
                 "parts": [_now("at", f"{row.what}: went in at", "In, now")]}
            )  # fmt: skip
        if row.what == HEAT_OFF:
            fields.append(_clock(ENDED, "Heat off", at))
            timers.append(
                {"id": "boil", "of": ENDED, "from": STARTED, "after": plan.boil.time.value,
                 "words": "Heat off", "until": []}
            )  # fmt: skip
        elif after is not None:
            weighed = places[id(item)]
            timers.append(
                {"id": name, "of": name, "from": STARTED, "after": after,
                 "until": [ENDED], "words": f"{row.amount} {row.what}", "late": weighed}
            )  # fmt: skip
        if row.until:
            assert steep is not None
            begins = name if item is not None else ENDED
            timers.append(
                {"id": "steep", "of": STEEP_ENDED, "from": begins, "until": [],
                 "after": steep.time.value, "words": "End of hop stand: cool"}
            )  # fmt: skip
            fields.append(_clock(STEEP_ENDED, "Hop stand ended", f"u:{number}"))
    return fields


def _now(name: str, label: str, words: str) -> Part:
    return part(name, "time", label, now=words)


def _clock(place: str, title: str, at: str) -> Field:
    return {"id": place, "at": at, "title": title, "parts": [_now("", f"{title}: time", "Now")]}


def _rests(assessment: Assessment) -> list[Field]:
    """Return a timer for the end of each rest, counted from mashing in."""
    units = Units(assessment.brewery.system)
    rests, after = [], 0.0
    for number, rest in enumerate(assessment.record.plan.mash.rests, 1):
        after += rest.time.value
        at = units.text(rest.temperature.value, "temperature", 0)
        rests.append(
            {"id": f"rest.{number}", "from": "brew_day.mash.started", "after": after,
             "until": ["brew_day.run_off.started"], "words": f"Rest at {at} over"}
        )  # fmt: skip
    return rests


def _addable(assessment: Assessment) -> list[str]:
    """Return what can be added, by its name in the files: first what the plan has."""
    plan, stock = assessment.record.plan, assessment.stock
    first = [str(part.liquor) for part in plan.liquor.blend]
    every = (
        assessment.brewery.liquors, stock.acids, stock.salts, stock.sugars, stock.malts, stock.hops,
        stock.finings, stock.yeasts,
    )  # fmt: skip
    return list(dict.fromkeys([*first, *(str(key) for table in every for key in table)]))



def page(
    assessment: Assessment, identity: Identity, readings: Readings, fields: list[Field]
) -> dict[str, Any]:
    """Return the data of a page: its fields, and what every page has beside them."""
    for field in fields:
        # The first part is what an entry is about; with it come day, time and initials.
        field.setdefault("main", field["parts"][0]["name"] if field.get("parts") else "")
        for piece in field.get("parts", ()):
            if piece["is"] == "time" and not piece["name"] and "now" not in piece:
                piece["now"] = "Now"
    kinds = [p["kind"] for field in fields for p in field.get("parts", ()) if "kind" in p]
    return {
        "batch": identity.batch,
        "name": identity.name,
        "plan": identity.plan_hash,
        "numbers": identity.numbers,
        "copy": identity.copy,
        "file": assessment.batch.file,
        "me": {
            "id": "me", "title": "Who writes", "main": "by", "silent": True, "parts": [
                initials(assessment, "Your initials"),
                part("late", "choice", "Times", choices=[
                    ["", "times as I write"], ["yes", "typed later, from paper: no times"],
                ]),
            ],
        },
        "issued": False,
        "inputs": INPUTS,
        "units": units_of(kinds, readings.units.system),
        "tables": readings.tables,
        "timers": [],
        "fields": fields,
    }  # fmt: skip
