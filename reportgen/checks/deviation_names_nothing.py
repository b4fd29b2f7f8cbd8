"""A deviation says neither which figures nor which findings it shows in.

A cause is tied to what it explains by the names under `figures` (or the single `figure`) and
`findings`, or by the `instrument` that was in doubt. Without a name it explains nothing: the figures
that are off plan stay open. They are named here, and not once more each.

Fix: add `figures: [...]` with keys as `reportgen figures` prints them, or `findings: [...]`
Source: 21 CFR 211.192 by analogy: what is recorded must be traceable
Passes:
    brew_day: {date: 2026-03-14}
    review:
      deviations:
        - {figures: [kettle_volume], what: short, cause: thick mash}
        - {instrument: thermometer, what: read high, cause: a knock}
Fails:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{what: short, cause: thick mash}]}
"""

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from reportgen.assessment.causes import shows_in
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Told, all_checks
from reportgen.checks.misread import causes_read
from reportgen.checks.slip_undone import warns_of_harm
from reportgen.record.finding import Finding
from reportgen.record.model.later import Deviation

NAME = "deviation-names-nothing"
GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "what is off plan without a cause is"}


def check(batch: Assessment) -> Remarks:
    """Look for deviations that name nothing."""
    for cause in causes_read(batch):
        if _names_nothing(cause):
            yield _said(cause)


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark | None, set[Finding]]]:
    """Yield the first of them in the place of what is found at readings that no cause names."""
    nameless = [cause for cause in batch.record.deviations if _names_nothing(cause)]
    open_ones = [d.result for d in batch.departures if d.review is None and not d.batch]
    keys = {r.actual.reading.position: r.figure.key for r in open_ones if r.actual is not None}
    checks = all_checks()
    about = {
        f for f in findings
        if f.position in keys and f.rule in checks and not warns_of_harm(f)
        and (checks[f.rule].gives_way or hasattr(checks[f.rule].module, "FIGURE"))
    }
    if not nameless or not about:
        return
    first, named = nameless[0], ", ".join(dict.fromkeys(keys[f.position] for f in sorted(about)))
    if first not in causes_read(batch):
        # The loader says that something in it cannot be read.
        yield None, about
        return
    said, heaviest = _said(first), max(f.severity for f in about)
    yield replace(
        said,
        message=f"{said.message}, and no cause names what is off plan: {named}",
        remedy=f"if it is about these, write `figures: [{named}]`",
        severity=max(SEVERITY, heaviest),
    ), {*about, *(f for f in findings if (f.rule, f.position) == (NAME, said.position))}


def _names_nothing(cause: Deviation) -> bool:
    return not any(map(str, shows_in(cause))) and not cause.findings and cause.instrument is None


def _said(cause: Deviation) -> Remark:
    return Remark(
        cause.what.position or cause.position,
        "the deviation names no figure and no finding",
        "`figures`, `findings` or `instrument`",
    )
