"""Boil: evaporation, cast-out, bitterness, colour, ions of the wort."""

from __future__ import annotations

import math

from reportgen.forecast import malt_minerals, method_u
from reportgen.forecast.book import Forecast, InputValue, unless_nought
from reportgen.forecast.case import Case, SugarDose
from reportgen.forecast.figures import IONS
from reportgen.science.bitterness import MODELS, bitterness, time_and_gravity
from reportgen.science.boil import volume_after_boil
from reportgen.science.colour import MODELS as COLOUR_MODELS
from reportgen.science.colour import malt_colour_units, srm_to_ebc
from reportgen.science.density import hot_volume
from reportgen.science.extract import extract_mass, gravity_from_extract_mass
from reportgen.science.method import page
from reportgen.science.number import Number, flat, nominal

COLOUR_BOIL_U = 2.0
"""±U (k = 2), EBC, of what the boil adds to the colour and fermentation takes away."""


USUAL_HOP_U = 2.0
"""±U of the minutes of hops put in by the clock, above which the Working says that it is wider."""


def forecast(case: Case, book: Forecast) -> None:
    """Write the figures of the boil."""
    kettle, gravity = book["kettle_volume"], book["kettle_gravity"]
    sugar, sugar_volume = case.sugar_to("kettle"), case.sugar_volume("kettle")
    added, taken = case.added_to("kettle"), case.taken_from("kettle")
    with book.step("boil"):
        evaporation: Number | None = case.evaporation
        if "cast_out_volume" in book.readings:
            lost = kettle + sugar_volume + added - taken - book.readings["cast_out_volume"]
            # Wort that did not boil, or by its clock did not, shows no rate.
            evaporation = lost / (case.boil_minutes / 60) if nominal(case.boil_minutes) else None
        if evaporation is not None:
            note = "kettle full less cast-out, for an hour"
            if evaporation is case.evaporation:
                note = "of the kit"
            book.put("evaporation", evaporation, note=note)
    with book.step("boil"):
        boiled = volume_after_boil(kettle, case.evaporation, case.boil_minutes)
        book.put(
            "cast_out_volume",
            boiled + sugar_volume + added - taken,
            "boil.volume_after_boil",
            InputValue("kettle volume", kettle, "L", 1),
            InputValue("evaporation in an hour", case.evaporation, "L", 2),
            InputValue("boil", case.boil_minutes, "min", 0),
            *unless_nought("sugar takes up", sugar_volume, "L", 2),
            *unless_nought("liquor added", added, "L", 1),
            *unless_nought("wort taken out", taken, "L", 1),
        )
    volume = book["cast_out_volume"]
    boiling = case.boiling
    book.put(
        "cast_out_volume_hot",
        hot_volume(volume, boiling),
        "density.hot_volume",
        InputValue("cast-out volume at 20 °C", volume, "L", 1),
        InputValue("boiling point", boiling, "°C", 1),
    )
    whole = volume + taken
    mass = extract_mass(kettle, gravity) * volume / whole
    sugar = sugar * volume / whole
    with book.step("boil"):
        book.put(
            "cast_out_gravity",
            gravity_from_extract_mass(mass + sugar, volume),
            "extract.gravity_from_extract_mass",
            InputValue("extract at kettle full", mass, "kg", 3),
            InputValue("sugar in the kettle", sugar, "kg", 3),
            InputValue("cast-out volume", volume, "L", 1),
        )
    final = book["cast_out_gravity"]
    # What was taken out had its share of bitterness, colour and ions: they are those of the whole.
    with book.step("boil"):
        mean, without = _mean_gravities(case, kettle, gravity, whole, final)
        _bitterness(case, book, mean, mean - without, whole, boiling)
    with book.step("boil"):
        _colour(case, book, whole)
    for ion in IONS:
        book.put(
            f"cast_out_{ion}_of_liquor",
            (book[f"kettle_{ion}_of_liquor"] * kettle + case.ions[ion] * added) / whole,
            "",
            InputValue("in the kettle", book[f"kettle_{ion}_of_liquor"], "mg/L", 1),
            InputValue("kettle volume", kettle, "L", 1),
            InputValue("cast-out volume", volume, "L", 1),
            note="ions stay when water boils off; part of the calcium drops out with phosphate",
        )
    with book.step("boil"):
        malt_minerals.forecast(case, book)


def hop_profile(case: Case, minutes: float | None, boiling: float) -> list[tuple[float, float]]:
    """Return (minutes, degC) steps that a hop addition goes through, to the end of cooling."""
    profile: list[tuple[float, float]] = [] if minutes is None else [(minutes, boiling)]
    if case.hop_stand_temperature is not None:
        profile.append((case.hop_stand_minutes, case.hop_stand_temperature))
    start = case.hop_stand_temperature if case.hop_stand_temperature is not None else boiling
    steps = 4
    for step in range(steps):
        middle = start + (60.0 - start) * (step + 0.5) / steps
        profile.append((case.cooling_minutes / steps, middle))
    return profile


def _utilisation(
    model: str, gravity: float, minutes: float | None, case: Case, boiling: float
) -> Number:
    """Return what one addition gives; the model that knows only minutes learns how hot they are."""
    time, profile = minutes or 0.0, hop_profile(case, minutes, boiling)
    if MODELS[model] is time_and_gravity:
        return time_and_gravity(gravity, time, profile, boiling)
    return MODELS[model](gravity, time, profile)


