"""What a check is, and how all of them are run.

A check is one module in this package, named as the check with underscores. Its docstring is its
manual page, in a fixed shape::

    '''Gravity rises while the beer ferments.

    Why it matters and what usually causes it, in plain sentences.

    Fix: one line, what to do.
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

    GROUP = Group.FERMENTATION
    SEVERITY = Severity.MAJOR
    ALSO = {Severity.CRITICAL: "above the brim"}  # other severities, and what decides
    EACH_FILLING = True  # looks at each kind of container that the beer went into
    UNTIL = Stage.FERMENT  # where the fix is done to the batch: until when it can be
    OF_NAME = True  # what it says of a name is told once for all records
    CONTRADICTS = True  # says that two numbers cannot both be right, or one not at all
    GIVES_WAY = True  # to a check that says of the same reading that it cannot be, or is off
    FIGURE = "mash_ph"  # the figure that it says is off: told once, answered by its deviation

    def check(batch: Assessment) -> Remarks: ...

A stage that is over cannot be fixed: what follows ``Fix`` is then said of the next time, or what
stands in a section ``Afterwards``, which comes after it.

The two examples are laid over the example record of the tests and run. ``check`` looks at one
batch and yields what it has to say; a check across batches reads ``batch.archive``. A function
``check_house`` looks at brewery.yaml and stock.yaml, once for the whole archive, and
``check_store`` at the store with what all batches take from it; ``check_findings`` looks at what all
others found, and may speak in the place of some of it. None prints. What nearly every check
needs is imported from here. A calculation that
they use may refuse a number of the record; what else they raise is a fault of the tool.
"""

from __future__ import annotations

import enum
import functools
import importlib
import math
import pkgutil
from collections.abc import Callable, Collection, Iterator, Sequence
from functools import cached_property, partial
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

import reportgen.checks
from reportgen.assessment.assess import Assessment
from reportgen.assessment.causes import is_closed, shows_in
from reportgen.assessment.departures import cause_severity, giver_of
from reportgen.checks.inputs import place_of
from reportgen.checks.when import is_over
from reportgen.docstring_page import TEXT, one_line, read_sections
from reportgen.forecast.arguments import why_stopped
from reportgen.forecast.book import NotForecast
from reportgen.forecast.figures import Stage
from reportgen.record.failure import noted
from reportgen.record.finding import Finding, Position, Severity
from reportgen.record.listing import BREWERY, STOCK
from reportgen.record.load import Archive
from reportgen.record.printed import in_units_of
from reportgen.record.rules import RULES
from reportgen.science.method import REFUSED
from reportgen.store.balance import Store, store_of
from reportgen.store.takings import takings_of

__all__ = [  # the door of the checks: what nearly each of them needs
    "Assessment", "Group", "Remark", "Remarks", "Severity", "Stage",
]  # fmt: skip

NOT_CHECKS = (
    "allergens", "base", "house_cause", "inputs", "labels", "lots", "misread", "people", "pressures",
    "quantities", "slip_undone", "when",
)  # fmt: skip
"""Modules of this package that are no checks."""


CHECK_NUMBER = "check the number and its unit"
"""A remedy for where nothing is known of what was meant."""


class Group(enum.Enum):
    """The stage of the work that a check is about."""

    LIQUOR = "Liquor, salts and acid"
    MASH = "Mash"
    RUN_OFF = "Run-off"
    BOIL = "Boil and hops"
    FERMENTATION = "Yeast and fermentation"
    PACKAGING = "Packaging and label"
    TASTING = "Tasting"
    READINGS = "Readings and instruments"
    DEVIATIONS = "Deviations and limits"
    STORE = "Amounts, lots and the store"
    RECORD = "The record as a whole"


class Remark(Struct, frozen=True):
    """What a check says: where, what is wrong, what was expected, how to fix it.

    ``position`` None stands for the record as a whole. ``severity`` None is that of the check;
    ``remedy`` empty is the check's own ``Fix`` line.
    """

    position: Position | None
    message: str
    expected: str = ""
    remedy: str = ""
    severity: Severity | None = None


