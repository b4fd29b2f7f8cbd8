"""The packaging sheet: nothing sealed before two steady readings, nothing gassed over a rating."""

from __future__ import annotations

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.forecast.figures import FIGURES, Stage
from reportgen.forecast.vessels import Vessel
from reportgen.record.printed import BLANK, NARROW, Units
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


class PackagingView(Struct, frozen=True):
    """The packaging sheet, ready to be set."""

    identity: Identity
    unit_note: str
    facts: tuple[Labelled, ...]
    gate: str
    gate_rows: tuple[ReadingRow, ...]
    cautions: tuple[Caution, ...]
    rows: tuple[ReadingRow, ...]
    containers: tuple[Blank, ...]
    todos: tuple[Todo, ...]
    lookups: tuple[Lookup, ...]
    hold_point: HoldPoint
    label: tuple[Labelled, ...]
    cleaning: tuple[Caution, ...]
    signatures: tuple[Signature, ...]


def packaging_sheet(assessment: Assessment, paper: str, copy: int = 1) -> PackagingView:
    """Return the packaging sheet of a batch."""
    units = sheet_units(assessment)
    plan = assessment.record.plan
    tables = tables_of(assessment, "packaging")
    own = [t for t in tables if FIGURES[t.figure].stage is Stage.PACK]
    marks = marks_of(own)
    counter = Counter()
    gate_rows = _gate(assessment, counter)
    return PackagingView(
        identity=identity_of(assessment, TITLE, paper, copy),
        unit_note=gallon_note(assessment),
        facts=(
            Labelled("Into", assessment.case.container.name or str(plan.packaging.into)),
            Labelled("Carbonation", units.text(plan.packaging.carbonation.value, "carbonation", 1)),
            Labelled("Highest pressure", _highest_pressure(assessment, units)),
            Labelled("Rating", rating_text(assessment.case.container, units) or "unknown"),
            Labelled("Date", ""),
        ),
        gate=_gate_words(assessment),
        gate_rows=gate_rows,
        cautions=(
            *cautions_of(assessment, str(plan.packaging.into)),
            *limits_above(assessment, units, "packaging"),
        ),
        rows=rows_of(assessment, [Stage.PACK], counter, marks, "packaging"),
        containers=(
            Blank("Containers", "sample", place="packaging.containers"),
            Blank("Size of one", "sample", _size_unit(assessment), "packaging.container_size"),
            Blank("Rejects", "sample", place="packaging.rejects"),
            *(
                (
                    Blank(
                        "Liquor with the sugar", "sample", units.label("jug_volume"),
                        "packaging.added.1.amount",
                        (("what", str(plan.liquor.blend[0].liquor)), ("to", "container")),
                    ),
                )
                if str(plan.packaging.into) != "keg" else ()
            ),
        ),
        todos=tuple(shown_todo(assessment, t, marks[t.figure], units) for t in own),
        lookups=gravity_lookup(assessment, "final_gravity"),
        hold_point=_hold_point(assessment, units),
        label=_label(assessment, units),
        cleaning=cautions_of(assessment, "clean"),
        signatures=signed_by(
            assessment,
            Signature("Packer", "beer packaged and counted"),
            Signature("Checker", "label read against this sheet"),
        ),
    )


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
    unknown = f"Rating unknown: read the plate {WRITE}{NARROW}{units.label('pressure')}"
    rating = f"Rating {rated}, as on its own plate" if rated else unknown
    steady = "Two steady readings, written above"
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
                "Priming sugar weighed, twice read",
                "Cask sound, clean, keystone tight",
                rating,
                "Sugar mixed in evenly",
                "Soft pegs at hand, faces out of line",
                "Label on, allergens named",
            )
        case _:
            items = (
                steady,
                "Priming sugar weighed, twice read",
                f"Bottles sound, rated {rated}" if rated else unknown,
                "Sugar mixed in evenly",
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
    found = assessment.planned.expected.get("highest_pressure")
    if found is None:
        return BLANK
    at = units.text(assessment.case.packed_highest_temperature, "temperature", 0)
    return f"{units.text(max(found.value, 0.0), 'pressure', 1)} at {at}"


def _label(assessment: Assessment, units: Units) -> tuple[Labelled, ...]:
    plan = assessment.record.plan
    allergens = ", ".join(allergens_of(assessment)) or "none known"
    strength = BLANK
    if "alcohol" in assessment.now:
        strength = units.text(nominal(assessment.now["alcohol"]), "fraction", 3)
    return (
        Labelled("Name", str(assessment.record.name)),
        Labelled("Batch", str(assessment.record.batch)),
        Labelled("Alcohol", f"{strength} by volume"),
        Labelled("Contains", allergens),
        Labelled("Beer", str(plan.beer or BLANK)),
    )
