"""Numbers as the checks say them: units of the house, decimals of the figure, in plain text.

Values come in the base unit of a figure's kind. Documents go by the same rules, but their numbers
are made for paper, with narrow spaces and ranges.
"""

from __future__ import annotations

import math

from reportgen.assessment.assess import Assessment
from reportgen.assessment.corrections import Actual
from reportgen.forecast.figures import Figure
from reportgen.record.kinds import is_share
from reportgen.record.model.plan import CriticalLimit
from reportgen.record.printed import Units, fine, fixed, width_kind
from reportgen.record.units import Quantity


def quantity(value: float, kind: str, decimals: int, batch: Assessment) -> str:
    """Return a number with its unit. ``decimals`` are those in the base unit of the kind."""
    return Units(batch.brewery.system).plain(value, kind, decimals)


def temperature(value: float, batch: Assessment, decimals: int = 1) -> str:
    """Return a temperature in degC with the unit of the house."""
    return quantity(value, "temperature", decimals, batch)


def volume(value: float, batch: Assessment, decimals: int = 1) -> str:
    """Return a volume in L with the unit of the house."""
    return quantity(value, "volume", decimals, batch)


def like(given: Quantity, value: float) -> str:
    """Return a value in base units in the unit in which another was written."""
    return f"{float(f'{given.number * value / given.value:.2g}'):g} {given.unit}"


def as_read(actual: Actual, value: str) -> str:
    """Return a corrected value, and what was typed where the correction moved it.

    ``value`` is the corrected one with its unit.
    """
    typed = actual.reading.value
    if typed is None or not actual.value:
        return value
    in_extract = typed.unit in ("P", "Bx")
    if not in_extract and math.isclose(actual.correction, 0.0, abs_tol=1e-9):
        return value
    return f"{value} ({typed.text} read)"


def gravity_read(actual: Actual) -> str:
    """Return a corrected gravity, and what was typed where the two differ."""
    return as_read(actual, f"{actual.value or 0.0:.4f}")


def volume_read(actual: Actual, batch: Assessment) -> str:
    """Return a corrected volume with its unit, and what was typed where the two differ."""
    return as_read(actual, volume(actual.value or 0.0, batch))


def edges_of(limit: CriticalLimit) -> str:
    """Return what a critical limit allows, as it is written."""
    edges = (("at least", limit.at_least), ("at most", limit.at_most))
    return " and ".join(f"{words} {edge.text}" for words, edge in edges if edge is not None)


def _told_as(figure: Figure) -> tuple[str, int]:
    """Return the kind and decimals that a figure is told in: grams only of what has a reading."""
    has_place = len(figure.path) > 1
    return fine(figure.kind, figure.decimals) if has_place else (figure.kind, figure.decimals)


def value_of(figure: Figure, value: float, batch: Assessment) -> str:
    """Return a value of a figure with its unit."""
    return quantity(value, *_told_as(figure), batch)


def width_of(figure: Figure, width: float, batch: Assessment, signed: bool = False) -> str:
    """Return a difference, U or tolerance of a figure with its unit.

    It has the decimals of the figure, and more where these would round it by a tenth or more: so
    no width but nought is printed as nought. Shares are told in percentage points.
    """
    (kind, decimals), system = _told_as(figure), batch.brewery.system
    shown = width_number(kind, decimals, width, system)
    if signed and width > 0 and shown.strip("0."):
        shown = f"+{shown}"
    if is_share(kind):
        return f"{shown} percentage points"
    return f"{shown} {Units(system).label(width_kind(kind))}".rstrip()


def width_number(kind: str, decimals: int, width: float, system: str) -> str:
    """Return the number of a difference or U of a kind, in a system of units.

    It has the decimals given, those in the base unit, and more where these would round it by a
    tenth or more.
    """
    of_width, units = width_kind(kind), Units(system)
    # What is left of a sum that ought to be nought is nought.
    exact = round(units.converted(width, of_width), 9)
    places = units.decimals(of_width, decimals)
    while places < 6 and not math.isclose(round(exact, places), exact, rel_tol=0.1):
        places += 1
    return fixed(exact, places)
