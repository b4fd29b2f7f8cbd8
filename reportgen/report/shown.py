"""What-to-do tables of a batch, set as its instruments show what is read."""

from __future__ import annotations

from functools import partial

from reportgen.assessment.assess import Assessment
from reportgen.forecast.actions import ActionTable
from reportgen.report.numbers import Units
from reportgen.report.parts import Todo
from reportgen.report.plan_text import offset_words, shown
from reportgen.report.tables import figures_read, todo_of


def shown_todo(
    assessment: Assessment, table: ActionTable, mark: str, units: Units, say: bool = True
) -> Todo:
    """Return a what-to-do table as text, its readings as the instruments at hand show them.

    ``say``: which of them show too much stands below it; else it stands above the rows already.
    """
    read = figures_read(table) if say else ()
    said = dict.fromkeys(offset_words(assessment, key) for key in read)
    offsets = ", ".join(words for words in said if words)
    return todo_of(table, mark, units, partial(shown, assessment), offsets)


def sample_offset(assessment: Assessment) -> float:
    """Return what the thermometer of the samples shows too much, K."""
    return shown(assessment, "sample", 20.0) - 20.0
