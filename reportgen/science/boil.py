"""Boil: what evaporates, how much of the DMS precursor is left."""

from __future__ import annotations

from reportgen.science.method import OutOfRange, method
from reportgen.science.number import Number, nominal


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
