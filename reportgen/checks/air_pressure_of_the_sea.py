"""The air pressure of the place is that of another altitude.

Weather reports give the pressure at sea level, and so do barometers that are set to agree with
them. The air itself has less: 0.84 bar at 1600 m. With the wrong pressure a keg is flat, and
bottles get a tenth too much priming sugar.

Fix: write what a barometer set to local pressure shows, or delete the pressure: the altitude is enough
Source: ISO 2533:1975, Standard atmosphere; weather moves it by 0.03 bar, 0.05 at most
Passes:
    brewery: {altitude: 1600 m, air_pressure: 838 hPa}
Fails:
    brewery: {altitude: 1600 m, air_pressure: 1015 hPa}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import quantity
from reportgen.science.carbonation import atmospheric_pressure
from reportgen.science.number import nominal

GROUP = Group.READINGS
SEVERITY = Severity.MAJOR

WEATHER = 0.05
"""bar: the most that the weather moves the pressure from that of the altitude."""


def check(batch: Assessment) -> Remarks:
    """Compare the air pressure with that of the altitude, where both are stated."""
    altitude, stated = batch.brewery.altitude, batch.brewery.air_pressure
    if altitude is None or stated is None:
        return
    usual = nominal(atmospheric_pressure(altitude.value))
    if abs(stated.value - usual) > WEATHER:
        yield Remark(
            stated.position,
            f"{stated.text} is not the air pressure at {altitude.text}",
            f"{quantity(usual, 'pressure', 2, batch)}, give or take "
            f"{quantity(WEATHER, 'pressure', 2, batch)}",
        )
