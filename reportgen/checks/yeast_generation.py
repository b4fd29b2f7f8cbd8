"""The yeast's generation does not follow from its parent.

A yeast harvested from a batch is one generation further than that batch's. A wrong count hides
how often a yeast was used.

Fix: count again: one more than the batch it was harvested from
Source: definition of generation
Passes:
    others:
      2026-00: {plan: {pitch: {yeast: ale, generation: 1}}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00, generation: 2}}
Fails:
    others:
      2026-00: {plan: {pitch: {yeast: ale, generation: 1}}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00, generation: 4}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare the generation with that of the batch the yeast came from."""
    pitch = batch.record.plan.pitch
    parent = batch.archive.record(pitch.harvested_from)
    if parent is None or pitch.generation is None:
        return
    before = parent.plan.pitch.generation
    count = before.value if before is not None else 0.0
    if pitch.generation.value != count + 1:
        yield Remark(
            pitch.generation.position,
            f"generation {pitch.generation.text} from batch {pitch.harvested_from}, which was {count:g}",
            f"{count + 1:g}",
        )
