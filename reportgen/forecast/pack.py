"""Packaging: volume, gas, priming, and the pressure that all of it can reach."""

from __future__ import annotations

from collections.abc import Callable

from reportgen.forecast import method_u
from reportgen.forecast.arguments import NothingLeft
from reportgen.forecast.book import Forecast, InputValue, NotForecast, unless_nought
from reportgen.forecast.case import Brought, Case
from reportgen.forecast.ferment import is_changed, thin
from reportgen.science.carbonation import (
    alcohol_from_sugar,
    co2_volumes,
    gauge_pressure,
    priming_sugar,
    volumes_from_gravity_points,
    volumes_from_sugar,
)
from reportgen.science.method import OutOfRange
from reportgen.science.number import Number, expanded_uncertainty, nominal


def forecast(case: Case, book: Forecast) -> None:
    """Write the figures of packaging."""
    with book.step("pack"):
        fermented = book["starting_volume" if is_changed(case) else "fermenter_volume"]
        if nominal(fermented - case.fermenter_loss) <= 0:
            raise NothingLeft(
                "fermenter", nominal(case.fermenter_loss), nominal(fermented), "",
                "nothing is left to pack",
            )  # fmt: skip
        book.put(
            "packaged_volume",
            fermented - case.fermenter_loss + in_containers(case),
            "",
            InputValue("volume in the fermenter", fermented, "L", 1),
            InputValue("left with the yeast", case.fermenter_loss, "L", 1),
            *_added(case),
            note="fermenter less what stays with the yeast",
        )
        if nominal(share_of_beer(case, book)) <= 0:
            raise NothingLeft(
                "container", nominal(in_containers(case)), nominal(book["packaged_volume"]), "",
                "no beer is left in it",
            )  # fmt: skip
        if case.share is not None:
            with book.step("pack"):
                filled(case, book)
        thin(book, ("alcohol", "bitterness", "colour"), share_of_beer(case, book),
             "share of beer in what is packed", "thinned by what went into the containers")
    book.put("carbonation", case.carbonation, note="from the plan")
    warmest = case.packed_highest_temperature
    came = brought(case)
    # A keg that is filled with primed or gassed beer is not gassed itself.
    if case.packed_into == "keg" and (came is None or "pressure" in book.readings):
        temperature = book.put("beer_temperature", case.packaging_temperature, note="from the plan")
        book.put(
            "pressure",
            _gauge(case, case.carbonation, temperature),
            "carbonation.gauge_pressure",
            InputValue("CO2 wanted", case.carbonation, "volumes", 2),
            InputValue("beer temperature", temperature, "°C", 1),
            InputValue("air pressure", case.air, "bar", 3),
        )
        warmest = max(warmest, nominal(temperature))
    elif came is None:
        _priming(case, book)
    _highest_pressure(case, book, warmest)
    with book.step("pack"):
        _with_alcohol_of_sugar(case, book)


def _priming(case: Case, book: Forecast) -> None:
    """Write the sugar that primes the beer of these containers."""
    volume = filled(case, book)
    dissolved = _dissolved(case)
    book.put(
        "priming_sugar",
        priming_sugar(
            case.carbonation + method_u.dissolved(case), case.highest_temperature, volume,
            case.priming_sugar,
            atmosphere=case.air, pressure=case.ferment_pressure,
        )
        / 1000,
        "carbonation.priming_sugar",
        InputValue("CO2 wanted", case.carbonation, "volumes", 2),
        InputValue("CO2 still dissolved", dissolved, "volumes", 2),
        InputValue("warmest since fermentation", case.highest_temperature, "°C", 1),
        InputValue("beer", volume, "L", 1),
        InputValue("air pressure", case.air, "bar", 3),
        note=f"as {case.priming_sugar.replace('_', ' ')}",
    )  # fmt: skip


def brought(case: Case) -> Brought | None:
    """Return what the beer brings along that is filled out of other containers; None for none."""
    return case.share.brought if case.share is not None else None


