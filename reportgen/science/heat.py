"""Heat of the brew day: strike liquor, infusions, heating, boiling point, cooling."""

from __future__ import annotations

from reportgen.science.density import WATER_20, _water
from reportgen.science.method import method
from reportgen.science.number import Number, exp, nominal

WATER_HEAT_CAPACITY = 4.19
"""kJ/kg/K, mean of 10 to 100 degC (IAPWS-95: 4.179 at 40, 4.217 at 100 degC)."""

MALT_HEAT_CAPACITY = 1.67
"""kJ/kg/K at 4 % moisture: 0.40 of that of water."""

@method
def strike_temperature(
    grist: Number,
    liquor_mass: Number,
    mash_temperature: Number,
    malt_temperature: Number = 20.0,
    malt_heat_capacity: Number = MALT_HEAT_CAPACITY,
    tun_heat_capacity: Number = 0.0,
    tun_temperature: Number = 20.0,
    slaking_heat: Number = 0.0,
) -> Number:
    """Temperature of the liquor that brings grist and tun to the mash temperature.

    Formula:
        T_s = T_m + (m c_g (T_m - T_g) + C_t (T_m - T_t) - q m) / (W 4.19)
    Inputs:
        grist: kg, 0 to 2000
        liquor_mass: kg, 0.1 to 20000
        mash_temperature: degC, 0 to 100 (trusted 30 to 80)
        malt_temperature: degC, -30 to 60 (trusted 0 to 40)
        malt_heat_capacity: kJ/kg/K, 0.5 to 4 (trusted 1.5 to 2)
        tun_heat_capacity: kJ/K, 0 to 5000; mass of the tun times 0.50 for steel
        tun_temperature: degC, -30 to 100
        slaking_heat: kJ/kg, 0 to 60 (trusted 0 to 35); 15 to 24 at 4 % moisture, only together
            with a real tun heat capacity
    Result: degC; above the boiling point the mash is too thick to be struck in one step
    Uncertainty: U = 0.5 degC, once the tun has been calibrated; 2 degC before; the constant heat
        capacity of water is worth 0.3 % of the rise
    Source: heat balance; Pauls & Whites Brewing Room Book 1984 (heat capacity of malt by
        moisture, slaking heat); water by IAPWS-95
    """
    needed = (
        grist * malt_heat_capacity * (mash_temperature - malt_temperature)
        + tun_heat_capacity * (mash_temperature - tun_temperature)
        - slaking_heat * grist
    )
    return mash_temperature + needed / (liquor_mass * WATER_HEAT_CAPACITY)


@method
def mash_temperature_from_strike(
    grist: Number,
    liquor_mass: Number,
    strike_temperature: Number,
    malt_temperature: Number = 20.0,
    malt_heat_capacity: Number = MALT_HEAT_CAPACITY,
    tun_heat_capacity: Number = 0.0,
    tun_temperature: Number = 20.0,
    slaking_heat: Number = 0.0,
) -> Number:
    """Temperature the mash takes when liquor of a known temperature meets grist and tun.

    Formula:
        T_m = (4.19 W T_s + m c_g T_g + C_t T_t + q m) / (4.19 W + m c_g + C_t)
    Inputs:
        grist: kg, 0 to 2000
        liquor_mass: kg, 0.1 to 20000
        strike_temperature: degC, 0 to 110 (trusted 30 to 100)
        malt_temperature: degC, -30 to 60 (trusted 0 to 40)
        malt_heat_capacity: kJ/kg/K, 0.5 to 4 (trusted 1.5 to 2)
        tun_heat_capacity: kJ/K, 0 to 5000
        tun_temperature: degC, -30 to 100
        slaking_heat: kJ/kg, 0 to 60 (trusted 0 to 35)
    Result: degC
    Uncertainty: U = 0.5 degC, once the tun has been calibrated; 2 degC before
    Source: heat balance; Pauls & Whites Brewing Room Book 1984; water by IAPWS-95
    """
    liquor = liquor_mass * WATER_HEAT_CAPACITY
    malt = grist * malt_heat_capacity
    heat = (
        liquor * strike_temperature
        + malt * malt_temperature
        + tun_heat_capacity * tun_temperature
        + slaking_heat * grist
    )
    return heat / (liquor + malt + tun_heat_capacity)


def _mash_heat_capacity(
    grist: Number, liquor_mass: Number, tun: Number, malt_heat_capacity: Number
) -> Number:
    return grist * malt_heat_capacity + liquor_mass * WATER_HEAT_CAPACITY + tun


