"""Free texts of the record, in the order of the work."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.forecast.figures import ANALYSED
from reportgen.record.model.later import Analysis
from reportgen.record.values import Text
from reportgen.report.markdown import to_html
from reportgen.report.parts import Note


def _analysis(analysis: Analysis) -> str:
    """Say who measured, when, and what was stated, above the remarks."""
    report = f"report {analysis.report}" if analysis.report else ""
    by = ", ".join(str(part) for part in (analysis.date, analysis.laboratory, report) if part)
    return f"{by}.\n\n{_stated(analysis)}\n\n{analysis.remarks or ''}"


def _stated(analysis: Analysis) -> str:
    """Return the numbers as the laboratory states them; the table of figures rounds its own."""
    parts = []
    for name in (figure.key for figure in ANALYSED):
        reading, u = getattr(analysis, name), getattr(analysis, f"{name}_uncertainty")
        if reading is not None and reading.value is not None:
            plus = f" ±{u.text}" if u is not None else ""
            parts.append(f"{name} {reading.value.text}{plus}")
    return f"Stated: {', '.join(parts)}." if parts else ""


def note_views(assessment: Assessment) -> Iterator[Note]:
    """Return the free texts that are not empty."""
    record = assessment.record
    day = record.brew_day
    texts: list[tuple[str, Text | str | None]] = [("Plan", record.plan.notes)]
    if day is not None:
        texts.append(("Liquor", day.liquor_note))
        for title, section in (
            ("Mash", day.mash), ("Run-off", day.run_off), ("Boil", day.boil),
            ("Cool and pitch", day.pitch),
        ):
            texts.append((title, section.remarks if section else None))
        texts.append(("Brew day", day.remarks))
    if record.fermentation is not None:
        texts.append(("Fermentation", record.fermentation.remarks))
        if record.fermentation.harvest is not None:
            texts.append(("Harvest", record.fermentation.harvest.note))
    if record.packaging is not None:
        texts.append(("Packaging", record.packaging.remarks))
        texts.append(("Story", record.packaging.story))
        texts.append(("Label", record.packaging.label))
    if record.analysis is not None:
        texts.append(("Analysis", _analysis(record.analysis)))
    if record.review is not None:
        texts.append(("Learned, for the next plan", record.review.learned))
    for title, text in texts:
        if text:
            yield Note(title, to_html(text))
