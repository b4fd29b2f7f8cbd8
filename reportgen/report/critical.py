"""The critical limits of a plan as cautions: each stands above the step in which it is read."""

from __future__ import annotations

import math

from reportgen.assessment.assess import Assessment
from reportgen.assessment.limits import critical_limits
from reportgen.forecast.figures import FIGURES, Stage
from reportgen.record.printed import NARROW, Units
from reportgen.report.cautions import WARNING, Caution
from reportgen.report.plan_text import printed_as, sentence, shown

HOLD = "Hold the batch where a reading does not clearly keep it."


def limits_above(
    assessment: Assessment, units: Units, section: str, *stages: Stage
) -> tuple[Caution, ...]:
    """Return the critical limits of what is read in a section of the record, as its instruments
    show them; ``stages`` narrow it to some stages of the brew day."""
    cautions = []
    for key, given in assessment.record.plan.critical_limits.items():
        figure = FIGURES.get(str(key))
        if figure is None or not figure.path or figure.path[0] != section:
            continue
        limits = critical_limits(figure, assessment.record, assessment.brewery)
        if limits is None or (stages and figure.stage not in stages):
            continue
        kind, decimals = printed_as(figure, assessment.case)
        low, high = (
            shown(assessment, figure.key, edge) if math.isfinite(edge) else edge
            for edge in (limits.low, limits.high)
        )
        allowed = units.range(low, high, kind, decimals)
        label = units.label(kind)
        unit = f"{NARROW}{label}" if label else ""
        hazard = f"Critical limit: {figure.in_sentence} {allowed}{unit}"
        because = sentence(str(given.because)).rstrip(".")
        cautions.append(Caution(f"critical {key}", WARNING, hazard, f"{because}.", HOLD, ()))
    return tuple(cautions)
