"""The units a brewhouse meets daily, with what one of them is in the base unit of its kind.

The table is here so that a record can be read without loading a units library; a test holds every
row against that library. Rows without a ``pint`` expression are conventions of the trade, with
their source beside them.
"""

from __future__ import annotations

from msgspec import Struct

BASE: dict[str, str] = {
    "volume": "L",
    "mass": "kg",
    "temperature": "degC",
    "temperature_difference": "K",
    "time": "min",
    "gravity": "SG",
    "fraction": "",
    "alpha": "",
    "pressure": "bar",
    "carbonation": "vol",
    "concentration": "mg/L",
    "colour": "EBC",
    "bitterness": "IBU",
    "power": "kW",
    "energy": "kJ",
    "length": "m",
    "heat_capacity": "kJ/K",
    "evaporation": "L/h",
    "specific_volume": "L/kg",
    "ph": "",
    "ratio": "",
    "count": "",
    "cells": "billion",
    "cell_density": "billion/mL",
}
"""Base unit of each kind. Gravity and cell density keep the scale they are written in: SG, P or
Bx; billion/mL or billion/g."""

KINDS = tuple(BASE)

NAMES: dict[str, str] = {
    "volume": "a volume",
    "mass": "a mass",
    "temperature": "a temperature",
    "temperature_difference": "a temperature difference",
    "time": "a time",
    "gravity": "a gravity",
    "fraction": "a percentage",
    "alpha": "a percentage",
    "pressure": "a pressure",
    "carbonation": "a carbonation",
    "concentration": "a concentration",
    "colour": "a colour",
    "bitterness": "a bitterness",
    "power": "a power",
    "energy": "an energy",
    "length": "a length",
    "heat_capacity": "a heat capacity",
    "evaporation": "a rate of evaporation",
    "specific_volume": "a volume for a mass",
    "ph": "a pH",
    "ratio": "a plain number",
    "count": "a plain number",
    "cells": "a number of cells",
    "cell_density": "a cell density",
}

EXAMPLES: dict[str, str] = {
    "volume": "20 L, 5 US gal or 4 imp gal",
    "mass": "7.2 kg, 45 g, 16 lb or 5 lb 4 oz",
    "temperature": "65.4 C or 152 F",
    "temperature_difference": "1.0 K",
    "time": "60 min, 1 h 30 min or 4 d",
    "gravity": "1.038, 9.5 P or 9.8 Bx",
    "fraction": "75 %",
    "alpha": "5.2 %",
    "pressure": "0.8 bar, 80 kPa or 12 psi",
    "carbonation": "2.4 vol or 4.8 g/L",
    "concentration": "30 mg/L or 30 ppm",
    "colour": "12 EBC or 6 SRM",
    "bitterness": "32 IBU, or 32 mg/L by HPLC",
    "power": "5.5 kW",
    "energy": "1200 kJ",
    "length": "85 m or 280 ft",
    "heat_capacity": "6 kJ/K",
    "evaporation": "4.5 L/h or 1.2 US gal/h",
    "specific_volume": "0.85 L/kg or 0.41 US qt/lb",
    "ph": "5.42",
    "ratio": "1.04",
    "count": "3",
    "cells": "330 billion",
    "cell_density": "1.2 billion/mL or 10 billion/g",
}

CO2_GRAMS_PER_LITRE = 1.9768
"""Mass in grams of one litre of carbon dioxide gas at 0 degC and 101.325 kPa, which is what one
volume is. Span and Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509."""

EBC_PER_SRM = 25 / 12.7
"""EBC colour for one unit of ASBC colour: 25 against 12.7 times the absorbance at 430 nm in 10 mm
(Analytica-EBC 9.6; ASBC Methods of Analysis, Beer-10), printed as 1.97."""


class Unit(Struct, frozen=True):
    """One unit: value in the base unit = ``factor`` x (number + ``offset``).

    ``scale`` is the base unit where a kind has several (gravity, cell density).
    """

    name: str
    kind: str
    factor: float
    pint: str
    also: tuple[str, ...] = ()
    offset: float = 0.0
    scale: str = ""


US_GALLON = 3.785411784
"""Litres; 231 cubic inches exactly."""

IMPERIAL_GALLON = 4.54609
"""Litres, exactly (Units of Measurement Regulations 1995, schedule)."""

POUND = 0.45359237
"""Kilograms, exactly (international yard and pound agreement, 1959)."""

