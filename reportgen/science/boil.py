"""Boil: what evaporates, how long heating takes, how much of the DMS precursor is left."""

from __future__ import annotations

from reportgen.science.heat import heating_energy
from reportgen.science.method import OutOfRange, method
from reportgen.science.number import Number, exp, nominal


@method
def volume_after_boil(volume: Number, evaporation: Number, minutes: Number) -> Number:
    """Volume of the wort after boiling, both at 20 degC.

    Formula:
        V2 = V1 - E t / 60
    Inputs:
        volume: L, 0.1 to 20000; wort at 20 degC at the start of the boil
        evaporation: L/h, 0 to 4000; water at 20 degC
        minutes: min, 0 to 600
    Result: L of wort at 20 degC
    Uncertainty: U = 0.1 % of the value from mixing, beside that of the evaporation
    Source: mass balance
    """
    lost = evaporation * minutes / 60.0
    if nominal(lost) >= nominal(volume):
        most = 60.0 * nominal(volume) / nominal(evaporation)
        raise OutOfRange("boil.volume_after_boil", "minutes", nominal(minutes), 0.0, most, "min")
    return volume - lost


@method
def time_to_reach(
    volume: Number,
    start: Number,
    end: Number,
    power: Number,
    heat_loss: Number = 0.0,
    extract: Number = 0.0,
) -> Number:
    """Time that liquor or wort takes to heat up.

    Formula:
        t = heat / (60 (P - Q)), heat = m c (T2 - T1)
    Inputs:
        volume: L, 0.1 to 20000; at 20 degC
        start: degC, 0 to 105
        end: degC, 0 to 105
        power: kW, 0.01 to 1000; that reaches the wort
        heat_loss: kW, 0 to 1000; mean while heating
        extract: P, 0 to 40; 0 is liquor
    Result: min
    Uncertainty: U = 1 % of the value (0.3 % for liquor), beyond that of power and losses
    Source: energy balance; heat capacity of IAPWS-95 and of Z. Bubnik and others 1995, Sugar
        Technologists Manual
    """
    if nominal(end) < nominal(start):
        raise ValueError("the end of heating is cooler than its start")
    if nominal(power) <= nominal(heat_loss):
        raise ValueError("the losses eat up the power: the end is never reached")
    return heating_energy(volume, start, end, extract) / (60.0 * (power - heat_loss))


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
    Uncertainty: as the half-life, U = 15 % of it at 100 degC: found as 38 min at pH 5.2, 32.5 at pH
        5.5
    Source: half-life, R.J.H. Wilson and C.D. Booer 1979, J. Inst. Brew. 85:144; effect of pH,
        C.J. Dickenson 1979, J. Inst. Brew. 85:235; twice as long for each 6 degC,
        B.J. Anness and C.W. Bamforth 1982, J. Inst. Brew. 88:244
    """
    half_life = 35.0 * 2.0 ** ((100.0 - temperature) / 6.0)
    return 2.0 ** (-minutes / half_life)


@method
def free_dms_left(minutes: Number, evaporation_share: Number = 0.17) -> Number:
    """Share of the free DMS that a rolling boil has not yet driven off.

    The rate was found at 17 % evaporation in an hour; it is taken in proportion to that.

    Formula:
        share = exp(-0.18 t e / 0.17)
    Inputs:
        minutes: min, 0 to 600
        evaporation_share: 1/h, 0 to 0.5 (trusted 0.1 to 0.2); evaporated in an hour
    Result: fraction of what there was at the start, had none been made meanwhile
    Uncertainty: as the rate, U = 30 % of it away from 17 %
    Source: R.J.H. Wilson and C.D. Booer 1979, J. Inst. Brew. 85:144 (0.18 per min)
    """
    return exp(-0.18 * minutes * evaporation_share / 0.17)