Remarks = Iterator[Remark]
"""What a check yields."""


class CheckPage(Struct, frozen=True):
    """The manual page of a check, read from its docstring."""

    name: str
    group: Group
    severity: Severity
    title: str
    text: str
    fix: str
    source: str
    passes: str
    fails: str
    afterwards: str = ""
    also: tuple[tuple[Severity, str], ...] = ()
    """Other severities that a message can have, and what decides."""

    @property
    def severities(self) -> str:
        """The range of severities, as ``minor-major``."""
        severities = sorted({self.severity, *(severity for severity, _ in self.also)})
        return "-".join(dict.fromkeys([severities[0].value, severities[-1].value]))

    @property
    def weight(self) -> str:
        """The severity with what decides about others: ``minor; major: above the brim``."""
        others = [f"{severity.value}: {when}" for severity, when in self.also]
        return "; ".join([self.severity.value, *others])


Told = Callable[[Assessment, Collection[Finding]], list[Finding]]
RunAfter = Callable[
    [Assessment, Sequence[Finding], Told], Iterator[tuple[Remark | None, set[Finding]]]
]


class Check(Struct, frozen=True, dict=True):
    """One check: its name and its module, whose page is read when it is asked for."""

    name: str
    module: Any

    @cached_property
    def page(self) -> CheckPage:
        """Its manual page. SyntaxError when a section is missing or empty."""
        module = self.module
        page = read_page(module.__doc__ or "", self.name, module.GROUP, module.SEVERITY)
        return replace(page, also=tuple(getattr(module, "ALSO", {}).items()))

    @property
    def run(self) -> Callable[[Assessment], Iterator[Remark]]:
        """Its function over a batch."""
        return getattr(self.module, "check", _says_nothing)

    @property
    def run_house(self) -> Callable[[Archive], Iterator[Remark]] | None:
        """Its function over the house's files."""
        return getattr(self.module, "check_house", None)

    @property
    def run_store(self) -> Callable[[Store, str], Iterator[Remark]] | None:
        """Its function over the store of all batches, which says things in a system of units."""
        return getattr(self.module, "check_store", None)

    @property
    def run_after(self) -> RunAfter | None:
        """Its function over what the others found: what it says, and in place of which of it.

        It says nothing itself where what the others follow from is told by the loader.
        """
        return getattr(self.module, "check_findings", None)

    @property
    def of_each_filling(self) -> bool:
        """Whether it looks at each kind of container that a batch went into, by itself."""
        return getattr(self.module, "EACH_FILLING", False)

    @property
    def is_last(self) -> bool:
        """Whether one finding is left where it and others speak of the same value."""
        return getattr(self.module, "LAST", False)

    @property
    def contradicts(self) -> bool:
        """Whether it says that two numbers cannot both be right, or one of them not at all."""
        return getattr(self.module, "CONTRADICTS", False)

    @property
    def gives_way(self) -> bool:
        """Whether it is silent where a contradiction is reported of the same reading."""
        return getattr(self.module, "GIVES_WAY", False)

    def fix_for(self, batch: Assessment) -> str:
        """Return how to fix it; once its stage is over, what to look at, or to do next time."""
        until: Stage | None = getattr(self.module, "UNTIL", None)
        if until is None or not is_over(batch.record, until):
            fix = self.page.fix
        else:
            fix = self.page.afterwards or f"next time: {self.page.fix}"
        return in_units_of(batch.brewery.system, fix)

    def finding(self, said: Remark, start: Position, archive: Archive, fix: str) -> Finding:
        """Return what it says as a finding; ``start`` is where the record as a whole is meant."""
        where = said.position or start
        return Finding(
            self.name,
            said.severity or self.module.SEVERITY,
            where,
            said.message,
            said.expected,
            said.remedy or fix,
            archive.line(where),
        )


