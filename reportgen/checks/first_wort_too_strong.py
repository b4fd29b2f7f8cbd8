"""The first wort is stronger than the malt can make it.

With all extract in solution the first wort has a highest possible strength, given by grist and
liquor. A reading above it means a wrong weight, a wrong volume, a hot sample or a mistyped figure.

Fix: check the weights, the liquor volume and the sample's temperature
Source: mass balance; see the method lautering.first_wort_extract
Passes:
    brew_day: {date: 2026-03-14, mash: {first_wort_gravity: 1.086}}
Fails:
    brew_day: {date: 2026-03-14, mash: {first_wort_gravity: 1.105}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import gravity_read

GROUP = Group.RUN_OFF
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "above 110 %"}
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Look at the conversion that the first wort implies."""
    conversion = batch.actuals.get("conversion")
    read = batch.actuals.get("first_wort_gravity")
    if conversion is None or conversion.value is None or read is None:
        return
    if conversion.value - conversion.uncertainty > 1.0:
        yield Remark(
            read.reading.position,
            f"first wort {gravity_read(read)} would need {conversion.value:.0%} conversion",
            "at most 100 %",
            severity=Severity.MAJOR if conversion.value > 1.1 else None,
        )
