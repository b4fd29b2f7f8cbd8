"""A deviation in the review is not written in full.

What must be written grows with the severity. A note needs nothing more than what happened. A minor
deviation needs its cause; `cause_certainty: unknown` counts. A major one also needs the correction: what
was done about the beer. A critical one needs everything: cause and how sure it is, effect,
correction, corrective action, other batches, disposition, who closed it and when. Until then it is
open wherever the batch is shown.

One cause that shows in several figures is written once: name them all under `figures`.

Fix: fill in what is missing; write `cause_certainty: unknown` for a cause that is not known
Source: 21 CFR 211.192; Codex CXC 1-1969 step 10
Passes:
    brew_day: {date: 2026-03-14}
    review:
      deviations:
        - {figures: [kettle_volume, kettle_gravity], what: short, cause: thick mash}
        - {figure: original_gravity, what: strong, cause_certainty: unknown, correction: blended}
        - {figure: strike_temperature, what: a little hot, severity: note}
Fails:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short}]}
"""

from reportgen.assessment.assess import cause_severity
from reportgen.assessment.causes import NEEDED, lacking, name_of, shows_in
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.forecast.figures import FIGURES
from reportgen.record.model.later import Deviation

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for what each deviation lacks."""
    for cause in batch.record.deviations:
        severity = cause_severity(batch, cause)
        missing = lacking(cause, severity)
        if missing:
            yield Remark(
                cause.what.position if cause.figure is None else cause.figure.position,
                f"{_title(cause)}: {_words(missing)} not written, {severity} deviation",
                _words(NEEDED[severity]),
            )


def _title(cause: Deviation) -> str:
    first = next(shows_in(cause), "")
    return FIGURES[first].title if first in FIGURES else name_of(cause).replace("_", " ")


def _words(keys: tuple[str, ...]) -> str:
    return ", ".join(f"`{key}`" for key in keys)