def read_page(docstring: str, name: str, group: Group, severity: Severity) -> CheckPage:
    """Read a manual page. SyntaxError when a section is missing or empty."""
    sections = ["Fix", "Source", "Passes", "Fails"]
    if "\nAfterwards:" in docstring:
        sections.insert(1, "Afterwards")
    title, body = read_sections(docstring, sections, f"check {name}", needs_text=True)
    return CheckPage(
        name,
        group,
        severity,
        title,
        body[TEXT],
        one_line(body["Fix"]),
        one_line(body["Source"]),
        body["Passes"],
        body["Fails"],
        one_line(body.get("Afterwards", "")),
    )


@functools.lru_cache(maxsize=1)
def all_checks() -> dict[str, Check]:
    """Return every check by name, sorted."""
    return {
        name: Check(name, importlib.import_module(f"reportgen.checks.{name.replace('-', '_')}"))
        for name in names()
    }


@functools.lru_cache(maxsize=1)
def contradictions() -> frozenset[str]:
    """Return the checks that say of numbers that they cannot be right."""
    return frozenset(name for name, check in all_checks().items() if check.contradicts)


def is_of_name(rule: str) -> bool:
    """Whether what a check or a rule of the loader says of a name holds wherever the name stands."""
    check = all_checks().get(rule)
    if check is not None:
        return getattr(check.module, "OF_NAME", False)
    return rule in RULES and RULES[rule].of_name


def _says_nothing(batch: Assessment) -> Iterator[Remark]:
    """The function of a check that looks at the house's files only."""
    return iter(())


def names() -> list[str]:
    """Return the names of all checks without importing them."""
    modules = pkgutil.iter_modules(reportgen.checks.__path__)
    return sorted(m.name.replace("_", "-") for m in modules if m.name not in NOT_CHECKS)


def silenced_in(batch: Assessment) -> dict[str, str]:
    """Return the checks that a record silences, with the reason it gives."""
    review = batch.record.review
    return {} if review is None else {str(s.check): str(s.because) for s in review.silenced}


def _said_by(
    run: Callable[[Any], Iterator[Remark]], about: Assessment | Archive | Store
) -> Iterator[Remark]:
    """Run one check; numbers that no formula can be computed with are said where they stand."""
    try:
        yield from run(about)
    except NotForecast:
        # What it rests on could not be computed, which forecast-stops says.
        return
    except REFUSED as error:
        brewery = None if isinstance(about, Store) else about.brewery
        units = brewery.units if brewery is not None else None
        yield Remark(
            place_of(error, about) if isinstance(about, Assessment) else None,
            f"this check cannot be made: {why_stopped(error, str(units or 'metric'))}",
            remedy="look for a number with the wrong unit or decimal point",
            severity=Severity.NOTE,
        )


def with_findings(batch: Assessment) -> Assessment:
    """Return an assessment that has what the checks say of it."""
    return replace(batch, findings=tuple(run_checks(batch)))


def own_findings(batch: Assessment) -> list[Finding]:
    """Return what the checks say of a batch, without what they say of the wort it was given.

    That is said of the batch that brewed it, which knows its review and its slips.
    """
    giver = giver_of(batch.archive, batch.record)
    day = giver.brew_day.position if giver is not None and giver.brew_day is not None else None
    if giver is None or day is None:
        return run_checks(batch)
    sections = (giver.fermentation, giver.packaging, giver.analysis, giver.review)
    after = [s.position.line for s in sections if s is not None and s.position is not None]
    end = min((line for line in after if line > day.line), default=math.inf)
    return [
        f for f in run_checks(batch)
        if f.position.file != day.file or not day.line <= f.position.line < end
        or f.rule == "forecast-stops"
    ]


