"""The batch record: the permanent document. Answer first, proof behind it."""

from __future__ import annotations

from msgspec import Struct

from reportgen import __version__
from reportgen.assessment.assess import Assessment
from reportgen.assessment.explained import explain
from reportgen.report.charts import Chart, runnings
from reportgen.report.earlier_chart import earlier_chart
from reportgen.report.flavour_chart import flavour_chart
from reportgen.report.parts import Identity, Labelled, Note
from reportgen.report.plan_text import identity_of, units_of
from reportgen.report.plan_to_glass import PlanToGlass, plan_to_glass
from reportgen.report.record_sections.course import CourseLine, course_lines, in_halves
from reportgen.report.record_sections.deviations import DeviationView, deviations_of
from reportgen.report.record_sections.fermentation import LogLine, log_lines
from reportgen.report.record_sections.findings import CheckLine, check_lines, silenced_items
from reportgen.report.record_sections.first_page import (
    Count,
    Headline,
    count_lines,
    decision,
    fact_line,
    headline_lines,
    learned,
    signed_by,
    tasted,
    verdict_sentence,
    went_lines,
)
from reportgen.report.record_sections.instruments import InstrumentRow, instrument_lines
from reportgen.report.record_sections.ions import IonLine, ion_lines
from reportgen.report.record_sections.lots import LotLine, UsedLine, lot_lines, used_lines
from reportgen.report.record_sections.notes import note_views
from reportgen.report.record_sections.open_issues import issue_lines
from reportgen.report.record_sections.photos import PhotoView, photo_views
from reportgen.report.record_sections.plan_against_actual import (
    FigureGroup,
    figure_groups,
    plan_note,
    unit_notes,
)
from reportgen.report.record_sections.reconciliation import (
    ClosureLine,
    ExtractLine,
    closure_lines,
    extract_lines,
)
from reportgen.report.record_sections.signatures import (
    Correction,
    SignatureLine,
    correction_lines,
    signature_lines,
)
from reportgen.report.record_sections.tasting import SessionView, session_view
from reportgen.report.small_fermentation import small_fermentation
from reportgen.report.working import lines_of, working

TITLE = "Batch record"


class RecordView(Struct, frozen=True):
    """The batch record, ready to be set."""

    identity: Identity
    beer: str
    facts: str
    sentence: str
    counts: tuple[Count, ...]
    headlines: tuple[Headline, ...]
    went: tuple[str, ...]
    tasted: str
    learned: str
    signed_by: str
    fermentation: Chart | None
    issues: tuple[str, ...]
    release: str
    working_file: str
    plan_note: str
    glass: PlanToGlass | None
    deviations: tuple[DeviationView, ...]
    checks: tuple[CheckLine, ...]
    silenced: tuple[Labelled, ...]
    groups: tuple[FigureGroup, ...]
    closures: tuple[ClosureLine, ...]
    extract: tuple[ExtractLine, ...]
    ions: tuple[IonLine, ...]
    charts: tuple[Chart, ...]
    earlier: Chart | None
    course: tuple[CourseLine, ...]
    course_wide: tuple[CourseLine, ...]
    log: tuple[LogLine, ...]
    warmth: str
    lots: tuple[LotLine, ...]
    instruments: tuple[InstrumentRow, ...]
    used: tuple[UsedLine, ...]
    sessions: tuple[SessionView, ...]
    notes: tuple[Note, ...]
    photos: tuple[PhotoView, ...]
    signatures: tuple[SignatureLine, ...]
    corrections: tuple[Correction, ...]
    units: tuple[Labelled, ...]
    source_name: str
    source_hash: str
    version: str


def batch_record(assessment: Assessment, paper: str) -> RecordView:
    """Return the batch record of a batch."""
    units = units_of(assessment)
    explained = explain(assessment)
    lines = lines_of(working(assessment, explained))
    deviations = tuple(deviations_of(assessment, units, explained))
    course, course_wide = in_halves(course_lines(assessment))
    return RecordView(
        identity=identity_of(assessment, TITLE, paper, None),
        beer=str(assessment.record.plan.beer or ""),
        facts=fact_line(assessment, units),
        sentence=verdict_sentence(assessment, deviations),
        counts=count_lines(assessment),
        headlines=headline_lines(assessment, units, lines),
        went=went_lines(assessment, deviations),
        tasted=tasted(assessment),
        learned=learned(assessment),
        signed_by=signed_by(assessment),
        fermentation=small_fermentation(assessment),
        issues=tuple(issue_lines(assessment, deviations)),
        release=decision(assessment),
        working_file=f"{assessment.batch.id}-working.pdf",
        plan_note=plan_note(assessment),
        glass=plan_to_glass(assessment, explained, lines),
        deviations=deviations,
        checks=tuple(check_lines(assessment)),
        silenced=silenced_items(assessment),
        groups=figure_groups(assessment, units, lines),
        closures=closure_lines(assessment, units, lines),
        extract=extract_lines(assessment, units, lines),
        ions=ion_lines(assessment),
        charts=tuple(c for c in (runnings(assessment), flavour_chart(assessment)) if c),
        earlier=earlier_chart(assessment),
        course=course,
        course_wide=course_wide,
        log=log_lines(assessment, units),
        warmth=units.label("temperature"),
        lots=lot_lines(assessment, units),
        instruments=instrument_lines(assessment),
        used=used_lines(assessment),
        sessions=tuple(session_view(s, units) for s in assessment.record.tasting),
        notes=tuple(note_views(assessment)),
        photos=photo_views(assessment),
        signatures=tuple(signature_lines(assessment)),
        corrections=tuple(correction_lines(assessment)),
        units=unit_notes(units),
        source_name=assessment.batch.source.file,
        source_hash=assessment.batch.source.sha256,
        version=__version__,
    )
