"""The air of the place: its pressure, what it does to the boil, and pressures held against it."""

from __future__ import annotations

from reportgen.science.bitterness import boiling_equivalent
from reportgen.science.carbonation import STANDARD_ATMOSPHERE, atmospheric_pressure
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
    Uncertainty: 0.01 degC from the formula; 0.03 degC for each 1 hPa of the pressure
    Source: IAPWS R7-97 (2012), Industrial Formulation 1997
    """
    beta = (pressure / 10.0) ** 0.25
    e = beta * beta + _N[2] * beta + _N[5]
    f = _N[0] * beta * beta + _N[3] * beta + _N[6]
    g = _N[1] * beta * beta + _N[4] * beta + _N[7]
    d = 2.0 * g / (-f - sqrt(f * f - 4.0 * e * g))
    a = _N[9] + d
    return (a - sqrt(a * a - 4.0 * (_N[8] + _N[9] * d))) / 2.0 - 273.15


@method
def air_pressure(altitude: Number, sea_level: Number = STANDARD_ATMOSPHERE) -> Number:
    """Air pressure of a place, from its altitude and the weather's pressure at sea level.

    Weather services give the pressure as it would be at sea level. A barometer on the wall shows
    either; one that reads near 1.01 bar in the mountains is set to the sea.

    Formula:
        p = p_sea (1 - 2.25577e-5 h)^5.25588
    Inputs:
        altitude: m, -2000 to 11000 (trusted -500 to 5000); above the sea
        sea_level: bar, 0.87 to 1.09 (trusted 0.95 to 1.05); 1.01325 when not known
    Result: bar, absolute
    Uncertainty: U = 0.03 bar when the weather is not known, 0.002 bar when it is
    Source: ISO 2533:1975, Standard atmosphere, 2.6 and Table 2
    """
    return atmospheric_pressure(altitude) * sea_level / STANDARD_ATMOSPHERE


@method
def altitude_of_pressure(pressure: Number) -> Number:
    """Altitude at which the standard atmosphere has a pressure.

    Formula:
        h = (1 - (p / 1.01325)^(1/5.25588)) / 2.25577e-5
    Inputs:
        pressure: bar, 0.23 to 1.28 (trusted 0.54 to 1.08); absolute
    Result: m above the sea
    Uncertainty: U = 250 m, from the weather
    Source: ISO 2533:1975, Standard atmosphere, 2.6 and Table 2
    """
    return (1.0 - (pressure / STANDARD_ATMOSPHERE) ** (1.0 / 5.25588)) / 2.25577e-5


@method
def absolute_pressure(gauge: Number, ambient: Number = STANDARD_ATMOSPHERE) -> Number:
    """Absolute pressure from what a gauge shows, which is the excess over the air outside.

    Formula:
        p = p_gauge + p_air
    Inputs:
        gauge: bar, -1.1 to 100
        ambient: bar, 0.2 to 1.3; air pressure of the place
    Result: bar, absolute
    Uncertainty: that of the gauge and of the air pressure
    Source: definition; BIPM SI Brochure, 9th ed. 2019, 5.4.1 (gauge and absolute pressure)
    """
    return gauge + ambient


@method
def gauge_elsewhere(gauge: Number, filled_at: Number, opened_at: Number) -> Number:
    """What a gauge shows on a closed keg or bottle that has been taken to another altitude.

    Nothing in it has changed; the air outside has.

    Formula:
        p_2 = p_1 + p_air1 - p_air2
    Inputs:
        gauge: bar, -1 to 10; where it was filled
        filled_at: bar, 0.2 to 1.3; air pressure there
        opened_at: bar, 0.2 to 1.3; air pressure at the other place
    Result: bar gauge, at the same temperature
    Uncertainty: that of the two air pressures, U = 0.04 bar when the weather is not known
    Source: definition; BIPM SI Brochure, 9th ed. 2019, 5.4.1 (gauge and absolute pressure)
    """
    return gauge + filled_at - opened_at


@method
def boil_as_at_sea(minutes: Number, boiling_point: Number) -> Number:
    """Minutes of boil at 100 degC that isomerise as much as a boil at the place's boiling point.

    For the models of utilisation that know only minutes.

    Formula:
        t100 = t k1(T) / k1(100 degC), k1 = 7.9e11 exp(-11858/T)
    Inputs:
        minutes: min, 0 to 600
        boiling_point: degC, 60 to 130 (trusted 90 to 130); of the wort
    Result: min
    Uncertainty: U = 10 % of what is taken off
    Source: rates of M.G. Malowicki and T.H. Shellhammer 2005, J. Agric. Food Chem. 53(11):4434,
        doi 10.1021/jf0481296
    """
    return boiling_equivalent(boiling_point, minutes)
