"""Carbonic acid in water: its constants, its charge at a pH, the total an alkalinity means."""

from __future__ import annotations

from reportgen.science.method import method
from reportgen.science.number import Number, log10, sqrt

_KELVIN = 273.15


def _log_carbonate_one(kelvin: Number) -> Number:
    """Return log K of CO3-- + H+ = HCO3-."""
    return (
        107.8871
        + 0.03252849 * kelvin
        - 5151.79 / kelvin
        - 38.92561 * log10(kelvin)
        + 563713.9 / (kelvin * kelvin)
    )


def _log_carbonate_two(kelvin: Number) -> Number:
    """Return log K of CO3-- + 2 H+ = CO2 + H2O."""
    return (
        464.1965
        + 0.09344813 * kelvin
        - 26986.16 / kelvin
        - 165.75951 * log10(kelvin)
        + 2248628.9 / (kelvin * kelvin)
    )


@method
def pk1(temperature: Number) -> Number:
    """First dissociation constant of carbonic acid, as pK at zero ionic strength.

    Formula:
        pK1 = 356.3094 + 0.06091964 T - 21834.37/T - 126.8339 log10 T + 1684915/T^2, T in K
    Inputs:
        temperature: degC, 0 to 100 (trusted 0 to 90)
    Result: pK1 (CO2 + H2O = H+ + HCO3-)
    Uncertainty: U = 0.02, to 90 degC; 0.01 to 50 degC
    Source: L.N. Plummer and E. Busenberg 1982, Geochim. Cosmochim. Acta 46:1011, Table 1,
        doi 10.1016/0016-7037(82)90056-4
    """
    kelvin = temperature + _KELVIN
    return _log_carbonate_two(kelvin) - _log_carbonate_one(kelvin)


@method
def pk2(temperature: Number) -> Number:
    """Second dissociation constant of carbonic acid, as pK at zero ionic strength.

    Formula:
        pK2 = 107.8871 + 0.03252849 T - 5151.79/T - 38.92561 log10 T + 563713.9/T^2, T in K
    Inputs:
        temperature: degC, 0 to 100 (trusted 0 to 90)
    Result: pK2 (HCO3- = H+ + CO3--)
    Uncertainty: U = 0.05, to 90 degC; 0.02 to 50 degC
    Source: L.N. Plummer and E. Busenberg 1982, Geochim. Cosmochim. Acta 46:1011, Table 1,
        doi 10.1016/0016-7037(82)90056-4
    """
    return _log_carbonate_one(temperature + _KELVIN)


@method
def log_activity(ionic_strength: Number, temperature: Number = 20.0) -> Number:
    """Minus the logarithm of the activity coefficient of a singly charged ion.

    An ion of charge n has n^2 times this.

    Formula:
        -log10 gamma = A (sqrt I/(1 + sqrt I) - 0.3 I);  A = 1.8248e6 sqrt(rho)/(eps T)^1.5
        eps = 87.740 - 0.40008 t + 9.398e-4 t^2 - 1.410e-6 t^3;  rho = 1 - 4.6e-6 (t - 4)^2
    Inputs:
        ionic_strength: mol/L, 0 to 0.5 (trusted 0 to 0.1)
        temperature: degC, 0 to 100
    Result: -log10 of the activity coefficient
    Uncertainty: U = 0.01, below 0.02 mol/L; 0.03 at 0.1 mol/L
    Source: C.W. Davies 1962, Ion Association, Butterworths, London, eq. 3.14; A from C.G. Malmberg
        and A.A. Maryott 1956, J. Res. Natl. Bur. Stand. 56:1, for the dielectric constant
    """
    root = sqrt(ionic_strength)
    return _debye_hueckel(temperature) * (root / (1.0 + root) - 0.3 * ionic_strength)


def _debye_hueckel(temperature: Number) -> Number:
    """Return the constant A of the Debye-Hueckel law for water, (kg/mol)^0.5."""
    dielectric = 87.740 + temperature * (
        -0.40008 + temperature * (9.398e-4 - temperature * 1.410e-6)
    )
    density = 1.0 - 4.6e-6 * (temperature - 4.0) ** 2
    return 1.8248e6 * sqrt(density) / (dielectric * (temperature + _KELVIN)) ** 1.5


def _charge(ph: Number, pk_one: Number, pk_two: Number) -> Number:
    """Return the mean charge of total carbonate from two (conditional) constants."""
    one = 10.0 ** (ph - pk_one)
    two = one * 10.0 ** (ph - pk_two)
    return (one + 2.0 * two) / (1.0 + one + two)


@method
def charge(ph: Number, temperature: Number = 20.0, ionic_strength: Number = 0.005) -> Number:
    """Mean negative charge of dissolved carbonate at a pH.

    0 when all is carbon dioxide, 1 when all is bicarbonate, 2 when all is carbonate.

    Formula:
        z = (h K1 + 2 K1 K2)/(h^2 + h K1 + K1 K2), h = 10^-pH, K1 and K2 for the ionic strength
    Inputs:
        ph: pH, 0 to 14; at the temperature stated
        temperature: degC, 0 to 100 (trusted 0 to 90)
        ionic_strength: mol/L, 0 to 0.5 (trusted 0 to 0.1)
    Result: mEq per mmol of carbonate
    Uncertainty: U = 0.005 mEq per mmol of carbonate, between pH 5 and 8 from the constants
    Source: W. Stumm and J.J. Morgan 1996, Aquatic Chemistry, 3rd ed., ch. 4; constants of
        Plummer and Busenberg 1982; activities of Davies 1962
    """
    activity = log_activity(ionic_strength, temperature)
    return _charge(ph, pk1(temperature) - activity, pk2(temperature) - 3.0 * activity)


@method
def hydroxide_less_hydrogen(
    ph: Number, temperature: Number = 20.0, ionic_strength: Number = 0.005
) -> Number:
    """Hydroxide less hydrogen ion at a pH: the part of alkalinity that is not carbonate.

    Formula:
        [OH-] - [H+] = 1000 (10^(pH - pKw) - 10^-pH)/gamma
        pKw = -293.29227 - 0.1360833 T + 10576.913/T + 123.73158 log10 T + 6.996455e-5 T^2, T in K
    Inputs:
        ph: pH, 0 to 14
        temperature: degC, 0 to 100
        ionic_strength: mol/L, 0 to 0.5 (trusted 0 to 0.1)
    Result: mEq/L
    Uncertainty: U = 5 % of the value, from 0.02 in pKw
    Source: D.L. Parkhurst and C.A.J. Appelo 2013, USGS Techniques and Methods 6-A43 (phreeqc.dat)
    """
    kelvin = temperature + _KELVIN
    pkw = (
        -293.29227
        - 0.1360833 * kelvin
        + 10576.913 / kelvin
        + 123.73158 * log10(kelvin)
        + 6.996455e-5 * kelvin * kelvin
    )
    activity = 10.0 ** log_activity(ionic_strength, temperature)
    return 1000.0 * activity * (10.0 ** (ph - pkw) - 10.0 ** (-1.0 * ph))