def filled(case: Case, book: Forecast) -> Number:
    """Return the beer that the sugar of these containers is in, L at 20 degC: all that is packed,
    or their share.

    NotForecast where nobody knows how much; NothingLeft where the others have all of it.
    """
    packed, share = book["packaged_volume"], case.share
    if share is None:
        return packed
    if share.is_unknown:
        raise NotForecast("packaged_volume")
    if share.litres is not None:
        return share.litres
    if nominal(packed - share.apart) <= 0:
        raise NothingLeft(
            "part for other containers", nominal(share.apart), nominal(packed), "",
            "nothing is left for the first", "takes",
        )  # fmt: skip
    return packed - share.apart


def in_containers(case: Case) -> Number:
    """Return what went into the containers beyond the plan, L: liquor, and the room of sugar."""
    return case.added_to("container") + case.sugar_volume("container")


def _added(case: Case) -> tuple[InputValue, ...]:
    more = in_containers(case)
    return unless_nought("added to the containers", more, "L", 1)


def share_of_beer(case: Case, book: Forecast) -> Number:
    """Return the share of beer in what is packed: less than 1 with more in the containers."""
    more = in_containers(case)
    if not nominal(more):
        return 1.0
    if case.share is None:
        return 1 - more / book["packaged_volume"]
    room, came = case.room_in(_is_own(case)), brought(case)
    own = 1 - room / filled(case, book) if nominal(room) else 1.0
    if came is not None:
        return own * came.beer
    return own * (1 - case.room_in(_is_in_all) / _before_parting(case, book))


def _is_own(case: Case) -> Callable[[int | None], bool]:
    number = case.share.number if case.share is not None else 0
    return lambda filling: filling == number


def _is_in_all(filling: int | None) -> bool:
    return filling is None


def _before_parting(case: Case, book: Forecast) -> Number:
    """Return all the beer before anything went into some containers alone, L."""
    return book["packaged_volume"] - case.room_in(lambda filling: filling is not None)


def sugar_beside(case: Case, book: Forecast) -> Number:
    """Return the extract in these containers beyond the priming sugar, as far as it ferments, kg;
    without that of beer that is filled out of others."""
    if case.share is None:
        return case.container_sugar
    own = case.sugar_in(_is_own(case))
    in_all = case.sugar_in(_is_in_all)
    if not nominal(in_all) or brought(case) is not None:
        return own
    beer = filled(case, book) - case.room_in(_is_own(case))
    return own + in_all * beer / _before_parting(case, book)


def _primed_with(case: Case, book: Forecast) -> Number:
    """Return the priming sugar, g: as weighed, else as planned; a keg, and beer that is filled out
    of other containers, have it only where weighed."""
    if case.packed_into == "keg" or brought(case) is not None:
        return 1000 * book.readings.get("priming_sugar", 0.0)
    return 1000 * book["priming_sugar"]


def alcohol_of_sugar(case: Case, book: Forecast) -> Number:
    """Return the alcohol by volume that sugar in the containers brings: priming and what was added.

    What the hydrometer never sees: both gravities are of the beer before.
    """
    before = brought(case)
    came = before.alcohol if before is not None else 0.0
    grams, more = _primed_with(case, book), sugar_beside(case, book)
    if not nominal(grams) and not nominal(more):
        return came
    volume = filled(case, book)
    primed = alcohol_from_sugar(grams, volume, case.priming_sugar)
    return came + (primed + alcohol_from_sugar(1000 * more, volume)) / 100


def alcohol_of_planned_priming(case: Case) -> Number:
    """Return the alcohol by volume of the priming that the carbonation of the plan calls for."""
    if case.packed_into == "keg":
        return 0.0
    grams = priming_sugar(
        case.carbonation, case.highest_temperature, 1.0, case.priming_sugar,
        atmosphere=case.air, pressure=case.ferment_pressure,
    )  # fmt: skip
    return alcohol_from_sugar(grams, 1.0, case.priming_sugar) / 100


