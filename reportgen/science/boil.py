"""Boil: what evaporates, how long heating takes, how much of the DMS precursor is left."""

from __future__ import annotations

from reportgen.science.method import OutOfRange, method
from reportgen.science.number import Number, nominal

LITRE_OF_WATER = 0.99821
"""Mass of 1 L of water at 20 degC, kg (IAPWS-95)."""

HEAT_CAPACITY = 4.186
"""Heat capacity of water between 10 and 100 degC, kJ/(kg K) (IAPWS-95, mean)."""


@method
def volume_after_boil(volume: Number, evaporation: Number, minutes: Number) -> Number:
    """Volume of the wort after boiling, both at 20 degC.

    Formula:
        V2 = V1 - E t / 60
    Inputs:
        volume: L, 0.1 to 10000; wort at 20 degC at the start of the boil
        evaporation: L/h, 0 to 2000; water at 20 degC
        minutes: min, 0 to 600
    Result: L of wort at 20 degC
    Uncertainty: as that of the evaporation; the volume of mixing is under 0.1 %
    Source: mass balance
    """
    lost = evaporation * minutes / 60.0
    if nominal(lost) >= nominal(volume):
        most = 60.0 * nominal(volume) / nominal(evaporation)
        raise OutOfRange("boil.volume_after_boil", "minutes", nominal(minutes), 0.0, most, "min")
    return volume - lost


@method
def latent_heat(temperature: Number = 100.0) -> Number:
    """Heat that evaporates a kilogram of water near its boiling point.

    Formula:
        L = 2256.4 + 2.60 (100 - t)
    Inputs:
        temperature: degC, 80 to 110 (trusted 88 to 102)
    Result: kJ/kg
    Uncertainty: U = 1 kJ/kg
    Source: straight line through IAPWS-95, W. Wagner and A. Pruss 2002, J. Phys. Chem. Ref.
        Data 31:387, Table 13.1
    """
    return 2256.4 + 2.60 * (100.0 - temperature)


@method
def evaporation_from_power(
    power: Number, heat_loss: Number = 0.0, temperature: Number = 100.0
) -> Number:
    """Water that a heater boils off.

    Formula:
        E = 3600 (P - Q) / (L d), d = 0.99821 kg/L
    Inputs:
        power: kW, 0 to 500; that reaches the wort
        heat_loss: kW, 0 to 100; lost through wall and surface
        temperature: degC, 80 to 110 (trusted 88 to 102); boiling point
    Result: L/h of water at 20 degC; 0 when the losses eat up the power
    Uncertainty: 0.1 % beyond that of power and losses
    Source: energy balance; latent heat of IAPWS-95
    """
    net = power - heat_loss
    if nominal(net) <= 0:
        return 0.0 * net
    return 3600.0 * net / (latent_heat(temperature) * LITRE_OF_WATER)


@method
def time_to_reach(
    volume: Number, start: Number, end: Number, power: Number, heat_loss: Number = 0.0
) -> Number:
    """Time that liquor or wort takes to heat up.

    Formula:
        t = V d c (T2 - T1) / (60 (P - Q)), d = 0.99821 kg/L, c = 4.186 kJ/(kg K)
    Inputs:
        volume: L, 0.1 to 10000; at 20 degC
        start: degC, 0 to 100
        end: degC, 0 to 105
        power: kW, 0.01 to 500; that reaches the wort
        heat_loss: kW, 0 to 100; mean while heating
    Result: min
    Uncertainty: 0.3 % for water; wort of 15 degP takes about 3 % less
    Source: energy balance; heat capacity of IAPWS-95
    """
    if nominal(end) < nominal(start):
        raise ValueError("the end of heating is cooler than its start")
    if nominal(power) <= nominal(heat_loss):
        raise ValueError("the losses eat up the power: the end is never reached")
    heat = volume * LITRE_OF_WATER * HEAT_CAPACITY * (end - start)
    return heat / (60.0 * (power - heat_loss))


@method
def dms_precursor_left(minutes: Number, temperature: Number = 100.0) -> Number:
    """Share of the DMS precursor that is not yet broken down.

    What breaks down after the boil stays in the wort as DMS, so a slow cooling counts.

    Formula:
        share = 2^(-t / h), h = 35 min * 2^((100 - T)/6)
    Inputs:
        minutes: min, 0 to 6000
        temperature: degC, 60 to 110 (trusted 90 to 102)
    Result: fraction of what there was at the start
    Uncertainty: U = 15 % of the half-life at 100 degC; it is 38 min at pH 5.2, 32.5 at pH 5.5
    Source: R.J.H. Wilson and C.D. Booer 1979, J. Inst. Brew. 85:144; C.J. Dickenson 1979,
        J. Inst. Brew. 85:235; B.J. Anness and C.W. Bamforth 1982, J. Inst. Brew. 88:244
    """
    half_life = 35.0 * 2.0 ** ((100.0 - temperature) / 6.0)
    return 2.0 ** (-minutes / half_life)
