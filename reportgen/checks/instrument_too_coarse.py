"""An instrument is too coarse for its tolerance.

When the uncertainty of the instrument is half the width of the tolerance or more, hardly any
reading can show that the batch is on plan. It is better to learn that before the day than at the
kettle.

Fix: read with a finer instrument, or widen the tolerance in the plan
Source: guard bands of JCGM 106; ILAC-G8:09/2019
Passes:
    plan: {tolerances: {mash_temperature: 1.5 K}}
Fails:
    plan: {tolerances: {mash_temperature: 0.3 K}}
"""

from collections.abc import Iterator

from msgspec import Struct

from reportgen.assessment.readings import at_hand
from reportgen.assessment.verdicts import Limits
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.misread import has_misread
from reportgen.checks.quantities import value_of, width_of
from reportgen.forecast.figures import Figure
from reportgen.record.finding import Position
from reportgen.record.kinds import KINDS
from reportgen.record.listing import BREWERY

GROUP = Group.READINGS
SEVERITY = Severity.MINOR
UNTIL = Stage.PACK
EACH_FILLING = True


class Coarse(Struct, frozen=True):
    """A figure that an instrument is too coarse for: how far it reads, the limits, what would do."""

    figure: Figure
    instrument: str
    reads_to: str
    between: str
    wanted: str


def check(batch: Assessment) -> Remarks:
    """Compare the U of the instrument at hand with the width of each tolerance.

    One instrument is one finding, wherever no tolerance of its own is to blame.
    """
    if has_misread(batch, BREWERY):
        # A finer one may be what cannot be read.
        return
    coarse: dict[Position | None, list[Coarse]] = {}
    for place, readings in _looked_at(batch):
        if isinstance(readings, Remark):
            yield readings
        else:
            coarse.setdefault(place, []).append(readings)
    for place, few in coarse.items():
        first = few[0]
        message = f"{first.figure.title}: {first.instrument} reads to ±{first.reads_to}; " + (
            first.between
        )
        expected = first.wanted
        if len(few) > 1:
            # Which they are may differ from batch to batch; that it is too coarse does not.
            message = f"{first.instrument} reads to ±{first.reads_to}, too coarse for its readings"
            expected = "half the tolerance or finer: " + ", ".join(
                f"{reading.figure.in_sentence.partition(',')[0]} {_short(reading.between)}" for reading in few
            )
        yield Remark(place, message, expected)


def _short(between: str) -> str:
    return between.removeprefix("the tolerance is ").removeprefix("the ")


def _looked_at(batch: Assessment) -> Iterator[tuple[Position | None, Remark | Coarse]]:
    for result in batch.results:
        figure, limits = result.figure, result.limits
        if limits is None or not figure.path or not figure.instrument:
            continue
        about = result.expected.value if result.expected is not None else None
        if about == 0 and figure.kind in ("volume", "mass"):
            # Nobody measures what does not go in: the sparge of a bag, the top-up of most.
            continue
        name, instrument, u = at_hand(figure, about, batch.record, batch.brewery)
        if instrument is None:
            continue
        if limits.high < limits.low:
            low, high = (value_of(figure, edge, batch) for edge in (limits.low, limits.high))
            place = _cause(batch, figure, name)
            yield place, Remark(
                place,
                f"{figure.title}: the tolerance and the critical limit have no value in common:"
                f" at least {low} and at most {high}",
                "a tolerance and a critical limit that overlap",
            )
        elif limits.too_coarse(u):
            between, wanted = _limits(batch, figure, limits, u)
            yield _cause(batch, figure, name), Coarse(
                figure, name, width_of(figure, u, batch), between, wanted
            )


def _limits(batch: Assessment, figure: Figure, limits: Limits, u: float) -> tuple[str, str]:
    """Return the limits in words, and what would do.

    A tolerance of the house is said as it was typed there, so that it is said once, whatever the
    batch; limits of the plan as the interval that they are.
    """
    half = (limits.high - limits.low) / 2
    if half > 0 and limits.origin in ("house", "default"):
        typed = batch.brewery.tolerances.get(figure.key)
        share = figure.tolerance if figure.relative and typed is None else None
        if typed is not None and KINDS[figure.kind].is_share_of(typed):
            share = typed.value
        if share is not None:
            return f"the tolerance is ±{100 * share:.2g} %", f"±{50 * share:.2g} % or finer"
        width = width_of(figure, half, batch)
        return f"the tolerance is ±{width}", f"±{width_of(figure, half / 2, batch)} or finer"
    least, most = (value_of(figure, edge, batch) for edge in (limits.low, limits.high))
    if half > 0:
        finer = f"±{width_of(figure, half / 2, batch)} or finer"
        return f"the limits are {least} to {most}", finer
    return (
        f"the limits leave nothing but {least}",
        f"limits at least {width_of(figure, 4 * u, batch)} apart",
    )


def _cause(batch: Assessment, figure: Figure, name: str) -> Position | None:
    """Return where the tolerance or the instrument is chosen: nearest to the plan first."""
    plan = batch.record.plan
    given, critical = plan.tolerances.get(figure.key), plan.critical_limits.get(figure.key)
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