PSI = 0.06894757293168361
"""Bar: pound times standard gravity over a square inch."""

_OUNCE = POUND / 16


def _gallons() -> list[Unit]:
    rows = []
    for mark, long, gallon, pint, ounces in (
        ("US", "US", US_GALLON, "", 128),
        ("imp", "imperial", IMPERIAL_GALLON, "imperial_", 160),
    ):
        for name, words, share in (
            ("gal", ("gallon", "gallons"), 1),
            ("qt", ("quart", "quarts"), 4),
            ("pt", ("pint", "pints"), 8),
            ("fl oz", ("fluid ounce", "fluid ounces"), ounces),
        ):
            also = [f"{mark} {word}" for word in words]
            also += [f"{long} {word}" for word in (name, *words) if long != mark]
            if mark == "imp":
                also += [f"UK {word}" for word in (name, *words)]
            expression = pint + words[0].replace("fluid ounce", "fluid_ounce")
            rows.append(Unit(f"{mark} {name}", "volume", gallon / share, expression, tuple(also)))
        hour = [
            f"{unit}/{each}" for unit in (f"{mark} gal", f"{long} gal") for each in ("hr", "hour")
        ]
        rows.append(
            Unit(
                f"{mark} gal/h",
                "evaporation",
                gallon,
                f"{pint}gallon/hour",
                tuple(dict.fromkeys(hour)),
            )
        )
        rows.append(
            Unit(f"{mark} qt/h", "evaporation", gallon / 4, f"{pint}quart/hour", (f"{mark} qt/hr",))
        )
        for name, word, share in (("gal", "gallon", 1), ("qt", "quart", 4), ("pt", "pint", 8)):
            rows.append(
                Unit(
                    f"{mark} {name}/lb",
                    "specific_volume",
                    gallon / share / POUND,
                    f"{pint}{word}/pound",
                )
            )
        rows.append(
            Unit(
                f"{mark} fl oz/oz",
                "specific_volume",
                gallon / ounces / _OUNCE,
                f"{pint}fluid_ounce/ounce",
            )
        )
    rows.append(
        Unit("US bbl", "volume", 31 * US_GALLON, "beer_barrel", ("US barrel", "US barrels"))
    )
    rows.append(
        Unit(
            "imp bbl",
            "volume",
            36 * IMPERIAL_GALLON,
            "imperial_barrel",
            ("imp barrel", "imperial bbl", "imperial barrel", "UK bbl", "UK barrel"),
        )
    )
    return rows


