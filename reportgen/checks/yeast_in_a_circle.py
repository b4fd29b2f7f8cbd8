"""The yeast's descent goes round in a circle.

Each yeast comes from an earlier batch. A circle means that one of the links is wrong, and neither
age nor generation is known.

Fix: correct the batch that the yeast was harvested from
Source: descent is a line
Passes:
    others:
      2026-00: {plan: {pitch: {yeast: ale}}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00}}
Fails:
    others:
      2026-00: {plan: {pitch: {yeast: ale, harvested_from: 2026-01}}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.model.batch import Record

GROUP = Group.FERMENTATION
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Remarks:
    """Follow the yeast back."""
    first = batch.record.plan.pitch.harvested_from
    if first is None:
        return
    seen = [batch.batch.id]
    record: Record | None = batch.record
    while record is not None and record.plan.pitch.harvested_from is not None:
        parent = batch.archive.batches.get(str(record.plan.pitch.harvested_from))
        if parent is None:
            return
        if parent.id == seen[0]:
            circle = " from ".join([*seen, seen[0]])
            yield Remark(first.position, f"the yeast descends from itself: {circle}")
            return
        if parent.id in seen:
            return
        seen.append(parent.id)
        record = parent.record
