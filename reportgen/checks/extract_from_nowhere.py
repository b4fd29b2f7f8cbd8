"""More extract in the kettle than the grist holds.

The kettle cannot hold more extract than went into the tun. A volume read hot without its
temperature, a hot sample, a mistyped weight or a generous malt figure explain it.

Fix: check the kettle volume, its temperature and the gravity
Source: conservation of mass
Passes:
    brew_day: {date: 2026-03-14, run_off: {kettle_volume: 46.5 L, kettle_gravity: 1.044}}
Fails:
    brew_day: {date: 2026-03-14, run_off: {kettle_volume: 46.5 L, kettle_gravity: 1.060}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.MASH
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "above 110 %"}
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Look at the mash efficiency that the readings imply."""
    efficiency = batch.actuals.get("mash_efficiency")
    read = batch.actuals.get("kettle_gravity")
    if efficiency is None or efficiency.value is None or read is None:
        return
    if efficiency.value - efficiency.uncertainty > 1.0:
        yield Remark(
            read.reading.position,
            f"the kettle would hold {efficiency.value:.0%} of the grist's extract",
            "at most 100 %",
            severity=Severity.MAJOR if efficiency.value > 1.1 else None,
        )
