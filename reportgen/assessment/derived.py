"""Actuals that nobody reads: what follows from the readings and from the log."""

from __future__ import annotations

import math
from collections.abc import Mapping

from reportgen.assessment.corrections import Actual
from reportgen.assessment.log import LogPoint
from reportgen.forecast.arguments import why_stopped
from reportgen.forecast.book import Forecast, NotForecast
from reportgen.forecast.case import Case
from reportgen.forecast.ferment import starting_gravity
from reportgen.forecast.figures import DERIVED, FIGURES, READ
from reportgen.forecast.pack import gas_of_primed, gas_under
from reportgen.record.model.batch import Record
from reportgen.record.values import Reading, State
from reportgen.science.fermentation import fit_log
from reportgen.science.method import REFUSED, OutOfRange
from reportgen.science.number import Number, nominal, ufloat


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
