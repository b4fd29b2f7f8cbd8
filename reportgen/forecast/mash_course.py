"""The whole mash: its temperature over time, as planned and as read, and what it makes of the beer.

The sugars that yeast can ferment are made at every moment of the mash, so each rest counts, the way
to it, the cooling of the tun, mash-out and a long stand.
"""

from __future__ import annotations

import itertools

from reportgen.forecast.book import Forecast, InputValue
from reportgen.forecast.case import Case, LiquorAdded
from reportgen.science.heat import mash_cooling
from reportgen.science.mash_kinetics import (
    REFERENCE_REST,
    MashResult,
    mash_change,
    mash_result,
    mash_spread,
)
from reportgen.science.number import Number, flat, nominal

HEATING_RATE = 1.0
"""K a minute by direct heat where the kit's power is not known (common practice, no source)."""
STIRRED_IN = 2.0
"""Minutes for which an infusion or a decoction is stirred in (common practice, no source)."""
ROOM = 20.0

Profile = list[tuple[float, Number]]


def added_later(case: Case) -> list[LiquorAdded]:
    """Return the liquor that went into the mash after its temperature was read.

    Liquor that went in before is in the reading already.
    """
    return [m for m in case.liquor_added if m.to == "mash" and m.after_reading]


def profile(case: Case, book: Forecast) -> tuple[Profile, float | None, Profile]:
    """Return (min, degC) points of the mash, when it is first heated (None for never), decoctions.

    Of each decoction when it returns, min, and the share of the mash that was drawn.

    The first rest begins at the temperature read, else planned, and ends at what was read or
    follows from the tun's heat loss. Later rests are as planned.
    """
    first = case.rests[0]
    start: Number = book["mash_temperature"]
    end: Number = book["mash_end_temperature"]
    now = float(first.minutes)
    points: Profile = [(0.0, start)]
    if added_later(case):
        points.append((min(STIRRED_IN, now), book["mash_temperature_after_additions"]))
    points.append((now, end))
    heated = None
    boiled: Profile = []
    for number, (before, rest) in enumerate(itertools.pairwise(case.rests), 1):
        here = points[-1][1]
        if heated is None and rest.temperature > before.temperature:
            heated = now
        takes = STIRRED_IN
        if rest.reached_by == "heat":
            takes = abs(rest.temperature - nominal(here)) / HEATING_RATE
        now += takes
        if number in book.decoctions:
            boiled.append((now - takes, book.decoctions[number] / book["mash_volume"]))
        points.append((now, float(rest.temperature)))
        now += float(rest.minutes)
        loss = case.tun_heat_loss / max(rest.temperature - ROOM, 1.0)
        cooled = nominal(mash_cooling(rest.temperature, ROOM, loss, rest.minutes))
        points.append((now, float(cooled)))
    return points, heated, boiled


def _causes(case: Case, points: Profile) -> tuple[Number, Number, Number, float]:
    thickness = nominal(case.mash_liquor / case.grist)
    spread = mash_spread(points, thickness)
    return (
        case.cause("amylases of the grist", 1.0, 2 * spread.activity),
        case.cause("heat that the enzymes stand", 0.0, 2 * spread.heat_shift),
        case.cause("heat that the starch needs", 0.0, 2 * spread.starch_shift),
        spread.model,
    )


def result(case: Case, points: Profile, boiled: Profile | None = None) -> MashResult:
    """Return what a course of temperatures makes, with the causes of this case."""
    activity, heat, starch, spread = _causes(case, points)
    model = spread * case.cause("mash model", 0.0, 2.0)
    return mash_result(points, activity, heat, starch, model, boiled or ())


def forecast(case: Case, book: Forecast) -> None:
    """Write what the mash makes of conversion and attenuation."""
    points, heated, boiled = profile(case, book)
    if points[-1][0] <= 0:
        raise ValueError("the mash takes no time")
    made, reference = result(case, points, boiled), result(case, list(REFERENCE_REST))
    puts = (
        *(InputValue(f"after {time:.0f} min", warm, "°C", 1) for time, warm in points),
        *(InputValue(f"boiled after {time:.0f} min", part, "", 3) for time, part in boiled),
    )
    book.put(
        "mash_attenuation_share",
        flat(made.attenuation / reference.attenuation),
        "mash_kinetics.mash_result",
        *puts,
        note="against an hour at 66 °C with the same malt, so that what both share cancels",
    )
    book.put(
        "mash_conversion_share",
        flat(made.conversion / reference.conversion),
        "mash_kinetics.mash_result",
        *puts,
        note="against an hour at 66 °C with the same malt",
    )
    if heated is None:
        return
    activity, heat, starch, _ = _causes(case, points)
    change = mash_change(
        points, heated, activity, heat, starch, 1.0 + 0.15 * case.cause("mash change", 0.0, 2.0),
        boiled,
    )
    book.put(
        "starch_left_at_heating", change.unconverted, "mash_kinetics.mash_change", *puts,
        note=f"after {heated:.0f} min",
    )
    book.put(
        "heating_effect", flat(change.change / reference.attenuation),
        "mash_kinetics.mash_change", *puts, note=f"what came after {heated:.0f} min",
    )
