"""Puts plan, forecast, readings, verdicts and findings of one batch together, as data.

Documents, figures and the ledger all start from an :class:`Assessment`; none computes anew.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.analysis import analysed
from reportgen.assessment.corrections import Actual
from reportgen.assessment.day import changes_of, with_readings
from reportgen.assessment.day_fact import DayFact, as_brewed, as_it_would_have_been
from reportgen.assessment.departures import Departure, departures_of, giver_of
from reportgen.assessment.derived import derived_actuals, end_by_log, left_out
from reportgen.assessment.fillings import (
    BUCKET,
    FERMENTER,
    Filling,
    fillings_of,
    share_filled,
    share_planned,
    sugared,
)
from reportgen.assessment.instruments import brewery_on
from reportgen.assessment.limits import reference_of
from reportgen.assessment.log import LogPoint, log_of
from reportgen.assessment.readings import actuals_of, plausible_numbers
from reportgen.assessment.results import Result, result_of, with_runnings_below_first_wort
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.arguments import why_stopped
from reportgen.forecast.book import Expected, Forecast
from reportgen.forecast.case import Brought, Case, ContainerShare
from reportgen.forecast.figures import DERIVED, FIGURES, Stage
from reportgen.forecast.pack import brings
from reportgen.forecast.resolve import resolve
from reportgen.forecast.walk import walk
from reportgen.record.finding import Finding
from reportgen.record.load import Archive, Batch
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery, Kit
from reportgen.record.model.later import AlsoPacked, Harvest
from reportgen.record.model.plan import Plan
from reportgen.record.model.stock import Stock
from reportgen.record.values import Day, Moment
from reportgen.science.method import REFUSED
from reportgen.science.number import Number, ufloat


class PlanChange(Struct, frozen=True):
    """One value of two plans that differs; empty where one of them has none."""

    place: str
    before: str
    after: str


class PlanThen(Struct, frozen=True):
    """The plan that the sheet was printed from, against the plan now.

    ``revision`` and ``day`` are those of the earlier text, ``plan`` is what it says; ``why_not``
    says why there is none.
    ``numbers`` is the hash of the numbers that brewery and stock give now, where these are held
    against those of the sheet.
    """

    revision: str = ""
    day: str = ""
    changes: tuple[PlanChange, ...] = ()
    why_not: str = ""
    numbers: str = ""
    plan: Plan | None = None


class Assessment(Struct, frozen=True, weakref=True):
    """Everything that is known of one batch.

    ``planned`` is the walk of the forecast without readings, ``now`` the walk with all readings so
    far. ``problems`` says which stage could not be forecast and why. ``findings`` are those of the
    checks and ``plan_then`` is what the history knows of a plan changed since its sheet was
    issued; both are filled in by who runs the checks or looks the history up. ``brewery`` has its
    instruments as they were on the brew day.
    """

    archive: Archive
    batch: Batch
    record: Record
    brewery: Brewery
    stock: Stock
    kit: Kit
    case: Case
    brewed: Case
    facts: tuple[DayFact, ...]
    planned: Forecast
    now: Forecast
    actuals: Mapping[str, Actual]
    results: tuple[Result, ...]
    departures: tuple[Departure, ...]
    log: tuple[LogPoint, ...] = ()
    problems: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()
    plan_then: PlanThen | None = None
    house_then: PlanThen | None = None
    """Brewery and stock that the sheet was printed from, where they gave other numbers. Where git
    has them, all here is computed with them, so that verdicts stay those of the paper."""
    others_filled: tuple[Assessment, ...] = ()
    """The batch as if it were all packed in other containers that part of it went into, once for
    each kind. Of these only what is of packaging is told, and their alcohol."""
    filling: Filling | None = None
    """Which containers this is about, where the beer went into several kinds."""

    @property
    def packed_as(self) -> tuple[Assessment, ...]:
        """The batch by each kind of container that it went into, those under ``packaging`` first.
        """
        return (self, *self.others_filled)

    @property
    def packed_in(self) -> str:
        """What these containers are called: by their name in brewery.yaml, else their kind.

        Those that were filled on another day than the first have their day with them.
        """
        name = (self.case.container.name or self.case.packed_into).replace("_", " ")
        entry = self.filling.entry if self.filling is not None else None
        return f"{name} of {entry.date}" if isinstance(entry, AlsoPacked) and entry.date else name

    @property
    def filled_kinds(self) -> tuple[Assessment, ...]:
        """The batch by each kind of container, without those that were planned and not filled."""
        if self.record.packaging is None:
            return self.packed_as
        return tuple(kind for kind in self.packed_as if kind.record.packaging is not None)

    @property
    def planned_kinds(self) -> tuple[Assessment, ...]:
        """The batch by each kind of container that its plan has."""
        others = (o for o in self.others_filled if o.filling and o.filling.planned is not None)
        return (self, *others)

    @property
    def kinds_filled(self) -> tuple[Filling, ...]:
        """The kinds of containers where the beer went into several, else none."""
        return tuple(kind.filling for kind in self.packed_as if kind.filling is not None)

    @property
    def filling_number(self) -> int:
        """Number of these containers among the kinds; 0 for those under ``packaging`` itself."""
        return self.filling.number if self.filling is not None else 0

    @property
    def own_packing(self) -> tuple[Result, ...]:
        """The results of packaging that are of these containers alone."""
        return tuple(r for r in self.own_results if r.figure.stage is Stage.PACK)

    @property
    def own_results(self) -> tuple[Result, ...]:
        """All results that differ from one kind of container to another: the strength as well."""
        return tuple(r for r in self.results if r.figure.of_each)

    def result(self, key: str) -> Result:
        """Return the result of one figure. KeyError if there is none."""
        result = self.find(key)
        if result is None:
            raise KeyError(key)
        return result

    def find(self, key: str) -> Result | None:
        """Return the result of one figure, or None."""
        return next((r for r in self.results if r.figure.key == key), None)

    def as_brewed(self, key: str) -> Number | None:
        """Return what became of a figure, in its base unit; None as long as it is only planned.

        Its reading, what follows from readings, or, for what nobody measures, the forecast with
        the readings, once there are some.
        """
        result = self.find(key)
        if result is None:
            return None
        if result.actual is not None and result.actual.number is not None:
            return result.actual.number
        is_only_computed = not result.figure.path and key not in DERIVED
        if is_only_computed and self.now.readings and key in self.now:
            return self.now[key]
        return None

    def verdict_counts(self) -> dict[Verdict, int]:
        """Count the verdicts on what was read, each verdict in its order, also those with none.

        One on a figure computed from readings would count those readings twice.
        """
        every = (*self.results, *(r for other in self.others_filled for r in other.own_packing))
        given = [r.verdict for r in every if r.actual is None or not r.actual.derived_from]
        return {verdict_: given.count(verdict_) for verdict_ in Verdict}


def assess(archive: Archive, batch: Batch) -> Assessment | None:
    """Assess one batch; None when its plan, the brewery or the stock cannot be read."""
    record = batch.record
    if record is None:
        return None
    brewery, stock = archive.on(record.goes_by)
    if brewery is None or stock is None:
        return None
    # A reading is corrected by what was known of its instrument when it was taken.
    brewery = brewery_on(brewery, record.brewed_on)
    return assess_by(archive, batch, record, brewery, stock)


def harvest_of(archive: Archive, record: Record) -> Harvest | None:
    """Return the harvest that a plan has its yeast from; None where none is named or written."""
    parent = archive.record(record.plan.pitch.harvested_from)
    return parent.harvest if parent is not None else None


def assess_by(
    archive: Archive, batch: Batch, record: Record, brewery: Brewery, stock: Stock,
    before: Assessment | None = None,
) -> Assessment | None:
    """Assess a record by a brewery and a stock; None when they do not have what it names.

    ``before`` is of the same archive, with other readings or instruments: its forecast of the plan
    stands where plan and house are the same.
    """
    try:
        fillings = fillings_of(record, brewery)
        assessment = _assess(archive, batch, record, brewery, stock, fillings, before=before)
        others = tuple(
            _assess(archive, batch, record, brewery, stock, fillings, own, assessment)
            for own in fillings[1:]
        )
    except (KeyError, ZeroDivisionError):
        # An unknown name or shares that add up to nothing: the loader has said so.
        return None
    if not others:
        return assessment
    off = [d for other in others for d in other.departures]
    departures = sorted((*assessment.departures, *off), key=lambda d: -d.severity.rank)
    return replace(
        assessment, others_filled=others, filling=fillings[0], departures=tuple(departures),
        problems=tuple(dict.fromkeys(p for kind in (assessment, *others) for p in kind.problems)),
    )  # fmt: skip


def _assess(
    archive: Archive, batch: Batch, whole: Record, brewery: Brewery, stock: Stock,
    fillings: tuple[Filling, ...], own: Filling | None = None, first: Assessment | None = None,
    before: Assessment | None = None,
) -> Assessment:
    """Assess a record as packed in all of its containers, or in its ``own`` alone.

    ``first`` is the record by those under ``packaging``, of which the beer of others can be filled.
    """
    record = own.record if own is not None else whole
    if before is not None and not fillings and _is_planned_alike(before, record, brewery, stock):
        case, planned = before.case, before.planned
    else:
        case = resolve(record, brewery, stock, harvest_of(archive, record))
        if fillings:
            this = own or fillings[0]
            came = _brought(this, first, first.case, first.planned) if first is not None else None
            case = replace(case, share=share_planned(this, came))
        planned, _ = walk(case)
    changes = changes_of(whole, brewery, stock)
    brewed = as_brewed(as_it_would_have_been(case, planned), changes) if changes else case
    actuals = actuals_of(record, brewery, brewed) | ({} if own is not None else analysed(record))
    actuals = sugared(actuals, record, brewery)
    usable = plausible_numbers(actuals)
    usable |= dict.fromkeys(left_out(actuals), 0.0)
    facts = with_readings(changes, record, usable)
    log = log_of(record, brewery, brewed)
    brewed = _sealed(brewed, record, log, bool(fillings))
    if fillings and whole.packaging is not None:
        this, total = own or fillings[0], usable.get("packaged_volume")
        came = _brought(this, first, first.brewed, first.now) if first is not None else None
        if own is None or own.record.packaging is not None:
            share = share_filled(fillings, this, total, came)
            brewed = replace(brewed, share=share)
            facts = (*facts, _parted(share))
    # A plan of which nothing is done yet is to be as it was planned.
    now = planned if brewed is case and not usable else walk(brewed, usable)[0]
    system = brewery.system
    actuals |= derived_actuals(now, usable, actuals, system, brewed)
    actuals |= end_by_log(case, planned, now, log, record)

    def reference(key: str) -> Expected | None:
        read = actuals.get(key)
        return reference_of(key, planned, now, read.value if read is not None else None)

    results = tuple(
        result_of(
            figure, reference(figure.key), actuals.get(figure.key), record, brewery
        )
        for figure in FIGURES.values()
        if figure.key in planned.expected or figure.key in actuals
    )
    results = with_runnings_below_first_wort(results)
    departures = departures_of(usable, results, record, giver_of(archive, record))
    made = Assessment(
        archive,
        batch,
        record,
        brewery,
        stock,
        brewery.kits[record.plan.kit],
        case,
        brewed,
        facts,
        planned,
        now,
        actuals,
        results,
        departures,
        log,
        _each_once(planned.problems + now.problems, system),
        filling=own,
    )
    if own is None:
        return made
    ours = {id(result) for result in made.own_packing}
    off = (d for d in departures if id(d.result) in ours)
    return replace(made, departures=tuple(replace(d, filling=own.number) for d in off))


def _is_planned_alike(
    before: Assessment, record: Record, brewery: Brewery, stock: Stock
) -> bool:
    """Whether a record of the same archive has the very plan and house of one assessed before.

    Instruments are asked only what was read, never what is planned.
    """
    house = (name for name in Brewery.fields if name != "instruments")
    return (
        before.filling is None and before.record.plan is record.plan
        and before.record.wort_from is record.wort_from and before.stock is stock
        and all(getattr(brewery, name) is getattr(before.brewery, name) for name in house)
    )  # fmt: skip


def _parted(share: ContainerShare) -> DayFact:
    """Return the fact that the beer was parted as it was, after all that was read of it."""
    return DayFact(
        "parted", Stage.PACK, "Beer parted into containers", None, None, False,
        lambda case: replace(case, share=share),
    )  # fmt: skip


def _brought(
    own: Filling, first: Assessment, case: Case, book: Forecast
) -> Brought | None:
    """Return what beer brings along out of the first containers; None for beer of the fermenter.

    Where that is not known it brings what was planned for them.
    """
    if own.source == FERMENTER:
        return None
    try:
        return brings(case, book, own.source == BUCKET)
    except REFUSED:
        return Brought(first.case.carbonation, 0.0, 1.0)


def _sealed(
    case: Case, record: Record, log: tuple[LogPoint, ...], is_parted: bool = False
) -> Case:
    """Return the case as it was sealed, with the last gravity before it; itself if it was not.

    Where it ``is_parted``, some may have been sealed before the final gravity was read.
    """
    packed, fermentation = record.packaging, record.fermentation
    if packed is None:
        return case
    final = fermentation.final_gravity if fermentation is not None else None
    ended = fermentation.finished if fermentation is not None else None
    if final is not None and isinstance(final.at, Moment):
        ended = Day(final.at.at.date(), "")
    early = is_parted and ended is not None and ended.date > packed.date.date
    read = [p for p in log if p.gravity is not None]
    if early:
        read = [p for p in read if p.at.date() <= packed.date.date]
    last = None
    if read and read[-1].gravity is not None:
        last = ufloat(read[-1].gravity, read[-1].gravity_uncertainty / 2, "last of the log")
    return replace(case, is_sealed=True, gravity_sealed=last, sealed_early=early)


_FIGURES = re.compile(r"[-+]?\d+(\.\d+)?(e[-+]?\d+)?")


def _each_once(
    problems: Iterable[tuple[str, Exception]], system: str
) -> tuple[tuple[str, str], ...]:
    """Say what stops the forecast, in the units of brewery.yaml, each thing once.

    What the walk with readings meets again is the same trouble with other figures in it.
    """
    once: dict[tuple[str, str], tuple[str, str]] = {}
    for stage, error in problems:
        reason = why_stopped(error, system)
        once.setdefault((stage, same_trouble(reason)), (stage, reason))
    return tuple(once.values())


def same_trouble(reason: str) -> str:
    """Return a reason without the figures in it, by which two walks that meet it are compared."""
    return _FIGURES.sub("", reason)
