"""The air of the place: its pressure, what it does to the boil, and pressures held against it."""

from __future__ import annotations

from reportgen.science.method import method
from reportgen.science.number import Number, sqrt

# IAPWS-IF97, region 4, backward equation for the saturation temperature.
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


@method
def boiling_point_at(pressure: Number) -> Number:
    """Boiling point of water at a pressure of the air.

    Wort boils a little higher, about 0.2 degC at 12 P.

    Formula:
        T saturation of IAPWS-IF97, equation 31
    Inputs:
        pressure: bar, 0.2 to 3 (trusted 0.5 to 1.3); absolute
    Result: degC
    Uncertainty: U = 0.01 degC from the formula; 0.03 degC for each 1 hPa of the pressure
    Source: IAPWS R7-97 (2012), Industrial Formulation 1997
    """
    beta = (pressure / 10.0) ** 0.25
    e = beta * beta + _N[2] * beta + _N[5]
    f = _N[0] * beta * beta + _N[3] * beta + _N[6]
    g = _N[1] * beta * beta + _N[4] * beta + _N[7]
    d = 2.0 * g / (-f - sqrt(f * f - 4.0 * e * g))
    a = _N[9] + d
    return (a - sqrt(a * a - 4.0 * (_N[8] + _N[9] * d))) / 2.0 - 273.15
