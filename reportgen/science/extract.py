"""Extract as a mass: diluting, boiling down, blending and adding sugar, by mass balance."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.science.density import (
    _SUCROSE,
    WATER_20,
    _row,
    _slope,
    extract_from_gravity,
    gravity_from_extract,
)
from reportgen.science.method import method
from reportgen.science.number import Number, first_order, nominal

_STRONGEST = 0.94  # kg of extract in a litre, at 70 P, where the sucrose table ends


def _mass(volume: Number, gravity: Number) -> Number:
    """Mass of wort, kg, from L at 20 degC."""
    return volume * gravity * WATER_20 / 1000.0


def _extract_at_concentration(concentration: Number) -> Number:
    """Extract, P, of wort that holds this many kg of extract in a litre at 20 degC."""
    wanted = 1000.0 * nominal(concentration)
    if wanted > 1000.0 * _STRONGEST:
        raise ValueError(
            f"{wanted / 1000.0:.3f} kg of extract in a litre is past the end of the sucrose table"
        )
    row = _SUCROSE[0]
    w = wanted / (WATER_20 + 0.38 * wanted)
    slope = WATER_20
    for _ in range(30):
        density = WATER_20 + _row(row, w)
        slope = density + w * _slope(row, w)
        step = (w * density - wanted) / slope
        w -= step
        if abs(step) < 1e-15:
            break
    return first_order(concentration, 100.0 * w, 1e5 / slope)


def _extract_of(extract_mass: Number, mass: Number) -> Number:
    if nominal(mass) <= 0.0:
        raise ValueError("there is no wort: the total volume is zero")
    return 100.0 * extract_mass / mass


@method
def extract_mass(volume: Number, gravity: Number) -> Number:
    """Mass of extract in a volume of wort.

    Formula:
        E = V SG rho_water(20)/1000 P/100
    Inputs:
        volume: L, 0 to 20000; at 20 degC
        gravity: SG, 0.9815 to 1.3400 (trusted 0.9885 to 1.1600)
    Result: kg
    Uncertainty: U = 0.05 % of the value from the sucrose table
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    return _mass(volume, gravity) * extract_from_gravity(gravity) / 100.0


@method
def volume_of_extract(extract_mass: Number, gravity: Number) -> Number:
    """Volume of wort of a given gravity that a mass of extract makes.

    Formula:
        V = E / (SG rho_water(20)/1000 P/100)
    Inputs:
        extract_mass: kg, 0 to 5000
        gravity: SG, 1.0005 to 1.3400 (trusted 1.0005 to 1.1600)
    Result: L at 20 degC
    Uncertainty: U = 0.05 % of the value from the sucrose table
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    return extract_mass / (gravity * WATER_20 / 1000.0 * extract_from_gravity(gravity) / 100.0)


@method
def gravity_of_mix(parts: Sequence[tuple[Number, Number]]) -> Number:
    """Gravity of several worts, or wort and liquor, put together.

    Formula:
        P = 100 sum E_i / sum m_i, with m_i = V_i SG_i rho_water(20)/1000
    Inputs:
        parts: pairs of L at 20 degC and SG; liquor has SG 1
    Result: SG at 20/20 degC
    Uncertainty: U = 0.0001 SG
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    mass: Number = 0.0
    extract: Number = 0.0
    for volume, gravity in parts:
        if nominal(volume) < 0.0:
            raise ValueError(f"a part of the mix has a negative volume: {nominal(volume):g} L")
        mass = mass + _mass(volume, gravity)
        extract = extract + extract_mass(volume, gravity)
    return gravity_from_extract(_extract_of(extract, mass))


@method
def gravity_after_topping_up(volume: Number, gravity: Number, liquor: Number) -> Number:
    """Gravity of wort after liquor has been added.

    Formula:
        P2 = 100 E / (m + L rho_water(20)/1000), E and m of the wort before
    Inputs:
        volume: L, 0 to 20000; of wort at 20 degC, more than zero if no liquor is added
        gravity: SG, 0.9815 to 1.3400 (trusted 0.9885 to 1.1600)
        liquor: L, 0 to 20000; at 20 degC
    Result: SG at 20/20 degC
    Uncertainty: U = 0.0001 SG
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    mass = _mass(volume, gravity) + liquor * WATER_20 / 1000.0
    return gravity_from_extract(_extract_of(extract_mass(volume, gravity), mass))


@method
def topping_up_liquor(volume: Number, gravity: Number, wanted_gravity: Number) -> Number:
    """Liquor to add to bring wort down to a wanted gravity.

    Formula:
        L = (100 E / P_wanted - m) / (rho_water(20)/1000)
    Inputs:
        volume: L, 0 to 20000; of wort at 20 degC
        gravity: SG, 1.0005 to 1.3400 (trusted 1.0005 to 1.1600)
        wanted_gravity: SG, 1.0005 to 1.3400 (trusted 1.0005 to 1.1600)
    Result: L at 20 degC; negative if the wort is already weaker than wanted
    Uncertainty: U = 0.1 % of volume, and what the two gravities bring
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    extract = extract_mass(volume, gravity)
    mass = 100.0 * extract / extract_from_gravity(wanted_gravity)
    return (mass - _mass(volume, gravity)) / (WATER_20 / 1000.0)


