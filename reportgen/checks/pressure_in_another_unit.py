"""A pressure fits in another unit.

The pressure read is not what was wanted, but is once the number is taken in another unit, or as
absolute pressure: a gauge that counts from a vacuum shows about 1 bar with nothing in it. A reading
above the rating of its vessel has a finding of its own.

Fix: read the gauge and its unit again, and correct what is written
Source: 1 psi = 0.06895 bar (NIST SP 811)
Passes:
    plan: {packaging: {carbonation: 2.2 vol, beer_temperature: 6 C}}
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, beer_temperature: 6 C, pressure: 10 psi}
Fails:
    plan: {packaging: {carbonation: 2.2 vol, beer_temperature: 6 C}}
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, beer_temperature: 6 C, pressure: 10 kPa}
"""

from reportgen.assessment.verdicts import Verdict
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.pressures import other_unit
from reportgen.checks.quantities import quantity
from reportgen.forecast.vessels import USUAL

GROUP = Group.PACKAGING
SEVERITY = Severity.MINOR
FIGURE = "pressure"
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Look at a pressure that is off plan in other units."""
    result = batch.find("pressure")
    if result is None or result.verdict is not Verdict.OFF_PLAN:
        return
    actual, expected, vessel = result.actual, result.expected, batch.case.container
    if actual is None or actual.reading.value is None or expected is None:
        return
    read = actual.reading.value
    usual = USUAL[vessel.kind].weakest
    if read.value > (usual if vessel.rating is None else vessel.rating):
        return
    meant = other_unit(read, expected.value, usual, batch.case.air)
    if meant is None:
        return
    yield Remark(
        actual.reading.position,
        f"`{read.text}` of pressure",
        f"about {quantity(expected.value, 'pressure', 2, batch)}",
        f"read the gauge again: {meant.hint}",
    )
