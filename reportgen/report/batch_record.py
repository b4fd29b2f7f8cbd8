"""The batch record: the permanent document. Answer first, proof behind it."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen import __version__
from reportgen.assessment.assess import Assessment
from reportgen.report.charts import Chart, charts
from reportgen.report.earlier_chart import earlier_chart
from reportgen.report.flavour_chart import flavour_chart
from reportgen.report.parts import Identity
from reportgen.report.plan_text import identity_of, units_of
from reportgen.report.record_sections.course import CourseLine, course_lines
from reportgen.report.record_sections.deviations import DeviationView, deviations_of
from reportgen.report.record_sections.fermentation import LogLine, log_lines
from reportgen.report.record_sections.figures import (
    FigureGroup,
    figure_groups,
    plan_note,
    unit_notes,
)
from reportgen.report.record_sections.findings import CheckLine, check_lines, silenced_items
from reportgen.report.record_sections.first_page import (
    Count,
    Headline,
    count_lines,
    decision,
    fact_items,
    headline_lines,
    verdict_sentence,
)
from reportgen.report.record_sections.instruments import InstrumentRow, instrument_lines
from reportgen.report.record_sections.lots import LotLine, lot_lines
from reportgen.report.record_sections.notes import NoteView, note_views
from reportgen.report.record_sections.open_issues import issue_lines
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
from reportgen.report.record_sections.words import Item
from reportgen.report.working import WorkingGroup, working

TITLE = "Batch record"


@dataclass(frozen=True)
class RecordView:
    """The batch record, ready to be set."""

    identity: Identity
    beer: str
    facts: tuple[Item, ...]
    sentence: str
    counts: tuple[Count, ...]
    headlines: tuple[Headline, ...]
    issues: tuple[str, ...]
    release: str
    plan_note: str
    deviations: tuple[DeviationView, ...]
    checks: tuple[CheckLine, ...]
    silenced: tuple[Item, ...]
    groups: tuple[FigureGroup, ...]
    closures: tuple[ClosureLine, ...]
    extract: tuple[ExtractLine, ...]
    charts: tuple[Chart, ...]
    earlier: Chart | None
    flavours: Chart | None
    course: tuple[CourseLine, ...]
    log: tuple[LogLine, ...]
    working: tuple[WorkingGroup, ...]
    lots: tuple[LotLine, ...]
    instruments: tuple[InstrumentRow, ...]
    sessions: tuple[SessionView, ...]
    notes: tuple[NoteView, ...]
    signatures: tuple[SignatureLine, ...]
    corrections: tuple[Correction, ...]
    units: tuple[Item, ...]
    source_name: str
    source_hash: str
    version: str


def batch_record(assessment: Assessment, paper: str) -> RecordView:
    """Return the batch record of a batch."""
    units = units_of(assessment)
    deviations = tuple(deviations_of(assessment, units))
    return RecordView(
        identity=identity_of(assessment, TITLE, paper, None),
        beer=str(assessment.record.plan.beer or ""),
        facts=fact_items(assessment, units),
        sentence=verdict_sentence(assessment, deviations),
        counts=count_lines(assessment),
        headlines=headline_lines(assessment, units),
        issues=tuple(issue_lines(assessment, deviations)),
        release=decision(assessment),
        plan_note=plan_note(assessment),
        deviations=deviations,
        checks=tuple(check_lines(assessment)),
        silenced=silenced_items(assessment),
        groups=figure_groups(assessment, units),
        closures=closure_lines(assessment, units),
        extract=extract_lines(assessment, units),
        charts=charts(assessment),
        earlier=earlier_chart(assessment),
        flavours=flavour_chart(assessment),
        course=course_lines(assessment),
        log=log_lines(assessment, units),
        working=working(assessment),
        lots=lot_lines(assessment, units),
        instruments=instrument_lines(assessment),
        sessions=tuple(session_view(s) for s in assessment.record.tasting),
        notes=tuple(note_views(assessment)),
        signatures=tuple(signature_lines(assessment)),
        corrections=tuple(correction_lines(assessment)),
        units=unit_notes(units),
        source_name=assessment.batch.source.file,
        source_hash=assessment.batch.source.sha256,
        version=__version__,
    )
