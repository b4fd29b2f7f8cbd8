"""What-to-do tables of a batch, set as its instruments show what is read."""

from __future__ import annotations

from functools import partial

from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.forecast.actions import LOG, ActionTable, tables
from reportgen.forecast.remedies import clock_of, entry_of, remedy
from reportgen.record.printed import Units
from reportgen.report.parts import Todo
from reportgen.report.plan_text import offset_words, shown
from reportgen.report.tables import figures_read, todo_of


def tables_of(assessment: Assessment, section: str = "") -> list[ActionTable]:
    """Return the what-to-do tables of a batch, in steps of the house's units.

    ``section`` asks for those of one part of the record.
    """
    system = assessment.brewery.system
    return tables(assessment.case, assessment.planned, system, section)


IN_REMARKS = "What was done: under Remarks, with its time."


def shown_todo(
    assessment: Assessment, table: ActionTable, mark: str, units: Units, say: bool = True
) -> Todo:
    """Return a what-to-do table as text, its readings as the instruments at hand show them.

    ``say``: which of them show too much stands below it; else it stands above the rows already.
    """
    read = figures_read(table) if say else ()
    said = dict.fromkeys(offset_words(assessment, key) for key in read)
    offsets = ", ".join(words for words in said if words)
    made = todo_of(table, mark, units, partial(shown, assessment), offsets)
    what, to = added_by(assessment, table)
    if table.rows and entry_of(table, 0) == LOG:
        made = replace(made, note=f"{made.note} {IN_REMARKS}".lstrip())
    return replace(made, entry=what, entry_to=to, clock=clock_of(table))


def added_by(assessment: Assessment, table: ActionTable) -> tuple[str, str]:
    """Return what the rows of a table put in, and where, as `added` of the record names them.

    Both empty where no row puts anything in.
    """
    for number in range(len(table.rows)):
        made = remedy(
            table, number, assessment.case.boiling, assessment.record, assessment.stock
        )
        if made is not None:
            return made.what, made.to
    return "", ""


def sample_offset(assessment: Assessment) -> float:
    """Return what the thermometer of the samples shows too much, K."""
    return shown(assessment, "sample", 20.0) - 20.0
