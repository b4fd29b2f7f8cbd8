"""Walks a case through all stages."""

from __future__ import annotations

from collections.abc import Mapping

from reportgen.forecast import boil, ferment, liquor, mash, pack, pitch, run_off
from reportgen.forecast.book import Book
from reportgen.forecast.case import Case
from reportgen.science.number import Number


def walk(case: Case, readings: Mapping[str, Number] | None = None) -> tuple[Book, list[tuple[str, str]]]:
    """Return the book of expected numbers, and what stopped the walk as (stage, reason).

    With ``readings`` each replaces what its stage expects, for the stages after it. A number
    outside the range of a formula (ValueError) ends the walk at that stage: what depends on it is not guessed.
    """
    book = Book(dict(readings or {}))
    stage = "liquor"
    try:
        treated = liquor.forecast(case, book)
        stage = "mash"
        mash.forecast(case, book, treated)
        stage = "run-off"
        run_off.forecast(case, book, treated)
        stage = "boil"
        boil.forecast(case, book)
        stage = "pitch"
        pitch.forecast(case, book)
        stage = "ferment"
        ferment.forecast(case, book)
        stage = "pack"
        pack.forecast(case, book)
    except ValueError as error:
        return book, [(stage, str(error))]
    return book, []
