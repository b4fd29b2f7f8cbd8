"""One short hash of every number that a sheet aims at, to know whether they can be had again."""

from __future__ import annotations

import hashlib
import json

from reportgen.assessment.assess import Assessment
from reportgen.assessment.limits import limits_of
from reportgen.forecast.figures import FIGURES

SCIENCE = "1"
"""Version of the calculations. It goes up with a change that moves a number on purpose."""


def numbers_hash(batch: Assessment) -> str:
    """Return eight hexadecimal characters of the planned values and their limits, as printed.

    They hang on the plan, on brewery and stock as they were on its day, and on the calculations;
    nothing that is read later moves them. Each counts to the decimals of its figure. Not so what
    is uncertain of them: a sheet stays right to brew by while its aims and limits stand, and an
    instrument that is checked between its printing and the brew day would make every sheet stale.
    The verdict on a reading goes by the U that its instrument had when it was read.
    """
    lines: list[tuple[str, str, str, str]] = []
    aims = [(batch, key, figure) for key, figure in FIGURES.items()]
    aims += [
        (other, result.figure.key, result.figure)
        for other in batch.planned_kinds[1:] for result in other.own_packing
    ]
    for of, key, figure in aims:
        expected = of.planned.expected.get(key)
        if expected is None:
            continue
        limits = limits_of(figure, expected.value, of.record, of.brewery)
        numbers = (expected.value, *((limits.low, limits.high) if limits is not None else ()))
        # Adding nought makes minus nought nought.
        texts = [f"{round(n, figure.decimals) + 0.0:.{figure.decimals}f}" for n in numbers]
        low, high = texts[1:] or ("", "")
        lines.append((key, texts[0], low, high))
    canonical = json.dumps([SCIENCE, lines], separators=(",", ":"))
    return hashlib.sha256(canonical.encode()).hexdigest()[:8]


def issued_line(batch: Assessment, copy: int) -> str:
    """Return the line for a record whose sheet is printed now; its day is for the brewer to write.

    No clock is read: the same record gives the same line on any day.
    """
    hashes = f"plan: {batch.batch.plan_hash}, numbers: {numbers_hash(batch)}"
    return f"issued: {{{hashes}, copy: {copy}, on: YYYY-MM-DD}}"
