"""Fermentation: final gravity, attenuation, alcohol."""

from __future__ import annotations

from collections.abc import Iterable

from reportgen.forecast.book import Forecast, InputValue
from reportgen.forecast.case import Case, LiquorAdded
from reportgen.forecast.pitch import diluted_by
from reportgen.science.alcohol import (
    MODELS,
    apparent_attenuation,
    gravity_at_attenuation,
    real_attenuation,
)
from reportgen.science.density import WATER_20
from reportgen.science.extract import extract_mass, gravity_after_sugar
from reportgen.science.fermentation import temperature_rise
from reportgen.science.method import page, widest
from reportgen.science.number import Number, flat, nominal


def expected_attenuation(case: Case, book: Forecast) -> tuple[Number, tuple[InputValue, ...], str]:
    """Return the apparent attenuation expected of the wort, what went in, and the method.

    A planned value stands as it is. Otherwise the yeast's own, moved by the mash temperature, and
    by sugars that ferment more or less than malt. All of it as it is in the fermenter, where what
    stays in the kettle never came.
    """
    malt = case.attenuation
    method = ""
    puts = [InputValue("attenuation of the yeast", case.attenuation, "", 3)]
    if case.attenuation_is_planned:
        return malt, tuple(puts), method
    if case.is_mashed:
        share = book["mash_attenuation_share"]
        malt = malt * share
        puts.append(InputValue("attenuation by this mash, of that by 1 h at 66 °C", share, "", 3))
        method = "mash_kinetics.mash_result"
    late = case.sugar_volume("cast_out") + case.added_to("cast_out")
    came = _wort(book) / (book["cast_out_volume"] + late)
    reached = {"kettle_full": came, "kettle": came, "cast_out": came, "fermenter": 1.0}
    each = [(s.amount * s.extract * reached[s.to], s) for s in case.sugars if s.to in reached]
    sugars = sum(mass for mass, _ in each)
    if nominal(sugars) == 0:
        return malt, tuple(puts), method
    boiled = came * extract_mass(book["cast_out_volume"], book["cast_out_gravity"])
    wort = boiled - sum(mass for mass, s in each if s.to in ("kettle_full", "kettle"))
    like_wort = sum(mass for mass, s in each if s.fermentability is None)
    dry = FULL_APPARENT * sum(mass * s.fermentability for mass, s in each if s.fermentability)
    total = wort + sugars
    # The less malt there is, the further from the beers that the balance was found with.
    middle = nominal((malt * wort + case.attenuation * like_wort + dry) / total)
    wide = FULL_U * widest(page("alcohol.gravity_at_attenuation"), {"attenuation": middle})
    dry = dry * (1.0 + wide * case.cause("attenuation of sugar that ferments wholly", 0.0, 1.0))
    puts.append(InputValue("extract of malt", wort, "kg", 3))
    puts.append(InputValue("extract of sugars", sugars, "kg", 3))
    whole = (malt * wort + case.attenuation * like_wort + dry) / total
    return whole, tuple(puts), method


FULL_APPARENT = 1 / 0.8192
"""Apparent attenuation of extract that ferments wholly: apparent extract falls by 1 degP for
0.8192 of real extract."""
FULL_U = 0.03
"""±U (k = 2) of it as a share: what becomes glycerol and yeast instead is some hundredths of the
sugar; by tables of spirit densities the spirit alone would be lighter by a quarter of that."""


def forecast(case: Case, book: Forecast) -> None:
    """Write the figures of the fermentation."""
    _start(case, book)
    changed = is_changed(case)
    start = book["starting_gravity"] if changed else book["original_gravity"]
    volume = book["starting_volume"] if changed else book["fermenter_volume"]
    with book.step("ferment"):
        _thinner(case, book)
    with book.step("ferment"):
        attenuation, puts, _ = expected_attenuation(case, book)
        book.put(
            "final_gravity",
            gravity_at_attenuation(start, attenuation),
            "alcohol.gravity_at_attenuation",
            InputValue("original gravity", start, "SG", 4),
            InputValue("apparent attenuation", attenuation, "", 3),
            *puts,
        )
    end = book["final_gravity"]
    gravities = (
        InputValue("original gravity", start, "SG", 4),
        InputValue("final gravity", end, "SG", 4),
    )
    book.put(
        "apparent_attenuation",
        apparent_attenuation(start, end),
        "alcohol.apparent_attenuation",
        *gravities,
    )
    with book.step("ferment"):
        fermented = extract_mass(volume, start) * real_attenuation(start, end)
        book.put(
            "temperature_rise",
            temperature_rise(fermented, volume),
            "fermentation.temperature_rise",
            InputValue("extract fermented", fermented, "kg", 2),
            InputValue("volume", volume, "L", 1),
            note="what the room or the jacket has to carry away",
        )
    book.put(
        "real_attenuation", real_attenuation(start, end), "alcohol.real_attenuation", *gravities
    )
    model = MODELS[case.alcohol_method]
    strength = model(start, end) / 100
    book.put("alcohol", strength, f"alcohol.{model.__name__}", *gravities)


