"""Entries of which something could not be read: what is missing in them is told already."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from reportgen.assessment.assess import Assessment
from reportgen.record.fields import Entry
from reportgen.record.finding import Severity
from reportgen.record.model.later import Deviation


def causes_read(batch: Assessment) -> Iterator[Deviation]:
    """Yield the deviations of the review that were read in full."""
    causes: Sequence[Deviation] = batch.record.deviations
    for cause, after in zip_longest(causes, causes[1:]):
        if not is_misread(batch, cause, after):
            yield cause


def is_misread(batch: Assessment, entry: Entry, after: Entry | None = None) -> bool:
    """Whether the loader found an error in an entry, or behind it and before the next one."""
    start = entry.position.line if entry.position is not None else 0
    end = after.position.line if after is not None and after.position is not None else math.inf
    return has_misread(batch, batch.batch.file, start, end)


def has_misread(batch: Assessment, file: str, start: float = 0, end: float = math.inf) -> bool:
    """Whether the loader found an error in a file, or from one line of it to before another.

    What lacks there may be what it could not read.
    """
    return any(
        f.severity is Severity.ERROR and f.position.file == file and start <= f.position.line < end
        for f in batch.archive.findings
    )
