"""A tolerance or a deviation names no figure.

Tolerances and deviations are tied to a figure by its key; a mistyped key ties them to nothing.

Mend: use a key as `reportgen figures` prints it
Source: the list of figures
Passes:
    plan: {tolerances: {mash_temperature: 1.0 K}}
Fails:
    plan: {tolerances: {mash_temprature: 1.0 K}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment, fits
from reportgen.checks.base import Group, Said
from reportgen.forecast.figures import FIGURES, READ
from reportgen.record.finding import Severity
from reportgen.record.suggest import did_you_mean

GROUP = Group.TRUE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Compare the keys of tolerances with the figures."""
    for tolerances in (batch.record.plan.tolerances, batch.brewery.tolerances):
        for key, quantity in tolerances.items():
            if key not in FIGURES:
                where = getattr(key, "position", None) or quantity.position
                meant = did_you_mean(key, list(FIGURES))
                yield Said(where, f"`{key}` is no figure", "", meant)
    for key, limit in batch.record.plan.critical.items():
        if key not in FIGURES or not FIGURES[key].path:
            where = getattr(key, "position", None) or limit.position
            meant = did_you_mean(key, [figure.key for figure in READ])
            yield Said(where, f"`{key}` is no figure that is read", "", meant, Severity.MAJOR)
            continue
        for given in (limit.at_least, limit.at_most):
            if given is not None and not fits(FIGURES[key], given):
                said = f"{FIGURES[key].title} is no {given.kind.replace('_', ' ')}"
                kind = FIGURES[key].kind.replace("_", " ")
                yield Said(given.position, said, kind, f"write it as {kind}", Severity.MAJOR)
