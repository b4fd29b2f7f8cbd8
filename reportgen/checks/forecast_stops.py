"""The forecast cannot be carried through.

A number of the plan or of a reading lies outside the range in which a formula holds, so nothing
after that stage is computed. Usually it is a slip of the decimal point or of a unit.

Mend: mend the number named, or leave the reading out until it is clear
Source: ranges stated with each method
Passes:
    {}
Fails:
    plan: {liquor: {mash_volume: 4 L}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks import final_above_original
from reportgen.checks.base import Group, Said
from reportgen.checks.house_cause import wrong_figure
from reportgen.checks.inputs import planned_like
from reportgen.checks.quantities import quantity, system_of, value_of
from reportgen.forecast.arguments import argument_text, why_stopped
from reportgen.forecast.book import Book
from reportgen.forecast.figures import FIGURES
from reportgen.forecast.walk import walk
from reportgen.record.finding import Position, Severity
from reportgen.science.method import OutOfRange
from reportgen.science.number import nominal

GROUP = Group.KIT
SEVERITY = Severity.MAJOR

SECTIONS = {
    "liquor": "liquor", "mash": "mash", "run-off": "run_off", "boil": "boil", "pitch": "pitch",
    "ferment": "ferment", "pack": "pack",
}  # fmt: skip
"""Section of the plan that each stage of the forecast goes by."""


def check(batch: Assessment) -> Iterator[Said]:
    """Pass on what stopped the forecast, at the reading or the value of the plan it comes from."""
    told = any(final_above_original.check(batch))
    for stage, reason in batch.problems:
        if told and stage in ("ferment", "pack"):
            continue
        books = (batch.planned, batch.now)
        system = system_of(batch)
        book = next(
            (b for b in books if b.stopped and why_stopped(b.stopped, system) == reason),
            batch.planned,
        )
        key = _reading(batch, book, stage) if book is batch.now else ""
        error = book.stopped
        where, why = _section(batch, stage), _why(batch, error, reason)
        if key:
            figure, value = FIGURES[key], nominal(book[key])
            where = batch.actuals[key].reading.position or where
            read = value_of(figure, value, batch)
            if isinstance(error, OutOfRange) and abs(error.value - value) <= 1e-9 * abs(value):
                low, high = (value_of(figure, v, batch) for v in (error.low, error.high))
                why = f"{figure.in_sentence} {read}, outside {low} to {high}"
            else:
                why = f"with the {figure.in_sentence} of {read}, {why}"
        elif isinstance(error, OutOfRange):
            where = _planned(batch, stage, error) or where
        cause = None if key else wrong_figure(batch)
        if cause is not None:
            # The same words for every batch: it is one fault, told once, where it is written.
            where, why = cause.position, f"it goes by `{cause.text}`, which cannot be right"
        yield Said(where, f"no forecast from {stage} on: {why}")


def _why(batch: Assessment, error: Exception | None, reason: str) -> str:
    """Say why a stage cannot be computed, in the units of the house."""
    if not isinstance(error, OutOfRange):
        return reason
    if error.name == "minutes" and error.method == "boil.volume_after_boil":
        boil, dry = (quantity(v, "time", 0, batch) for v in (error.value, error.high))
        return f"the boil takes {boil}, and the kettle is dry after {dry}"
    figure = FIGURES.get(error.name)
    name = figure.in_sentence if figure is not None else error.name.replace("_", " ")
    value, low, high = (
        argument_text(v, error.unit, system_of(batch))
        for v in (error.value, error.low, error.high)
    )
    return f"the {name} would be {value}, outside {low} to {high}"


def _reading(batch: Assessment, book: Book, stage: str) -> str:
    """Return the reading without which the stage could be forecast; empty if not just one is."""
    found = []
    for key in book.readings:
        others = {k: n for k, n in book.readings.items() if k != key}
        _, problems = walk(batch.case, others)
        if all(where != stage for where, _ in problems):
            found.append(key)
    return found[0] if len(found) == 1 and found[0] in batch.actuals else ""


def _section(batch: Assessment, stage: str) -> Position | None:
    section = getattr(batch.record.plan, SECTIONS[stage])
    return section.position or batch.record.plan.position


def _planned(batch: Assessment, stage: str, error: OutOfRange) -> Position | None:
    """Return where the plan has the number that a formula refuses, if there is just one such."""
    section = getattr(batch.record.plan, SECTIONS[stage])
    for part in (section, batch.record.plan):
        found = planned_like(part, error.value, error.unit)
        if len(found) == 1:
            return found[0].position
    return None