def run_checks(batch: Assessment) -> list[Finding]:
    """Run every check that is not silenced over one batch; findings in their order."""
    silenced, findings = silenced_in(batch), each_by_itself(batch)
    if not findings:
        # Nothing to be told together: no slip is looked for in a sound record.
        return findings
    start = Position(batch.batch.file, 1, 1, 1)
    for name, check in all_checks().items():
        if check.run_after is None or name in silenced:
            continue
        with noted(batch.batch.file, findings):
            for said, instead in list(check.run_after(batch, findings, each_by_itself)):
                # In place: what fails after it is noted in the same list.
                findings[:] = [f for f in findings if f not in instead]
                if said is not None:
                    fix = check.fix_for(batch)
                    findings.append(check.finding(said, start, batch.archive, fix))
    return sorted(_told_once(findings))


def _told_once(findings: list[Finding]) -> list[Finding]:
    """Leave one finding of a reading off plan of which another check says more: as heavy as both.

    What says that a reading cannot be comes before what says that it is off (``FIGURE``), and that
    before what is to be written of it. What warns of harm stays.
    """
    ranks = {finding: _rank(finding) for finding in findings}
    first: dict[Position, int] = {}
    for finding, rank in ranks.items():
        first[finding.position] = min(rank, first.get(finding.position, rank))
    given_way: dict[Position, list[Finding]] = {}
    for finding, rank in ranks.items():
        if first[finding.position] < rank < _STAYS and finding.severity < Severity.CRITICAL:
            given_way.setdefault(finding.position, []).append(finding)
    left = []
    for finding in findings:
        others = given_way.get(finding.position, [])
        if finding in others:
            continue
        if others and ranks[finding] == first[finding.position]:
            heaviest = max(f.severity for f in (finding, *others))
            remedy = finding.remedy
            if any(ranks[other] == _TO_BE_WRITTEN for other in others):
                remedy += f"; {'if it is true, ' if ranks[finding] == 0 else ''}{WRITE}"
            finding = replace(finding, severity=heaviest, remedy=remedy)
        left.append(finding)
    return left


_TO_BE_WRITTEN, _STAYS = 2, 3


def _rank(finding: Finding) -> int:
    """Return what a finding gives way to where it stands: to those of a lower rank."""
    check = all_checks().get(finding.rule)
    if check is None:
        return _STAYS
    if check.contradicts:
        return int(check.gives_way)
    if check.gives_way and check.module.GROUP is Group.DEVIATIONS:
        return _TO_BE_WRITTEN
    return 1 if check.gives_way or hasattr(check.module, "FIGURE") else _STAYS


WRITE = "say in the review what happened"


def _is_answered(finding: Finding, batch: Assessment) -> bool:
    """Whether a closed deviation of the review names the check of a finding, or its figure.

    It is closed by what is needed of a deviation as heavy as the finding. The figure is that of a
    check which only says that one is off (``FIGURE``); it answers for what was read. What was read
    of the wort of another batch has its review there.
    """
    giver = giver_of(batch.archive, batch.record)
    theirs = giver.position if giver is not None else None
    is_theirs = theirs is not None and theirs.file == finding.position.file
    record = giver if giver is not None and is_theirs else batch.record
    if is_theirs and finding.rule in [str(silent.check) for silent in record.silenced]:
        return True
    review = record.review
    if review is None or finding.severity >= Severity.CRITICAL:
        return False
    check = all_checks().get(finding.rule)
    figure = getattr(check.module, "FIGURE", "") if check is not None else ""
    read = batch.actuals.get(figure)
    is_of_reading = read is not None and finding.position == read.reading.position
    return any(
        (
            finding.rule in [str(name) for name in cause.findings]
            or (is_of_reading and figure in shows_in(cause))
        )
        and is_closed(cause, max(cause_severity(batch.departures, cause), finding.severity), review)
        for cause in review.deviations
    )


