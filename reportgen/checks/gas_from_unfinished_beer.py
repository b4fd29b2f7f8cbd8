"""The beer could ferment on in the closed container.

The gravity at packaging, or the last one of the log, is above the expected end by more than the
instrument could err. If the yeast ferments the rest, every point of gravity makes half a volume
of gas, on top of the priming. Where that is too much for the vessel, pressure-over-limit says so in
the place of this.

Fix: wait, or warm it and stir up the yeast; pack when readings are steady; if packed, keep cold and vent
Afterwards: open what is left with eyes shielded, and keep it cold; next time pack when readings are steady
Source: see the methods carbonation.volumes_from_gravity_points and alcohol.gravity_at_attenuation
Passes:
    plan: {packaging: {into: bottle}}
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.011}
    packaging: {date: 2026-03-24}
Fails:
    plan: {packaging: {into: bottle}}
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.014}
    packaging: {date: 2026-03-24}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage, silenced_in
from reportgen.checks.pressure_over_limit import bursts_of_gas
from reportgen.checks.quantities import gravity_read
from reportgen.science.carbonation import volumes_from_gravity_points
from reportgen.science.number import nominal

GROUP = Group.PACKAGING
SEVERITY = Severity.MAJOR
ALSO = {Severity.CRITICAL: "it brings the beer above 3.5 volumes"}
UNTIL = Stage.PACK
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Compute the gas that the extract left could still make in bottle or cask."""
    actual = batch.actuals.get("final_gravity")
    expected = batch.now.expected.get("final_gravity")
    if batch.record.packaging is None or batch.record.plan.packaging.into == "keg":
        return
    if actual is None:
        yield from _last_of_log(batch)
        return
    if actual.value is None or expected is None:
        return
    if actual.value - actual.uncertainty <= expected.value + expected.uncertainty:
        return
    if "pressure-over-limit" not in silenced_in(batch) and bursts_of_gas(batch):
        return
    more = nominal(volumes_from_gravity_points(actual.value, expected.value))
    yield Remark(
        actual.reading.position,
        f"final gravity {gravity_read(actual)}, {more:.1f} volumes of gas above the expected end",
        f"{expected.value:.4f} ±{expected.uncertainty:.4f}",
        severity=Severity.CRITICAL if batch.case.carbonation + more > 3.5 else None,
    )


def _last_of_log(batch: Assessment) -> Remarks:
    """Look at the last gravity of the log: the beer was packed without reading its own."""
    expected = batch.planned.expected.get("final_gravity")
    read = [point for point in batch.log if point.gravity is not None]
    if expected is None or not read:
        return
    last = read[-1]
    value = last.gravity
    if value is None or value - last.gravity_uncertainty <= expected.value + expected.uncertainty:
        return
    more = nominal(volumes_from_gravity_points(value, expected.value))
    yield Remark(
        last.gravity_position,
        f"last gravity {value:.4f}, {more:.1f} volumes of gas above the expected end",
        f"{expected.value:.4f} ±{expected.uncertainty:.4f}",
        severity=Severity.CRITICAL if batch.case.carbonation + more > 3.5 else None,
    )
