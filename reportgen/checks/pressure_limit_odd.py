"""A limit on pressure is higher than any vessel of its kind takes.

A limit that is too high protects nobody: 130 psi are 9 bar, and typed as 130 bar no pressure is
ever over it. Such a rating in brewery.yaml counts as unknown. A critical limit of the plan above
the rating of the container is no limit either.

Fix: read the plate and its unit again, and correct the limit
Source: DIN 6647-1 and -2:2006 for kegs (3 and 7 bar); for other vessels common practice, no source
Passes:
    brewery: {containers: {keg_19: {is: keg, pressure_rating: 130 psi}}}
Fails:
    brewery: {containers: {keg_19: {is: keg, pressure_rating: 130 bar}}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.pressures import named, other_unit
from reportgen.checks.quantities import quantity
from reportgen.forecast.vessels import USUAL

GROUP = Group.PACKAGING
SEVERITY = Severity.CRITICAL
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Look at every rating of the house, and at the limit that the plan sets."""
    house = batch.brewery
    given = [
        *(("fermenter", kit.fermenter.pressure_rating) for kit in house.kits.values()),
        *((str(own.is_), own.pressure_rating) for own in house.containers.values()),
    ]
    for kind, limit in given:
        most = USUAL[kind].most
        if limit is None or limit.value <= most:
            continue
        meant = other_unit(limit, None, most)
        yield Remark(
            limit.position,
            f"no {kind} is rated for {limit.text}",
            f"at most {quantity(most, 'pressure', 0, batch)}",
            f"read the plate again: {meant.hint}" if meant is not None else "",
        )
    planned = batch.record.plan.critical_limits.get("pressure")
    at_most = planned.at_most if planned is not None else None
    vessel = batch.case.container
    most = USUAL[vessel.kind].strongest if vessel.rating is None else vessel.rating
    if at_most is not None and at_most.kind == "pressure" and at_most.value > most:
        meant = other_unit(at_most, None, most)
        yield Remark(
            at_most.position,
            f"a critical limit of {at_most.text} is above what the {named(vessel)} takes",
            f"at most {quantity(most, 'pressure', 2, batch)}",
            f"check its unit: {meant.hint}" if meant is not None else "",
        )