def _with_alcohol_of_sugar(case: Case, book: Forecast) -> None:
    """Write the alcohol again, of the beer in the glass: with that of sugar in the containers."""
    if "alcohol" not in book.expected:
        return
    more = alcohol_of_sugar(case, book)
    if not nominal(more):
        return
    before = book.expected["alcohol"]
    sugar = _primed_with(case, book) + 1000 * sugar_beside(case, book)
    book.put(
        "alcohol",
        before.number + more,
        before.method,
        *before.puts,
        *unless_nought("sugar in the containers, as it ferments", sugar, "g", 0),
        InputValue("alcohol of it", 100 * more, "% vol", 2),
        note=before.note or "with that of sugar in the containers",
    )


def _gauge(case: Case, gas: Number, temperature: Number) -> Number:
    """Return the pressure, bar gauge, that holds a carbonation (volumes) at a temperature, degC.

    The weather counts for a gauge: it shows what is above the air of the day.
    """
    soluble = method_u.solubility(
        case, "carbonation.gauge_pressure", volumes=gas, temperature=temperature
    )
    return gauge_pressure(gas * soluble, temperature, case.air) - method_u.weather(case)


def gas_under(case: Case, pressure: Number, temperature: Number) -> Number:
    """Return the gas that beer holds under a pressure (bar gauge) at a temperature, volumes."""
    soluble = method_u.solubility(
        case, "carbonation.co2_volumes", pressure=pressure, temperature=temperature
    )
    return co2_volumes(pressure + method_u.weather(case), temperature, case.air) / soluble


_LEFT = "CO2 from extract that is left"
_NOT_READ = "CO2 still to come, without a final gravity"


def _highest_pressure(case: Case, book: Forecast, warmest: float) -> None:
    """Write the pressure of the closed container at its warmest.

    What was read counts before what is planned. A number that no formula covers leaves this
    figure out; it has its finding where it stands, and all else goes on.
    """
    air = case.air
    try:
        gas, puts = _gas_with_sugar(case, book)
        # A keg has a relief valve and is kept on gas; what is sealed for good has neither.
        more = 0.0 if case.packed_into == "keg" else _still_to_come(case, book)
        pressure = _gauge(case, gas + more, warmest)
    except OutOfRange:
        return
    book.put(
        "highest_pressure",
        pressure,
        "carbonation.gauge_pressure",
        InputValue("CO2 in the beer", gas, "volumes", 2),
        *puts,
        *unless_nought(
            _LEFT if "final_gravity" in book.readings else _NOT_READ, more, "volumes", 2
        ),
        InputValue("warmest in store", warmest, "°C", 1),
        InputValue("air pressure", air, "bar", 3),
        note="head space not taken off",
    )


def _gas_with_sugar(
    case: Case, book: Forecast
) -> tuple[Number, tuple[InputValue, ...]]:
    gas, puts = _gas(case, book)
    if "carbonation" not in book.readings:
        gas, puts = _with_sugar(case, book, gas, puts)
    return gas, puts


def brings(case: Case, book: Forecast, bulk: bool) -> Brought:
    """Return what beer brings along out of these containers, or in ``bulk`` out of the bucket in
    which it stood with their sugar. NotForecast or OutOfRange where that is not known."""
    if bulk and case.packed_into == "keg" and "priming_sugar" in book.readings:
        gas, _ = _sugar_in_containers(case, book)
        gas = gas + _dissolved(case)
    else:
        gas, _ = _gas_with_sugar(case, book)
    return Brought(gas, alcohol_of_sugar(case, book), share_of_beer(case, book))


