"""Packed beer has no label text in the record.

Years later nobody knows what was promised on the bottle. The allergens, too, are looked for in
the label text.

Fix: write what the label says, with strength and allergens
Source: 21 CFR 211.188(b)(8), by analogy
Passes:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, label: 'Bitter, contains barley'}
Fails:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.PACKAGING
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Remarks:
    """Look for the label."""
    packed = batch.record.packaging
    if packed is not None and packed.label is None:
        yield Remark(packed.position, "no label text")
