"""Fields that may hold more than one kind of quantity, and the call that reads any field."""

from __future__ import annotations

import dataclasses
import functools

from reportgen.record.finding import Position
from reportgen.record.units import Quantity, UnitError, parse_quantity

SEVERAL: dict[str, tuple[str, ...]] = {
    "amount": ("mass", "volume"),
    "resolution": ("temperature_difference", "volume", "mass", "pressure", "ratio"),
    "tolerance": (
        "temperature_difference",
        "volume",
        "mass",
        "pressure",
        "fraction",
        "concentration",
        "bitterness",
        "colour",
        "carbonation",
        "cells",
        "time",
        "ratio",
    ),
    "limit": (
        "gravity",
        "temperature",
        "volume",
        "mass",
        "pressure",
        "concentration",
        "bitterness",
        "colour",
        "carbonation",
        "cells",
        "time",
        "fraction",
        "ratio",
    ),
}
"""Kinds that stand for several; the first that the unit fits is taken."""

WORDS = {
    "limit": "a value in the unit of the figure, e.g. 1.5 bar, 60 C, 1.012 or 4.4",
    "amount": "a weight or a volume, e.g. 7.2 kg or 0.4 L",
    "resolution": "a step in the unit of the instrument, e.g. 0.001, 0.5 K, 0.5 L or 10 g",
    "tolerance": "a half-width in the unit of the figure, e.g. 0.002, 1.0 K, 1 L or 5 %",
}


def read_quantity(
    text: str, kind: str, position: Position | None = None, gallon: str | None = None
) -> Quantity:
    """Read a quantity of one kind, or of one of several.

    Raises :class:`~reportgen.record.units.UnitError` as ``parse_quantity`` does.
    """
    found = _read(text, kind, gallon)
    return found if position is None else dataclasses.replace(found, position=position)


@functools.lru_cache(maxsize=4096)
def _read(text: str, kind: str, gallon: str | None) -> Quantity:
    """Read a quantity in no place. The same few texts stand in every record of an archive."""
    if kind not in SEVERAL:
        return parse_quantity(text, kind, None, gallon)
    first: UnitError | None = None
    for candidate in SEVERAL[kind]:
        try:
            return parse_quantity(text, candidate, None, gallon)
        except UnitError as error:
            first = first or error
    assert first is not None
    raise UnitError(f"`{text}` cannot be read", WORDS[kind], first.remedy)
