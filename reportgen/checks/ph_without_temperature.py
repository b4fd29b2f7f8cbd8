"""A mash pH has no sample temperature.

Wort reads a third of a unit lower hot than cold, whatever the meter corrects. Without the
temperature of the sample nobody can tell later which it was.

Fix: write the temperature of the sample, e.g. {read: 5.42, sample: 22 C}
Source: D.E. Briggs et al. 2004, Brewing: Science and Practice: 0.35 lower at 65 C
Passes:
    brew_day: {date: 2026-03-14, mash: {mash_ph: {read: 5.42, sample: 22 C}}}
Fails:
    brew_day: {date: 2026-03-14, mash: {mash_ph: 5.42}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.READINGS
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Remarks:
    """Look for the sample temperature of the mash pH."""
    actual = batch.actuals.get("mash_ph")
    if actual is None or actual.value is None:
        return
    if actual.reading.sample_temperature is None:
        yield Remark(actual.reading.position, "the temperature of the sample is not written")
