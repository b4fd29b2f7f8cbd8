"""Fermentation: final gravity, attenuation, alcohol."""

from __future__ import annotations

from reportgen.forecast.book import Book, Put
from reportgen.forecast.case import Case
from reportgen.science.alcohol import (
    MODELS,
    apparent_attenuation,
    gravity_at_attenuation,
    real_attenuation,
)
from reportgen.science.extract import extract_mass, gravity_after_sugar
from reportgen.science.fermentation import attenuation_with_mash_temperature, temperature_rise
from reportgen.science.number import Number, nominal


def expected_attenuation(case: Case, book: Book) -> tuple[Number, tuple[Put, ...], str]:
    """Return the apparent attenuation expected of the wort, what went in, and the method.

    A planned value stands as it is. Otherwise the yeast's own, moved by the mash temperature, and
    by sugars that ferment more or less than malt.
    """
    malt = case.attenuation
    method = ""
    puts = [Put("attenuation of the yeast", case.attenuation, "", 3)]
    if case.attenuation_is_planned:
        return malt, tuple(puts), method
    mashed = book["mash_temperature"]
    malt = attenuation_with_mash_temperature(malt, mashed)
    puts.append(Put("mash temperature", mashed, "°C", 1))
    method = "fermentation.attenuation_with_mash_temperature"
    sugars = sum(s.amount * s.extract for s in case.sugars)
    if nominal(sugars) == 0:
        return malt, tuple(puts), method
    kettle_sugars = sum(s.amount * s.extract for s in case.sugars if s.to == "kettle")
    wort = extract_mass(book["cast_out_volume"], book["cast_out_gravity"]) - kettle_sugars
    fermented = sum(
        s.amount * s.extract * s.fermentability * FULL_APPARENT for s in case.sugars
    )
    puts.append(Put("extract of malt", wort, "kg", 3))
    puts.append(Put("extract of sugars", sugars, "kg", 3))
    return (malt * wort + fermented) / (wort + sugars), tuple(puts), method


FULL_APPARENT = 1 / 0.8192
"""Apparent attenuation of extract that ferments wholly, from Balling's factor 0.8192."""


def forecast(case: Case, book: Book) -> None:
    """Write the figures of the fermentation."""
    start = total_original_gravity(case, book)
    with book.step("ferment"):
        attenuation, puts, _ = expected_attenuation(case, book)
        book.put(
            "final_gravity",
            gravity_at_attenuation(start, attenuation),
            "alcohol.gravity_at_attenuation",
            Put("original gravity", start, "SG", 4),
            Put("apparent attenuation", attenuation, "", 3),
            *puts,
        )
    end = book["final_gravity"]
    gravities = (Put("original gravity", start, "SG", 4), Put("final gravity", end, "SG", 4))
    book.put(
        "apparent_attenuation",
        apparent_attenuation(start, end),
        "alcohol.apparent_attenuation",
        *gravities,
    )
    with book.step("ferment"):
        fermented = extract_mass(book["fermenter_volume"], start) * real_attenuation(start, end)
        book.put(
            "temperature_rise",
            temperature_rise(fermented, book["fermenter_volume"]),
            "fermentation.temperature_rise",
            Put("extract fermented", fermented, "kg", 2),
            Put("volume", book["fermenter_volume"], "L", 1),
            note="what the room or the jacket has to carry away",
        )
    book.put(
        "real_attenuation", real_attenuation(start, end), "alcohol.real_attenuation", *gravities
    )
    model = MODELS[case.alcohol_method]
    book.put("alcohol", model(start, end) / 100, f"alcohol.{model.__name__}", *gravities)


def total_original_gravity(case: Case, book: Book) -> Number:
    """Return the original gravity with sugar that goes into the fermenter counted in."""
    gravity = book["original_gravity"]
    volume = book["fermenter_volume"]
    for sugar in case.sugars:
        if sugar.to == "fermenter":
            volume, gravity = gravity_after_sugar(volume, gravity, sugar.amount, sugar.extract)
    return gravity
