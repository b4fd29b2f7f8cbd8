"""The label states another strength than the beer has.

People judge by the label what they may drink, and duty is paid on it. Up to 5.5 % vol a label may
differ by 0.5 % vol, above that by 1 % vol. The U of the readings is allowed on top. Without any
reading the label is compared with the plan. A label that says alcohol-free or low in alcohol,
without a number, is checked against 0.5 and 1.2 % vol. Some countries allow less: 0.3 % vol in
the United States (27 CFR 7.65).

Fix: correct the label, or the gravities that the strength follows from; hold what is labelled
Afterwards: correct the labels of what is left, or the gravities that the strength follows from
Source: Regulation (EU) 1169/2011 annex XII; local law decides
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.011}
    packaging: {date: 2026-03-24, label: 'Bitter, 5.0 % vol, contains barley'}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.032}}
    fermentation: {final_gravity: 1.010}
    packaging: {date: 2026-03-24, label: 'Bitter, 5.8 % vol, contains barley'}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.labels import Strength, strengths_in
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.PACKAGING
SEVERITY = Severity.MAJOR
ALSO = {Severity.MINOR: "before the beer is brewed"}
UNTIL = Stage.PACK
CONTRADICTS = True

WEAK = 5.5
"""Strongest beer in % vol that the narrow tolerance is for."""

TOLERANCE_WEAK, TOLERANCE_STRONG = 0.5, 1.0
_ROUNDED = 1e-6


def check(batch: Assessment) -> Remarks:
    """Compare the strength on the label with that of the beer in each kind of container."""
    for packed in batch.packed_as:
        strengths = list(_judged(packed))
        if strengths:
            yield from strengths
            return


def _judged(batch: Assessment) -> Remarks:
    packed = batch.record.packaging
    if packed is None or packed.label is None:
        return
    brewed = batch.as_brewed("alcohol")
    alcohol = brewed
    if alcohol is None and "alcohol" in batch.now:
        alcohol = batch.now["alcohol"]
    stated = strengths_in(packed.label)
    if alcohol is None or not stated:
        return
    percent, u = 100 * nominal(alcohol), 100 * expanded_uncertainty(alcohol)
    if percent < 0:
        # Two gravities in the wrong order, of which another check speaks.
        return
    tolerance = TOLERANCE_WEAK if percent <= WEAK else TOLERANCE_STRONG
    said = f"{stated[0].percent:g} % vol"
    expected = f"{max(0.0, percent - tolerance):.1f} to {percent + tolerance:.1f} % vol"
    if stated[0].is_claim:
        tolerance, said = 0.0, f"no more than {said}"
        expected = f"the strength, {percent:.1f} % vol"
    if any(_is_true(strength, percent, tolerance + u) for strength in stated):
        return
    yield Remark(
        packed.label.position,
        f"the label says {said}, the beer has {percent:.1f} ±{u:.1f} % vol",
        expected,
        severity=Severity.MINOR if brewed is None else None,
    )


def _is_true(stated: Strength, percent: float, reach: float) -> bool:
    over, under = percent - stated.percent, stated.percent - percent
    return over <= reach + _ROUNDED and (stated.is_most or under <= reach + _ROUNDED)