def _mean_gravities(
    case: Case, kettle: Number, gravity: Number, volume: Number, final: Number
) -> tuple[Number, Number]:
    """Return the mean SG of the boil with all that goes into the kettle, and without the late part.

    ``kettle`` and ``gravity`` are those before the boil, ``volume`` and ``final`` at its end.
    """
    boiled = [sugar for sugar in case.sugars if sugar.to == "kettle"]
    late = [sugar for sugar in boiled if _is_late(sugar)]
    if not boiled:
        mean = (gravity + final) / 2
        return mean, mean

    early = [sugar for sugar in boiled if not _is_late(sugar)]
    less = flat(sum(s.volume for s in late))
    mass = flat(extract_mass(volume, final) - sum(s.amount * s.extract for s in late))
    without = gravity_from_extract_mass(mass, volume - less)
    return (
        (_stronger(kettle, gravity, boiled) + final) / 2,
        (_stronger(kettle, gravity, early) + without) / 2,
    )


def _stronger(volume: Number, gravity: Number, sugars: list[SugarDose]) -> Number:
    """Return the SG of a wort with sugars dissolved in it."""
    mass = extract_mass(volume, gravity) + sum(s.amount * s.extract for s in sugars)
    return gravity_from_extract_mass(flat(mass), flat(volume + sum(s.volume for s in sugars)))


def _is_late(sugar: SugarDose) -> bool:
    """Whether a sugar goes into the kettle at a time of its own."""
    return sugar.to == "kettle" and sugar.minutes is not None


def _without_sugar(case: Case, minutes: float | None) -> Number:
    """Return the share of the late extract, by time, that the wort lacks while a hop is boiled."""
    late = [(s.amount * s.extract, s.minutes) for s in case.sugars if _is_late(s)]
    total = sum(mass for mass, _ in late)
    if not minutes or not nominal(total):
        return 0.0
    lacking = sum(
        mass * max(0.0, 1.0 - (before or 0.0) / minutes) for mass, before in late
    )
    return lacking / total


def _in_hop_stand(case: Case) -> Number:
    """Return the factor of what a hop stand gives: less sure than the boil."""
    of_boil = page(f"bitterness.{MODELS[case.hop_stand_method].__name__}").own[0].amount
    more = max(0.0, method_u.STEEP_U**2 - of_boil**2)
    return case.cause("utilisation in the steep", 1.0, math.sqrt(more))


def _bitterness(
    case: Case, book: Forecast, gravity: Number, late: Number, volume: Number, boiling: float
) -> None:
    """Write the bitterness. ``late`` is what the late extract adds to the mean ``gravity``."""
    boiled: Number = 0.0
    steeped: Number = 0.0
    puts = []
    for hop in case.hops:
        in_hop_stand = hop.minutes is None
        model = case.hop_stand_method if in_hop_stand else case.bitterness_method
        own = nominal(gravity - late * _without_sugar(case, hop.minutes))
        used = _utilisation(model, own, hop.minutes, case, boiling)
        if hop.minutes is not None and hop.minutes_u:
            most, least = (
                nominal(_utilisation(model, own, max(hop.minutes + by, 0.0), case, boiling))
                for by in (hop.minutes_u, -hop.minutes_u)
            )
            used = used + (most - least) / 2 * case.cause("when the hops went in", 0.0, 1.0)
        brought = bitterness(hop.alpha, hop.grams, used, volume)
        if in_hop_stand:
            steeped = steeped + brought
        else:
            boiled = boiled + brought
        when = "steep" if hop.minutes is None else f"{hop.minutes:g} min"
        if hop.minutes_u > USUAL_HOP_U:
            when = f"{hop.minutes:g} ±{hop.minutes_u:g} min, not written"
        puts.append(InputValue(f"{hop.title}, {when}: alpha", hop.alpha, "", 3))
        puts.append(InputValue(f"{hop.title}, {when}: weight", hop.grams, "g", 0))
        if abs(own - nominal(gravity)) > 5e-5:
            puts.append(InputValue(f"{hop.title}, {when}: gravity of its boil", own, "SG", 4))
        puts.append(InputValue(f"{hop.title}, {when}: utilisation", used, "", 3))
    total = boiled + steeped * _in_hop_stand(case)
    note = f"utilisation by {case.bitterness_method.replace('_', ' ')}"
    if any(hop.minutes is None for hop in case.hops):
        note += f", in the steep by {case.hop_stand_method.replace('_', ' ')}"
    if case.bitterness_factor != 1:
        puts.append(InputValue("factor of the house", case.bitterness_factor, "", 3))
    book.put(
        "bitterness",
        total * case.bitterness_factor,
        "bitterness.bitterness",
        InputValue("gravity, mean of the boil", gravity, "SG", 4),
        InputValue("cast-out volume", volume, "L", 1),
        *puts,
        note=note,
    )


def _colour(case: Case, book: Forecast, volume: Number) -> None:
    grist = [(malt.amount, malt.colour) for malt in case.malts]
    grist += [(sugar.amount, sugar.colour) for sugar in case.sugars if sugar.colour]
    value = srm_to_ebc(COLOUR_MODELS[case.colour_method](malt_colour_units(grist, volume)))
    book.put(
        "colour",
        value
        + case.cause("colour of boil and fermentation", 0.0, COLOUR_BOIL_U),
        f"colour.{COLOUR_MODELS[case.colour_method].__name__}",
        *(InputValue(m.title, m.amount, "kg", 2) for m in case.malts),
        InputValue("cast-out volume", volume, "L", 1),
    )
