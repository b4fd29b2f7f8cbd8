"""Puts plan, forecast, readings, verdicts and findings of one batch together, as data.

Documents, figures and the ledger all start from an :class:`Assessment`; none computes anew.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.analysis import analysed
from reportgen.assessment.causes import cause_of, is_closed, shows_in, worst
from reportgen.assessment.corrections import Actual
from reportgen.assessment.day import changes_of, with_readings
from reportgen.assessment.day_fact import DayFact, as_brewed, as_it_would_have_been
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
from reportgen.assessment.log import LogPoint, log_of
from reportgen.assessment.readings import (
    METHOD_U,
    actuals_of,
    at_hand,
    plausible_numbers,
)
from reportgen.assessment.verdicts import Limits, Verdict, met, verdict
from reportgen.forecast.arguments import why_stopped
from reportgen.forecast.book import Expected, Forecast, NotForecast
from reportgen.forecast.case import Brought, Case, ContainerShare
from reportgen.forecast.ferment import starting_gravity
from reportgen.forecast.figures import DERIVED, FIGURES, READ, Figure, Stage, ToleranceSide
from reportgen.forecast.pack import brings, gas_of_primed, gas_under
from reportgen.forecast.resolve import CUT_OFF_GRAVITY, number_of, resolve
from reportgen.forecast.vessels import USUAL, container_of
from reportgen.forecast.walk import walk
from reportgen.record.finding import Finding, Severity
from reportgen.record.kinds import KINDS, read_quantity, read_width
from reportgen.record.load import Archive, Batch
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery, Kit
from reportgen.record.model.later import Deviation, Harvest
from reportgen.record.model.plan import Plan
from reportgen.record.model.stock import Stock
from reportgen.record.units import Quantity, UnitError
from reportgen.record.values import Day, Moment, Reading, State
from reportgen.science.fermentation import fit_log
from reportgen.science.method import REFUSED, OutOfRange
from reportgen.science.number import Number, nominal, ufloat


class Result(Struct, frozen=True):
    """One figure of the batch: expected, limits, actual, verdict.

    All numbers in the base unit of the figure's kind. ``limits`` is None where no verdict is
    given. ``sheet_range`` is the range printed on the sheet, already narrowed by the U of the
    instrument at hand. ``verdict`` is None for a figure that is only computed. ``critical`` is
    the critical limit that the plan sets; ``is_critical`` says that it should be kept by now and
    is not, clearly. ``expected`` is of the plan, save as :func:`reference_of` says.
    """

    figure: Figure
    expected: Expected | None
    limits: Limits | None
    sheet_range: tuple[float, float] | None
    actual: Actual | None
    verdict: Verdict | None
    severity: Severity = Severity.MINOR
    critical: Limits | None = None
    is_critical: bool = False

    @property
    def difference(self) -> float | None:
        """Actual minus expected, or None."""
        if self.expected is None or self.actual is None or self.actual.value is None:
            return None
        return self.actual.value - self.expected.value


class Departure(Struct, frozen=True):
    """A reading off plan, and what the brewer wrote about it.

    A critical limit that is not clearly kept is a departure too, without a reading that is clearly
    off. What departures did to the beer is in the replay, see :mod:`reportgen.assessment.replay`.
    ``is_open`` until it is closed in the review. What was read on the brew day of the batch whose
    wort it is has its review there: ``batch`` is that batch, empty for the record's own.
    """

    result: Result
    review: Deviation | None
    severity: Severity
    is_open: bool = True
    batch: str = ""
    filling: int = 0
    """Number of the containers that it is of, where the beer went into several kinds."""


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
        """What these containers are called: by their name in brewery.yaml, else their kind."""
        return (self.case.container.name or self.case.packed_into).replace("_", " ")

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
    archive: Archive, batch: Batch, record: Record, brewery: Brewery, stock: Stock
) -> Assessment | None:
    """Assess a record by a brewery and a stock; None when they do not have what it names."""
    try:
        fillings = fillings_of(record, brewery)
        assessment = _assess(archive, batch, record, brewery, stock, fillings)
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
) -> Assessment:
    """Assess a record as packed in all of its containers, or in its ``own`` alone.

    ``first`` is the record by those under ``packaging``, of which the beer of others can be filled.
    """
    record = own.record if own is not None else whole
    case = resolve(record, brewery, stock, harvest_of(archive, record))
    if fillings:
        this = own or fillings[0]
        came = _brought(this, first, first.case, first.planned) if first is not None else None
        case = replace(case, share=share_planned(this, came))
    planned, problems = walk(case)
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
    now, later_problems = walk(brewed, usable)
    system = brewery.system
    actuals |= derived_actuals(now, usable, actuals, system, brewed)
    actuals |= end_by_log(case, planned, now, log, record)
    results = tuple(
        _result(
            figure, reference_of(figure.key, planned, now), actuals.get(figure.key), record, brewery
        )
        for figure in FIGURES.values()
        if figure.key in planned.expected or figure.key in actuals
    )
    results = _with_runnings_below_first_wort(results)
    departures = _departures(usable, results, record, _giver(archive, record))
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
        _each_once(problems + later_problems, system),
        filling=own,
    )
    if own is None:
        return made
    ours = {id(result) for result in made.own_packing}
    off = (d for d in departures if id(d.result) in ours)
    return replace(made, departures=tuple(replace(d, filling=own.number) for d in off))


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


def left_out(actuals: Mapping[str, Actual]) -> tuple[str, ...]:
    """Return what the record says was not done of what is poured or weighed in.

    Where something of a sparge was read, it is the reading of its volume that was not done.
    """
    read = [(f, actuals[f.key].reading.state) for f in READ if f.key in actuals]
    sparged = any(f.of_sparge and not f.poured and state is State.READ for f, state in read)
    return tuple(
        f.key for f, state in read
        if f.poured and state is State.NOT_DONE and not (f.of_sparge and sparged)
    )


PRIMED = ("packaged_volume", "priming_sugar")
"""What the carbonation of bottles and casks follows from, in place of a pressure."""


def derived_actuals(
    now: Forecast, readings: Mapping[str, Number], actuals: Mapping[str, Actual], system: str,
    case: Case,
) -> dict[str, Actual]:
    """Return the actuals that follow from readings, with the uncertainty these bring along.

    What has been measured itself is not derived again. One that its formula refuses has no
    number; its note says why, and it stands where the number refused was read.
    """
    derived = {}
    for key, needed in DERIVED.items():
        if key == "carbonation" and case.packed_into != "keg":
            needed = PRIMED
        if any(name not in readings for name in needed) or key in readings:
            continue
        try:
            number = _derived(key, now, readings, case)
        except NotForecast:
            # The walk has said why.
            continue
        except REFUSED as error:
            culprit = refused_in(error, {name: readings[name] for name in needed})
            place = actuals[culprit or needed[-1]].reading.position
            note = f"{FIGURES[key].in_sentence} not computed: {why_stopped(error, system)}"
            reading = Reading(State.READ, position=place)
            derived[key] = Actual(key, reading, note=note, derived_from=needed)
            continue
        derived[key] = Actual(key, Reading(State.READ), number, derived_from=needed)
    return derived


def _derived(key: str, now: Forecast, readings: Mapping[str, Number], case: Case) -> Number:
    if key == "carbonation" and case.packed_into != "keg":
        return gas_of_primed(case, now)
    if key == "carbonation":
        return gas_under(case, readings["pressure"], readings["beer_temperature"])
    if key == "lauter_efficiency":
        return now["mash_efficiency"] / now["conversion"]
    return now[key]


def refused_in(error: Exception, numbers: Mapping[str, Number]) -> str:
    """Return the key of the one number that a formula refuses; empty if it is not just one."""
    if not isinstance(error, OutOfRange):
        return ""
    keys = [k for k, n in numbers.items() if math.isclose(nominal(n), error.value, rel_tol=1e-9)]
    return keys[0] if len(keys) == 1 else ""


def end_by_log(
    case: Case, planned: Forecast, now: Forecast, log: tuple[LogPoint, ...], record: Record
) -> dict[str, Actual]:
    """Return what the log so far says of the end, while there is no final gravity.

    A curve is fitted to three readings or more, helped by what was expected; nothing is said
    before the readings outweigh the expectation.
    """
    points = [(p.hours, p.gravity) for p in log if p.gravity is not None and p.hours > 0]
    if "final_gravity" in now.readings or len(points) < 3 or "final_gravity" not in planned:
        return {}
    if record.fermentation is None or "original_gravity" not in now:
        return {}
    try:
        fit = fit_log(
            [hours for hours, _ in points],
            [gravity for _, gravity in points],
            max(p.gravity_uncertainty for p in log if p.gravity is not None),
            nominal(starting_gravity(now)),
            planned.forecast("final_gravity").value,
            kind=case.yeast_kind,
        )
    except REFUSED:
        # The log says nothing of the end; a reading that cannot be true is for the checks to say.
        return {}
    if not fit.enough:
        return {}
    values = {
        "log_final_gravity": ufloat(fit.fg, fit.fg_u / 2, "final gravity by the log"),
        "log_end": ufloat(fit.end_time / 24, fit.end_time_u / 48, "end by the log"),
    }
    reading = Reading(State.READ)
    return {k: Actual(k, reading, n, derived_from=("log",)) for k, n in values.items()}


def critical_limits(figure: Figure, record: Record, brewery: Brewery) -> Limits | None:
    """Return the critical limit that the plan sets for a figure; None for none.

    A value of another kind than the figure's is left out; a check says so.
    """
    given = record.plan.critical_limits.get(figure.key)
    if given is None:
        return None
    low, high = (
        limit_of(figure, side, brewery.bare_gallon) for side in (given.at_least, given.at_most)
    )
    if low is None and high is None:
        return None
    return Limits(
        -math.inf if low is None else low, math.inf if high is None else high, "critical", True
    )


def limit_of(figure: Figure, given: Quantity | None, gallon: str | None = None) -> float | None:
    """Return a limit set for a figure, in its base unit; None for none, or one of another kind."""
    if given is None:
        return None
    try:
        limit = read_quantity(given.text, figure.kind, None, gallon)
    except UnitError:
        return None
    return number_of(limit)


def limits_of(
    figure: Figure, expected: float, record: Record, brewery: Brewery
) -> Limits | None:
    """Return the limits of a figure: of the plan, else the house, else the default.

    A critical limit of the plan makes them narrower where it is the stricter. None for a figure
    with neither tolerance nor critical limit.
    """
    critical = critical_limits(figure, record, brewery)
    tolerance = _tolerance_of(figure, expected, record, brewery)
    limits = critical if tolerance is None else tolerance.within(critical)
    if figure.key != "pressure" or limits is None:
        return limits
    return _within_rating(limits, container_of(record, brewery).rating)


def _within_rating(limits: Limits, rating: float | None) -> Limits:
    """Return limits that end at the rating of the vessel: nothing above it is on plan."""
    if rating is None or rating >= limits.high:
        return limits
    return Limits(limits.low if limits.low < rating else -math.inf, rating, "rating")


def _tolerance_of(
    figure: Figure, expected: float, record: Record, brewery: Brewery
) -> Limits | None:
    for origin, given in (("plan", record.plan.tolerances), ("house", brewery.tolerances)):
        if figure.key in given:
            quantity = read_width(given[figure.key].text, figure.kind, brewery.bare_gallon)
            if quantity is None:
                # Of another kind: the loader has said so.
                continue
            share = KINDS[figure.kind].is_share_of(quantity)
            return _limits(figure, expected, quantity.value, share, origin)
    if figure.tolerance is None or (figure.is_stop and not stops_at_gravity(record)):
        return None
    return _limits(figure, expected, figure.tolerance, figure.relative, "default")


def stops_at_gravity(record: Record) -> bool:
    """Whether the run-off is stopped at a gravity; a mash that is drained runs to its end."""
    run_off = record.plan.run_off
    return str(run_off.sparge) == "continuous" or run_off.cut_off_gravity is not None


def _limits(figure: Figure, expected: float, width: float, share: bool, origin: str) -> Limits:
    half = abs(expected) * width if share else width
    low = -math.inf if figure.side is ToleranceSide.NOT_ABOVE else expected - half
    high = math.inf if figure.side is ToleranceSide.NOT_BELOW else expected + half
    return Limits(low, high, origin, figure.severity is Severity.CRITICAL)


def reference_of(key: str, planned: Forecast, now: Forecast) -> Expected | None:
    """Return the number that a reading is judged by: the planned one, save for the keg's pressure.

    The plan wants an amount of gas; the pressure is only how it is reached. The gas that a
    pressure holds depends on the temperature of the beer, so once that has been read the walk
    with readings says the pressure wanted, as the what-to-do table of the sheet does. The planned
    pressure would find fault with whoever followed that table. The temperature is not forgiven
    by this: it has a verdict of its own. Every other reading is held against the plan, so that
    one slip does not excuse the next.
    """
    if key == "pressure" and "beer_temperature" in now.readings:
        return now.expected.get(key) or planned.expected.get(key)
    return planned.expected.get(key)


def _result(
    figure: Figure,
    expected: Expected | None,
    actual: Actual | None,
    record: Record,
    brewery: Brewery,
) -> Result:
    if expected is None or (not figure.path and actual is None):
        return Result(figure, expected, None, None, actual, None, figure.severity)
    aimed = _limit_centre(figure, expected, record)
    critical = critical_limits(figure, record, brewery)
    limits = limits_of(figure, aimed, record, brewery)
    _, _, u = at_hand(figure, expected.value, record, brewery)
    if actual is not None and actual.number is not None:
        u = actual.uncertainty
    share = METHOD_U.get(figure.kind, 0.0)
    sheet_range = limits.narrowed(u, share) if limits else None
    not_judged = actual is not None and actual.reading.state is State.NOT_DONE
    if actual is not None and actual.derived_from and actual.number is None:
        # Its readings are there and have verdicts of their own.
        not_judged = True
    not_due = actual is None and not _was_due(figure, record)
    judged = None
    if limits is not None and not not_judged and not not_due:
        judged = verdict(actual.value if actual else None, u, limits)
    broken = False
    if critical is not None and not not_due:
        kept = verdict(actual.value if actual else None, u, critical)
        broken = not met(kept, critical)
    if figure.key == "pressure" and _may_burst(actual, record, brewery):
        severity = Severity.CRITICAL
    else:
        severity = Severity.CRITICAL if broken else figure.severity
    return Result(
        figure, expected, limits, sheet_range, actual, judged, severity, critical, broken
    )


def _may_burst(pressure: Actual | None, record: Record, brewery: Brewery) -> bool:
    """Whether a pressure was read that is above the rating of its vessel, or of any of its kind."""
    if pressure is None or pressure.value is None:
        return False
    vessel = container_of(record, brewery)
    most = USUAL[vessel.kind].strongest if vessel.rating is None else vessel.rating
    return pressure.value > most


def _with_runnings_below_first_wort(results: tuple[Result, ...]) -> tuple[Result, ...]:
    """Return results in which last runnings stronger than the first wort are not on plan.

    They have no upper limit of their own; but the sum of both U aside, none can be above the wort
    that is rinsed out.
    """
    by_key = {r.figure.key: r.actual for r in results if r.actual and r.actual.value is not None}
    first, last = by_key.get("first_wort_gravity"), by_key.get("last_runnings_gravity")
    if first is None or last is None or first.value is None or last.value is None:
        return results
    if last.value - last.uncertainty <= first.value + first.uncertainty:
        return results
    return tuple(
        replace(r, verdict=Verdict.OFF_PLAN)
        if r.figure.key == "last_runnings_gravity" and r.verdict is not None
        else r
        for r in results
    )


def _limit_centre(figure: Figure, expected: Expected, record: Record) -> float:
    """Return what the tolerance lies around: the expected value, or a limit that the plan sets."""
    if figure.is_stop:
        stop = record.plan.run_off.cut_off_gravity
        return number_of(stop) if stop is not None else CUT_OFF_GRAVITY
    return expected.value


def _was_due(figure: Figure, record: Record) -> bool:
    """Whether a reading should be there by now: its section has been begun and is over."""
    if not figure.path:
        return False
    section = getattr(record, figure.path[0])
    if section is None:
        return False
    if figure.key == "final_gravity":
        return record.packaging is not None
    return not figure.optional


def _giver(archive: Archive, record: Record) -> Record | None:
    """Return the record of the batch whose wort a record ferments; None where it is brewed here."""
    return archive.record(record.wort_from.batch) if record.wort_from is not None else None


def _departures(
    readings: Mapping[str, Number], results: tuple[Result, ...], record: Record,
    giver: Record | None,
) -> tuple[Departure, ...]:
    """Return each reading off plan, and each critical limit not kept, worst first."""
    departures = []
    for result in results:
        key = result.figure.key
        is_off = result.verdict is Verdict.OFF_PLAN and key in readings
        # Too close to call, left out or forgotten: held all the same.
        if is_off or result.is_critical:
            proposed = result.severity if is_off else Severity.CRITICAL
            departures.append(_departure(result, proposed, record, giver))
    return tuple(sorted(departures, key=lambda d: -d.severity.rank))


def _departure(
    result: Result, proposed: Severity, record: Record, giver: Record | None
) -> Departure:
    review, batch = record.review, ""
    where = result.actual.reading.position if result.actual is not None else None
    theirs = giver.position if giver is not None else None
    read_there = where is not None and theirs is not None and where.file == theirs.file
    if giver is not None and read_there and cause_of(review, result.figure.key) is None:
        review, batch = giver.review, str(giver.batch)
    cause = cause_of(review, result.figure.key)
    if cause is None or review is None:
        return Departure(result, None, proposed, batch=batch)
    severity = Severity(str(cause.severity or proposed))
    return Departure(result, cause, severity, not is_closed(cause, severity, review), batch)


def cause_severity(assessment: Assessment, cause: Deviation) -> Severity:
    """Return how much a deviation of the review matters: as written, else the worst it shows in."""
    if cause.severity is not None:
        return Severity(str(cause.severity))
    severities = [d.severity for d in assessment.departures if d.review is cause]
    return worst(severities or (FIGURES[k].severity for k in shows_in(cause) if k in FIGURES))
