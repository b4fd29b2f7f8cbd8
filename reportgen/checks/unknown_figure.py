"""A tolerance or a deviation names no figure.

Tolerances and deviations are tied to a figure by its key; a mistyped key ties them to nothing. A
deviation may be about something else, in a word of the brewer's own: one is taken for a mistyped
key only where it resembles a figure.

Fix: use a key as `reportgen figures` prints it
Source: the list of figures
Passes:
    plan: {tolerances: {mash_temperature: 1.0 K}}
    review:
      deviations:
        - {figure: mash_temperature, what: 2 K over}
        - {figure: stuck fermentation, what: Stood still at 1.024}
        - {figures: [final_gravity, alcohol], what: Stood still at 1.024}
Fails:
    plan: {tolerances: {mash_temprature: 1.0 K}}
    review: {deviations: [{figure: mash_temprature, what: 2 K over}]}
"""

from collections.abc import Iterator, Sequence

from reportgen.assessment.limits import limit_of
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Told
from reportgen.checks.slip_undone import with_what_follows
from reportgen.forecast.figures import ANALYSED, FIGURES, READ, Figure
from reportgen.forecast.resolve import number_of
from reportgen.record.each_value import with_value
from reportgen.record.finding import Finding
from reportgen.record.suggest import did_you_mean, nearest
from reportgen.record.units import Quantity
from reportgen.record.values import Text

NAME = "unknown-figure"
GROUP = Group.RECORD
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "in a critical limit", Severity.CRITICAL: "as heavy as what comes of it"}

MOST_LETTERS_OFF = 3
"""A mistyped key differs from the right one by no more letters than this."""


def check(batch: Assessment) -> Remarks:
    """Compare the keys of tolerances, limits and deviations with the figures."""
    for tolerances in (batch.record.plan.tolerances, batch.brewery.tolerances):
        for key, quantity in tolerances.items():
            if key not in FIGURES:
                where = getattr(key, "position", None) or quantity.position
                meant = did_you_mean(key, list(FIGURES))
                yield Remark(where, f"`{key}` is not a figure", "", meant)
    read, gallon = (*READ, *ANALYSED), batch.brewery.bare_gallon
    for key, limit in batch.record.plan.critical_limits.items():
        if key not in FIGURES or FIGURES[key] not in read:
            where = getattr(key, "position", None) or limit.position
            meant = did_you_mean(key, [figure.key for figure in read])
            yield Remark(where, f"`{key}` is not a figure that is read", "", meant, Severity.MAJOR)
            continue
        for given in (limit.at_least, limit.at_most):
            if given is not None and limit_of(FIGURES[key], given, gallon) is None:
                said = f"{FIGURES[key].title} is no {given.kind.replace('_', ' ')}"
                kind = FIGURES[key].kind.replace("_", " ")
                yield Remark(given.position, said, kind, f"write it as {kind}", Severity.MAJOR)
        yield from _crossed(FIGURES[key], limit.at_least, limit.at_most)
    for named, meant in _mistyped(batch):
        yield Remark(named.position, f"`{named}` is not a figure", "", f"did you mean `{meant}`?")


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield each figure that a deviation mistypes, with what would not be found of the right one."""
    own = {finding.position: finding for finding in findings if finding.rule == NAME}
    for named, meant in _mistyped(batch) if own else ():
        if named.position in own:
            right = with_value(batch.record, named, Text(meant, named.position))
            yield from with_what_follows(
                batch, findings, told, own[named.position], right, is_amount=False
            )


def _mistyped(batch: Assessment) -> Iterator[tuple[Text, str]]:
    """Yield each word of a deviation that resembles a figure, with that."""
    for deviation in batch.record.deviations:
        single = () if deviation.figure is None else (deviation.figure,)
        for named in (*single, *deviation.figures):
            if meant := _meant(named):
                yield named, meant


def _crossed(figure: Figure, low: Quantity | None, high: Quantity | None) -> Remarks:
    """Say where two gravities on different scales leave nothing between them.

    Of one scale the loader says so.
    """
    if low is None or high is None or figure.kind != "gravity" or low.unit == high.unit:
        return
    if number_of(low) >= number_of(high):
        yield Remark(
            high.position,
            f"`at_most` {high.text} is not above `at_least` {low.text}",
            f"more than {low.text}",
            "exchange the two, or correct one of them",
            Severity.MAJOR,
        )


def _meant(word: str) -> str:
    """Return what a mistyped key of a deviation was meant to be; empty for a key or free words.

    The beginning of a key is no slip here: `pressure test` or `mash` are words of their own.
    """
    if word in FIGURES:
        return ""
    closest = nearest(word, FIGURES)
    if closest is None or abs(len(closest) - len(word)) > MOST_LETTERS_OFF:
        return ""
    return closest
