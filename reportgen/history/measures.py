"""What a batch says about kit, yeast and base malt: one value each, with the U of its readings.

These are the numbers that ``brewery.yaml`` and ``stock.yaml`` state and every plan starts from.
Nothing is taken for read that was not: a measure whose readings are missing is left out.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.assessment.balance import kettle_gain
from reportgen.assessment.day_clocks import boiled_for
from reportgen.assessment.readings import plausible_numbers
from reportgen.forecast.ferment import expected_attenuation
from reportgen.forecast.mash import ROOM, grist_acidity
from reportgen.record.values import Clock, State
from reportgen.science.method import REFUSED
from reportgen.science.number import Number, expanded_uncertainty, log, nominal


class Measure(Struct, frozen=True):
    """One thing that is followed from batch to batch.

    ``of`` is kit, yeast or malt (the one that there is most of). ``figures`` are those whose
    deviation, with a known cause and closed, sets a batch aside. ``file`` and ``path`` are where
    the house states its value, with the name of the kit, yeast or malt put for ``*``; empty when
    it states none. ``made`` makes it of a batch; without it, it is the figure of the same key.
    ``of_fermenter``: each batch of one wort has its own.
    """

    key: str
    title: str
    kind: str
    decimals: int
    of: str
    figures: tuple[str, ...]
    about: str
    file: str = ""
    path: tuple[str, ...] = ()
    spread_path: tuple[str, ...] = ()
    made: Callable[[Assessment], Measured | None] | None = None
    of_fermenter: bool = False


class Measured(Struct, frozen=True, array_like=True):
    """A measure of one batch, in the base unit, with ±U (k = 2) and what was expected of it."""

    value: float
    uncertainty: float
    expected: float | None = None


def measured(batch: Assessment) -> dict[str, Measured]:
    """Return the measures that the readings of a batch allow, by key."""
    values = {}
    for key, measure in MEASURES.items():
        # The mash and the boil of wort from another batch are counted there, once.
        if batch.record.wort_from is not None and not measure.of_fermenter:
            continue
        try:
            value = _derived(batch, key) if measure.made is None else measure.made(batch)
        except REFUSED:
            # A reading outside the range of its formula says nothing about the kit.
            continue
        if value is not None:
            values[key] = value
    return values


def readings_of(batch: Assessment) -> dict[str, Number]:
    """Return the readings that the forecast works with: read, corrected and plausible."""
    return plausible_numbers(batch.actuals)


def _derived(batch: Assessment, key: str) -> Measured | None:
    actual = batch.actuals.get(key)
    if actual is None or actual.value is None:
        return None
    expected = batch.planned.expected.get(key)
    return Measured(actual.value, actual.uncertainty, expected.value if expected else None)


def _efficiency_difference(batch: Assessment) -> Measured | None:
    efficiency = _derived(batch, "mash_efficiency")
    if efficiency is None or efficiency.expected is None:
        return None
    return Measured(efficiency.value - efficiency.expected, efficiency.uncertainty, 0.0)


def _measured(number: Number, expected: Number) -> Measured:
    return Measured(nominal(number), expanded_uncertainty(number), nominal(expected))


def grist_weighed(batch: Assessment) -> Number:
    """Return the grist in kg: as weighed when every malt of the plan was, else as planned."""
    weighed: dict[str, float] = {}
    for entry in batch.record.all_weighed:
        if entry.amount.value is not None and entry.item in batch.stock.malts:
            name = str(entry.item)
            weighed[name] = weighed.get(name, 0.0) + entry.amount.value.value
    planned = {malt.name for malt in batch.case.malts}
    if planned and planned <= set(weighed):
        return sum(weighed.values())
    return batch.case.grist


def grain_absorption(batch: Assessment) -> Measured | None:
    """Return liquor in less wort out, L for each kg of grist, the dead space not counted.

    Needs the mash liquor and kettle full; sparge and top-up must be read where the plan has them.
    """
    read = readings_of(batch)
    if "mash_liquor" not in read or "kettle_volume" not in read:
        return None
    poured = read["mash_liquor"]
    for key in ("sparge_liquor", "top_up_liquor"):
        expected = batch.planned.expected.get(key)
        planned = expected.value if expected is not None else 0.0
        if key in read:
            poured = poured + read[key]
        elif planned > 0 or key in batch.actuals:
            return None
    if "infusion_liquor" in batch.planned.expected:
        poured = poured + batch.planned.forecast("infusion_liquor").number
    grist = grist_weighed(batch)
    if nominal(grist) <= 0:
        return None
    kept = (poured - read["kettle_volume"] - batch.case.tun_dead_space) / grist
    return _measured(kept, batch.case.grain_absorption)


def heat_loss(batch: Assessment) -> Measured | None:
    """Return the fall of the mash temperature in one hour at its planned temperature, K.

    The inverse of :func:`reportgen.science.heat.mash_cooling`, over the clock times of the two
    readings where both are written, else over the planned rest.
    """
    read = readings_of(batch)
    if "mash_temperature" not in read or "mash_end_temperature" not in read:
        return None
    if not batch.case.is_mashed:
        return None
    first, last = read["mash_temperature"], read["mash_end_temperature"]
    by_clock = _minutes(batch, "mash_temperature", "mash_end_temperature")
    minutes = float(by_clock or batch.case.rests[0].minutes)
    if minutes <= 0 or min(nominal(first), nominal(last)) <= ROOM + 5:
        return None
    rate = log((first - ROOM) / (last - ROOM)) * 60 / minutes
    return _measured(rate * (batch.case.rests[0].temperature - ROOM), batch.case.tun_heat_loss)


def _minutes(batch: Assessment, start: str, end: str) -> int | None:
    times = [batch.actuals[key].reading.at for key in (start, end)]
    if not all(isinstance(time, Clock) for time in times):
        return None
    first, last = (time.minutes for time in times if isinstance(time, Clock))
    return last - first if last > first else None


def evaporation(batch: Assessment) -> Measured | None:
    """Return the volume boiled off in one hour, L at 20 degC, over the time that it boiled."""
    read = readings_of(batch)
    if "kettle_volume" not in read or "cast_out_volume" not in read:
        return None
    minutes = boiled_for(batch.record) or nominal(batch.brewed.boil_minutes)
    if minutes <= 0:
        return None
    lost = read["kettle_volume"] + kettle_gain(batch.brewed) - read["cast_out_volume"]
    return _measured(lost * 60 / minutes, batch.case.evaporation)


def bitterness_factor(batch: Assessment) -> Measured | None:
    """Return the bitterness measured over the bitterness computed by the model alone.

    Computed with the readings of the brew day, and without the factor that the house puts on it
    already, so that it can stand in ``brewery.yaml`` as it is.
    """
    actual = readings_of(batch).get("bitterness")
    computed = batch.now.expected.get("bitterness")
    stated = batch.case.bitterness_factor
    if actual is None or computed is None or computed.value <= 0 or stated <= 0:
        return None
    # The spread of the models is what the factor is to take away, so it is no U of the factor.
    return _measured(actual * stated / computed.value, stated)


def attenuation(batch: Assessment) -> Measured | None:
    """Return the apparent attenuation that the yeast would show in a malt wort mashed at 66 degC.

    The actual, times the yeast's own value over what is expected of the wort as it was brewed.
    Only for beer whose fermentation is over: the final gravity is read.
    """
    actual = batch.actuals.get("apparent_attenuation")
    if actual is None or actual.number is None or actual.reading.state is not State.READ:
        return None
    stated = batch.stock.yeasts[batch.record.plan.pitch.yeast].apparent_attenuation.value
    if batch.now.problems:
        return None
    if batch.brewed.attenuation_is_planned:
        share = nominal(batch.now["mash_attenuation_share"])
    else:
        share = nominal(expected_attenuation(batch.brewed, batch.now)[0]) / stated
    if share <= 0:
        return None
    return Measured(actual.value / share if actual.value is not None else 0.0,
                    actual.uncertainty / share, stated)


def base_malt(batch: Assessment) -> str:
    """Return the name of the malt that the plan has most of; empty without a grist."""
    malts = sorted(batch.case.malts, key=lambda m: -nominal(m.amount))
    return str(malts[0].name) if malts else ""


def malt_ph(batch: Assessment) -> Measured | None:
    """Return the pH that the base malt must have in distilled water for the mash pH read.

    The difference from the forecast with the readings, over the malt's share of the buffering.
    """
    read, expected = readings_of(batch).get("mash_ph"), batch.now.expected.get("mash_ph")
    if read is None or expected is None:
        return None
    grist = grist_acidity(batch.brewed)
    base = max(zip(batch.brewed.malts, grist, strict=True), key=lambda pair: pair[1].mass)
    if base[0].name != base_malt(batch):
        return None
    share = base[1].mass * base[1].buffering / sum(m.mass * m.buffering for m in grist)
    stated = base[1].distilled_water_mash_ph
    return _measured(stated + (read - expected.value) / share, stated)


def mash_temperature(batch: Assessment) -> float | None:
    """Return the temperature of the first rest, degC: as read, else as planned; None unmashed."""
    if not batch.case.is_mashed:
        return None
    read = readings_of(batch).get("mash_temperature")
    return nominal(read) if read is not None else batch.case.rests[0].temperature


_KIT = ("kits", "*")

_ALL = (
    Measure(
        "conversion", "Conversion", "fraction", 3, "kit", ("first_wort_gravity", "conversion"),
        "Share of the malt's extract that dissolved, from the first wort.",
        "brewery.yaml", (*_KIT, "conversion"), (*_KIT, "conversion_uncertainty"),
    ),
    Measure(
        "lauter_efficiency", "Lauter efficiency", "fraction", 3, "kit",
        ("kettle_gravity", "kettle_volume", "last_runnings_gravity", "lauter_efficiency",
         "sparge_liquor"),
        "Share of the dissolved extract that reached the kettle. It falls as the beer gets "
        "stronger, so hold each batch against its own forecast.",
    ),
    Measure(
        "mash_efficiency", "Mash efficiency", "fraction", 3, "kit",
        ("kettle_gravity", "kettle_volume", "first_wort_gravity", "mash_efficiency"),
        "Extract in the kettle, of all that the grist could give: conversion times lauter "
        "efficiency.",
    ),
    Measure(
        "mash_efficiency_difference", "Mash efficiency, actual less expected", "share_difference",
        3, "kit", ("kettle_gravity", "kettle_volume", "first_wort_gravity", "mash_efficiency"),
        "What is left when the strength of the beer and the amount of sparge are allowed for. Its "
        "mean is zero when the kit is described well.",
        made=_efficiency_difference,
    ),
    Measure(
        "grain_absorption", "Water shortfall", "specific_volume", 2, "kit",
        ("kettle_volume", "sparge_liquor", "mash_liquor", "grain_absorption"),
        "Liquor in less wort out, for each kilogram of grist, by the volumes read. A run-off "
        "that was stopped early reads high.",
        "brewery.yaml", (*_KIT, "grain_absorption"),
        made=grain_absorption,
    ),
    Measure(
        "heat_loss", "Heat loss of the mash in one hour", "temperature_difference", 1, "kit",
        ("mash_end_temperature", "heat_loss"),
        "From the fall over the first rest, by Newton's law of cooling in a room of 20 °C.",
        "brewery.yaml", (*_KIT, "mash_tun", "heat_loss"),
        made=heat_loss,
    ),
    Measure(
        "evaporation", "Evaporation", "evaporation", 2, "kit",
        ("cast_out_volume", "kettle_volume", "evaporation"),
        "Kettle full less cast-out, both cold, over the time boiled.",
        "brewery.yaml", (*_KIT, "kettle", "evaporation"),
        made=evaporation,
    ),
    Measure(
        "bitterness_factor", "Bitterness, measured over computed", "ratio", 2, "kit",
        ("bitterness", "bitterness_factor", "cast_out_volume", "kettle_gravity"),
        "Bitterness of the analysis over that computed with the readings, the brewery's own "
        "factor left out. Hops that were older or richer than stated move it too.",
        "brewery.yaml", ("methods", "bitterness_factor"),
        made=bitterness_factor, of_fermenter=True,
    ),
    Measure(
        "attenuation", "Apparent attenuation, as of a mash at 66 °C", "fraction", 3, "yeast",
        ("final_gravity", "apparent_attenuation", "attenuation"),
        "From original and final gravity, with the mash temperature and sugars allowed for, so "
        "that beers can be compared.",
        "stock.yaml", ("yeasts", "*", "apparent_attenuation"),
        ("yeasts", "*", "attenuation_uncertainty"),
        made=attenuation, of_fermenter=True,
    ),
    Measure(
        "malt_ph", "Base malt, pH in distilled water", "ph", 2, "malt", ("mash_ph",),
        "From the mash pH read: what the base malt must have had by itself for the forecast to "
        "agree. It takes what is not known of the malt off the mash pH of the next plan.",
        "stock.yaml", ("malts", "*", "distilled_water_mash_ph"),
        ("malts", "*", "distilled_water_mash_ph_uncertainty"),
        made=malt_ph,
    ),
)

MEASURES: dict[str, Measure] = {measure.key: measure for measure in _ALL}
"""Every measure by its key, in the order of the work."""


__all__ = ["MEASURES", "Measure", "Measured", "base_malt", "mash_temperature", "measured"]
