"""The yeast comes from a batch that records no harvest.

Without a harvest in the parent's record its amount, age and health are unknown.

Fix: write the harvest into the parent's record
Source: 21 CFR 211.188 by analogy: each lot identified
Passes:
    others:
      2026-00: {brew_day: {date: 2026-02-01}, fermentation: {harvest: {at: 2026-02-09 10:00}}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00}}
    brew_day: {date: 2026-02-14}
Fails:
    others:
      2026-00: {brew_day: {date: 2026-02-01}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00}}
    brew_day: {date: 2026-02-14}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.FERMENTATION
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Remark]:
    """Look for the harvest in the parent's record."""
    pitch = batch.record.plan.pitch
    if pitch.harvested_from is None:
        return
    parent = batch.archive.batches.get(str(pitch.harvested_from))
    if parent is None or parent.record is None or batch.record.brew_day is None:
        return
    fermentation = parent.record.fermentation
    if fermentation is None or fermentation.harvest is None:
        yield Remark(pitch.harvested_from.position, f"batch {parent.id} records no harvest")
