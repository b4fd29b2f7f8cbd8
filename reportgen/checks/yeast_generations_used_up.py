"""The yeast has been pitched more often than the brewery allows.

With every batch a yeast gathers dead cells, wild yeast and bacteria. The limit is the brewery's
own, in stock.yaml.

Fix: start again from new yeast
Source: limit as written in stock.yaml
Passes:
    plan: {pitch: {yeast: ale, generation: 3}}
Fails:
    plan: {pitch: {yeast: ale, generation: 11}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
GIVES_WAY = True
UNTIL = Stage.PITCH


def check(batch: Assessment) -> Remarks:
    """Compare the generation with the house's limit."""
    pitch = batch.record.plan.pitch
    limit = batch.stock.yeasts[pitch.yeast].generations
    if pitch.generation is not None and limit is not None and pitch.generation.value > limit.value:
        yield Remark(
            pitch.generation.position,
            f"generation {pitch.generation.text}",
            f"at most {limit.text}",
        )
