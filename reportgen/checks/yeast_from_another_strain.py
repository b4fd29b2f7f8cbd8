"""The yeast was harvested from a batch of another yeast.

Yeast comes out as it went in. Either the batch or the yeast's name is wrong.

Fix: correct the batch or the yeast
Source: the record against itself
Passes:
    others:
      2026-00: {plan: {pitch: {yeast: ale}}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00}}
Fails:
    stock: {yeasts: {other: {ferments: ale, apparent_attenuation: 75 %}}}
    others:
      2026-00: {plan: {pitch: {yeast: other}}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Compare the yeast with that of the batch it came from."""
    pitch = batch.record.plan.pitch
    parent = batch.archive.record(pitch.harvested_from)
    if parent is None or pitch.harvested_from is None:
        return
    other = parent.plan.pitch.yeast
    if str(other) != str(pitch.yeast):
        yield Remark(
            pitch.harvested_from.position,
            f"batch {pitch.harvested_from} fermented with {other}",
            f"a batch of {pitch.yeast}",
        )
