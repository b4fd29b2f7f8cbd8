"""What a check is, and how all of them are run.

A check is one module in this package, named as the check with underscores. Its docstring is its
manual page, in a fixed shape::

    '''Gravity rises while the beer ferments.

    Why it matters and what usually causes it, in plain sentences.

    Mend: one line, what to do.
    Source: where a limit comes from, or: common practice, no source.
    Passes:
        fermentation:
          log:
            - {at: 2026-03-15 18:00, gravity: 1.030}
    Fails:
        fermentation:
          log:
            - ...
    '''

    GROUP = Group.TRUE
    SEVERITY = Severity.MAJOR

    def check(batch: Assessment) -> Iterator[Said]: ...

The two examples are laid over the example record of the tests and run. ``check`` looks at one
batch and yields what it has to say; a check across batches reads ``batch.archive``. It never
prints. A calculation that it uses may refuse a number of the record; what else it raises is a fault
of the tool.
"""

from __future__ import annotations

import dataclasses
import enum
import functools
import importlib
import pkgutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import reportgen.checks
from reportgen.assess import Assessment
from reportgen.checks.inputs import place_of
from reportgen.docstring_page import TEXT, one_line, read_sections
from reportgen.failure import noted
from reportgen.forecast.arguments import why_stopped
from reportgen.forecast.book import NotForecast
from reportgen.record.finding import Finding, Position, Severity
from reportgen.science.method import REFUSED

NOT_CHECKS = ("base", "inputs", "lots", "quantities")
"""Modules of this package that are no checks."""


class Group(enum.Enum):
    """The question a check belongs to."""

    TRUE = "Can it be true?"
    KIT = "Does it fit the kit?"
    WISE = "Is it wise?"
    TOGETHER = "Does it hang together?"


@dataclass(frozen=True)
class Said:
    """What a check says: where, what is wrong, what was expected, how to mend it.

    ``position`` None stands for the record as a whole. ``severity`` None is that of the check;
    ``remedy`` empty is the check's own ``Mend`` line.
    """

    position: Position | None
    message: str
    expected: str = ""
    remedy: str = ""
    severity: Severity | None = None


@dataclass(frozen=True)
class ManualPage:
    """The manual page of a check, read from its docstring."""

    name: str
    group: Group
    severity: Severity
    title: str
    text: str
    mend: str
    source: str
    passes: str
    fails: str


@dataclass(frozen=True)
class Check:
    """One check: its page and its function."""

    page: ManualPage
    run: Callable[[Assessment], Iterator[Said]]


def read_page(docstring: str, name: str, group: Group, severity: Severity) -> ManualPage:
    """Read a manual page. SyntaxError when a section is missing or empty."""
    sections = ("Mend", "Source", "Passes", "Fails")
    title, body = read_sections(docstring, sections, f"check {name}", needs_text=True)
    return ManualPage(
        name,
        group,
        severity,
        title,
        body[TEXT],
        one_line(body["Mend"]),
        one_line(body["Source"]),
        body["Passes"],
        body["Fails"],
    )


@functools.lru_cache(maxsize=1)
def all_checks() -> dict[str, Check]:
    """Return every check by name, sorted."""
    found = {}
    for info in pkgutil.iter_modules(reportgen.checks.__path__):
        if info.name in NOT_CHECKS:
            continue
        module = importlib.import_module(f"reportgen.checks.{info.name}")
        name = info.name.replace("_", "-")
        page = read_page(module.__doc__ or "", name, module.GROUP, module.SEVERITY)
        found[name] = Check(page, module.check)
    return dict(sorted(found.items()))


def names() -> list[str]:
    """Return the names of all checks without importing them."""
    modules = pkgutil.iter_modules(reportgen.checks.__path__)
    return sorted(m.name.replace("_", "-") for m in modules if m.name not in NOT_CHECKS)


def silenced_in(batch: Assessment) -> dict[str, str]:
    """Return the checks that a record silences, with the reason it gives."""
    review = batch.record.review
    return {} if review is None else {str(s.check): str(s.because) for s in review.silenced}


def _said_by(check: Check, batch: Assessment) -> Iterator[Said]:
    """Run one check; numbers that no formula can be computed with are said where they stand."""
    try:
        yield from check.run(batch)
    except NotForecast:
        # What it rests on could not be computed, which forecast-stops says.
        return
    except REFUSED as error:
        yield Said(
            place_of(error, batch),
            f"this check cannot be made: {why_stopped(error, str(batch.brewery.units or 'metric'))}",
            remedy="look for a number with the wrong unit or decimal point",
            severity=Severity.NOTE,
        )


def with_findings(batch: Assessment) -> Assessment:
    """Return an assessment that has what the checks say of it."""
    return dataclasses.replace(batch, findings=tuple(run_checks(batch)))


def run_checks(batch: Assessment) -> list[Finding]:
    """Run every check that is not silenced over one batch; findings in order of position."""
    silenced = silenced_in(batch)
    start = Position(batch.batch.file, 1, 1, 1)
    findings: list[Finding] = []
    for name, check in all_checks().items():
        if name in silenced:
            continue
        with noted(batch.batch.file, findings):
            for said in _said_by(check, batch):
                where = said.position or start
                findings.append(
                    Finding(
                        name,
                        said.severity or check.page.severity,
                        where,
                        said.message,
                        said.expected,
                        said.remedy or check.page.mend,
                        batch.archive.line(where),
                    )
                )
    return sorted(findings, key=lambda f: (f.position.file, f.position.line, f.position.column))