def each_by_itself(batch: Assessment, standing: Collection[Finding] = ()) -> list[Finding]:
    """Return what the checks say of a batch, each for itself.

    ``standing`` are findings that are known to be there; their checks are not run.
    """
    silenced = silenced_in(batch)
    start = Position(batch.batch.file, 1, 1, 1)
    findings: list[Finding] = [*standing]
    known = {finding.rule for finding in standing}
    for name, check in all_checks().items():
        if name in silenced or name in known:
            continue
        with noted(batch.batch.file, findings):
            for packed in batch.packed_as if check.of_each_filling else (batch,):
                for said in _said_by(check.run, packed):
                    made = check.finding(said, start, batch.archive, check.fix_for(batch))
                    if packed is batch or not _is_said(made, findings):
                        findings.append(made)
    findings = [f for f in findings if not _is_answered(f, batch)]
    return sorted(_without_echoes(findings, lambda check: check.fix_for(batch)))


def _is_said(finding: Finding, findings: list[Finding]) -> bool:
    """Whether a check has said the same at that place of other containers; of two that differ in
    weight the heavier is left."""
    same = [
        f for f in findings
        if (f.rule, f.position, f.message) == (finding.rule, finding.position, finding.message)
    ]
    if any(f.severity >= finding.severity for f in same):
        return True
    findings[:] = [f for f in findings if f not in same]
    return False


def _without_echoes(findings: list[Finding], fix: Callable[[Check], str]) -> list[Finding]:
    """Leave one finding of a value where a check is the last to speak.

    That one is dropped where another finding weighs as much; else notes are dropped for it. What
    it takes for meant is then the remedy of the other, where that has none of its own: where it
    says the fix of its check.
    """
    checks = all_checks()
    rules = {name for name, check in checks.items() if check.is_last}
    last = {f.position: f for f in findings if f.rule in rules}
    meant = {place: f.remedy for place, f in last.items() if f.remedy != fix(checks[f.rule])}
    for other in findings:
        earlier = last.get(other.position)
        if earlier is not None and other.rule != earlier.rule and other.severity >= earlier.severity:
            del last[other.position]
    left = []
    for f in findings:
        if last.get(f.position) is f:
            left.append(f)
        elif f.position not in last and f.rule not in rules:
            if f.position in meant and (
                f.remedy == CHECK_NUMBER or (f.rule in checks and f.remedy == fix(checks[f.rule]))
            ):
                f = replace(f, remedy=meant[f.position])
            left.append(f)
    return left


def house_findings(archive: Archive) -> list[Finding]:
    """Run every check of brewery.yaml and stock.yaml, as far as these can be read.

    Those of the store too, where the archive has all of its batches.
    """
    start = Position(BREWERY, 1, 1, 1)
    findings: list[Finding] = []
    for check in all_checks().values():
        if check.run_house is None:
            continue
        with noted(BREWERY, findings):
            for said in _said_by(check.run_house, archive):
                findings.append(check.finding(said, start, archive, check.page.fix))
    findings = _without_echoes(findings, lambda check: check.page.fix)
    if not archive.is_whole or archive.stock is None:
        return findings
    records = (batch.record for batch in archive.batches.values() if batch.record is not None)
    taken = [takings_of(record, archive.stock) for record in records]
    store = store_of(archive.stock, [takings for takings in taken if takings is not None])
    return [*findings, *store_findings(archive, store)]


def store_findings(archive: Archive, store: Store) -> list[Finding]:
    """Run every check of the store of all batches. Lines are shown of the files that were read."""
    start = Position(STOCK, 1, 1, 1)
    system = archive.brewery.system if archive.brewery is not None else "metric"
    findings: list[Finding] = []
    for check in all_checks().values():
        if check.run_store is None:
            continue
        with noted(STOCK, findings):
            for said in _said_by(partial(_of_store, check.run_store, system), store):
                findings.append(check.finding(said, start, archive, check.page.fix))
    return findings


def _of_store(
    run: Callable[[Store, str], Iterator[Remark]], system: str, store: Store
) -> Iterator[Remark]:
    return run(store, system)
