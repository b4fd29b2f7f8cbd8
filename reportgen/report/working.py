"""The Working: every computed number can be derived again by hand from what stands here.

Figures that share a calculation stand together: its formula, range, uncertainty and source once,
then a line a figure with the numbers put in, the unrounded result and how it is printed. The lines
are numbered, and the record names the lines of each number that it prints.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.assessment.balance import Closure, closures, extract_steps, extract_title
from reportgen.assessment.carried import carried
from reportgen.assessment.day_fact import Moved
from reportgen.assessment.explained import Explained
from reportgen.assessment.replay import Replay
from reportgen.forecast.book import Expected, Forecast, InputValue
from reportgen.forecast.figures import DERIVED, FIGURES, IONS, OUTCOMES
from reportgen.record.printed import MINUS, NARROW, Units
from reportgen.report.plan_text import amount_text, printed_as, sentence, units_of
from reportgen.science.method import METHODS, Input, Page, page
from reportgen.science.number import nominal


class WorkingLine(Struct, frozen=True):
    """One derivation: what was computed, from which numbers, what came out, how it is printed.

    ``key`` is the figure it is of; ``number`` the line's number in the document.
    """

    title: str
    puts: tuple[str, ...]
    result: str
    printed: str
    note: str
    key: str = ""
    number: str = ""


class WorkingGroup(Struct, frozen=True):
    """One calculation and every number that came of it.

    ``formula`` and what follows are empty for numbers taken from the plan or made by a plain
    balance that the note states.
    """

    title: str
    formula: str
    inputs: tuple[str, ...]
    uncertainty: str
    source: str
    lines: tuple[WorkingLine, ...]
    marks: tuple[str, ...]


def figure_text(value: float) -> str:
    """Return a number unrounded, as far as it means anything, with a true minus sign."""
    return f"{value:.8g}".replace("-", MINUS)


def put_text(put: InputValue) -> str:
    """Return one number put in, as ``name = value unit``."""
    value = f"{nominal(put.value):.{put.decimals}f}".replace("-", MINUS)
    return f"{put.name} = {value}{' ' + put.unit if put.unit else ''}"


def input_text(documented: Input) -> str:
    """Return the range in which a formula takes one of its inputs."""
    name = documented.name.replace("_", " ")
    if documented.low is None:
        return symbols(f"{name}: {documented.unit}")
    text = f"{name} {documented.low:g} to {documented.high:g} {documented.unit}"
    if documented.trusted_low is not None:
        text += f" (trusted {documented.trusted_low:g} to {documented.trusted_high:g})"
    return symbols(text)


def _printed(assessment: Assessment, units: Units, key: str, value: float) -> str:
    return units.text(value, *printed_as(FIGURES[key], assessment.case))


def _line(
    assessment: Assessment, units: Units, expected: Expected, suffix: str
) -> WorkingLine:
    return WorkingLine(
        FIGURES[expected.key].title + suffix,
        tuple(put_text(put) for put in expected.puts),
        figure_text(expected.value),
        _printed(assessment, units, expected.key, expected.value),
        expected.note,
        expected.key,
    )


def _marks(books: Iterable[Forecast], method: str) -> tuple[str, ...]:
    """Say what lay outside the trusted range of a calculation, one line an input."""
    values: dict[tuple[str, str, float, float], list[str]] = {}
    for book in books:
        for mark in book.marks:
            if mark.method == method:
                name = mark.name.replace("_", " ")
                met = values.setdefault((name, mark.unit, mark.low, mark.high), [])
                met.append(f"{mark.value:.4g}")
    return tuple(
        symbols(
            f"{name} {', '.join(dict.fromkeys(met))} {unit}, outside the trusted "
            f"{low:g} to {high:g}: an extrapolation"
        )
        for (name, unit, low, high), met in values.items()
    )


def symbols(text: str) -> str:
    """Write degrees and minus signs as they are printed."""
    return text.replace("degC", "°C").replace("degP", "°P").replace(" -", f" {MINUS}")


def _differs(planned: Expected | None, now: Expected) -> bool:
    return planned is None or abs(planned.value - now.value) > 1e-12 * abs(now.value)


def _notes_once(lines: list[WorkingLine]) -> list[WorkingLine]:
    """Leave out a note that the line above has said already."""
    kept: list[WorkingLine] = []
    said = ""
    for line in lines:
        kept.append(replace(line, note="") if line.note == said and line.puts else line)
        said = line.note
    return kept


def _group(
    title: str, method: str, lines: list[WorkingLine], marks: tuple[str, ...]
) -> WorkingGroup:
    lines = _notes_once(lines)
    if method not in METHODS:
        return WorkingGroup(title, "", (), "", "", tuple(lines), marks)
    manual: Page = page(method)
    return WorkingGroup(
        symbols(manual.title),
        symbols(manual.formula),
        tuple(input_text(i) for i in manual.inputs),
        symbols(manual.uncertainty).rstrip("."),
        manual.source.rstrip("."),
        tuple(lines),
        marks,
    )


WITH_READINGS = frozenset(
    {
        *DERIVED,
        *(f"cast_out_{ion}_of_liquor" for ion in IONS),
        *(key for key, figure in FIGURES.items() if figure.headline and not figure.path),
    }
)
"""Figures of which the record prints what the readings make of them."""

PLAIN = "From the plan, the kit, or a plain balance"
"""Heading of the figures that no published formula is needed for."""


def working(assessment: Assessment, explained: Explained) -> tuple[WorkingGroup, ...]:
    """Return every derivation of a batch, calculations in the order in which they are first used.

    A figure is derived from the plan. Those that the record prints as computed with the readings
    are derived once more with these. Corrections of readings follow.
    """
    units = units_of(assessment)
    planned, now = assessment.planned, assessment.now
    books = [book for kind in assessment.packed_as for book in (kind.planned, kind.now)]
    by_method: dict[str, list[WorkingLine]] = {}
    for key in FIGURES:
        first, second = planned.expected.get(key), now.expected.get(key)
        if first is not None:
            by_method.setdefault(first.method, []).append(
                _line(assessment, units, first, "")
            )
        again = key in WITH_READINGS and now.readings
        if second is not None and again and _differs(first, second):
            by_method.setdefault(second.method, []).append(
                _line(assessment, units, second, ", with the readings")
            )
    for other in assessment.others_filled:
        for method, line in _of_others(other, units):
            by_method.setdefault(method, []).append(line)
    for method, lines in _corrections(assessment, units).items():
        by_method.setdefault(method, []).extend(lines)
    plain = by_method.pop("", [])
    groups = [
        _group(method, method, lines, _marks(books, method))
        for method, lines in by_method.items()
    ]
    used = set(by_method)
    # Marks of calculations inside others, which have no line of their own.
    inner = tuple(
        text
        for name in dict.fromkeys(m.method for book in books for m in book.marks)
        if name not in used
        for mark in _marks(books, name)
        for text in (f"{symbols(page(name).title)}: {mark}",)
    )
    if plain or inner:
        groups.insert(0, WorkingGroup(PLAIN, "", (), "", "", tuple(_notes_once(plain)), inner))
    groups += [*_balances(assessment, units), *_steps(assessment, explained.replay, units)]
    return _numbered(groups)


def line_key(of: Assessment, key: str) -> str:
    """Return what the lines of a figure are found by: of other containers apart."""
    return f"{key}@{of.filling_number}" if of.filling_number else key


def _of_others(other: Assessment, units: Units) -> Iterator[tuple[str, WorkingLine]]:
    """Yield what is derived of other containers than the first, with its calculation."""
    for key in (result.figure.key for result in other.own_results):
        first, second = other.planned.expected.get(key), other.now.expected.get(key)
        for expected, words in ((first, ""), (second, ", with the readings")):
            if expected is None or (words and not _differs(first, expected)):
                continue
            line = _line(other, units, expected, f", {other.packed_in}{words}")
            yield expected.method, replace(line, key=line_key(other, key))


def _numbered(groups: Iterable[WorkingGroup]) -> tuple[WorkingGroup, ...]:
    """Number the lines in one run over all groups."""
    numbered, number = [], 0
    for group in groups:
        lines = []
        for line in group.lines:
            number += 1
            lines.append(replace(line, number=str(number)))
        numbered.append(replace(group, lines=tuple(lines)))
    return tuple(numbered)


def lines_of(groups: Iterable[WorkingGroup]) -> dict[str, str]:
    """Return by figure, or by the title of a balance, the numbers of its lines: ``12, 41``."""
    lines: dict[str, list[str]] = {}
    for group in groups:
        for line in group.lines:
            lines.setdefault(line.key or line.title, []).append(line.number)
    return {key: ", ".join(numbers) for key, numbers in lines.items()}


def _steps(assessment: Assessment, replay: Replay, units: Units) -> Iterator[WorkingGroup]:
    """Yield what each fact of the day moved in the finished beer, with the ±U of each step."""
    lines = tuple(
        WorkingLine(
            ", ".join(filter(None, (sentence(step.title), amount_text(assessment, step)))),
            tuple(
                f"{FIGURES[key].in_sentence} {step_text(units, key, change)}"
                for key, change in step.moved.items()
                if key in OUTCOMES
            ),
            "",
            "",
            "",
            f"step:{step.key}",
        )
        for step in replay.steps
        if any(key in OUTCOMES for key in step.moved)
    )
    if lines:
        yield WorkingGroup(GLASS, "", (), "", "", lines, ())


def step_text(units: Units, key: str, change: Moved) -> str:
    """Return a step with its ±U, in the unit of the house, two decimals finer than the figure."""
    kind, decimals = FIGURES[key].kind, FIGURES[key].decimals + 2
    shown = units.difference(change.size, kind, decimals)
    return units.join(f"{shown} {units.plus_minus(change.uncertainty, kind, decimals)}", kind)


GLASS = "From plan to glass: forecast of the beer with this fact, less the forecast without it"
"""Heading of the steps of the replay."""


def _closure(c: Closure, units: Units) -> WorkingLine:
    unit = "L" if c.kind == "volume" else "g"
    went_in, out, lost, u = (
        f"{n if unit == 'L' else 1000 * n:.3f} {unit}"
        for n in (c.went_in, c.came_out, c.known_loss, c.uncertainty)
    )
    return WorkingLine(
        c.title,
        (f"in = {went_in}", f"out = {out}", f"{c.loss_name} = {lost}"),
        figure_text(c.unexplained),
        units.text(c.unexplained, c.kind, c.decimals),
        f"unexplained = in − out − loss, with ±{u}",
    )


def _balances(assessment: Assessment, units: Units) -> Iterator[WorkingGroup]:
    """Yield the balance of volume of each stage, of what the beer carries, and of the extract."""
    for title, balances in (
        ("Balance of volume, cold", closures(assessment)),
        ("Balance of what the beer carries", carried(assessment)),
    ):
        lines = tuple(_closure(c, units) for c in balances)
        if lines:
            yield WorkingGroup(title, "", (), "", "", lines, ())
    steps = extract_steps(assessment)
    shares = tuple(
        WorkingLine(
            extract_title(step),
            (f"extract found = {step.mass:.4f} kg", f"of {steps[0].mass:.4f} kg in all"),
            figure_text(step.actual),
            f"{100 * step.actual:.1f}{NARROW}%",
            f"planned {100 * step.planned:.3f} %",
        )
        for step in steps
        if step.mass is not None and step.actual is not None
    )
    if shares:
        yield WorkingGroup("Balance of extract", "", (), "", "", shares, ())


def _corrections(assessment: Assessment, units: Units) -> dict[str, list[WorkingLine]]:
    lines: dict[str, list[WorkingLine]] = {}
    for key, actual in assessment.actuals.items():
        if not actual.method or actual.value is None or actual.raw is None:
            continue
        quantity = actual.reading.value
        sample = actual.reading.sample_temperature
        puts = [f"reading = {quantity.text if quantity else figure_text(actual.raw)}"]
        if sample is not None:
            puts.append(f"sample at {sample.text}")
        known = actual.instrument if actual.instrument_is_known else ""
        instrument = assessment.brewery.instruments.get(known)
        if instrument is not None and instrument.reference_temperature is not None:
            puts.append(f"reads true at {instrument.reference_temperature.text}")
        if instrument is not None and instrument.wort_factor is not None:
            puts.append(f"wort factor = {instrument.wort_factor.text}")
        lines.setdefault(actual.method, []).append(
            WorkingLine(
                f"{FIGURES[key].title}, reading corrected",
                tuple(puts),
                figure_text(actual.value),
                _printed(assessment, units, key, actual.value),
                "; ".join(words for words in (actual.offset, actual.note) if words),
                key,
            )
        )
    return lines
