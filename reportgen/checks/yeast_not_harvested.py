"""The yeast comes from a harvest that is not recorded or too small.

Without a harvest in the parent's record the amount, age and health of the yeast are unknown. If a
plan or a day takes more than was harvested, some of the yeast is from elsewhere, or one amount is
wrong.

Fix: write the harvest into the parent's record; take less, or grow it up in a starter
Afterwards: write the harvest into the parent's record, or correct the amount that is wrong
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

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.FERMENTATION
SEVERITY = Severity.NOTE
CONTRADICTS = True
UNTIL = Stage.PITCH

MORE = 1.1
"""Slurry settles and is measured to a tenth or so."""


def check(batch: Assessment) -> Remarks:
    """Look for the harvest in the parent's record."""
    pitch = batch.record.plan.pitch
    parent = batch.archive.record(pitch.harvested_from)
    if parent is None or pitch.harvested_from is None:
        return
    harvest = parent.harvest
    if harvest is None:
        if batch.record.brew_day is not None:
            yield Remark(pitch.harvested_from.position, f"batch {pitch.harvested_from} records no harvest")
        return
    read = batch.actuals.get("yeast_amount")
    read_amount = read.reading.value if read is not None else None
    taken = read_amount or pitch.yeast_amount
    # A gram of slurry is about a millilitre. A starter is grown from less.
    if taken is None or harvest.amount is None or pitch.form == "starter":
        return
    if taken.value > MORE * harvest.amount.value:
        yield Remark(
            taken.position,
            f"{taken.text} of yeast from a harvest of {harvest.amount.text}, batch {pitch.harvested_from}",
            f"at most {harvest.amount.text}",
        )
