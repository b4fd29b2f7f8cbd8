"""What a yeast is like in this brewery, in words that help to choose it again."""

from __future__ import annotations

import datetime
import statistics
from collections.abc import Sequence

from reportgen.history.row import BatchRow
from reportgen.record.model.flavours import term_words

MOST_FLAVOURS = 5
"""Flavours told of a yeast: the strongest."""

FEWEST_SCORES = 2
"""Batches in which a flavour must have been scored to be told."""


def character(rows: Sequence[BatchRow]) -> tuple[str, ...]:
    """Return attenuation, speed, flavours with their spread, and the last use, a line each.

    Flavours are the means over the tastings of each batch, then over the batches; the range is
    that of the batches.
    """
    lines = (_attenuation(rows), _speed(rows), _flavours(rows), _last(rows))
    return tuple(line for line in lines if line)


def _spread(values: Sequence[float], decimals: int, unit: str = "") -> str:
    """Return a mean with its range, and of how many: ``74.1 (72.0 to 76.2, 5 batches)``."""
    mean = f"{statistics.fmean(values):.{decimals}f}{unit}"
    if len(values) == 1:
        return f"{mean} (1 batch)"
    low, high = (f"{v:.{decimals}f}" for v in (min(values), max(values)))
    return f"{mean} ({low} to {high}, {len(values)} batches)"


def _attenuation(rows: Sequence[BatchRow]) -> str:
    values = [
        100 * shown.actual
        for shown in (row.figure("apparent_attenuation") for row in rows)
        if shown is not None and shown.actual is not None
    ]
    return f"Apparent attenuation here: {_spread(values, 1, ' %')}." if values else ""


def _speed(rows: Sequence[BatchRow]) -> str:
    days = [
        float((_day(row.finished) - _day(row.brewed)).days)
        for row in rows
        if row.finished and row.brewed
    ]
    return f"Days from brewing to steady readings: {_spread(days, 0)}." if days else ""


def _day(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


def _flavours(rows: Sequence[BatchRow]) -> str:
    by_name: dict[str, list[float]] = {}
    for row in rows:
        own: dict[str, list[float]] = {}
        for tasting in row.tastings:
            for name, score in tasting.scores:
                own.setdefault(name, []).append(score)
        for name, scores in own.items():
            by_name.setdefault(name, []).append(statistics.fmean(scores))
    told = {name: means for name, means in by_name.items() if len(means) >= FEWEST_SCORES}
    order = sorted(told, key=lambda name: (-statistics.fmean(told[name]), name))[:MOST_FLAVOURS]
    words = ", ".join(f"{term_words(name)} {_spread(told[name], 1)}" for name in order)
    return f"Strongest flavours, 0 to 8: {words}." if words else ""


def _last(rows: Sequence[BatchRow]) -> str:
    brewed = sorted((row.brewed, row.id, row.name) for row in rows if row.brewed)
    if not brewed:
        return ""
    day, batch, name = brewed[-1]
    return f"Last used on {day} for {batch}, {name}."