@method
def infusion_liquor(
    mash_temperature: Number,
    target_temperature: Number,
    liquor_temperature: Number,
    grist: Number,
    liquor_mass: Number,
    tun_heat_capacity: Number = 0.0,
    malt_heat_capacity: Number = MALT_HEAT_CAPACITY,
) -> Number:
    """Liquor to stir into a mash to bring it to another temperature; hot or cold.

    Formula:
        W_b = (T_2 - T_1)(m c_g + 4.19 W + C_t) / (4.19 (T_b - T_2))
    Inputs:
        mash_temperature: degC, 0 to 100; now
        target_temperature: degC, 0 to 100; between the mash's and the liquor's
        liquor_temperature: degC, 0 to 110
        grist: kg, 0 to 2000
        liquor_mass: kg, 0 to 20000; already in the mash
        tun_heat_capacity: kJ/K, 0 to 5000
        malt_heat_capacity: kJ/kg/K, 0.5 to 4 (trusted 1.5 to 2)
    Result: kg
    Uncertainty: U = 10 % of the value from losses while stirring; 1 % from the constant heat
        capacities
    Source: heat balance; water by IAPWS-95
    """
    step = target_temperature - mash_temperature
    reach = liquor_temperature - target_temperature
    if nominal(step) == 0.0:
        return 0.0 * reach
    if nominal(step) * nominal(reach) <= 0.0:
        raise ValueError(
            f"liquor of {nominal(liquor_temperature):g} degC cannot bring a mash from "
            f"{nominal(mash_temperature):g} to {nominal(target_temperature):g} degC"
        )
    capacity = _mash_heat_capacity(grist, liquor_mass, tun_heat_capacity, malt_heat_capacity)
    return step * capacity / (WATER_HEAT_CAPACITY * reach)


@method
def direct_heat_energy(
    mash_temperature: Number,
    target_temperature: Number,
    grist: Number,
    liquor_mass: Number,
    tun_heat_capacity: Number = 0.0,
    malt_heat_capacity: Number = MALT_HEAT_CAPACITY,
) -> Number:
    """Heat that brings a mash from one temperature to another.

    Formula:
        E = (T_2 - T_1)(m c_g + 4.19 W + C_t)
    Inputs:
        mash_temperature: degC, 0 to 100; now
        target_temperature: degC, 0 to 100
        grist: kg, 0 to 2000
        liquor_mass: kg, 0 to 20000
        tun_heat_capacity: kJ/K, 0 to 5000
        malt_heat_capacity: kJ/kg/K, 0.5 to 4 (trusted 1.5 to 2)
    Result: kJ; negative for cooling
    Uncertainty: U = 2 % of the value, without losses to the room
    Source: heat balance; Pauls & Whites Brewing Room Book 1984; water by IAPWS-95
    """
    capacity = _mash_heat_capacity(grist, liquor_mass, tun_heat_capacity, malt_heat_capacity)
    return (target_temperature - mash_temperature) * capacity


@method
def heating_time(energy: Number, power: Number, efficiency: Number = 1.0) -> Number:
    """Time that a heater needs to give an amount of heat.

    Formula:
        t = E / (60 P eta)
    Inputs:
        energy: kJ, 0 to 10000000
        power: kW, 0.05 to 1000
        efficiency: kJ/kJ, 0.05 to 1; electric element 0.8 to 0.95, gas 0.3 to 0.6
    Result: min
    Uncertainty: that of the efficiency, commonly 10 %
    Source: definition of power
    """
    return energy / (60.0 * power * efficiency)


@method
def decoction_fraction(
    mash_temperature: Number, target_temperature: Number, decoction_temperature: Number
) -> Number:
    """Share of the mash to draw off and boil, so that its return gives the target temperature.

    A thick decoction holds less heat in a litre than the whole mash; add 10 to 20 % by volume.

    Formula:
        f = (T_2 - T_1) / (T_b - T_1)
    Inputs:
        mash_temperature: degC, 0 to 100; of the rest of the mash when the decoction returns
        target_temperature: degC, 0 to 100
        decoction_temperature: degC, 50 to 105; as it returns
    Result: kg/kg, by heat capacity
    Uncertainty: U = 5 % of the value, from the losses
    Source: heat balance
    """
    if nominal(target_temperature) < nominal(mash_temperature):
        raise ValueError("a decoction cannot cool the mash")
    if nominal(target_temperature) >= nominal(decoction_temperature):
        raise ValueError("the target must be below the temperature of the decoction")
    return (target_temperature - mash_temperature) / (decoction_temperature - mash_temperature)


