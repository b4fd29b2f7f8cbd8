"""A rest lies outside the usual temperatures.

A single infusion converts between about 62 and 70 degrees: below, starch may not gelatinise; above,
the enzymes are lost before they are done. A first rest below 60 is a choice for a step mash. Heat, a
decoction or boiling liquor brings a mash up, never down. A mash of 70 to 80 degrees makes a wort that
ferments little: that is taken as meant where the plan says so by its `apparent_attenuation`.

Fix: check the unit and the number; a step mash may start lower
Source: common practice, no source; D.E. Briggs et al. 2004, ch. 4, on the enzymes
Passes:
    {}
Fails:
    plan: {mash: {rests: [{temperature: 74 C, time: 60 min}]}}
"""

import itertools

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import temperature
from reportgen.science.mash_kinetics import HOTTEST

GROUP = Group.MASH
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "a single rest below 60 or above 72 °C, or a rest below the one before"}
UNTIL = Stage.MASH

LITTLE, DEXTRIN = 0.65, 80.0
"""An attenuation below which a plan wants a wort that ferments little, and degC up to which such a
mash is held."""


def check(batch: Assessment) -> Remarks:
    """Look at the temperatures of the rests."""
    rests = batch.record.plan.mash.rests
    if any(rest.temperature.value > HOTTEST for rest in rests):
        return  # fahrenheit-as-celsius has it
    if len(rests) == 1:
        value = rests[0].temperature.value
        planned = batch.record.plan.fermentation.apparent_attenuation
        if planned is not None and planned.value < LITTLE and 70 < value <= DEXTRIN:
            return
        if not 62 <= value <= 70:
            yield Remark(
                rests[0].temperature.position,
                f"a single rest at {temperature(value, batch)}",
                f"{temperature(62, batch, 0)} to {temperature(70, batch, 0)}",
                severity=Severity.MINOR if not 60 <= value <= 72 else None,
            )
        return
    for before, rest in itertools.pairwise(rests):
        falls = rest.temperature.value < before.temperature.value
        liquor = rest.liquor_temperature
        if falls and (liquor is None or liquor.value > rest.temperature.value):
            yield Remark(
                rest.temperature.position,
                f"a rest at {temperature(rest.temperature.value, batch)} after one at "
                f"{temperature(before.temperature.value, batch)}",
                "rests that rise, or liquor that is colder than the mash",
                severity=Severity.MINOR,
            )
    for rest in rests:
        if rest.temperature.value > 78:
            yield Remark(
                rest.temperature.position,
                f"a rest at {temperature(rest.temperature.value, batch)}",
                f"at most {temperature(78, batch, 0)}",
            )