def _gas(case: Case, book: Forecast) -> tuple[Number, tuple[InputValue, ...]]:
    """Return the CO2 in the packed beer, volumes, and the readings that it follows from."""
    readings = book.readings
    if "carbonation" in readings:
        return readings["carbonation"], ()
    came = brought(case)
    if case.packed_into == "keg" and "pressure" in readings:
        temperature = book["beer_temperature"]
        gas = gas_under(case, readings["pressure"], temperature)
        # Sugar that the beer brings may not have fermented yet when the pressure was read.
        if came is None or nominal(gas) >= nominal(came.gas):
            return gas, (
                InputValue("pressure read", readings["pressure"], "bar", 2),
                InputValue("beer temperature", temperature, "°C", 1),
            )
    brings_gas = "CO2 that it brings"
    if case.packed_into != "keg" and "priming_sugar" in readings:
        before, name = (
            (_dissolved(case), "CO2 still dissolved") if came is None else (came.gas, brings_gas)
        )
        grams = _primed_with(case, book)
        primed = volumes_from_sugar(grams, filled(case, book), case.priming_sugar)
        return before + primed, (
            InputValue(name, before, "volumes", 2),
            InputValue("priming sugar weighed", grams, "g", 0),
        )
    if came is not None:
        return came.gas, (InputValue(brings_gas, came.gas, "volumes", 2),)
    return case.carbonation, ()


def gas_of_primed(case: Case, book: Forecast) -> Number:
    """Return the CO2, volumes, of beer in bottle or cask: still dissolved, and of all its sugar.

    Once what was put in has fermented. OutOfRange for a number that no formula covers.
    """
    gas, puts = _gas(case, book)
    return _with_sugar(case, book, gas, puts)[0] + method_u.dissolved(case)


def _dissolved(case: Case) -> Number:
    return co2_volumes(case.ferment_pressure, case.highest_temperature, case.air)


def _with_sugar(
    case: Case, book: Forecast, gas: Number, puts: tuple[InputValue, ...]
) -> tuple[Number, tuple[InputValue, ...]]:
    """Return the CO2 with that of sugar put into the containers.

    A keg is primed or gassed, and its pressure may have been read when the sugar had fermented: the
    more of the two counts, never the sum.
    """
    more, sugars = _sugar_in_containers(case, book)
    if not sugars:
        return gas, puts
    if case.packed_into != "keg":
        return gas + more, (*puts, *sugars)
    came = brought(case)
    primed = (came.gas if came is not None else _dissolved(case)) + more
    return (primed, sugars) if nominal(primed) > nominal(gas) else (gas, puts)


def _sugar_in_containers(case: Case, book: Forecast) -> tuple[Number, tuple[InputValue, ...]]:
    """Return the CO2, volumes, of sugar in the containers beyond the plan, and of a primed keg."""
    added = 1000 * sugar_beside(case, book)
    grams, more = added, 0.0
    if case.packed_into == "keg" and "priming_sugar" in book.readings:
        primed = _primed_with(case, book)
        more = volumes_from_sugar(primed, filled(case, book), case.priming_sugar)
        grams = grams + primed
    if not nominal(grams):
        return 0.0, ()
    more = more + volumes_from_sugar(added, filled(case, book), "sucrose")
    return more, (InputValue("sugar in the containers, as it ferments", grams, "g", 0),)


def _still_to_come(case: Case, book: Forecast) -> Number:
    """Return the CO2 that the extract left can still make, volumes.

    None where the final gravity read cannot be told from the end expected. Packed without one, the
    last of the log counts; without a log the beer is taken for as much above the end expected as
    that is uncertain, which is on the safe side: nobody knows that it had ended.
    """
    read = book.readings.get("final_gravity", case.gravity_sealed)
    if case.sealed_early:
        read = case.gravity_sealed
    if read is None and not case.is_sealed:
        return 0.0
    end = book.forecast("final_gravity").number
    if case.sealed_early and nominal(book["final_gravity"]) < nominal(end):
        # What was left in the fermenter shows where it ended.
        end = book["final_gravity"]
    if read is None:
        return volumes_from_gravity_points(nominal(end) + expanded_uncertainty(end), nominal(end))
    slack = expanded_uncertainty(read) + expanded_uncertainty(end)
    if nominal(read) - nominal(end) <= slack:
        return 0.0
    return volumes_from_gravity_points(read, end)
