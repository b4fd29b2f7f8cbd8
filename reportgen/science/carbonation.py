"""Carbonation: gas in the beer, pressure in the keg, priming, and gas still to come."""

from __future__ import annotations

from collections.abc import Mapping

from reportgen.science.alcohol import ETHANOL_20
from reportgen.science.density import WATER_20, extract_from_gravity
from reportgen.science.method import method
from reportgen.science.number import Number, exp, nominal

GRAMS_IN_VOLUME = 1.977
"""Mass of 1 L of carbon dioxide at 0 degC and 1 atm, g (R. Span and W. Wagner 1996, J. Phys.
Chem. Ref. Data 25:1509)."""

STANDARD_ATMOSPHERE = 1.01325
"""bar."""

REAL_OF_APPARENT = 0.8192
"""Extract that ferments for each degP of apparent extract that goes."""

_CARBON_DIOXIDE = 12.011 + 2 * 15.999
_SUCROSE = 12 * 12.011 + 22 * 1.008 + 11 * 15.999
_GLUCOSE = 6 * 12.011 + 12 * 1.008 + 6 * 15.999
_WATER = 2 * 1.008 + 15.999
_ETHANOL = 2 * 12.011 + 6 * 1.008 + 15.999
_KELVIN = 273.15

ETHANOL_YIELD = 0.949
"""Alcohol that fermentation gives, of what the sugar could: 51.1 g from 100 g of cane sugar, the
rest glycerol, succinic acid and yeast (L. Pasteur 1860, Ann. Chim. Phys. 58:323)."""

EXTRACT_OF_DRY_MALT_EXTRACT = 0.95
"""Extract in dry malt extract as weighed (common practice)."""

GAS_YIELD: Mapping[str, float] = {
    "sucrose": 4 * _CARBON_DIOXIDE / _SUCROSE,
    "glucose": 2 * _CARBON_DIOXIDE / _GLUCOSE,
    "glucose_monohydrate": 2 * _CARBON_DIOXIDE / (_GLUCOSE + _WATER),
    "dry_malt_extract": EXTRACT_OF_DRY_MALT_EXTRACT * 4 * _CARBON_DIOXIDE / _SUCROSE,
}
"""Carbon dioxide from 1 g of a sugar that ferments wholly, g. Malt extract as maltose, which
has the molar mass of sucrose."""

DRY_MALT_EXTRACT_FERMENTABILITY = 0.62
"""Share of malt extract that ferments (real): 75 % apparent (common practice)."""


@method
def atmospheric_pressure(altitude: Number) -> Number:
    """Air pressure of the standard atmosphere.

    Formula:
        p = 1.01325 (1 - 2.25577e-5 h)^5.25588
    Inputs:
        altitude: m, -2000 to 11000 (trusted -2000 to 5000); above the sea
    Result: bar
    Uncertainty: U = 0.03 bar, from the weather
    Source: ISO 2533:1975, Standard atmosphere, 2.6 and Table 2
    """
    return STANDARD_ATMOSPHERE * (1.0 - 2.25577e-5 * altitude) ** 5.25588


def _beer_solubility(temperature: Number) -> Number:
    """Return the volumes that beer holds for each bar of carbon dioxide."""
    return 10.0 * exp(-10.73797 + 2617.25 / (temperature + _KELVIN)) / GRAMS_IN_VOLUME


@method
def co2_volumes(
    pressure: Number, temperature: Number, atmosphere: Number = STANDARD_ATMOSPHERE
) -> Number:
    """Gas in beer at rest under a gauge pressure of carbon dioxide.

    Formula:
        g/L = 10 (p + atmosphere) exp(-10.73797 + 2617.25/T), T in K
    Inputs:
        pressure: bar, -0.9 to 10 (trusted 0 to 5); gauge
        temperature: degC, -3 to 50 (trusted 0 to 30); of the beer
        atmosphere: bar, 0.3 to 1.3; air pressure
    Result: volumes
    Uncertainty: as the solubility in this beer, which its strength and extract move by U = 4 %
    Source: equation built into pressure-temperature instruments for beer of 12 degP and apparent
        attenuation 80 %; for others see R.A. Speers and A.J. MacIntosh 2013, J. Am. Soc. Brew.
        Chem. 71(4):242, doi 10.1094/ASBCJ-2013-1008-01
    """
    return (pressure + atmosphere) * _beer_solubility(temperature)


@method
def gauge_pressure(
    volumes: Number, temperature: Number, atmosphere: Number = STANDARD_ATMOSPHERE
) -> Number:
    """Gauge pressure that holds the gas wanted in beer at rest.

    Formula:
        p = g/L / (10 exp(-10.73797 + 2617.25/T)) - atmosphere, T in K
    Inputs:
        volumes: volumes, 0 to 20 (trusted 0.8 to 5)
        temperature: degC, -3 to 50 (trusted 0 to 30); of the beer
        atmosphere: bar, 0.3 to 1.3; air pressure
    Result: bar gauge; below 0 when the beer holds more than is wanted without pressure
    Uncertainty: as the solubility in this beer, U = 4 % of the absolute pressure, 0.08 bar at 2 bar
        absolute
    Source: equation built into pressure-temperature instruments for beer of 12 degP and apparent
        attenuation 80 %; for others see R.A. Speers and A.J. MacIntosh 2013, J. Am. Soc. Brew.
        Chem. 71(4):242, doi 10.1094/ASBCJ-2013-1008-01
    """
    return volumes / _beer_solubility(temperature) - atmosphere


