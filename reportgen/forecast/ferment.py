"""Fermentation: final gravity, attenuation, alcohol."""

from __future__ import annotations

from collections.abc import Iterable

from reportgen.forecast.book import Book, Put
from reportgen.forecast.case import Case, Sugar
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
    by sugars that ferment more or less than malt. All of it as it is in the fermenter, where what
    stays in the kettle never came.
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
    came = book["fermenter_volume"] / book["cast_out_volume"]
    share = {"kettle": came, "fermenter": 1.0}
    each = [(s.amount * s.extract * share[s.to], s) for s in case.sugars]
    sugars = sum(mass for mass, _ in each)
    if nominal(sugars) == 0:
        return malt, tuple(puts), method
    boiled = came * extract_mass(book["cast_out_volume"], book["cast_out_gravity"])
    wort = boiled - sum(mass for mass, s in each if s.to == "kettle")
    fermented = sum(mass * s.fermentability * FULL_APPARENT for mass, s in each)
    puts.append(Put("extract of malt", wort, "kg", 3))
    puts.append(Put("extract of sugars", sugars, "kg", 3))
    return (malt * wort + fermented) / (wort + sugars), tuple(puts), method


FULL_APPARENT = 1 / 0.8192
"""Apparent attenuation of extract that ferments wholly, from Balling's factor 0.8192."""


def forecast(case: Case, book: Book) -> None:
    """Write the figures of the fermentation."""
    _with_sugar(case, book)
    start, volume = starting_gravity(book), starting_volume(book)
    attenuation, puts, _ = expected_attenuation(case, book)
    end = book.put(
        "final_gravity",
        gravity_at_attenuation(start, attenuation),
        "alcohol.gravity_at_attenuation",
        Put("original gravity", start, "SG", 4),
        Put("apparent attenuation", attenuation, "", 3),
        *puts,
    )
    gravities = (Put("original gravity", start, "SG", 4), Put("final gravity", end, "SG", 4))
    book.put(
        "apparent_attenuation",
        apparent_attenuation(start, end),
        "alcohol.apparent_attenuation",
        *gravities,
    )
    fermented = extract_mass(volume, start) * real_attenuation(start, end)
    book.put(
        "temperature_rise",
        temperature_rise(fermented, volume),
        "fermentation.temperature_rise",
        Put("extract fermented", fermented, "kg", 2),
        Put("volume", volume, "L", 1),
        note="what the room or the jacket has to carry away",
    )
    book.put(
        "real_attenuation", real_attenuation(start, end), "alcohol.real_attenuation", *gravities
    )
    model = MODELS[case.alcohol_method]
    book.put("alcohol", model(start, end) / 100, f"alcohol.{model.__name__}", *gravities)


def _with_sugar(case: Case, book: Book) -> None:
    """Write gravity and volume with the sugar that goes into the fermenter, if there is any."""
    added = [sugar for sugar in case.sugars if sugar.to == "fermenter"]
    if not added:
        return
    wort, before = book["fermenter_volume"], book["original_gravity"]
    volume, gravity = mixed(wort, before, case.sugars)
    puts = (
        Put("volume in the fermenter", wort, "L", 1),
        Put("original gravity", before, "SG", 4),
        Put("sugar as weighed", sum(s.amount for s in added), "kg", 3),
        Put("extract in it", sum(s.amount * s.extract for s in added), "kg", 3),
    )
    method = "extract.gravity_after_sugar"
    book.put("gravity_with_sugar", gravity, method, *puts, note="by masses; the rest is water")
    book.put("volume_with_sugar", volume, method, *puts, note="by masses; the rest is water")


def mixed(volume: Number, gravity: Number, sugars: Iterable[Sugar]) -> tuple[Number, Number]:
    """Return volume (L at 20 degC) and SG of wort with the sugars for the fermenter in it."""
    for sugar in sugars:
        if sugar.to == "fermenter":
            volume, gravity = gravity_after_sugar(volume, gravity, sugar.amount, sugar.extract)
    return volume, gravity


def starting_gravity(book: Book) -> Number:
    """Return the gravity that fermentation starts from, SG: with the sugar in the fermenter.

    KeyError when the walk has not come so far.
    """
    key = "gravity_with_sugar"
    return book[key] if key in book else book["original_gravity"]


def starting_volume(book: Book) -> Number:
    """Return the volume that ferments, L at 20 degC: with the sugar in the fermenter.

    KeyError when the walk has not come so far.
    """
    key = "volume_with_sugar"
    return book[key] if key in book else book["fermenter_volume"]
