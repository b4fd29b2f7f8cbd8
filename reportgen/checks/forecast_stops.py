"""A part of the forecast cannot be computed.

A number of the plan or of a reading lies outside the range in which a formula holds, so what depends
on it is not computed; everything else is. Usually the decimal point or the unit is wrong.

Fix: correct the number named, or leave the reading out until it is clear
Source: ranges stated with each method
Passes:
    {}
Fails:
    plan: {liquor: {mash_liquor: 4 L}}
"""

from reportgen.assessment.assess import same_trouble
from reportgen.assessment.day_fact import DayFact, as_brewed, as_it_would_have_been
from reportgen.assessment.derived import refused_in
from reportgen.assessment.times import moment
from reportgen.checks import final_above_original
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.extrapolation import WORDS
from reportgen.checks.house_cause import wrong_figure
from reportgen.checks.inputs import origin, planned_like
from reportgen.checks.quantities import quantity, value_of
from reportgen.forecast.arguments import argument_text, why_stopped
from reportgen.forecast.figures import FIGURES
from reportgen.forecast.handles import plain
from reportgen.forecast.walk import walk
from reportgen.record.each_value import values_in
from reportgen.record.finding import Position
from reportgen.record.values import Clock
from reportgen.science.method import OutOfRange
from reportgen.science.number import nominal

GROUP = Group.RECORD
SEVERITY = Severity.MAJOR
CONTRADICTS = True
GIVES_WAY = True
EACH_FILLING = True

SECTIONS = {
    "liquor": "liquor", "mash": "mash", "run-off": "run_off", "boil": "boil", "pitch": "pitch",
    "ferment": "fermentation", "pack": "packaging",
}  # fmt: skip
"""Section of the plan that each stage of the forecast goes by."""


def check(batch: Assessment) -> Remarks:
    """Pass on what cannot be forecast, at the reading or the value of the plan it comes from."""
    told = any(final_above_original.check(batch))
    system = batch.brewery.system
    met: set[tuple[str, str]] = set()
    places: set[Position | None] = set()
    for book in (batch.planned, batch.now):
        for stage, error in book.problems:
            reason = why_stopped(error, system)
            same = (stage, same_trouble(reason))
            if same in met or (told and stage in ("ferment", "pack")):
                continue
            met.add(same)
            key = _reading(batch, stage, error) if book is batch.now else ""
            where, why = _said(batch, stage, error, key)
            fact = _fact(batch, stage, error) if book is batch.now and not key else None
            if fact is not None:
                where = _place_of(fact, batch) or where
            cause = None if key or fact is not None else wrong_figure(batch)
            if cause is not None:
                # One fault of the house, told once, where it is written.
                where, why = cause.position, f"{why}; it goes by `{cause.text}`"
            # What one number spoils in several steps is one thing to say.
            if where not in places:
                places.add(where)
                yield Remark(where, f"the {stage} cannot be forecast in full: {why}")


def _said(
    batch: Assessment, stage: str, error: Exception, key: str
) -> tuple[Position | None, str]:
    """Return where a problem stands and what it is. ``key`` is the reading that it comes from."""
    where, why = _section(batch, stage), _why(batch, error)
    if key:
        figure, value = FIGURES[key], nominal(batch.now[key])
        read = value_of(figure, value, batch)
        if isinstance(error, OutOfRange) and refused_in(error, {key: value}):
            low, high = (value_of(figure, v, batch) for v in (error.low, error.high))
            why = f"{figure.in_sentence} {read}, outside {low} to {high}"
        else:
            why = f"with the {figure.in_sentence} of {read}, {why}"
        return batch.actuals[key].reading.position or where, why
    if isinstance(error, OutOfRange):
        # A time of boiling alone may be that of a hop as well as that of the boil.
        from_what = None if error.name == "minutes" else origin(error.name, batch.record.plan)
        where = _planned(batch, stage, error) or from_what or where
    return where, why


def _why(batch: Assessment, error: Exception) -> str:
    """Say why a stage cannot be computed, in the units of brewery.yaml."""
    if not isinstance(error, OutOfRange):
        return why_stopped(error, batch.brewery.system)
    if error.name == "minutes" and error.method == "boil.volume_after_boil":
        boil, dry = (quantity(v, "time", 0, batch) for v in (error.value, error.high))
        return f"the boil takes {boil}, and the kettle is dry after {dry}"
    figure = FIGURES.get(error.name)
    words = WORDS.get(error.name, error.name.replace("_", " "))
    name = figure.in_sentence if figure is not None else words
    value, low, high = (
        argument_text(v, error.unit, batch.brewery.system)
        for v in (error.value, error.low, error.high)
    )
    return f"the {name} would be {value}, outside {low} to {high}"


def _reading(batch: Assessment, stage: str, error: Exception) -> str:
    """Return the reading that a problem comes from; empty if it is not just one.

    It is the one that the formula refuses, else the one without which there is no problem.
    """
    readings = {k: n for k, n in batch.now.readings.items() if k in batch.actuals}
    refused = refused_in(error, readings)
    if refused:
        return refused
    # Whether it stops hangs on the values alone, which are walked far sooner.
    figure, case = "", plain(batch.brewed)
    for key in readings:
        others = {k: nominal(n) for k, n in batch.now.readings.items() if k != key}
        _, problems = walk(case, others)
        if all(where != stage or type(e) is not type(error) for where, e in problems):
            if figure:
                return ""
            figure = key
    return figure


def _fact(batch: Assessment, stage: str, error: Exception) -> DayFact | None:
    """Return the one thing done on the day without which there is no such problem; None for none.
    """
    changes = [fact for fact in batch.facts if fact.change is not None]
    planned = as_it_would_have_been(batch.case, batch.planned)
    stopping: DayFact | None = None
    for fact in changes:
        case = as_brewed(planned, [other for other in changes if other is not fact])
        _, problems = walk(plain(case), {k: nominal(n) for k, n in batch.now.readings.items()})
        if all(where != stage or type(e) is not type(error) for where, e in problems):
            if stopping is not None:
                return None
            stopping = fact
    return stopping


def _place_of(fact: DayFact, batch: Assessment) -> Position | None:
    """Return where a thing done stands: its amount, else the clock that it was timed by."""
    if fact.amount is not None:
        return fact.amount.position
    day = batch.record.brew_day
    for value in values_in(day) if day is not None else ():
        if isinstance(value, Clock) and moment(batch.record, value) == fact.at:
            return value.position
    return None


def _section(batch: Assessment, stage: str) -> Position | None:
    section = getattr(batch.record.plan, SECTIONS[stage])
    return section.position or batch.record.plan.position


def _planned(batch: Assessment, stage: str, error: OutOfRange) -> Position | None:
    """Return where the plan has the number that a formula refuses, if there is just one such."""
    section = getattr(batch.record.plan, SECTIONS[stage])
    for part in (section, batch.record.plan):
        places = planned_like(part, error.value, error.unit)
        if len(places) == 1:
            return places[0].position
    return None
