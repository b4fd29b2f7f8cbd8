"""The final gravity is not that of the last log entries.

The final gravity should be what the last entries of the log settled at. A difference that the
instrument can tell means that one of the two was mistyped, or that the beer went on fermenting.

Fix: compare with the cellar sheet
Source: the record against itself
Passes:
    brew_day: {date: 2026-03-14}
    fermentation:
      log: [{at: 2026-03-20 18:00, gravity: 1.011}]
      final_gravity: 1.011
Fails:
    brew_day: {date: 2026-03-14}
    fermentation:
      log: [{at: 2026-03-20 18:00, gravity: 1.018}]
      final_gravity: 1.011
"""

from reportgen.assessment.log import is_in_order, last_gravity
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import gravity_read

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare the final gravity with the last entry of the log."""
    final = batch.actuals.get("final_gravity")
    points = [p for p in batch.log if p.gravity is not None]
    if final is None or final.value is None or not points:
        return
    # An entry that is not the last of the list, though its date says so, has the wrong date.
    if not is_in_order(entry.at for entry in batch.record.log):
        return
    last, typed, logged = points[-1], final.reading.value, last_gravity(batch.record)
    # On the SG scale of a refractometer alcohol counts as sugar.
    scales = (logged[1].unit if logged else "", typed.unit if typed else "")
    assert last.gravity is not None
    if abs(last.gravity - final.value) > 2 * (last.gravity_uncertainty + final.uncertainty):
        yield Remark(
            final.reading.position,
            f"final gravity {gravity_read(final)}, last in the log {last.gravity:.4f}",
            f"{last.gravity:.4f} ±{last.gravity_uncertainty + final.uncertainty:.4f}",
            "if it is from the scale of a refractometer, write what that showed, with `Bx`"
            if scales in (("Bx", "SG"), ("Bx", "P")) else "",
        )
