"""Packing: volume, gas, priming."""

from __future__ import annotations

from reportgen.forecast.arguments import NothingLeft
from reportgen.forecast.book import Book, Put
from reportgen.forecast.case import Case
from reportgen.science.carbonation import gauge_pressure, priming_sugar, residual_co2
from reportgen.science.number import nominal


def forecast(case: Case, book: Book) -> None:
    """Write the figures of packing."""
    with book.step("pack"):
        if nominal(book["fermenter_volume"] - case.fermenter_loss) <= 0:
            raise NothingLeft(
                "fermenter", nominal(case.fermenter_loss), nominal(book["fermenter_volume"]), "",
                "nothing is left to pack",
            )  # fmt: skip
        book.put(
            "packed_volume",
            book["fermenter_volume"] - case.fermenter_loss,
            "",
            Put("volume in the fermenter", book["fermenter_volume"], "L", 1),
            Put("left with the yeast", case.fermenter_loss, "L", 1),
            note="fermenter less what stays with the yeast",
        )
    book.put("carbonation", case.carbonation, note="from the plan")
    if case.packed_into == "keg":
        temperature = book.put(
            "beer_temperature", case.pack_temperature, note="from the plan"
        )
        book.put(
            "pressure",
            gauge_pressure(case.carbonation, temperature),
            "carbonation.gauge_pressure",
            Put("CO2 wanted", case.carbonation, "volumes", 2),
            Put("beer temperature", temperature, "°C", 1),
        )
        return
    volume = book["packed_volume"]
    book.put(
        "priming_sugar",
        priming_sugar(
            case.carbonation, case.highest_temperature, volume, case.priming_sugar
        )
        / 1000,
        "carbonation.priming_sugar",
        Put("CO2 wanted", case.carbonation, "volumes", 2),
        Put("CO2 still dissolved", residual_co2(case.highest_temperature), "volumes", 2),
        Put("warmest since fermentation", case.highest_temperature, "°C", 1),
        Put("beer", volume, "L", 1),
        note=f"as {case.priming_sugar.replace('_', ' ')}",
    )
