"""The extract grows or shrinks in the boil.

Boiling takes water away and leaves the extract. Volume and gravity after the boil must hold as
much of it as before, and what sugar went into the kettle. If the difference is more than both
instruments can explain, a volume was read hot without its temperature, a sample was hot or badly
mixed, or something was added or drawn off and not written.

Fix: check both volumes, their temperatures and both gravities; write down what was added
Source: conservation of extract
Passes:
    brew_day:
      date: 2026-03-14
      run_off: {kettle_volume: 46.5 L, kettle_gravity: 1.044}
      boil: {cast_out_volume: 38 L, cast_out_gravity: 1.049}
      taken: [{amount: 4 L, from: kettle}]
Fails:
    brew_day:
      date: 2026-03-14
      run_off: {kettle_volume: 46.5 L, kettle_gravity: 1.044}
      boil: {cast_out_volume: 45.5 L, cast_out_gravity: 1.053}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import quantity
from reportgen.science.extract import extract_mass
from reportgen.science.number import Number, expanded_uncertainty, nominal

GROUP = Group.BOIL
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "more than 10 % gained"}
CONTRADICTS = True

GROWS, SHRINKS = 0.02, 0.05
"""Share that is not told, beyond U: of growth, and of loss to samples and boil-over. Common practice,
no source."""


def check(batch: Assessment) -> Remarks:
    """Compare the extract before and after the boil."""
    keys = ("kettle_volume", "kettle_gravity", "cast_out_volume", "cast_out_gravity")
    read: list[Number] = []
    for key in keys:
        actual = batch.actuals.get(key)
        if actual is None or actual.number is None or not actual.value:
            return
        read.append(actual.number)
    before = extract_mass(read[0], read[1]) + batch.brewed.sugar_to("kettle")
    # What was taken out of the boil had a gravity between the two.
    taken = batch.brewed.taken_from("kettle")
    after = extract_mass(read[2], read[3])
    if nominal(taken):
        after = after + extract_mass(taken, (read[1] + read[3]) / 2)
    change, u = nominal(after - before), expanded_uncertainty(after - before)
    least, most = -SHRINKS * nominal(before), GROWS * nominal(before)
    if nominal(before) <= 0 or least <= change + u and change - u <= most:
        return
    shown = [quantity(nominal(mass), "mass", 2, batch) for mass in (before, after)]
    share = change / nominal(before)
    yield Remark(
        batch.actuals["cast_out_gravity"].reading.position,
        f"{shown[1]} of extract after the boil, {shown[0]} before it: {share:+.0%}",
        f"{shown[0]} ±{quantity(u, 'mass', 2, batch)}",
        severity=Severity.MAJOR if share > 0.1 else None,
    )
