"""Mash: temperatures, pH, volume, first wort."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

from msgspec.structs import replace

from reportgen.forecast import mash_course, method_u
from reportgen.forecast.book import Forecast, InputValue
from reportgen.forecast.case import Case
from reportgen.forecast.liquor import Treated
from reportgen.science.density import gravity_from_extract
from reportgen.science.heat import (
    WATER_HEAT_CAPACITY,
    decoction_volume,
    infusion_liquor,
    liquor_mass,
    liquor_volume,
    mash_cooling,
    mash_temperature_from_strike,
    mash_volume,
    strike_temperature,
)
from reportgen.science.lautering import conversion_from_first_wort, first_wort_extract
from reportgen.science.mash_ph import (
    MODELS,
    MaltAcidity,
    acidity_uncertainty,
    acidulated_malt_acid,
    malt_acidity,
)
from reportgen.science.number import Number, exp, nominal

MALT_HEAT_CAPACITY = 1.67
"""kJ/kg/K at 4 % moisture (Pauls and Whites 1984, relative heat of malt)."""
SLAKING_HEAT = 0.0
"""kJ/kg; left out until the tun's own heat capacity is known, since the two roughly offset."""
ROOM = 20.0
OF_THE_KIT = "that of the kit, times what this mash converts against 1 h at 66 °C"


def grist_acidity(case: Case) -> list[MaltAcidity]:
    """Return pH and buffering of each malt of the grist, from its class or its own analysis."""
    grist = []
    for malt in case.malts:
        own, buffering = malt_acidity(malt.malt_class, nominal(malt.colour))
        grist.append(
            MaltAcidity(nominal(malt.amount), malt.distilled_water_mash_ph or own, buffering)
        )
    return grist


def uncertain_grist_acidity(case: Case) -> list[MaltAcidity]:
    """Return the same with what is not known of it: each malt's pH, and the buffering of all."""
    grist = []
    for malt, acidity in zip(case.malts, grist_acidity(case), strict=True):
        wide = acidity_uncertainty(malt.malt_class, malt.distilled_water_mash_ph is not None)
        stated = malt.distilled_water_mash_ph_u
        own = case.cause(f"acidity of {malt.name}", 0.0, wide.ph if stated is None else stated)
        # As a logarithm: what is published lies between half and twice, and never at nought.
        buffering = acidity.buffering * exp(case.cause("buffering of malt", 0.0, wide.buffering))
        ph = acidity.distilled_water_mash_ph + own
        grist.append(MaltAcidity(acidity.mass, ph, buffering))
    return grist


def infusions(case: Case) -> tuple[Number, list[tuple[float, Number]]]:
    """Return the liquor that later rests add, L at 20 degC, and (rest temperature, L) for each.

    Each infusion is of the rest's own liquor temperature, or of boiling liquor.
    """
    water = liquor_mass(case.mash_liquor, ROOM)
    boiling = case.boiling
    total: Number = 0.0
    each = []
    for before, rest in itertools.pairwise(case.rests):
        if rest.reached_by != "infusion":
            continue
        hot = boiling if rest.liquor_temperature is None else rest.liquor_temperature
        mass = infusion_liquor(
            before.temperature,
            rest.temperature,
            hot,
            case.grist,
            water,
            case.tun_heat_capacity,
            MALT_HEAT_CAPACITY,
        )
        water = water + mass
        litres = liquor_volume(mass, ROOM)
        total = total + litres
        each.append((rest.temperature, litres))
    return total, each


DECOCTION_THICKNESS = 2.5
"""kg of liquor for each kg of grist in a thick decoction, at most: common practice, no source."""


def decoctions(case: Case) -> dict[int, Number]:
    """Return the mash to draw, L at 20 degC, for each rest that a decoction leads to.

    Thick or thin, back in the tun at the boil. Liquor of earlier infusions is in the mash by then.
    """
    volumes: dict[int, Number] = {}
    for number, (before, rest) in enumerate(itertools.pairwise(case.rests), 1):
        if rest.reached_by != "decoction" or rest.temperature <= before.temperature:
            continue
        so_far = replace(case, rests=case.rests[:number])
        water = liquor_mass(case.mash_liquor + infusions(so_far)[0], ROOM)
        volumes[number], _ = decoction_volume(
            case.grist,
            water,
            before.temperature,
            rest.temperature,
            case.boiling,
            None if rest.is_thin else min(DECOCTION_THICKNESS, nominal(water / case.grist)),
            case.tun_heat_capacity,
            MALT_HEAT_CAPACITY,
        )
    return volumes


