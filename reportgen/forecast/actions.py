"""What-to-do tables: final answers for this batch and kit, computed before the day.

Every row is the forecast or a balance run with the altered reading, rounded to what a brewer can
measure. Tables are data; ``report`` sets them in type.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from typing import TypeAlias

from msgspec import Struct

from reportgen.forecast.book import Forecast
from reportgen.forecast.case import Case
from reportgen.forecast.ferment import starting_gravity
from reportgen.forecast.figures import FIGURES
from reportgen.forecast.house_steps import HouseSteps
from reportgen.forecast.mash import MALT_HEAT_CAPACITY, ROOM, SLAKING_HEAT, grist_acidity
from reportgen.forecast.pack import brought, filled
from reportgen.forecast.walk import walk
from reportgen.science.acid import acid_millilitres
from reportgen.science.carbonation import gauge_pressure, priming_sugar
from reportgen.science.extract import boil_volume_for, extract_mass, topping_up_liquor
from reportgen.science.fermentation import expected_band
from reportgen.science.heat import (
    infusion_liquor,
    liquor_mass,
    liquor_volume,
    strike_temperature,
)
from reportgen.science.method import REFUSED
from reportgen.science.number import Number, nominal

MOST_ROWS = 8


class TableNumber(Struct, frozen=True):
    """A number of a table, in the base unit of its kind; ``signed`` prints + and −.

    ``read`` is the figure as whose reading it is met: an instrument that shows too much shows it
    so as well. Empty for what nobody reads off, a difference or a dose.
    """

    value: float
    kind: str
    decimals: int
    signed: bool = False
    read: str = ""


class Phrase(Struct, frozen=True):
    """Words with numbers among them: each ``{}`` is a number, printed in the unit of the house."""

    words: str
    numbers: tuple[TableNumber, ...]


Entry: TypeAlias = TableNumber | Phrase | str
"""What stands in one place of a table."""


LOG = ("fermentation", "log")
"""Where the record says what was done to the beer while it fermented."""


class ActionTable(Struct, frozen=True):
    """A what-to-do table: which figure it stands beside, rows of numbers and words.

    ``note`` is what to mind with it. ``otherwise`` is its last row: what to do with a reading that
    it does not list, an action for one who brews alone and has nobody to ask. ``to`` is where the
    liquor or acid of its rows goes; ``written`` is where the record says that a row was followed,
    of a table that puts nothing in.
    """

    figure: str
    title: str
    columns: tuple[Entry, ...]
    rows: tuple[tuple[Entry, ...], ...]
    otherwise: str
    note: Entry = ""
    to: str = ""
    written: tuple[str, ...] = ()


def _degrees(value: float, read: str) -> TableNumber:
    return TableNumber(value, "temperature", 0, read=read)


def _gravity(value: float, read: str) -> TableNumber:
    return TableNumber(value, "gravity", 3, read=read)


def _kelvins(value: float) -> TableNumber:
    return TableNumber(value, "temperature_difference", 0)


def _poured(litres: float, case: Case) -> TableNumber:
    """Return liquor that is put in: by the jug, in a house that pours it by hand."""
    return TableNumber(litres, "jug_volume" if case.volume < BY_HAND else "volume", 1)


BY_HAND = 100.0
"""Below this, litres in the fermenter, liquor is added by the jug."""


def tables(
    case: Case, planned: Forecast, system: str = "metric", section: str = ""
) -> list[ActionTable]:
    """Return every table that applies to a batch, in the order of the work.

    ``system`` is that of the house's units: readings in the tables are whole steps of these. A
    table whose formula does not cover this batch is left out. ``section`` asks for those of one
    part of the record: brew_day, fermentation, packaging.
    """
    steps = HouseSteps(system)
    makers: dict[str, tuple[Callable[[], ActionTable | None], ...]] = {
        "brew_day": (
            lambda: strike(case, planned, steps),
            lambda: mash_temperature(case, steps),
            lambda: mash_ph(case, planned),
            lambda: short_kettle(case, planned, steps),
            lambda: kettle_gravity(case, planned),
            lambda: cast_out_volume(case, planned, steps),
            lambda: original_gravity(case, planned),
            lambda: pitch_temperature(case),
        ),
        "fermentation": (
            lambda: slow_fermentation(case, planned),
            lambda: hot_fermentation(case),
        ),
        "packaging": (
            lambda: keg_pressure(case, steps),
            lambda: priming(case, planned, steps),
        ),
    }
    action_tables = []
    for make in itertools.chain(*([makers[section]] if section else makers.values())):
        try:
            table = make()
        except REFUSED:
            continue
        if table is not None and table.rows:
            action_tables.append(table)
    return action_tables


MALT_BESIDE = 2
"""Temperatures of the malt on either side of the planned one that have a strike temperature."""


def strike(case: Case, planned: Forecast, steps: HouseSteps) -> ActionTable | None:
    """Strike temperature for malt that is colder or warmer than planned; None without a mash.

    Five temperatures of the malt, 4 K or 8 degF apart. Above the boiling point there is no row.
    """
    if not case.is_mashed:
        return None
    water = liquor_mass(nominal(case.mash_liquor), ROOM)
    rest, tun = case.rests[0].temperature, case.tun_temperature
    malts = steps.about(
        nominal(planned["malt_temperature"]), "temperature", 2 * steps.degrees(True),
        2 * MALT_BESIDE + 1,
    )  # fmt: skip
    rows: list[tuple[Entry, ...]] = []
    for malt in malts:
        temperature = strike_temperature(
            nominal(case.grist), water, rest, malt, MALT_HEAT_CAPACITY, case.tun_heat_capacity,
            tun, SLAKING_HEAT,
        )  # fmt: skip
        if nominal(temperature) < case.boiling:
            # Fahrenheit thermometers are read to whole degrees.
            decimals = 0 if steps.system == "US" else 1
            at = TableNumber(
                float(nominal(temperature)), "temperature", decimals, read="strike_temperature"
            )
            rows.append((_degrees(malt, "malt_temperature"), at))
    return ActionTable(
        "malt_temperature",
        "Strike by malt",
        ("Malt at", "Strike at"),
        tuple(rows),
        "the nearest column",
        written=("brew_day", "mash", "strike_temperature"),
    )


def mash_temperature(case: Case, steps: HouseSteps) -> ActionTable | None:
    """Boiling or cold liquor that brings the mash back to its temperature; None without a mash."""
    if not case.is_mashed:
        return None
    target = case.rests[0].temperature
    grist = nominal(case.grist)
    water = float(nominal(liquor_mass(nominal(case.mash_liquor), ROOM)))
    hot = case.boiling - 1.0
    rows: list[tuple[Entry, ...]] = []
    by = steps.degrees()
    reads = (
        *steps.below(target, "temperature", by, 3), *steps.above(target, "temperature", by, 3)
    )
    for at in reads:
        liquor = hot if at < target else ROOM
        mass = infusion_liquor(
            at, target, liquor, grist, water, case.tun_heat_capacity, MALT_HEAT_CAPACITY
        )
        litres = float(nominal(liquor_volume(mass, liquor)))
        what: Entry = "boiling liquor"
        if at > target:
            what = Phrase("liquor of {}", (_degrees(ROOM, "strike_temperature"),))
        read = TableNumber(at, "temperature", 1, read="mash_temperature")
        rows.append((read, _poured(litres, case), what))
    return ActionTable(
        "mash_temperature",
        "Mash cold or hot",
        ("Reads", "Stir in", ""),
        tuple(rows),
        "stir, read again; nearest row, once",
        "Sparge as much less." if case.rinses else "",
        to="mash",
    )


def mash_ph(case: Case, planned: Forecast) -> ActionTable:
    """Acid for a mash above its pH. A mash below it is held: adding alkali is not guessed here.

    Each row takes the difference between the reading and the wanted pH as base to be neutralised
    by the buffering of this grist.
    """
    wanted = round(nominal(planned["mash_ph"]), 2)
    kind, strength, name = _acid_at_hand(case)
    buffering = sum(m.mass * m.buffering for m in grist_acidity(case))
    rows: list[tuple[Entry, ...]] = []
    # Whole tenths, none nearer than half of one.
    first = math.floor(wanted * 10 + 0.5 + 1e-9) + 1
    for tenth in range(first, first + 4):
        over = tenth / 10 - wanted
        millilitres = acid_millilitres(float(buffering) * over, kind, strength, wanted)
        rows.append(
            (
                TableNumber(tenth / 10, "ph", 2, read="mash_ph"),
                TableNumber(float(nominal(millilitres)) / 1000, "small_volume", 1),
                f"{name} {strength:.0%}, half first, read again",
            )
        )
    return ActionTable(
        "mash_ph", "Mash pH high", ("Reads", "Stir in", ""), tuple(rows),
        "or low: add nothing, check the meter",
        "" if case.acids else "Acid burns: shield eyes and skin.",
        to="mash",
    )


def _acid_at_hand(case: Case) -> tuple[str, float, str]:
    if case.acids:
        dose = case.acids[0]
        return dose.acid, dose.strength, f"{dose.acid} acid"
    return "lactic", 0.80, "lactic acid"


def short_kettle(case: Case, planned: Forecast, steps: HouseSteps) -> ActionTable | None:
    """Run-off stopped at the cut-off gravity with the kettle short: liquor to add, what follows.

    The extract that the missing runnings would have brought is lost: each row is the forecast
    with the smaller kettle at the gravity that mass balance gives, topped up to the plan.
    """
    if "last_runnings_gravity" not in planned:
        return None
    full = nominal(planned["kettle_volume"])
    gravity = nominal(planned["kettle_gravity"])
    thin = max(nominal(planned["last_runnings_gravity"]), case.cut_off_gravity)
    rows: list[tuple[Entry, ...]] = []
    for holds in reversed(steps.below(full, "volume", steps.litres(full * 0.03), 6)):
        missing = full - holds
        topped = gravity - (thin - 1.0) * missing / full
        book, _ = walk(case, {"kettle_volume": full, "kettle_gravity": topped})
        rows.append(
            (
                TableNumber(holds, "volume", 1, read="kettle_volume"),
                _poured(missing, case),
                _gravity(topped, "kettle_gravity"),
                _gravity(nominal(book["original_gravity"]), "original_gravity"),
            )
        )
    return ActionTable(
        "kettle_volume",
        "Runnings at the cut-off gravity, kettle short"
        if case.sparge == "continuous"
        else "Drained, kettle short",
        ("Kettle holds", "Add liquor", "Kettle gravity then", "Original gravity then"),
        tuple(rows),
        "add none; boil what there is",
        to="kettle",
    )


def kettle_gravity(case: Case, planned: Forecast) -> ActionTable:
    """Kettle full at the planned volume but off in gravity: boil longer, or add liquor."""
    full, gravity = nominal(planned["kettle_volume"]), nominal(planned["kettle_gravity"])
    rate = nominal(case.evaporation)
    rows: list[tuple[Entry, ...]] = []
    for off in (-0.006, -0.004, -0.002, 0.002, 0.004, 0.006):
        read = round(gravity, 3) + off
        if off < 0:
            # Boil to the volume in which this extract, and what goes in later, has the planned
            # cast-out gravity.
            target = nominal(planned["cast_out_gravity"])
            whole = nominal(extract_mass(full, read) + case.sugar_to("kettle"))
            to = whole / float(nominal(extract_mass(1.0, target)))
            more = (nominal(planned["cast_out_volume"]) - to) / rate * 60
            less = nominal(planned["cast_out_volume"]) - to
            rows.append(
                (
                    _gravity(read, "kettle_gravity"),
                    TableNumber(more, "time", 0),
                    "boil longer; gives",
                    TableNumber(-less, "volume", 1, True),
                )
            )
        else:
            litres = float(nominal(topping_up_liquor(full, read, gravity)))
            rows.append(
                (
                    _gravity(read, "kettle_gravity"),
                    _poured(litres, case),
                    "liquor; gives",
                    TableNumber(litres, "volume", 1, True),
                )
            )
    return ActionTable(
        "kettle_gravity",
        "Kettle volume right, gravity not",
        ("Kettle reads", "Do", "", "Wort more or less"),
        tuple(rows),
        "stir, read again; boil as planned",
        to="kettle",
    )


def cast_out_volume(case: Case, planned: Forecast, steps: HouseSteps) -> ActionTable:
    """Cast-out short or long: the liquor that makes it up, or the boil that takes it off."""
    volume = nominal(planned["cast_out_volume"])
    gravity = nominal(planned["cast_out_gravity"])
    hot = nominal(planned["cast_out_volume_hot"]) / volume
    rate = nominal(case.evaporation)
    rows: list[tuple[Entry, ...]] = []
    by = steps.litres(volume / 40)
    aim = volume * hot
    reads = (*steps.below(aim, "volume", by, 3), *steps.above(aim, "volume", by, 3))
    for holds in reads:
        at = holds / hot
        change = at - volume
        strength = 1 + (gravity - 1) * volume / at
        do: TableNumber = (
            _poured(-change, case)
            if change < 0
            else TableNumber(change / rate * 60, "time", 0)
        )
        words = "add liquor, boil 5 min" if change < 0 else "boil longer"
        hold = TableNumber(holds, "volume", 1, read="cast_out_volume")
        rows.append((hold, do, words, _gravity(strength, "cast_out_gravity")))
    return ActionTable(
        "cast_out_volume",
        "Cast-out short or long (read hot)",
        ("Holds", "Do", "", "Else gravity"),
        tuple(rows),
        "cast out as it is",
        to="kettle",
    )


BOILS = 0.95
"""Share of a kettle up to which it can be boiled at all, with the heat turned down."""


def original_gravity(case: Case, planned: Forecast) -> ActionTable:
    """Wort too strong or too weak before the yeast is in: liquor to add, or wort to boil down.

    The dilution is the mass balance of the extract in what the fermenter is to hold; boiling down
    goes by the kettle's evaporation.
    """
    volume, gravity = nominal(planned["fermenter_volume"]), nominal(planned["original_gravity"])
    rate = nominal(case.evaporation)
    rows: list[tuple[Entry, ...]] = []
    # More than the kettle boils cannot be boiled down: a part of it is as thin as before. Nor is
    # the share of a wort that other batches have, too.
    boils = case.portion is None and volume <= BOILS * case.kettle_brim
    weaker = (-0.006, -0.003) if boils else ()
    for off in (*weaker, 0.003, 0.006):
        read = round(gravity, 3) + off
        if off < 0:
            to = float(nominal(boil_volume_for(volume, read, gravity)))
            do, words, then = TableNumber((volume - to) / rate * 60, "time", 0), "boil down", to
        else:
            more = float(nominal(topping_up_liquor(volume, read, gravity)))
            do, words, then = _poured(more, case), "cold boiled liquor", volume + more
        rows.append((_gravity(read, "original_gravity"), do, words, TableNumber(then, "volume", 1)))
    return ActionTable(
        "original_gravity",
        "Gravity off, no yeast yet",
        ("Wort reads", "Do", "", "Wort then"),
        tuple(rows),
        "mix, read again; pitch as it is",
        to="fermenter",
    )


def pitch_temperature(case: Case) -> ActionTable:
    """Wort too warm to pitch: what to do at each temperature. Words only."""
    wanted, read = case.pitch_temperature, "pitch_temperature"
    rows: tuple[tuple[Entry, ...], ...] = (
        (_degrees(wanted + 2, read), "pitch; cool to plan within 6 h"),
        (_degrees(wanted + 5, read), "close, cool, pitch within 4 h"),
        (_degrees(wanted + 10, read), "close, cool overnight, pitch then"),
        (Phrase("above {}", (_degrees(40.0, read),)), "never pitch: it kills yeast"),
    )
    return ActionTable(
        read, "Wort too warm to pitch", ("Up to", "Do"), rows,
        "let it warm up, then pitch", written=("brew_day", "pitch", "at"),
    )


SLOW_AFTER = {"ale": (24, 48, 72, 120), "lager": (48, 96, 144, 240)}
"""Hours since pitching at which a fermentation is asked whether it is slow, by kind of yeast."""


def slow_fermentation(case: Case, planned: Forecast) -> ActionTable:
    """Gravities above which a fermentation is slow, by the time since pitching.

    They are the upper edge of the band expected, so that a reading above is more than the usual
    spread.
    """
    original = nominal(starting_gravity(planned))
    end = planned.forecast("final_gravity")
    steps = SLOW_AFTER[case.yeast_kind]
    words: tuple[Entry, ...] = (
        "look for foam; wait, read again in 12 h",
        Phrase("warm by {}, rouse gently", (_kelvins(2.0),)),
        Phrase("warm by {}, rouse, read daily", (_kelvins(2.0),)),
        "stuck: rouse, then fresh, active yeast",
    )
    rows: list[tuple[Entry, ...]] = []
    for hours, word in zip(steps, words, strict=True):
        band = expected_band(float(hours), original, end.value, end.uncertainty, case.yeast_kind)
        rows.append((f"{hours} h", _gravity(band.high, "log_gravity"), word))
    return ActionTable(
        "final_gravity",
        "Fermentation slow or stuck",
        ("After pitching", "If the gravity is above", "Do"),
        tuple(rows),
        "keep it closed; read again tomorrow; do not seal",
        "Never seal a beer that may start again.",
        written=LOG,
    )


def hot_fermentation(case: Case) -> ActionTable:
    """What to do when the beer runs warm while it ferments. Words only."""
    wanted, read = case.fermentation_temperature, "log_temperature"
    return ActionTable(
        "apparent_attenuation",
        "Fermentation hot",
        ("Beer reads", "Do"),
        (
            (_degrees(wanted + 2, read), "cool the room or the jacket, read again in 2 h"),
            (
                _degrees(wanted + 4, read),
                Phrase("cool by {} an hour, not faster; note it", (_kelvins(1.0),)),
            ),
            (_degrees(wanted + 7, read), "as above; taste for solvent before packaging"),
        ),
        "cool as above; do not reuse its yeast",
        written=LOG,
    )


def keg_pressure(case: Case, steps: HouseSteps) -> ActionTable | None:
    """Gauge pressure that holds the wanted gas at each beer temperature, up to the keg's rating.

    Beer too warm for the keg's rating is to be cooled: no pressure above it is printed.
    """
    if case.packed_into != "keg" or brought(case) is not None:
        return None
    rating = case.container.rating
    rows: list[tuple[Entry, ...]] = []
    for t in steps.above(0.0, "temperature", steps.degrees(True), MOST_ROWS):
        pressure = max(0.0, float(nominal(gauge_pressure(case.carbonation, t, case.air))))
        if rating is not None and pressure > rating:
            limit = TableNumber(rating, "pressure", 1, read="pressure")
            rows.append(
                (
                    Phrase("{} or warmer", (_degrees(t, "beer_temperature"),)),
                    Phrase("over {}: cool it first", (limit,)),
                )
            )
            break
        rows.append(
            (
                _degrees(t, "beer_temperature"),
                TableNumber(pressure, "pressure", 2, read="pressure"),
            )
        )
    return ActionTable(
        "pressure",
        "Pressure by beer temperature",
        ("Beer at", "Set the regulator to"),
        tuple(rows),
        "gas off; cool the beer until it is listed",
        "Never above the rating on the keg's plate."
        if rating is not None
        else "Rating unknown: read the plate.",
        written=FIGURES["pressure"].path,
    )


def _priming(case: Case, temperature: float, litres: float) -> Number:
    return priming_sugar(
        case.carbonation, temperature, litres, case.priming_sugar,
        atmosphere=case.air, pressure=case.ferment_pressure,
    )


def priming(case: Case, planned: Forecast, steps: HouseSteps) -> ActionTable | None:
    """Sugar by the beer's volume and its warmest temperature since fermentation."""
    if case.packed_into == "keg" or brought(case) is not None:
        return None
    volume = nominal(filled(case, planned))
    warm = case.highest_temperature
    rows = []
    # Beer gets warmer than planned, seldom cooler; a summer's day is to be among them.
    warmest = steps.about(warm + 2, "temperature", steps.degrees(True), 5)
    for litres in steps.about(volume, "volume", steps.litres(volume / 20), 5):
        grams = [float(nominal(_priming(case, t, litres))) for t in warmest]
        rows.append(
            (
                TableNumber(litres, "volume", 1, read="packaged_volume"),
                *(TableNumber(g / 1000, "small_mass", 0, read="priming_sugar") for g in grams),
            )
        )
    return ActionTable(
        "priming_sugar",
        "Priming sugar by volume and warmest temperature",
        ("Beer", *(_degrees(t, "log_temperature") for t in warmest)),
        tuple(rows),
        "seal nothing; keep it closed; read again",
        "Seal only after steady readings.",
        written=FIGURES["priming_sugar"].path,
    )
