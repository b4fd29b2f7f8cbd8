"""An instrument is too coarse for its tolerance.

When the uncertainty of the instrument is half the width of the tolerance or more, hardly any
reading can show that the batch is on plan. It is better to learn that before the day than at the
kettle.

Mend: read with a finer instrument, or widen the tolerance in the plan
Source: guard bands of JCGM 106; ILAC-G8:09/2019
Passes:
    plan: {tolerances: {mash_temperature: 1.5 K}}
Fails:
    plan: {tolerances: {mash_temperature: 0.3 K}}
"""

import math
from collections.abc import Iterator

from reportgen.assess import Assessment, Result
from reportgen.checks.base import Group, Said
from reportgen.checks.quantities import value_of, width_of
from reportgen.forecast.figures import Figure
from reportgen.forecast.readings import instrument_name, instrument_uncertainty
from reportgen.record.finding import Position, Severity
from reportgen.verdicts import Limits

GROUP = Group.KIT
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Compare the U of the instrument at hand with the width of each tolerance."""
    for result in batch.results:
        figure, limits = result.figure, result.limits
        if limits is None or not figure.path or not figure.instrument:
            continue
        about = result.expected.value if result.expected is not None else None
        if about == 0 and figure.kind in ("volume", "mass"):
            # Nobody measures what does not go in: the sparge of a bag, the top-up of most.
            continue
        name = instrument_name(batch.record, figure, None, batch.brewery, about)
        instrument = batch.brewery.instruments.get(name)
        if instrument is None:
            continue
        u = instrument_uncertainty(instrument, None)
        if limits.too_coarse(u):
            yield Said(_cause(batch, figure, name), *_words(batch, result, limits, name, u))


def _words(
    batch: Assessment, result: Result, limits: Limits, name: str, u: float
) -> tuple[str, str]:
    """Return what is wrong and what is expected; limits that do not meet have no width."""
    figure, half = result.figure, (limits.high - limits.low) / 2
    low, high = (value_of(figure, edge, batch) for edge in (limits.low, limits.high))
    if half < 0:
        return (
            f"{figure.title}: the tolerance and the critical limit have no value in common: at"
            f" least {low} and at most {high}",
            "a tolerance and a critical limit that overlap",
        )
    expected = result.expected.value if result.expected is not None else limits.low
    centred = math.isclose(limits.low + half, expected, rel_tol=1e-9)
    said = f"the tolerance is ±{width_of(figure, half, batch)}"
    wanted = (
        f"±{width_of(figure, half / 2, batch)} or finer"
        if half > 0
        else f"a tolerance of ±{width_of(figure, 2 * u, batch)} or more"
    )
    # A critical limit cuts one side off, so that what is left has no middle to speak of.
    between = said if centred else f"the limits are {low} to {high}"
    return f"{figure.title}: {name} reads to ±{width_of(figure, u, batch)}, {between}", wanted


def _cause(batch: Assessment, figure: Figure, name: str) -> Position | None:
    """Return where the tolerance or the instrument is chosen: nearest to the plan first."""
    plan = batch.record.plan
    given, critical = plan.tolerances.get(figure.key), plan.critical.get(figure.key)
    if given is not None:
        return given.position
    if critical is not None:
        return critical.position
    chosen = getattr(plan.instruments, figure.instrument, None) if plan.instruments else None
    if chosen is not None and str(chosen) == name:
        return chosen.position  # type: ignore[no-any-return]
    of_house = batch.brewery.tolerances.get(figure.key)
    if of_house is not None:
        return of_house.position
    return batch.brewery.instruments[name].position