def with_infusions(case: Case, liquor: Treated, more: Number) -> Treated:
    """Return the mash liquor with untreated liquor of the infusions mixed in."""
    if nominal(more) == 0:
        return liquor
    volume = liquor.volume + more
    ions = {
        ion: (amount * liquor.volume + case.ions.get(ion, 0.0) * more) / volume
        for ion, amount in liquor.ions.items()
    }
    alkalinity = (liquor.alkalinity * liquor.volume + case.alkalinity * more) / volume
    return Treated(volume, ions, alkalinity, liquor.acid_millimoles)


def forecast(case: Case, book: Forecast, liquor: Treated) -> Treated:
    """Write the figures of the mash; return the liquor that is in it at the end."""
    water = liquor_mass(liquor.volume, ROOM)
    malt_temperature = book.put("malt_temperature", case.malt_temperature, note="from the plan")
    rest = case.rests[0].temperature
    heat = (MALT_HEAT_CAPACITY, case.tun_heat_capacity, case.tun_temperature, SLAKING_HEAT)
    puts = (
        InputValue("grist", case.grist, "kg", 2),
        InputValue("liquor", water, "kg", 2),
        InputValue("mash temperature", rest, "°C", 1),
        InputValue("malt temperature", malt_temperature, "°C", 1),
        InputValue("heat capacity of malt", MALT_HEAT_CAPACITY, "kJ/kg/K", 2),
        InputValue("heat capacity of the tun", case.tun_heat_capacity, "kJ/K", 1),
        InputValue("tun temperature", case.tun_temperature, "°C", 1),
    )
    with book.step("mash"):
        book.put(
            "strike_temperature",
            strike_temperature(case.grist, water, rest, malt_temperature, *heat)
            + method_u.strike_unknown(case),
            "heat.strike_temperature",
            *puts,
        )
    more, each = infusions(case)
    added = case.added_to("mash")
    if each:
        book.put(
            "infusion_liquor",
            more,
            "heat.infusion_liquor",
            *(
                InputValue(f"to reach {temperature:g} °C", litres, "L", 1)
                for temperature, litres in each
            ),
            InputValue("grist", case.grist, "kg", 2),
            InputValue("liquor before", water, "kg", 2),
            note="liquor without salts or acid",
        )
    with book.step("mash"):
        book.decoctions = decoctions(case)
        if book.decoctions:
            book.put(
                "decoction_volume",
                sum(book.decoctions.values())
                * case.cause("volume of a decoction", 1.0, method_u.DECOCTION_U),
                "heat.decoction_volume",
                *(
                    InputValue(f"to reach {case.rests[number].temperature:g} °C", litres, "L", 1)
                    for number, litres in book.decoctions.items()
                ),
                InputValue("grist", case.grist, "kg", 2),
                note="at 20 °C; what its boil does to colour is not forecast",
            )
    whole = with_infusions(case, liquor, more + added)
    volume = book.put(
        "mash_volume",
        mash_volume(case.grist, whole.volume),
        "heat.mash_volume",
        InputValue("grist", case.grist, "kg", 2),
        InputValue("liquor", whole.volume, "L", 1),
    )
    book.put(
        "tun_fill",
        volume / case.tun_volume,
        note="mash volume over that of the tun",
    )
    with book.step("mash"):
        mashed: Number = rest
        if "strike_temperature" in book.readings:
            mashed = mash_temperature_from_strike(
                case.grist, water, book["strike_temperature"], malt_temperature, *heat
            )
        book.put(
            "mash_temperature",
            mashed,
            "heat.mash_temperature_from_strike" if "strike_temperature" in book.readings else "",
            note="from the plan" if "strike_temperature" not in book.readings else "",
        )
    with book.step("mash"):
        _after_additions(case, book, book["mash_temperature"], water)
    with book.step("mash"):
        # The kit states the fall in the first hour; Newton's law wants it as a share of the
        # difference.
        loss_rate = case.tun_heat_loss / max(rest - ROOM, 1.0)
        loss_rate = loss_rate * case.cause("heat loss of the tun", 1.0, method_u.HEAT_LOSS_U)
        mashed = _last_mash_temperature(case, book)
        book.put(
            "mash_end_temperature",
            mash_cooling(mashed, ROOM, loss_rate, case.rests[0].minutes),
            "heat.mash_cooling",
            InputValue("mash temperature", mashed, "°C", 1),
            InputValue("heat loss in an hour", case.tun_heat_loss, "K", 1),
            InputValue("time", case.rests[0].minutes, "min", 0),
        )
    with book.step("mash"):
        mash_course.forecast(case, book)
    with book.step("mash"):
        _acidity(case, book, with_infusions(case, liquor, added))
    with book.step("mash"):
        _first_wort(case, book, liquor_mass(whole.volume, ROOM))
    return whole


