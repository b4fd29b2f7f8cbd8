"""Whether a section of a record has errors: what was left out of it may be what is missed."""

from __future__ import annotations

import re

from reportgen.assess import Assessment
from reportgen.record.finding import Severity


def log_has_errors(batch: Assessment) -> bool:
    """Whether an error lies in the section ``fermentation`` of the record as it is written.

    A line of the log that cannot be read is left out, so nothing can be said of what it lacks.
    """
    lines = batch.batch.source.lines
    start = next((n for n, line in enumerate(lines, 1) if line.startswith("fermentation:")), None)
    if start is None:
        return False
    end = next(
        (n for n, line in enumerate(lines[start:], start + 1) if re.match(r"[^\s#-]", line)),
        len(lines) + 1,
    )
    return any(
        f.severity is Severity.ERROR
        and f.position.file == batch.batch.file
        and start <= f.position.line < end
        for f in batch.archive.findings
    )
