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

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.forecast.readings import instrument_name, instrument_uncertainty
from reportgen.record.finding import Severity

GROUP = Group.KIT
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Compare the U of the instrument at hand with the width of each tolerance."""
    for result in batch.results:
        figure, limits = result.figure, result.limits
        if limits is None or not figure.path or not figure.instrument:
            continue
        about = result.expected.value if result.expected is not None else None
        name = instrument_name(batch.record, figure, None, batch.brewery, about)
        instrument = batch.brewery.instruments.get(name)
        if instrument is None:
            continue
        u = instrument_uncertainty(instrument, None)
        if limits.too_coarse(u):
            given = batch.record.plan.tolerances.get(figure.key)
            yield Said(
                given.position if given is not None else batch.record.plan.position,
                f"{figure.title}: {name} reads to ±{u:.3g}, the tolerance is"
                f" ±{(limits.high - limits.low) / 2:.3g}",
                f"±{(limits.high - limits.low) / 4:.3g} or finer",
            )
