"""The sparge liquor is hotter than the grain should get.

Above about 78 degrees starch that was left is set free without enzymes to break it down, and tannin
dissolves from the husks. It also scalds.

Fix: sparge at 74 to 77 C
Source: common practice, no source
Passes:
    plan: {run_off: {sparge_temperature: 76 C}}
Fails:
    plan: {run_off: {sparge_temperature: 82 C}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import as_read, temperature

GROUP = Group.RUN_OFF
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "above 80 °C"}
UNTIL = Stage.RUN_OFF
FIGURE = "sparge_temperature"


def check(batch: Assessment) -> Remarks:
    """Look at the sparge temperature planned and read."""
    planned = batch.record.plan.run_off.sparge_temperature
    read = batch.actuals.get("sparge_temperature")
    readings = [] if planned is None else [(planned.position, planned.value, 0.0, "")]
    if read is not None and read.value is not None:
        shown = as_read(read, temperature(read.value, batch))
        readings.append((read.reading.position, read.value, read.uncertainty, shown))
    for where, value, u, shown in readings:
        if value - u > 78:
            yield Remark(
                where,
                f"sparge liquor of {shown or temperature(value, batch)}",
                f"at most {temperature(78, batch, 0)}",
                severity=Severity.MINOR if value > 80 else None,
            )