def is_changed(case: Case) -> bool:
    """Whether sugar or liquor goes into the fermenter, or wort is taken out of it."""
    sugars = any(sugar.to == "fermenter" for sugar in case.sugars)
    return sugars or bool(nominal(_late_liquor(case)) or nominal(case.taken_from("fermenter")))


def _start(case: Case, book: Forecast) -> None:
    """Write gravity and volume that fermentation starts from, where something went into the wort.

    Sugar and liquor in the fermenter, less what was taken out of it before the yeast worked.
    """
    if not is_changed(case):
        return
    sugars = [sugar for sugar in case.sugars if sugar.to == "fermenter"]
    liquor, taken = _late_liquor(case), case.taken_from("fermenter")
    wort, before = book["fermenter_volume"], book["original_gravity"]
    volume, gravity = mixed(wort, before, case)
    puts = [
        InputValue("volume in the fermenter", wort, "L", 1),
        InputValue("original gravity", before, "SG", 4),
    ]
    if sugars:
        puts.append(InputValue("sugar as weighed", sum(s.amount for s in sugars), "kg", 3))
        puts.append(InputValue("extract in it", sum(s.amount * s.extract for s in sugars), "kg", 3))
    if nominal(liquor):
        puts.append(InputValue("liquor added", liquor, "L", 1))
    if nominal(taken):
        puts.append(InputValue("taken out", taken, "L", 1))
    method = "extract.gravity_after_sugar" if sugars else "extract.gravity_after_topping_up"
    book.put("starting_gravity", gravity, method, *puts, note="by masses")
    book.put("starting_volume", volume, method, *puts, note="by masses")


def _thinner(case: Case, book: Forecast) -> None:
    """Write bitterness and colour of the beer, where what went in after the boil thinned them."""
    thin(book, ("bitterness", "colour"), dilution(case, book),
         "share of wort in what ferments", "thinned by what went in after the boil")


def thin(book: Forecast, keys: Iterable[str], share: Number, name: str, note: str) -> None:
    """Write figures again, each times the share that is left of it."""
    if abs(nominal(share) - 1) < 1e-9:
        return
    for key in keys:
        if key in book.expected:
            whole = book.expected[key]
            book.put(
                key,
                whole.number * share,
                whole.method,
                *whole.puts,
                InputValue(name, share, "", 3),
                note=whole.note or note,
            )


def _late_liquor(case: Case) -> Number:
    """Return the liquor that went into the fermenter after the original gravity was read, L."""
    return flat(sum(m.litres for m in _late(case)))


def _late(case: Case) -> list[LiquorAdded]:
    return [m for m in case.liquor_added if m.to == "fermenter" and m.after_reading]


def mixed(volume: Number, gravity: Number, case: Case) -> tuple[Number, Number]:
    """Return volume (L at 20 degC) and SG of the wort in the fermenter with all that went in."""
    return _one_by_one(volume, gravity, case)[:2]


def _one_by_one(volume: Number, gravity: Number, case: Case) -> tuple[Number, Number, Number]:
    """Return volume and SG after all that went in and out, and what is left of the first wort, L.

    In the order of time: what is taken out is of what was there then.
    """
    wort = volume
    # Liquor is an addition without extract: its mass is what a sugar of none would weigh.
    steps: list[tuple[float, Number, Number, float]] = [
        *((s.order, 0.0, s.amount, s.extract) for s in case.sugars if s.to == "fermenter"),
        *((m.order, 0.0, m.litres * WATER_20 / 1000, 0.0) for m in _late(case)),
        *((o.order, o.litres, 0.0, 0.0) for o in case.withdrawals if o.from_ == "fermenter"),
    ]
    for _, out, mass, extract in sorted(steps, key=lambda step: step[0]):
        if nominal(mass):
            volume, gravity = gravity_after_sugar(volume, gravity, mass, extract)
        if nominal(out):
            wort = wort * (1 - out / volume)
            volume = volume - out
    return volume, gravity, wort


def _wort(book: Forecast) -> Number:
    """Return the wort in the fermenter without the liquor that is put to it there, L."""
    return book["fermenter_volume"] - diluted_by(book)


def dilution(case: Case, book: Forecast) -> Number:
    """Return the volume of the cast-out wort as a share of what became of it in the fermenter.

    What the wort brought (bitterness, colour, ions) is thinner by this.
    """
    whole, cast_out = book["fermenter_volume"], book["cast_out_volume"]
    after, _, left = _one_by_one(whole, book["original_gravity"], case)
    more = case.added_to("cast_out") + case.sugar_volume("cast_out")
    late = cast_out / (cast_out + more)
    return late * _wort(book) / whole * left / after


def starting_gravity(book: Forecast) -> Number:
    """Return the gravity that fermentation starts from, SG: with the sugar in the fermenter.

    NotForecast when it could not be computed.
    """
    key = "starting_gravity"
    return book[key] if key in book else book["original_gravity"]


def starting_volume(book: Forecast) -> Number:
    """Return the volume that ferments, L at 20 degC: with the sugar in the fermenter.

    NotForecast when it could not be computed.
    """
    key = "starting_volume"
    return book[key] if key in book else book["fermenter_volume"]