@method
def priming_sugar(
    volumes: Number,
    temperature: Number,
    volume: Number,
    sugar: str = "sucrose",
    fermentability: Number | None = None,
    atmosphere: Number = STANDARD_ATMOSPHERE,
    pressure: Number = 0.0,
) -> Number:
    """Sugar that carbonates beer in bottle or cask.

    Formula:
        m = 1.977 (v - v_residual) V / (y f)
    Inputs:
        volumes: volumes, 0 to 6 (trusted 1 to 4); wanted
        temperature: degC, -3 to 50 (trusted 0 to 30); warmest since fermentation ended
        volume: L, 0 to 10000; beer
        sugar: key of GAS_YIELD
        fermentability: fraction, 0.1 to 1; share that ferments, None for that of the sugar
        atmosphere: bar, 0.3 to 1.3; air pressure
        pressure: bar, 0 to 10 (trusted 0 to 5); gauge, under which fermentation ended
    Result: g of sugar; 0 when the beer already holds what is wanted
    Uncertainty: as what is still dissolved, U = 0.1 volumes; up to 6 % of the sugar grows yeast
    Source: stoichiometry of fermentation, C6H12O6 = 2 C2H5OH + 2 CO2; standard atomic weights,
        CIAAW 2021
    """
    missing = volumes - co2_volumes(pressure, temperature, atmosphere)
    if nominal(missing) <= 0:
        return 0.0 * volume
    return GRAMS_IN_VOLUME * missing * volume / _gas_from(sugar, fermentability)


def _gas_from(sugar: str, fermentability: Number | None) -> Number:
    """Return g of carbon dioxide from 1 g of a sugar."""
    if fermentability is None:
        malt = sugar == "dry_malt_extract"
        fermentability = DRY_MALT_EXTRACT_FERMENTABILITY if malt else 1.0
    return GAS_YIELD[sugar] * fermentability


@method
def volumes_from_sugar(
    sugar_mass: Number,
    volume: Number,
    sugar: str = "sucrose",
    fermentability: Number | None = None,
) -> Number:
    """Gas that priming sugar makes in a closed container: the other way round to priming_sugar.

    Formula:
        v = m y f / (1.977 V)
    Inputs:
        sugar_mass: g, 0 to 1000000; in all the beer
        volume: L, 0.01 to 10000; beer
        sugar: key of GAS_YIELD
        fermentability: fraction, 0.1 to 1; share that ferments, None for that of the sugar
    Result: volumes, on top of what is dissolved already
    Uncertainty: U = 6 % of the value, and rather less than more: part of the sugar grows yeast
    Source: stoichiometry of fermentation, C6H12O6 = 2 C2H5OH + 2 CO2; standard atomic weights,
        CIAAW 2021
    """
    return sugar_mass * _gas_from(sugar, fermentability) / (GRAMS_IN_VOLUME * volume)


@method
def alcohol_from_sugar(
    sugar_mass: Number,
    volume: Number,
    sugar: str = "sucrose",
    fermentability: Number | None = None,
) -> Number:
    """Alcohol that sugar makes in a closed container, beside the gas.

    What the sugar itself takes up, some 0.3 % of the volume, is not taken off.

    Formula:
        A_v = 100 * 0.949 m y f (46.069/44.009) / (789.24 V)
    Inputs:
        sugar_mass: g, 0 to 1000000; in all the beer
        volume: L, 0.01 to 10000; beer
        sugar: key of GAS_YIELD
        fermentability: fraction, 0.1 to 1; share that ferments, None for that of the sugar
    Result: % by volume at 20 degC, on top of what the beer has already
    Uncertainty: U = 6 % of the value; the balance of fermentation in wort, with its growth of yeast
        (0.484 g from 1 g), and sugar that becomes alcohol and gas alone (0.538 g) are its ends
    Source: stoichiometry of fermentation, C6H12O6 = 2 C2H5OH + 2 CO2; yield by L. Pasteur 1860,
        Ann. Chim. Phys. 58:323; density of ethanol by OIML R 22 (1975)
    """
    gas = sugar_mass * _gas_from(sugar, fermentability)
    return 100.0 * ETHANOL_YIELD * gas * _ETHANOL / _CARBON_DIOXIDE / (ETHANOL_20 * volume)


@method
def volumes_from_gravity_points(gravity_now: Number, gravity_end: Number) -> Number:
    """Gas that beer will still make when it ferments on to its end.

    Formula:
        v = 0.5143 * 0.8192 * 10 (P1 - P2) SG1 / 1.977
    Inputs:
        gravity_now: SG, 0.9815 to 1.2 (trusted 0.99 to 1.06)
        gravity_end: SG, 0.9815 to 1.2 (trusted 0.99 to 1.04); where it will end
    Result: volumes; 0 when the beer is at its end
    Uncertainty: U = 10 % of the value; no yeast growth is taken off, so rather too much than too
        little
    Source: K. Balling 1865, factor 0.8192; stoichiometry of fermentation of maltose
    """
    if nominal(gravity_now) <= nominal(gravity_end):
        return 0.0 * (gravity_now - gravity_end)
    apparent = extract_from_gravity(gravity_now) - extract_from_gravity(gravity_end)
    litre = gravity_now * WATER_20 / 1000.0
    grams = GAS_YIELD["sucrose"] * REAL_OF_APPARENT * 10.0 * apparent * litre
    return grams / GRAMS_IN_VOLUME