def _last_mash_temperature(case: Case, book: Forecast) -> Number:
    """Return the mash temperature, degC, with the liquor that went in after it was read."""
    later = mash_course.added_later(case)
    return book["mash_temperature_after_additions" if later else "mash_temperature"]


def _after_additions(case: Case, book: Forecast, mashed: Number, water: Number) -> None:
    """Write the mash temperature once liquor has gone in after it was read."""
    later = mash_course.added_later(case)
    if not later:
        return
    after, mass = mashed, water
    for more in later:
        # Liquor that meets a mash is liquor that meets a tun of the mash's heat and temperature.
        heat = case.grist * MALT_HEAT_CAPACITY + mass * WATER_HEAT_CAPACITY + case.tun_heat_capacity
        own = liquor_mass(more.litres, ROOM)
        after = mash_temperature_from_strike(
            0.0, own, more.temperature, tun_heat_capacity=heat, tun_temperature=after
        )
        mass = mass + own
    book.put(
        "mash_temperature_after_additions",
        after,
        "heat.mash_temperature_from_strike",
        InputValue("mash temperature", mashed, "°C", 1),
        *(InputValue(f"{m.name} of {m.temperature:g} °C", m.litres, "L", 1) for m in later),
        InputValue("grist", case.grist, "kg", 2),
        InputValue("liquor before", water, "kg", 2),
    )


def _acidity(case: Case, book: Forecast, liquor: Treated) -> None:
    acids = {name: nominal(moles) for name, moles in liquor.acid_millimoles.items()}
    acidulated = sum(
        nominal(acidulated_malt_acid(nominal(m.amount)))
        for m in case.malts
        if m.malt_class == "acidulated"
    )
    liquor_u = acidity_uncertainty("pale")
    hardness = case.cause("calcium in the mash", 1.0, liquor_u.hardness)
    grist = uncertain_grist_acidity(case)
    alkalinity = liquor.alkalinity * case.cause("carbonate kept", 1.0, liquor_u.carbonate)

    def with_acids(acids: Mapping[str, float]) -> Number:
        return MODELS[case.mash_ph_method](
            grist,
            nominal(liquor.volume),
            alkalinity,
            liquor.ions["calcium"] * hardness,
            liquor.ions["magnesium"] * hardness,
            case.liquor_ph,
            acids,
            acidulated_mmol=acidulated,
        )

    if acids:
        book.put(
            "mash_ph_without_acid",
            with_acids({}),
            f"mash_ph.{MODELS[case.mash_ph_method].__name__}",
            InputValue("alkalinity", liquor.alkalinity, "mEq/L", 2),
            note="as below, less the acids",
        )
    book.put(
        "mash_ph",
        with_acids(acids),
        f"mash_ph.{MODELS[case.mash_ph_method].__name__}",
        InputValue("mash liquor", liquor.volume, "L", 1),
        InputValue("alkalinity", liquor.alkalinity, "mEq/L", 2),
        InputValue("calcium", liquor.ions["calcium"], "mg/L", 0),
        InputValue("magnesium", liquor.ions["magnesium"], "mg/L", 0),
        InputValue("grist", case.grist, "kg", 2),
        *(InputValue(f"{name} acid", moles, "mmol", 1) for name, moles in acids.items()),
        note="an estimate: it never replaces a measured pH",
    )


def _first_wort(case: Case, book: Forecast, water: Number) -> None:
    ratio = water / case.grist
    conversion: Number = case.conversion * book["mash_conversion_share"]
    extract = first_wort_extract(case.extract, conversion, ratio, case.moisture)
    gravity = book.put(
        "first_wort_gravity",
        gravity_from_extract(extract),
        "lautering.first_wort_extract",
        InputValue("extract of the grist, as is", case.extract, "", 4),
        InputValue("conversion", conversion, "", 3),
        InputValue("liquor to grist", ratio, "kg/kg", 3),
        InputValue("moisture", case.moisture, "", 3),
        InputValue("first wort", extract, "°P", 2),
    )
    puts: tuple[InputValue, ...] = ()
    method = ""
    if "first_wort_gravity" in book.readings:
        from reportgen.science.density import extract_from_gravity

        method = "lautering.conversion_from_first_wort"
        read = extract_from_gravity(gravity)
        conversion = conversion_from_first_wort(read, case.extract, ratio, case.moisture)
        puts = (
            InputValue("first wort", read, "°P", 2),
            InputValue("extract of the grist, as is", case.extract, "", 4),
            InputValue("liquor to grist", ratio, "kg/kg", 3),
        )
    book.put("conversion", conversion, method, *puts, note="" if method else OF_THE_KIT)