@method
def decoction_volume(
    grist: Number,
    liquor_mass: Number,
    mash_temperature: Number,
    target_temperature: Number,
    decoction_temperature: Number,
    thickness: Number | None = None,
    tun_heat_capacity: Number = 0.0,
    malt_heat_capacity: Number = MALT_HEAT_CAPACITY,
) -> tuple[Number, Number]:
    """Mash to draw for a decoction, thick or thin, and the grist that goes with it.

    A thick one holds less heat in a litre, so more is drawn, and it leaves more of the enzymes,
    which are in the liquor, behind. The tun stays as warm as the rest of the mash.

    Formula:
        C_d = (m c_g + 4.19 W + C_t)(T_2 - T_1)/(T_b - T_1);
        m_d = C_d / (c_g + 4.19 r), V = m_d (0.67 + r / rho); thin: V = C_d / (4.19 rho)
    Inputs:
        grist: kg, 0.01 to 2000
        liquor_mass: kg, 0.01 to 20000; already in the mash
        mash_temperature: degC, 0 to 100; of the rest of the mash when the decoction returns
        target_temperature: degC, 0 to 100
        decoction_temperature: degC, 50 to 105; as it returns
        thickness: kg/kg, 0.8 to 20 (trusted 1.5 to 5); liquor to grist in what is drawn, None for
            thin, wort only
        tun_heat_capacity: kJ/K, 0 to 5000
        malt_heat_capacity: kJ/kg/K, 0.5 to 4 (trusted 1.5 to 2)
    Result: L at 20 degC to draw, and kg of grist in it
    Uncertainty: as losses and the thickness drawn, U = 10 % of the volume; what the decoction's
        boil evaporates is not in it
    Source: heat balance; volume of grist as mash_volume; water by IAPWS-95
    """
    share = decoction_fraction(mash_temperature, target_temperature, decoction_temperature)
    capacity = _mash_heat_capacity(grist, liquor_mass, tun_heat_capacity, malt_heat_capacity)
    drawn = share * capacity
    litre = WATER_20 / 1000.0
    if thickness is None:
        taken, liquor = 0.0 * drawn, drawn / WATER_HEAT_CAPACITY
    else:
        taken = drawn / (malt_heat_capacity + WATER_HEAT_CAPACITY * thickness)
        liquor = taken * thickness
    if nominal(taken) > nominal(grist) or nominal(liquor) > nominal(liquor_mass):
        raise ValueError("the mash does not hold so much as the decoction needs")
    return mash_volume(taken, liquor / litre), taken


@method
def mash_volume(grist: Number, liquor: Number) -> Number:
    """Volume of the mash, grist and liquor together.

    Formula:
        V = L + 0.67 m
    Inputs:
        grist: kg, 0 to 2000
        liquor: L, 0 to 20000; at 20 degC
    Result: L at 20 degC; hot it is about 2 % more
    Uncertainty: U = 3 % of grist, in L: the solids of malts differ so much
    Source: volume balance: dry matter at 1.5 kg/L (Briggs, Boulton, Brookes & Stevens 2004,
        Brewing: Science and Practice), moisture 4 %
    """
    return liquor + 0.67 * grist


@method
def liquor_mass(volume: Number, temperature: Number) -> Number:
    """Mass of a volume of liquor.

    Formula:
        W = V rho_water(t)/1000
    Inputs:
        volume: L, 0 to 20000; as read, at the temperature
        temperature: degC, 0 to 110 (trusted 0 to 100)
    Result: kg
    Uncertainty: U = 0.01 % of the value
    Source: G. S. Kell 1975, J. Chem. Eng. Data 20(1), 97-105
    """
    return volume * _water(temperature) / 1000.0


@method
def liquor_volume(mass: Number, temperature: Number) -> Number:
    """Volume of a mass of liquor.

    Formula:
        V = 1000 W / rho_water(t)
    Inputs:
        mass: kg, 0 to 20000
        temperature: degC, 0 to 110 (trusted 0 to 100)
    Result: L at the temperature
    Uncertainty: U = 0.01 % of the value
    Source: G. S. Kell 1975, J. Chem. Eng. Data 20(1), 97-105
    """
    return 1000.0 * mass / _water(temperature)


@method
def mash_cooling(
    temperature: Number, ambient_temperature: Number, loss_rate: Number, time: Number
) -> Number:
    """Temperature of a mash, or of any vessel, after it has stood in the room.

    Formula:
        T = T_a + (T_0 - T_a) exp(-k t/60)
    Inputs:
        temperature: degC, 0 to 110; at the start
        ambient_temperature: degC, -30 to 50
        loss_rate: 1/h, 0 to 5 (trusted 0 to 1); share of the difference lost in an hour, in the
            limit of a short time
        time: min, 0 to 10000
    Result: degC
    Uncertainty: that of the loss rate, commonly U = 20 % of the fall
    Source: Newton's law of cooling; F. P. Incropera, D. P. DeWitt 2007, Fundamentals of Heat
        and Mass Transfer, 6th ed., eq. 5.6 (lumped capacitance)
    """
    left = exp(-loss_rate * time / 60.0)
    return ambient_temperature + (temperature - ambient_temperature) * left
