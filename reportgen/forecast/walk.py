"""Walks a case through all stages."""

from __future__ import annotations

from collections.abc import Mapping

from reportgen.forecast import (
    boil,
    extract_kettle,
    ferment,
    liquor,
    mash,
    method_u,
    pack,
    pitch,
    run_off,
)
from reportgen.forecast.book import Forecast
from reportgen.forecast.case import Case
from reportgen.science.method import reckoning
from reportgen.science.number import Number

COOLING = "bitterness.boiling_equivalent"
"""What isomerises while the wort cools lies outside this method's trusted range in every batch, and
brings a milligram or so: it is not worth a mark."""

Problems = list[tuple[str, Exception]]


def walk(case: Case, readings: Mapping[str, Number] | None = None) -> tuple[Forecast, Problems]:
    """Return the book of expected numbers, and what could not be computed as (stage, error).

    With ``readings`` each replaces what its stage expects, for the stages after it. A number
    outside the range of a formula, or one that cannot be computed with (division by nought,
    overflow), ends its step: what depends on it is not guessed, and what does not, goes on.
    Extrapolations are marked in the book.
    """
    book = Forecast(dict(readings or {}))
    with reckoning(method_u.own_cause(case)) as marks:
        if case.is_mashed:
            _mashed(case, book)
        else:
            with book.step("run-off"):
                extract_kettle.forecast(case, book)
        for stage, later in (
            ("boil", boil.forecast),
            ("pitch", pitch.forecast),
            ("ferment", ferment.forecast),
            ("pack", pack.forecast),
        ):
            with book.step(stage):
                later(case, book)
    book.marks.extend(m for m in marks if m.method != COOLING)
    return book, book.problems


def _mashed(case: Case, book: Forecast) -> None:
    with book.step("liquor"):
        treated = liquor.forecast(case, book)
        with book.step("mash"):
            treated = mash.forecast(case, book, treated)
            with book.step("run-off"):
                run_off.forecast(case, book, treated)