UNITS: tuple[Unit, ...] = (
    Unit("L", "volume", 1.0, "liter", ("l", "litre", "litres", "liter", "liters", "ltr", "lt")),
    Unit(
        "mL",
        "volume",
        0.001,
        "milliliter",
        ("ml", "cc", "cm3", "millilitre", "millilitres", "milliliter", "milliliters"),
    ),
    Unit("cL", "volume", 0.01, "centiliter", ("cl",)),
    Unit("dL", "volume", 0.1, "deciliter", ("dl",)),
    Unit("hL", "volume", 100.0, "hectoliter", ("hl", "hectolitre", "hectolitres", "hectoliters")),
    Unit("m3", "volume", 1000.0, "meter**3", ("cubic metre", "cubic metres")),
    *_gallons(),
    Unit("kg", "mass", 1.0, "kilogram", ("kgs", "kilo", "kilos", "kilogram", "kilograms")),
    Unit("g", "mass", 0.001, "gram", ("gm", "gms", "gram", "grams", "gramme", "grammes")),
    Unit("mg", "mass", 1e-6, "milligram", ("milligram", "milligrams")),
    Unit("t", "mass", 1000.0, "metric_ton", ("tonne", "tonnes")),
    Unit("lb", "mass", POUND, "pound", ("lbs", "lb.", "lbs.", "pound", "pounds")),
    Unit("oz", "mass", _OUNCE, "ounce", ("oz.", "ozs", "ounce", "ounces")),
    Unit(
        "C",
        "temperature",
        1.0,
        "degC",
        ("°C", "° C", "degC", "deg C", "degrees C", "Celsius", "degrees Celsius", "deg. C"),
    ),
    Unit(
        "F",
        "temperature",
        5 / 9,
        "degF",
        ("°F", "° F", "degF", "deg F", "degrees F", "Fahrenheit", "degrees Fahrenheit", "deg. F"),
        offset=-32.0,
    ),
    Unit("K", "temperature", 1.0, "kelvin", ("kelvin",), offset=-273.15),
    Unit("K", "temperature_difference", 1.0, "kelvin", ("kelvin",)),
    Unit("C", "temperature_difference", 1.0, "delta_degC", ("°C", "° C", "degC", "deg C")),
    Unit("F", "temperature_difference", 5 / 9, "delta_degF", ("°F", "° F", "degF", "deg F")),
    Unit("min", "time", 1.0, "minute", ("mins", "min.", "minute", "minutes")),
    Unit("s", "time", 1 / 60, "second", ("sec", "secs", "second", "seconds")),
    Unit("h", "time", 60.0, "hour", ("hr", "hrs", "hour", "hours")),
    Unit("d", "time", 1440.0, "day", ("day", "days")),
    Unit("wk", "time", 10080.0, "week", ("wks", "week", "weeks")),
    Unit("SG", "gravity", 1.0, "", ("S.G.", "specific gravity"), scale="SG"),
    Unit(
        "P",
        "gravity",
        1.0,
        "",
        ("°P", "° P", "degP", "Plato", "°Plato", "degrees Plato"),
        scale="P",
    ),
    Unit(
        "Bx",
        "gravity",
        1.0,
        "",
        ("°Bx", "° Bx", "degBx", "Brix", "°Brix", "degrees Brix"),
        scale="Bx",
    ),
    Unit("%", "fraction", 0.01, "percent", ("percent", "per cent", "pct")),
    Unit("‰", "fraction", 0.001, "permille", ("permille", "per mille")),
    Unit("%", "alpha", 0.01, "percent", ("percent", "per cent", "pct", "% alpha", "% AA")),
    Unit("bar", "pressure", 1.0, "bar", ("barg", "bar(g)", "bar g", "bars")),
    Unit("mbar", "pressure", 0.001, "millibar", ("mbarg", "millibar")),
    Unit("Pa", "pressure", 1e-5, "pascal", ()),
    Unit("hPa", "pressure", 0.001, "hectopascal", ()),
    Unit("kPa", "pressure", 0.01, "kilopascal", ("kPag",)),
    Unit("MPa", "pressure", 10.0, "megapascal", ()),
    Unit("psi", "pressure", PSI, "psi", ("psig", "psi g", "PSI", "lb/in2", "lbf/in2")),
    Unit("atm", "pressure", 1.01325, "atm", ()),
    Unit(
        "vol",
        "carbonation",
        1.0,
        "",
        ("vols", "volume", "volumes", "v/v", "vol CO2", "volumes CO2"),
    ),
    Unit(
        "g/L",
        "carbonation",
        1 / CO2_GRAMS_PER_LITRE,
        "",
        ("g/l", "g/L CO2", "g CO2/L", "g/litre", "g/liter"),
    ),
    Unit("mg/L", "concentration", 1.0, "milligram/liter", ("mg/l", "mg/litre", "mg/liter")),
    # Parts by weight taken as milligrams in a litre, as water laboratories report
    # (Standard Methods for the Examination of Water and Wastewater, part 1050, from memory).
    Unit("ppm", "concentration", 1.0, "", ("ppm w/v",)),
    Unit("ppb", "concentration", 0.001, "", ()),
    Unit("\u03bcg/L", "concentration", 0.001, "microgram/liter", ("ug/L",)),
    Unit("g/L", "concentration", 1000.0, "gram/liter", ("g/l", "g/litre", "g/liter")),
    Unit("g/hL", "concentration", 10.0, "gram/hectoliter", ("g/hl",)),
    Unit("g/m3", "concentration", 1.0, "gram/meter**3", ()),
    Unit("EBC", "colour", 1.0, "", ("°EBC", "EBC units")),
    Unit("SRM", "colour", EBC_PER_SRM, "", ("°SRM", "ASBC", "°ASBC")),
    # Maltsters' sheets of today give degrees Lovibond from the photometer of ASBC Malt-12, that is
    # as ASBC colour. A reading by eye against the glasses differs (EBC = 2.65 L - 1.2, Noonan,
    # New Brewing Lager Beer, 1996) and is nowhere used.
    Unit(
        "°L", "colour", EBC_PER_SRM, "", ("L", "deg L", "Lovibond", "°Lovibond", "degrees Lovibond")
    ),
    Unit("mg/L", "bitterness", 1.0, "milligram/liter", ("mg/l", "ppm")),
    Unit("IBU", "bitterness", 1.0, "", ("IBUs", "BU", "EBU", "bitterness units")),
    Unit("kW", "power", 1.0, "kilowatt", ()),
    Unit("W", "power", 0.001, "watt", ("watt", "watts")),
    Unit("MW", "power", 1000.0, "megawatt", ()),
    Unit("hp", "power", 0.7456998715822702, "horsepower", ()),
    Unit("BTU/h", "power", 1055.056 / 3600 / 1000, "BTU/hour", ("BTU/hr",)),
    Unit("kJ", "energy", 1.0, "kilojoule", ()),
    Unit("J", "energy", 0.001, "joule", ()),
    Unit("MJ", "energy", 1000.0, "megajoule", ()),
    Unit("kWh", "energy", 3600.0, "kilowatt_hour", ("kW h",)),
    Unit("Wh", "energy", 3.6, "watt_hour", ("W h",)),
    Unit("kcal", "energy", 4.184, "kilocalorie", ()),
    Unit("BTU", "energy", 1.055056, "BTU", ()),
    Unit("m", "length", 1.0, "meter", ("metre", "metres", "meter", "meters")),
    Unit("cm", "length", 0.01, "centimeter", ()),
    Unit("mm", "length", 0.001, "millimeter", ()),
    Unit("km", "length", 1000.0, "kilometer", ()),
    Unit("ft", "length", 0.3048, "foot", ("foot", "feet", "ft.")),
    Unit("in", "length", 0.0254, "inch", ("inch", "inches", "in.")),
    Unit("kJ/K", "heat_capacity", 1.0, "kilojoule/kelvin", ("kJ/C", "kJ/°C", "kJ/degC")),
    Unit("J/K", "heat_capacity", 0.001, "joule/kelvin", ("J/C", "J/°C")),
    Unit("kcal/K", "heat_capacity", 4.184, "kilocalorie/kelvin", ("kcal/C", "kcal/°C")),
    Unit("Wh/K", "heat_capacity", 3.6, "watt_hour/kelvin", ("Wh/C",)),
    Unit("BTU/F", "heat_capacity", 1.055056 * 1.8, "BTU/delta_degF", ("BTU/°F",)),
    Unit("L/h", "evaporation", 1.0, "liter/hour", ("l/h", "L/hr", "l/hr", "L/hour", "litres/hour")),
    Unit("mL/min", "evaporation", 0.06, "milliliter/minute", ("ml/min",)),
    Unit("L/min", "evaporation", 60.0, "liter/minute", ("l/min",)),
    Unit("L/kg", "specific_volume", 1.0, "liter/kilogram", ("l/kg", "litres/kg")),
    Unit("mL/g", "specific_volume", 1.0, "milliliter/gram", ("ml/g",)),
    Unit("hL/t", "specific_volume", 0.1, "hectoliter/metric_ton", ("hl/t",)),
    Unit("pH", "ph", 1.0, "", ()),
    # A billion is 10^9 here, a trillion 10^12.
    Unit("billion", "cells", 1.0, "", ("billion cells", "bn", "bn cells")),
    Unit("million", "cells", 0.001, "", ("million cells", "mn cells")),
    Unit("trillion", "cells", 1000.0, "", ("trillion cells",)),
    Unit("cells", "cells", 1e-9, "", ("cell",)),
    Unit("billion/mL", "cell_density", 1.0, "", ("billion cells/mL", "bn/mL"), scale="billion/mL"),
    Unit("million/mL", "cell_density", 0.001, "", ("million cells/mL",), scale="billion/mL"),
    Unit("cells/mL", "cell_density", 1e-9, "", (), scale="billion/mL"),
    Unit("billion/L", "cell_density", 0.001, "", ("billion cells/L",), scale="billion/mL"),
    Unit("billion/g", "cell_density", 1.0, "", ("billion cells/g", "bn/g"), scale="billion/g"),
    Unit("million/g", "cell_density", 0.001, "", ("million cells/g",), scale="billion/g"),
    Unit("cells/g", "cell_density", 1e-9, "", (), scale="billion/g"),
)

WITH_SAMPLE = ("gravity", "ph", "volume")
"""Kinds whose readings are corrected by how warm the sample was."""
