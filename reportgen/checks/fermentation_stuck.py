"""The fermentation is slow or stuck.

The readings so far lie above where they should be and have stopped moving, or move slowly. Cold,
old or too little yeast and a hot mash are the usual causes.

Fix: warm it by a few degrees, stir up the yeast, and read again tomorrow
Source: see the method fermentation.stuck
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049, at: 14:00}}
    fermentation:
      log:
        - {at: 2026-03-15 14:00, gravity: 1.030}
        - {at: 2026-03-17 14:00, gravity: 1.014}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049, at: 14:00}}
    fermentation:
      log:
        - {at: 2026-03-17 14:00, gravity: 1.024}
        - {at: 2026-03-19 14:00, gravity: 1.024}
        - {at: 2026-03-21 14:00, gravity: 1.024}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.forecast.ferment import starting_gravity
from reportgen.science.fermentation import stuck
from reportgen.science.number import nominal

GROUP = Group.FERMENTATION
SEVERITY = Severity.MAJOR
ALSO = {Severity.MINOR: "slow, not stuck"}
UNTIL = Stage.FERMENT


def check(batch: Assessment) -> Remarks:
    """Ask of the log whether the fermentation is slow or stuck."""
    points = [p for p in batch.log if p.gravity is not None]
    expected = batch.now.expected.get("final_gravity")
    if batch.record.packaging is not None or len(points) < 2 or expected is None:
        return
    if "original_gravity" not in batch.now or batch.record.brew_day is None:
        return
    standing = stuck(
        [(p.hours, p.gravity) for p in points if p.gravity is not None],
        max(p.gravity_uncertainty for p in points),
        nominal(starting_gravity(batch.now)),
        batch.planned.forecast("final_gravity").value,
        kind=batch.case.yeast_kind,
    )
    state = standing.progress.value
    if state in ("slow", "stuck"):
        yield Remark(
            points[-1].gravity_position,
            f"fermentation is {state} at {points[-1].gravity:.4f}",
            f"{expected.value:.4f} ±{expected.uncertainty:.4f} at the end",
            severity=Severity.MINOR if state == "slow" else None,
        )
