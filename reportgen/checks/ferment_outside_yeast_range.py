"""The beer ferments outside the yeast's range.

Below its range yeast stops early. Above it the beer becomes fruity and smells of solvent. The
range is the one in stock.yaml. Few yeasts grow at 40 degrees, and beer of 5 per cent freezes a little
above -2.5: such a reading is reported whenever it was taken.

Fix: move the fermenter, or choose a yeast for this temperature
Afterwards: look for fruit and solvent, or for sulfur and sweetness, in the tasting; next time move the fermenter
Source: range of the yeast as written in stock.yaml; highest temperature of growth, R.M. Walsh and
    P.A. Martin 1977, J. Inst. Brew. 83:169 (from memory); freezing: common practice, no source
Passes:
    plan: {fermentation: {temperature: 19 C}}
Fails:
    plan: {fermentation: {temperature: 26 C, highest_temperature: 27 C}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import temperature

GROUP = Group.FERMENTATION
SEVERITY = Severity.NOTE
FIGURE = ""  # of the log, which no figure is
UNTIL = Stage.FERMENT
ALSO = {Severity.MAJOR: "above its range and 40 °C or more, or −2.5 °C or less"}

FROZEN, DEAD = -2.5, 40.0
"""degC at which beer is ice, and at which a yeast that is not made for it stops for good."""


def check(batch: Assessment) -> Remarks:
    """Compare the temperatures of the first four days with the yeast's range."""
    yeast = batch.stock.yeasts[batch.record.plan.pitch.yeast]
    low, high = yeast.lowest_temperature, yeast.highest_temperature
    least, most = (temperature(q.value, batch) if q else "..." for q in (low, high))
    shown = f"{least} to {most}"

    def outside(value: float, u: float) -> bool:
        too_cold = low is not None and value + u < low.value
        return too_cold or (high is not None and value - u > high.value)

    planned = batch.record.plan.fermentation.temperature
    if outside(planned.value, 0.0):
        yield Remark(planned.position, f"fermentation at {temperature(planned.value, batch)}", shown)
    for point in batch.log:
        if point.temperature is None:
            continue
        hottest = max(DEAD, high.value if high is not None else DEAD)
        harmed = not FROZEN < point.temperature < hottest
        active = 6 <= point.hours <= 96
        if harmed or (active and outside(point.temperature, point.temperature_uncertainty)):
            yield Remark(
                point.temperature_position, f"beer at {temperature(point.temperature, batch)}",
                shown, severity=Severity.MAJOR if harmed else None,
            )