@method
def boil_volume_for(volume: Number, gravity: Number, wanted_gravity: Number) -> Number:
    """Volume to which wort must be boiled down (or topped up) to have a wanted gravity.

    Formula:
        V2 = V1 SG1 P1 / (SG2 P2)
    Inputs:
        volume: L, 0 to 20000; at 20 degC
        gravity: SG, 1.0005 to 1.3400 (trusted 1.0005 to 1.1600)
        wanted_gravity: SG, 1.0005 to 1.3400 (trusted 1.0005 to 1.1600)
    Result: L at 20 degC
    Uncertainty: U = 0.1 % of the value, and what the two gravities bring
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    return volume_of_extract(extract_mass(volume, gravity), wanted_gravity)


@method
def gravity_after_sugar(
    volume: Number, gravity: Number, sugar_mass: Number, extract_fraction: Number = 1.0
) -> tuple[Number, Number]:
    """Volume and gravity of wort after sugar, syrup or dry extract has been dissolved in it.

    What is not extract in the addition is taken as water.

    Formula:
        m2 = m1 + S; E2 = E1 + f S; P2 = 100 E2/m2; V2 = m2 / (SG2 rho_water(20)/1000)
    Inputs:
        volume: L, 0 to 20000; at 20 degC
        gravity: SG, 0.9815 to 1.3400 (trusted 0.9885 to 1.1600)
        sugar_mass: kg, 0 to 5000; as weighed
        extract_fraction: kg/kg, 0 to 1; sucrose 1, glucose monohydrate 0.91, syrup as declared
    Result: L at 20 degC and SG at 20/20 degC
    Uncertainty: as the sucrose table, U = 0.0001 in gravity and 0.02 % in volume
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    mass = _mass(volume, gravity) + sugar_mass
    extract = extract_mass(volume, gravity) + extract_fraction * sugar_mass
    after = gravity_from_extract(_extract_of(extract, mass))
    return mass / (after * WATER_20 / 1000.0), after


@method
def malt_extract_as_is(extract_dry: Number, moisture: Number) -> Number:
    """Extract of malt as it is weighed, from the extract on dry matter of its certificate.

    Formula:
        e = e_dry (1 - moisture)
    Inputs:
        extract_dry: kg/kg, 0 to 1; coarse grind is nearest to a brewery
        moisture: kg/kg, 0 to 0.20
    Result: kg/kg
    Uncertainty: as the laboratory mash, whose reproducibility is U = 0.005
    Source: EBC Analytica 4.5.1 and 4.2 (conversion between dry and as-is basis)
    """
    return extract_dry * (1.0 - moisture)


COARSE_BELOW_FINE, COARSE_BELOW_FINE_U = 0.015, 0.010
"""Extract of the coarse grind below that of the fine grind when the certificate does not say,
kg/kg, with U (k = 2): 1 to 2 % for well modified malt (common practice)."""


@method
def malt_extract_as_sold(
    extract: Number,
    basis: str = "as_is",
    grind: str = "coarse",
    moisture: Number = 0.0,
    difference: Number = COARSE_BELOW_FINE,
) -> Number:
    """Extract as weighed and coarsely ground, from whichever figure a certificate gives.

    Formula:
        e = (x - d) (1 - moisture) on dry matter, x - d as is; d = 0 for a coarse grind
    Inputs:
        extract: kg/kg, 0 to 1; as on the certificate
        basis: dry or as_is
        grind: fine or coarse
        moisture: kg/kg, 0 to 0.20; of the certificate, needed on dry matter
        difference: kg/kg, 0 to 0.08 (trusted 0 to 0.03); fine less coarse, on the same basis
    Result: kg/kg
    Uncertainty: as the laboratory mash, whose reproducibility is U = 0.005; 0.010 when the
        difference of the grinds is not known
    Source: EBC Analytica 4.5.1, 4.5.2 and 4.2; ASBC Methods of Analysis, Malt-4
    """
    if basis not in ("dry", "as_is"):
        raise ValueError(f"the basis of an extract is dry or as_is, not {basis}")
    if grind not in ("fine", "coarse"):
        raise ValueError(f"the grind of an extract is fine or coarse, not {grind}")
    coarse = extract - difference if grind == "fine" else extract
    return malt_extract_as_is(coarse, moisture) if basis == "dry" else coarse


@method
def gravity_from_extract_mass(extract_mass: Number, volume: Number) -> Number:
    """Gravity of wort that holds a mass of extract: the inverse of extract_mass.

    Formula:
        SG such that V SG rho_water(20)/1000 P(SG)/100 = E
    Inputs:
        extract_mass: kg, 0 to 5000
        volume: L, 0.001 to 20000; at 20 degC
    Result: SG at 20/20 degC
    Uncertainty: U = 0.05 % of the value - 1 from the sucrose table
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    return gravity_from_extract(_extract_at_concentration(extract_mass / volume))
