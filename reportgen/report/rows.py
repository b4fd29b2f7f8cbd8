"""Reading rows of the working sheets: one for every figure that has a place in the record."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping

from reportgen.assessment.assess import Assessment
from reportgen.assessment.instruments import reads_plato
from reportgen.assessment.limits import limits_of
from reportgen.assessment.readings import METHOD_U, uncertainty_at
from reportgen.assessment.verdicts import MOST_TOO_CLOSE, Limits
from reportgen.forecast.book import Expected
from reportgen.forecast.figures import READ, Figure, Stage
from reportgen.record.kinds import KINDS
from reportgen.record.printed import BLANK, EMPTY, NARROW, Units, inwards, places, width_kind
from reportgen.report.parts import Raw, ReadingRow
from reportgen.report.plan_text import (
    instrument_of,
    kind_of,
    offset_words,
    printed_as,
    sheet_units,
    shown,
)

EXPECT, STOP = "Expect", "Stop at"


LETTERS = 20
"""Letters of a name that fit beside the blank at 14 points; beside the clock at 18 as well."""


class Counter:
    """Numbers the rows of a sheet from 1."""

    def __init__(self) -> None:
        self.last = 0

    def next(self) -> str:
        """Return the next number."""
        self.last += 1
        return str(self.last)


def figures_of(stages: Iterable[Stage], section: str) -> Iterator[Figure]:
    """Return the figures read in some stages of one section of the record, in order."""
    wanted = tuple(stages)
    return (f for f in READ if f.stage in wanted and f.path[0] == section)


def can_be_read(figure: Figure, assessment: Assessment) -> bool:
    """Whether there is how to read a figure.

    Cells are counted of a yeast that is measured out by its count; no pH is read without a meter.
    """
    yeast, ours = assessment.case.yeast, assessment.brewery.instruments.values()
    if figure.key == "viable_cells":
        return yeast.is_counted and not yeast.is_weighed
    return figure.instrument != "ph_meter" or any(i.reads == "ph_meter" for i in ours)


def applies(figure: Figure, assessment: Assessment) -> bool:
    """Whether a figure has a row: it is expected, or only noted, and there is how to read it."""
    if figure.only_noted or not can_be_read(figure, assessment):
        return False
    case = assessment.case
    if figure.key == "top_up_liquor" and case.is_mashed and (
        assessment.record.plan.liquor.top_up_liquor is None
    ):
        return False
    return figure.key in assessment.planned.expected or figure.tolerance is None


def read_decimals(assessment: Assessment, figure: Figure) -> int:
    """Return the decimals that the instrument at hand shows, in the base unit.

    Those of the figure when no instrument is known, or it is graduated in degrees Plato or Brix; a
    gravity then has three.
    """
    _, instrument = instrument_of(assessment, figure)
    kind, decimals = printed_as(figure, assessment.case)
    other_scale = instrument is not None and kind == "gravity" and reads_plato(instrument)
    if instrument is None or other_scale or instrument.resolution.kind != width_kind(kind):
        return KINDS[kind].on_sheet(decimals) if kind in KINDS else decimals
    return min(places(instrument.resolution.value), decimals)


NEVER_NEGATIVE = ("volume", "mass", "small_mass", "cells", "pressure")
"""Kinds that cannot lie below zero, so that a limit there says nothing."""


def possible(fine: tuple[float, float], kind: str) -> tuple[float, float]:
    """Return a range without a lower side where that lies below what can be."""
    low, high = fine
    return (-math.inf if low < 0 and kind in NEVER_NEGATIVE else low), high


def planned_limits(assessment: Assessment, figure: Figure) -> Limits | None:
    """Return the limits of a figure as they were planned; None where no verdict is given."""
    expected = assessment.planned.expected.get(figure.key)
    if expected is None:
        return None
    result = next((r for r in assessment.results if r.figure.key == figure.key), None)
    # A sheet stands as planned, though the limits may have moved with a reading.
    if result is not None and result.expected is expected:
        return result.limits
    return limits_of(figure, expected.value, assessment.record, assessment.brewery)


def fine_range(assessment: Assessment, figure: Figure) -> tuple[float, float] | None:
    """Return the range that is fine on a sheet: the limits narrowed by the U of the instrument.

    Taken afresh from the limits, since a result that has a reading is narrowed by the U of that
    reading, which may have come from another instrument than the one planned.
    """
    expected = assessment.planned.expected.get(figure.key)
    limits = planned_limits(assessment, figure)
    if limits is None or expected is None:
        return None
    _, instrument = instrument_of(assessment, figure)
    u = uncertainty_at(instrument, figure.kind, expected.value)
    low, high = limits.narrowed(u, METHOD_U.get(figure.kind, 0.0))
    return possible((low, high), kind_of(figure, assessment.case))


def shown_range(assessment: Assessment, figure: Figure) -> tuple[float, float] | None:
    """Return the range printed on a sheet, as the instrument at hand shows it."""
    fine = fine_range(assessment, figure)
    expected = assessment.planned.expected.get(figure.key)
    if fine is None or (expected is not None and not is_shifted(assessment, figure, expected)):
        return fine
    low, high = (shown(assessment, figure.key, edge) for edge in fine)
    return possible((low, high), kind_of(figure, assessment.case))


def is_shifted(assessment: Assessment, figure: Figure, expected: Expected) -> bool:
    """Whether the instrument of a figure shows another value than the one expected."""
    return shown(assessment, figure.key, expected.value) != expected.value


def stop_at(assessment: Assessment, figure: Figure) -> float | None:
    """Return where to stop, in the base unit: the edge of what is fine, as the sheet rounds it.

    That is the limit, further in by the U of the instrument at hand. Without what the instrument
    shows too much: the sheet adds that. None where nothing is known to stop at.
    """
    fine, read = fine_range(assessment, figure), shown_range(assessment, figure)
    if fine is None or read is None or not math.isfinite(fine[0]):
        return None
    edge = inwards(read[0], read_decimals(assessment, figure), up=True)
    return edge - (read[0] - fine[0])


def row_of(
    assessment: Assessment, figure: Figure, number: str, marks: Mapping[str, str]
) -> ReadingRow:
    """Return the row of one figure."""
    units = sheet_units(assessment)
    kind = kind_of(figure, assessment.case)
    decimals = read_decimals(assessment, figure)
    expected = assessment.planned.expected.get(figure.key)
    fine = shown_range(assessment, figure)

    def as_shown(number: float) -> str:
        return units.text(shown(assessment, figure.key, number), kind, decimals)

    label, value, true = EXPECT, BLANK, None
    coarse: tuple[str, ...] = ()
    if expected is not None:
        true = expected.value
        value = as_shown(true)
        if kind == "cells":
            # The long word would run into the range beside it.
            value = value.replace("billion", "bn")
    note = _note(figure, units)
    planned = assessment.record.plan.pitch.yeast_amount
    if figure.key == "yeast_amount" and planned is not None:
        # What is to be measured out is what the plan says; what the wort needs stands beside it.
        note = f"{value} needed" if expected is not None else ""
        true = planned.value
        value = as_shown(true)
    if figure.key == "original_gravity" and "gravity_with_sugar" in assessment.planned:
        note = "before the sugar"
    if figure.is_stop and fine is not None:
        # Where to stop is what the brewer acts on, so it is the edge of what is fine; the forecast
        # of it is in the record.
        label, true = STOP, stop_at(assessment, figure)
        value = units.join(units.low_edge(fine[0], kind, decimals), kind)
    point = units.decimals(kind, decimals)
    ok = units.range(*fine, kind, decimals) if fine else ""
    limits = planned_limits(assessment, figure)
    twice = False
    if limits is not None and expected is not None and ok != EMPTY:
        _, instrument = instrument_of(assessment, figure)
        u = uncertainty_at(instrument, figure.kind, expected.value)
        # The mean of two readings counts; where nothing can be told, it cannot either.
        twice = limits.share_too_close(u) > MOST_TOO_CLOSE
    if ok == EMPTY and expected is not None:
        ok, coarse = "", _cannot_tell(assessment, figure, expected, decimals)
    offset = ""
    if expected is not None and is_shifted(assessment, figure, expected):
        offset = offset_words(assessment, figure.key)
    return ReadingRow(
        key=figure.key,
        number=number,
        title=figure.in_row or figure.title,
        twice=twice,
        todo=marks.get(figure.key, ""),
        expect_label=label,
        expect=value,
        ok=ok,
        coarse=coarse,
        unit=(KINDS[kind].beside if kind in KINDS else "") or units.label(kind),
        # A dry beer can end below 1.000, so its blank has no printed 1.
        lead="1" if kind == "gravity" and not figure.has_alcohol else "",
        point=point if point else -1,
        sample=(kind in KINDS and KINDS[kind].sampled) or figure.hot,
        note=note,
        offset=offset,
        true=units.number(true, kind, decimals) if offset and true is not None else "",
        raw=_raw(assessment, figure, kind, decimals),
    )


def _cannot_tell(
    assessment: Assessment, figure: Figure, expected: Expected, decimals: int
) -> tuple[str, str]:
    """Return, in two lines, the tolerance and that the instrument at hand is too coarse for it.

    A range of which nothing is left would read as if every value were wrong.
    """
    limits = planned_limits(assessment, figure)
    assert limits is not None
    units, kind = sheet_units(assessment), kind_of(figure, assessment.case)
    half = (limits.high - limits.low) / 2
    middle = (limits.high + limits.low) / 2
    if abs(middle - expected.value) < half / 50:
        width = width_kind(kind)
        step = 10.0 ** -units.decimals(width, decimals)
        finer = decimals + (units.converted(half, width) < step * (1 - 1e-9))
        aim = f"±{units.width(half, kind, finer)}"
    else:
        low, high = (units.number(edge, kind, decimals) for edge in (limits.low, limits.high))
        aim = f"{low}–{high}"
    label = units.label(kind)
    reads = uncertainty_text(assessment, figure).replace(f"{NARROW}{label}", "")
    # The first line stands beside the large value, so it is the short one, without the unit.
    return f"{aim}; reads to", f"{reads}: too coarse"


def _raw(assessment: Assessment, figure: Figure, kind: str, decimals: int) -> Raw:
    expected = assessment.planned.expected.get(figure.key)
    limits = planned_limits(assessment, figure)
    value = expected.value if expected is not None else None
    if limits is None:
        return Raw(kind, decimals, value)
    return Raw(kind, decimals, value, limits.low, limits.high, limits.critical)


def _note(figure: Figure, units: Units) -> str:
    if figure.hot:
        reference = 20.0 if units.system != "US" else 68.0
        unit = "°F" if units.system == "US" else "°C"
        return f"at {reference:.0f}{NARROW}{unit}"
    return ""


def finite(fine: tuple[float, float] | None) -> bool:
    """Whether a range has two sides."""
    return fine is not None and all(math.isfinite(edge) for edge in fine)


def rows_of(
    assessment: Assessment,
    stages: Iterable[Stage],
    counter: Counter,
    marks: Mapping[str, str],
    section: str = "brew_day",
    skipped: Collection[str] = (),
) -> tuple[ReadingRow, ...]:
    """Return the rows of some stages, numbered on; without those of ``skipped`` figures."""
    return tuple(
        row_of(assessment, figure, counter.next(), marks)
        for figure in figures_of(stages, section)
        if figure.key not in skipped and applies(figure, assessment)
    )


def uncertainty_text(assessment: Assessment, figure: Figure) -> str:
    """Return the ±U (k = 2) of the instrument at hand for a figure, with its unit."""
    _, instrument = instrument_of(assessment, figure)
    if instrument is None:
        return BLANK
    units = sheet_units(assessment)
    expected = assessment.planned.expected.get(figure.key)
    u = uncertainty_at(instrument, figure.kind, expected.value if expected else 1.04)
    decimals = max(KINDS[figure.kind].decimals, figure.decimals)
    text = units.plus_minus(u, figure.kind, decimals)
    unit = units.label(figure.kind)
    return f"{text}{NARROW}{unit}" if unit else text
