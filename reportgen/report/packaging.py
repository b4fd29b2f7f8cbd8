"""The packaging sheet: nothing sealed before two steady readings, nothing gassed over a rating."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.assessment.fillings import FERMENTER
from reportgen.forecast.arguments import NothingLeft
from reportgen.forecast.figures import FIGURES, Stage
from reportgen.forecast.pack import brought, filled
from reportgen.forecast.vessels import Vessel
from reportgen.record.printed import BLANK, NARROW, Units
from reportgen.report.card import of_each
from reportgen.report.cautions import Caution
from reportgen.report.critical import limits_above
from reportgen.report.hazards import cautions_of
from reportgen.report.parts import (
    Blank,
    HoldPoint,
    Identity,
    Labelled,
    Lookup,
    ReadingRow,
    Signature,
    Todo,
)
from reportgen.report.plan_text import (
    gallon_note,
    identity_of,
    offset_words,
    sheet_units,
    shown,
    signed_by,
)
from reportgen.report.rows import Counter, read_decimals, rows_of, uncertainty_text
from reportgen.report.sheet import gravity_lookup
from reportgen.report.shown import shown_todo, tables_of
from reportgen.report.tables import marks_of
from reportgen.report.weigh_out import allergens_of
from reportgen.science.number import nominal

TITLE = "Packaging sheet"


class FillingSide(Struct, frozen=True):
    """The side for containers of one kind: what to confirm, read and write down before and as they
    are filled."""

    number: str
    title: str
    what: str
    facts: tuple[Labelled, ...]
    hold_point: HoldPoint
    cautions: tuple[Caution, ...]
    rows: tuple[ReadingRow, ...]
    todos: tuple[Todo, ...]
    containers: tuple[Blank, ...]


class PackagingView(Struct, frozen=True):
    """The packaging sheet, ready to be set."""

    identity: Identity
    unit_note: str
    facts: tuple[Labelled, ...]
    gate: str
    gate_rows: tuple[ReadingRow, ...]
    lookups: tuple[Lookup, ...]
    label: tuple[Labelled, ...]
    sides: tuple[FillingSide, ...]
    cleaning: tuple[Caution, ...]
    signatures: tuple[Signature, ...]


def packaging_sheet(assessment: Assessment, paper: str, copy: int = 1) -> PackagingView:
    """Return the packaging sheet of a batch: a side for each kind of container that is planned."""
    units = sheet_units(assessment)
    counter = Counter()
    gate_rows = _gate(assessment, counter)
    sides: list[FillingSide] = []
    for kind in assessment.planned_kinds:
        before = sum(len(side.todos) for side in sides)
        sides.append(_side(kind, assessment, units, counter, before))
    return PackagingView(
        identity=identity_of(assessment, TITLE, paper, copy),
        unit_note=gallon_note(assessment),
        facts=(*_facts(assessment, units), Labelled("Date", "")),
        gate=_gate_words(assessment),
        gate_rows=gate_rows,
        lookups=gravity_lookup(assessment, "final_gravity"),
        label=_label(assessment, units),
        sides=tuple(sides),
        cleaning=cautions_of(assessment, "clean"),
        signatures=signed_by(
            assessment,
            Signature("Packer", "beer packaged and counted"),
            Signature("Checker", "label read against this sheet"),
        ),
    )


def _facts(of: Assessment, units: Units) -> tuple[Labelled, ...]:
    plan = of.record.plan.packaging
    into = of.case.container.name or str(plan.into)
    return (
        Labelled("Into", f"{into}{_part(of, units)}"),
        Labelled("Carbonation", units.text(plan.carbonation.value, "carbonation", 1)),
        Labelled("Highest pressure", _highest_pressure(of, units)),
        Labelled("Rating", rating_text(of.case.container, units) or "unknown"),
    )


def _part(of: Assessment, units: Units) -> str:
    """Return the part of the beer that is to go into these containers; empty for all of it."""
    if of.case.share is None or "packaged_volume" not in of.planned:
        return ""
    try:
        litres = nominal(filled(of.case, of.planned))
    except NothingLeft:
        return ""
    return f", {units.text(litres, 'volume', 1)}"


def _side(
    of: Assessment, first: Assessment, units: Units, counter: Counter, before: int
) -> FillingSide:
    """Return the side of one kind of container; ``before`` is how many tables stand before it."""
    tables = [t for t in tables_of(of, "packaging") if FIGURES[t.figure].stage is Stage.PACK]
    marks = marks_of(tables, before)
    within = entry_of(of)
    skipped = ("packaged_volume",) if of.filling_number else ()
    rows = rows_of(of, [Stage.PACK], counter, marks, "packaging", skipped)
    named = f": {of.packed_in}{_part(of, units)}" if first.others_filled else ""
    return FillingSide(
        number=str(3 + of.filling_number),
        title=f"Fill and gas{named}",
        what=_drawn_from(of),
        facts=_facts(of, units) if of.filling_number else (),
        hold_point=_hold_point(of, units),
        cautions=(
            *cautions_of(of, str(of.record.plan.packaging.into)),
            *(() if of.filling_number else limits_above(of, units, "packaging")),
        ),
        rows=tuple(replace(row, within=within) for row in rows) if within else rows,
        todos=tuple(shown_todo(of, t, marks[t.figure], units) for t in tables),
        containers=_blanks(of, within or "packaging", units),
    )


def entry_of(of: Assessment) -> str:
    """Return the place in the record of other containers; empty for the first."""
    return f"packaging.also.{of.filling_number}" if of.filling_number else ""


def _drawn_from(of: Assessment) -> str:
    """Say what other containers are filled from, where it is not the fermenter."""
    source = of.filling.source if of.filling is not None else FERMENTER
    return DRAWN.get(source, "")


DRAWN = {
    "bottling_bucket": "Out of the bottling bucket, with the sugar that is in it. No more sugar.",
    "container": "Out of a full container of the first: its gas is in the beer. No sugar.",
}


def _blanks(of: Assessment, place: str, units: Units) -> tuple[Blank, ...]:
    liquor = str(of.record.plan.liquor.blend[0].liquor)
    blanks = [
        Blank("Containers", "sample", place=f"{place}.containers"),
        Blank("Size of one", "sample", _size_unit(of), f"{place}.container_size"),
        Blank("Rejects", "sample", place=f"{place}.rejects"),
    ]
    if of.case.packed_into != "keg" and brought(of.case) is None:
        blanks.append(Blank(
            "Liquor with the sugar", "sample", units.label("jug_volume"), f"{place}.added.1.amount",
            (("what", liquor), ("to", "container")),
        ))  # fmt: skip
    return tuple(blanks)


def _size_unit(assessment: Assessment) -> str:
    """Return the unit of a container: bottles are sold by the fluid ounce where gallons are US."""
    units = sheet_units(assessment)
    bottles = str(assessment.record.plan.packaging.into) == "bottle"
    return "fl oz" if bottles and units.system == "US" else units.label("volume")


def _gate_words(assessment: Assessment) -> str:
    good = uncertainty_text(assessment, FIGURES["final_gravity"])
    alike = f"alike within {good}" if good != BLANK else "alike"
    return f"Two readings at least 24 h apart, {alike}. Else wait a day, read again; do not seal."


def _gate(assessment: Assessment, counter: Counter) -> tuple[ReadingRow, ...]:
    """Return the two readings of the gate; the final gravity is what they are held against."""
    figure = FIGURES["final_gravity"]
    decimals = read_decimals(assessment, figure)
    expected = assessment.planned.expected.get("final_gravity")
    value, true, offset = BLANK, "", offset_words(assessment, figure.key)
    if expected is not None:
        value = f"{shown(assessment, figure.key, expected.value):.{decimals}f}"
        true = f"{expected.value:.{decimals}f}" if offset else ""
    return tuple(
        ReadingRow(
            key=f"steady_{number}",
            number=counter.next(),
            title=title,
            todo="",
            expect_label="Expect",
            expect=value,
            ok="",
            unit="SG",
            point=decimals,
            sample=True,
            offset=offset,
            true=true,
        )
        for number, title in enumerate(("First reading", "24 h later or more"), 1)
    )


def _hold_point(assessment: Assessment, units: Units) -> HoldPoint:
    """Return the hold point before what the beer is packed in is sealed."""
    rated = rating_text(assessment.case.container, units)
    # A bottle has no plate.
    plate = "ask its maker" if assessment.case.packed_into == "bottle" else "read the plate"
    unknown = f"Rating unknown: {plate} {WRITE}{NARROW}{units.label('pressure')}"
    rating = f"Rating {rated}, as on its own plate" if rated else unknown
    steady = "Two steady readings, written above"
    primed = brought(assessment.case) is None
    items: tuple[str, ...]
    match assessment.record.plan.packaging.into:
        case "keg":
            items = (
                steady,
                "Relief valve works, tried today",
                rating,
                "Regulator closed before the gas is opened",
                "Keg clean, seals whole, label on",
                "Room aired, gas alarm on",
            )
        case "cask":
            items = (
                steady,
                *(("Priming sugar weighed, twice read",) if primed else ()),
                "Cask sound, clean, keystone tight",
                rating,
                "Sugar mixed in evenly" if primed else "No sugar into it",
                "Soft pegs at hand, faces out of line",
                "Label on, allergens named",
            )
        case _:
            items = (
                steady,
                *(("Priming sugar weighed, twice read",) if primed else ()),
                f"Bottles sound, rated {rated}" if rated else unknown,
                "Sugar mixed in evenly" if primed else "No sugar into them",
                "Eyes shielded, others away",
                "Label on, allergens named",
            )
    return HoldPoint("before sealing", items)


WRITE = "________"
"""A place to write a number in a line of words."""


def rating_text(vessel: Vessel, units: Units) -> str:
    """Return the rating of a vessel with its unit; empty when it is unknown."""
    return "" if vessel.rating is None else units.text(vessel.rating, "pressure", 1)


def _highest_pressure(assessment: Assessment, units: Units) -> str:
    """Return the pressure at the warmest in store, as planned: the sheet is printed before."""
    expected = assessment.planned.expected.get("highest_pressure")
    if expected is None:
        return BLANK
    at = units.text(assessment.case.packed_highest_temperature, "temperature", 0)
    return f"{units.text(max(expected.value, 0.0), 'pressure', 1)} at {at}"


def _label(assessment: Assessment, units: Units) -> tuple[Labelled, ...]:
    plan = assessment.record.plan
    allergens = ", ".join(allergens_of(assessment)) or "none known"
    strengths = [
        units.text(nominal(kind.now["alcohol"]), "fraction", 3) if "alcohol" in kind.now else BLANK
        for kind in assessment.planned_kinds
    ]
    return (
        Labelled("Name", str(assessment.record.name)),
        Labelled("Batch", str(assessment.record.batch)),
        Labelled("Alcohol", f"{of_each(assessment.planned_kinds, strengths)} by volume"),
        Labelled("Contains", allergens),
        Labelled("Beer", str(plan.beer or BLANK)),
    )
