"""The Working: a document of its own, kept with the batch record."""

from __future__ import annotations

from msgspec import Struct

from reportgen import __version__
from reportgen.assessment.assess import Assessment
from reportgen.assessment.day import not_written
from reportgen.assessment.explained import explain
from reportgen.report.parts import Identity
from reportgen.report.plan_text import identity_of
from reportgen.report.record_sections.instruments import InstrumentRow, instrument_lines
from reportgen.report.working import WorkingGroup, working

TITLE = "Working"


class WorkingView(Struct, frozen=True):
    """Every derivation of a batch, ready to be set; the record names its lines by their numbers."""

    identity: Identity
    working: tuple[WorkingGroup, ...]
    instruments: tuple[InstrumentRow, ...]
    as_planned: str
    record_file: str
    source_name: str
    source_hash: str
    version: str


def working_paper(assessment: Assessment, paper: str) -> WorkingView:
    """Return the working of a batch."""
    return WorkingView(
        identity=identity_of(assessment, TITLE, paper, None),
        working=working(assessment, explain(assessment)),
        instruments=instrument_lines(assessment),
        as_planned=", ".join(not_written(assessment.record, assessment.brewed)),
        record_file=f"{assessment.batch.id}.pdf",
        source_name=assessment.batch.source.file,
        source_hash=assessment.batch.source.sha256,
        version=__version__,
    )
