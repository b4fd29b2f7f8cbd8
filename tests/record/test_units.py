"""Quantities as brewers write them: what is read, and what is refused and how it is answered."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.record.printed import Units, convert, fixed
from reportgen.record.unit_table import UNITS, Unit
from reportgen.record.units import (
    KINDS,
    Quantity,
    UnitError,
    parse_quantity,
)


@pytest.mark.parametrize(
    ("text", "kind", "value", "number", "unit", "step"),
    # Values by hand from the definitions: 1 US gal = 3.785411784 L, 1 imp gal = 4.54609 L,
    # 1 lb = 0.45359237 kg, C = (F - 32) / 1.8, 1 psi = 0.0689475729 bar.
    [
        ("65.4 C", "temperature", 65.4, 65.4, "C", 0.1),
        ("65.4 °C", "temperature", 65.4, 65.4, "°C", 0.1),
        ("65.4°C", "temperature", 65.4, 65.4, "°C", 0.1),
        ("65.4 ℃", "temperature", 65.4, 65.4, "°C", 0.1),
        ("65 deg C", "temperature", 65, 65, "deg C", 1),
        ("152 F", "temperature", 66.6666667, 152, "F", 0.5555556),
        ("212 °F", "temperature", 100, 212, "°F", 0.5555556),
        ("-2 C", "temperature", -2, -2, "C", 1),
        ("\u22120.5 C", "temperature", -0.5, -0.5, "C", 0.1),
        ("1.0 K", "temperature_difference", 1, 1, "K", 0.1),
        ("2 F", "temperature_difference", 1.1111111, 2, "F", 0.5555556),
        ("0.5 C", "temperature_difference", 0.5, 0.5, "C", 0.1),
        ("20 L", "volume", 20, 20, "L", 1),
        ("20 l", "volume", 20, 20, "l", 1),
        ("500 mL", "volume", 0.5, 500, "mL", 0.001),
        ("4.75 US gal", "volume", 17.980706, 4.75, "US gal", 0.037854118),
        ("4.75 U.S. gallons", "volume", 17.980706, 4.75, "U.S. gallons", 0.037854118),
        ("4.75 gal (US)", "volume", 17.980706, 4.75, "gal (US)", 0.037854118),
        ("2 imp gal", "volume", 9.09218, 2, "imp gal", 4.54609),
        ("2 Imperial gallons", "volume", 9.09218, 2, "Imperial gallons", 4.54609),
        ("2 UK gal", "volume", 9.09218, 2, "UK gal", 4.54609),
        ("7.20 kg", "mass", 7.2, 7.2, "kg", 0.01),
        ("45 g", "mass", 0.045, 45, "g", 0.001),
        ("16 lb", "mass", 7.25747792, 16, "lb", 0.45359237),
        ("16 lbs.", "mass", 7.25747792, 16, "lbs.", 0.45359237),
        ("1.5 oz", "mass", 0.0425242847, 1.5, "oz", 0.00283495231),
        ("5 lb 4 oz", "mass", 2.38135994, 84, "oz", 0.0283495231),
        ("5lb4oz", "mass", 2.38135994, 84, "oz", 0.0283495231),
        ("5 lb 4.5 oz", "mass", 2.39553471, 84.5, "oz", 0.00283495231),
        ("1 h 30 min", "time", 90, 90, "min", 1),
        ("1h30min", "time", 90, 90, "min", 1),
        ("90 minutes", "time", 90, 90, "minutes", 1),
        ("4 d", "time", 5760, 4, "d", 1440),
        ("2 wk 3 d", "time", 24480, 17, "d", 1440),
        ("30 s", "time", 0.5, 30, "s", 1 / 60),
        ("1.038", "gravity", 1.038, 1.038, "SG", 0.001),
        ("1.0380", "gravity", 1.038, 1.038, "SG", 0.0001),
        ("SG 1.038", "gravity", 1.038, 1.038, "SG", 0.001),
        ("1.038 SG", "gravity", 1.038, 1.038, "SG", 0.001),
        ("0.998", "gravity", 0.998, 0.998, "SG", 0.001),
        ("9.5 P", "gravity", 9.5, 9.5, "P", 0.1),
        ("9.5 °P", "gravity", 9.5, 9.5, "P", 0.1),
        ("-0.4 °Plato", "gravity", -0.4, -0.4, "P", 0.1),
        ("9.8 Bx", "gravity", 9.8, 9.8, "Bx", 0.1),
        ("9.8 brix", "gravity", 9.8, 9.8, "Bx", 0.1),
        ("75 %", "fraction", 0.75, 75, "%", 0.01),
        ("75%", "fraction", 0.75, 75, "%", 0.01),
        ("5.2 %", "alpha", 0.052, 5.2, "%", 0.001),
        ("2.4 vol", "carbonation", 2.4, 2.4, "vol", 0.1),
        ("4.8 g/L", "carbonation", 2.428167, 4.8, "g/L", 0.0505868),
        ("12 psi", "pressure", 0.827370875, 12, "psi", 0.068947573),
        ("0.8 bar", "pressure", 0.8, 0.8, "bar", 0.1),
        ("80 kPa", "pressure", 0.8, 80, "kPa", 0.01),
        ("30 ppm", "concentration", 30, 30, "ppm", 1),
        ("0.4 mg/L", "concentration", 0.4, 0.4, "mg/L", 0.1),
        ("5 μg/L", "concentration", 0.005, 5, "μg/L", 0.001),
        ("12 EBC", "colour", 12, 12, "EBC", 1),
        # 12.7 and 25 times one absorbance at 430 nm, of 10 mm (ASBC Beer-10A, EBC 9.6).
        ("6 SRM", "colour", 6 * 25 / 12.7, 6, "SRM", 25 / 12.7),
        ("32 IBU", "bitterness", 32, 32, "IBU", 1),
        ("5.5 kW", "power", 5.5, 5.5, "kW", 0.1),
        ("1.5 kWh", "energy", 5400, 1.5, "kWh", 360),
        ("280 ft", "length", 85.344, 280, "ft", 0.3048),
        ("-3 m", "length", -3, -3, "m", 1),
        ("6 kJ/K", "heat_capacity", 6, 6, "kJ/K", 1),
        ("4.5 L/h", "evaporation", 4.5, 4.5, "L/h", 0.1),
        ("1.2 US gal/h", "evaporation", 4.54249414, 1.2, "US gal/h", 0.378541178),
        ("0.85 L/kg", "specific_volume", 0.85, 0.85, "L/kg", 0.01),
        ("1.25 US qt/lb", "specific_volume", 2.60793889, 1.25, "US qt/lb", 0.0208634),
        ("5.42", "ph", 5.42, 5.42, "", 0.01),
        ("pH 5.4", "ph", 5.4, 5.4, "", 0.1),
        ("1.04", "ratio", 1.04, 1.04, "", 0.01),
        ("3", "count", 3, 3, "", 1),
        (".5", "count", 0.5, 0.5, "", 0.1),
        ("330 billion", "cells", 330, 330, "billion", 1),
        ("3.3e11 cells", "cells", 330, 3.3e11, "cells", 10),
        ("1.2 billion/mL", "cell_density", 1.2, 1.2, "billion/mL", 0.1),
        ("800 million/mL", "cell_density", 0.8, 800, "billion/mL", 0.001),
        ("10 billion/g", "cell_density", 10, 10, "billion/g", 1),
        ("  20   L ", "volume", 20, 20, "L", 1),
        ("20\u00a0L", "volume", 20, 20, "L", 1),
        ("+0.5 K", "temperature_difference", 0.5, 0.5, "K", 0.1),
        ("3 stone", "mass", 19.0508795, 3, "stone", 6.35029318),
    ],
)  # fmt: skip
def test_what_is_read(
    text: str, kind: str, value: float, number: float, unit: str, step: float
) -> None:
    read = parse_quantity(text, kind)
    assert read.value == pytest.approx(value, rel=1e-6)
    assert read.number == pytest.approx(number, rel=1e-12)
    assert read.step == pytest.approx(step, rel=1e-5)
    assert (read.kind, read.text, read.unit) == (kind, text, unit)


@pytest.mark.parametrize("choice", ["US", "imperial"])
@pytest.mark.parametrize(
    ("text", "kind", "us", "imperial"),
    [
        ("5 gal", "volume", 18.92705892, 22.73045),
        ("5 gallons", "volume", 18.92705892, 22.73045),
        ("2 qt", "volume", 1.892705892, 2.273045),
        ("2 pints", "volume", 0.946352946, 1.1365225),
        ("8 fl oz", "volume", 0.2365882365, 0.2273045),
        ("8 fl. oz.", "volume", 0.2365882365, 0.2273045),
        ("1 bbl", "volume", 117.3477653, 163.65924),
        ("1 gal 2 qt", "volume", 5.678117676, 6.819135),
        ("1.2 gal/h", "evaporation", 4.542494141, 5.455308),
        ("0.4 qt/lb", "specific_volume", 0.83454045, 1.00224182),
        # Written out, the choice does not matter.
        ("5 US gal", "volume", 18.92705892, 18.92705892),
        ("5 imp gal", "volume", 22.73045, 22.73045),
    ],
)
def test_the_house_says_which_gallon(
    text: str, kind: str, us: float, imperial: float, choice: str
) -> None:
    read = parse_quantity(text, kind, gallon=choice)
    assert read.value == pytest.approx(us if choice == "US" else imperial, rel=1e-6)


@pytest.mark.parametrize(
    "text",
    ["5 gal", "5 gallons", "2 qt", "1 quart", "2 pt", "1 pint", "8 fl oz", "1 bbl", "1 gal 2 qt"],
)
def test_a_gallon_that_could_be_two_is_refused_with_both(text: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, "volume")
    assert "differ" in caught.value.message
    assert " US " in caught.value.remedy and " imp " in caught.value.remedy


REFUSED = [
    # No number, or more than one.
    ("", "volume", "no number", ""),
    ("   ", "volume", "no number", ""),
    ("L", "volume", "does not begin with a number", ""),
    ("twenty L", "volume", "does not begin with a number", ""),
    ("20-22 L", "volume", "range", "one value"),
    ("20 – 22 L", "volume", "range", "one value"),
    ("20 to 22 L", "volume", "range", "one value"),
    ("~20 L", "volume", "begins with `~`", "write 20 L"),
    ("ca. 20 L", "volume", "begins with `ca.`", "write 20 L"),
    ("<1 L", "volume", "begins with `<`", "write 1 L"),
    ("± 0.5 K", "temperature_difference", "begins with `±`", "write 0.5 K"),
    ("65 ± 1 C", "temperature", "uncertainty", "write 65"),
    ("1/2 lb", "mass", "fraction", "write 0.5 lb"),
    ("5 1/2 lb", "mass", "fraction", "write 5.5 lb"),
    ("½ lb", "mass", "fraction", "write 0.5 lb"),
    ("1/0 lb", "mass", "two values", ""),
    ("1.048/1.050", "gravity", "two values", ""),
    ("5 lb 1/2 oz", "mass", "common fraction", "write 5 lb 0.5 oz"),
    ("1.2.3 L", "volume", "is not a number", ""),
    # Commas and spaces.
    ("9,5 P", "gravity", "decimal comma", "write 9.5 P"),
    ("1,038", "gravity", "comma", "write 1.038"),
    (",5 L", "volume", "decimal comma", "write 0.5 L"),
    ("1,000 L", "volume", "comma", "write 1.000 L or 1000 L"),
    ("1 000 L", "volume", "spaces", "write 1000 L"),
    # Not finite, not sensible.
    ("nan", "ratio", "is not a number", "NOT RECORDED"),
    ("inf L", "volume", "is not a number", ""),
    ("1e400 L", "volume", "beyond", ""),
    ("1e25 L", "volume", "beyond", ""),
    ("1" * 20 + " L", "volume", "more digits", ""),
    ("0." + "1" * 20 + " L", "volume", "more digits", ""),
    ("1" * 100, "count", "too long", ""),
    ("-3 kg", "mass", "negative", ""),
    ("-300 C", "temperature", "absolute zero", ""),
    # No unit where one is needed.
    ("65", "temperature", "no unit", "write 65 C or 65 F"),
    ("20", "volume", "no unit", "write 20 L or 20 US gal"),
    ("0", "mass", "no unit", "write 0 kg"),
    ("0.75", "fraction", "no unit", "write 75 %"),
    ("75", "fraction", "no unit", "write 75 %"),
    ("5.2", "alpha", "no unit", "write 5.2 %"),
    ("30", "concentration", "no unit", "write 30 mg/L"),
    # Gravity typed otherwise.
    ("1038", "gravity", "`1038` is not a specific gravity", "write 1.038"),
    ("10.38", "gravity", "not a specific gravity", "write 1.038"),
    ("104", "gravity", "not a specific gravity", "write 1.040"),
    ("998", "gravity", "not a specific gravity", "write 0.998"),
    ("13.2", "gravity", "not a specific gravity", "write 13.2 P or 13.2 Bx if it is an extract"),
    ("132", "gravity", "not a specific gravity", ""),
    ("1038 SG", "gravity", "not a specific gravity", "write 1.038"),
    ("38", "gravity", "not a specific gravity", "write 38 P"),
    ("half a packet", "mass", "does not begin with a number", "packets differ"),
    ("two cups", "volume", "does not begin with a number", "spoons and cups differ"),
    ("44", "gravity", "not a specific gravity", "write 1.044"),
    ("0", "gravity", "not a specific gravity", ""),
    ("38 points", "gravity", "not read", "1.038"),
    ("120 P", "gravity", "between -5 and 70", ""),
    ("70.1 P", "gravity", "between -5 and 70", ""),
    ("-6 Bx", "gravity", "between -5 and 70", ""),
    ("1038 kg/m3", "gravity", "not read", "specific gravity"),
    # Wrong kind.
    ("20 L", "mass", "`20 L` is a volume; a mass is wanted", ""),
    ("5 kg", "volume", "is a mass; a volume is wanted", ""),
    ("8 oz", "volume", "is a mass; a volume is wanted", "fl oz"),
    ("65 C", "volume", "is a temperature", ""),
    ("30 mg/L", "mass", "is a concentration", ""),
    ("3 furlong", "mass", "is a length", ""),
    ("5 g/L", "mass", "is a concentration", ""),
    ("90 m", "time", "metre", "write 90 min"),
    ("1:30", "time", "time of day", "write 1 h 30 min"),
    ("09:20", "volume", "time of day", ""),
    # Unknown or unfit units.
    ("5 kgg", "mass", "not a unit of a mass", "did you mean `5 kg`?"),
    ("20 littres", "volume", "not a unit of a volume", "did you mean `20 litres`?"),
    ("5 ML", "volume", "case", "did you mean `5 mL`?"),
    ("5 MG/L", "concentration", "case", "did you mean `5 mg/L`?"),
    ("2 T", "mass", "case", "did you mean `2 t`?"),
    ("2 hs", "time", "not a unit of a time", ""),
    ("20 gr", "mass", "not read", "write g"),
    ("6 tsp", "mass", "not read", "weigh it"),
    ("6 tsp", "volume", "not read", "weigh it"),
    ("2 cups", "volume", "not read", "weigh it"),
    ("3 packets", "mass", "not read", "weight"),
    ("2 tons", "mass", "not read", "kg"),
    ("1 month", "time", "not read", "days"),
    ("12 psia", "pressure", "not read", "gauge"),
    ("8 dH", "concentration", "not read", "17.8"),
    ("8 °dH", "concentration", "not read", "17.8"),
    ("10 %/h", "evaporation", "not read", "volume"),
    ("60 bottles", "count", "not a unit", "write 60 alone"),
    ("5.4 ph units", "ph", "not a unit", ""),
    ("5 $", "mass", "not a unit of a mass", ""),
    ("15", "ph", "not a pH", ""),
    ("542", "ph", "not a pH", "write 5.42"),
    ("-1", "ph", "negative", ""),
    # Compounds out of order.
    ("4 oz 5 lb", "mass", "larger unit comes first", ""),
    ("5 lb 17 oz", "mass", "more than one lb", ""),
    ("1 h 60 min", "time", "more than one h", ""),
    ("1.5 h 10 min", "time", "decimals", ""),
    ("10", "pressure", "has no unit", "write 10 bar or 10 psi or 10 kPa"),
    ("5 lb 4", "mass", "last number has no unit", ""),
    ("1 h 30", "time", "last number has no unit", ""),
    ("4.2 % ABV", "fraction", "not a unit", "write 4.2 %"),
    ("5 gal", "mass", "`5 gal` is a volume; a mass is wanted", ""),
    ("3 gal/min", "evaporation", "US and an imperial gallon differ", "3 US gal/min or"),
    ("5 lb 4 L", "mass", "is a volume", ""),
    ("1 h 2 h", "time", "larger unit comes first", ""),
    ("42½ L", "volume", "common fraction", "write 42.5 L"),
    ("11 1/4 US gal", "volume", "common fraction", "write 11.25 US gal"),
    ("14 lb 9½ oz", "mass", "common fraction", "write 14 lb 9.5 oz"),
    ("6,600 g", "mass", "has a comma", "write 6.600 g or 6600 g"),
    ("6,6 kg", "mass", "decimal comma", "write 6.6 kg"),
    ("“6.60 kg”", "mass", "quotation marks", "write 6.60 kg"),
    ("6.60 kg (bag)", "mass", "not a unit", "write 6.60 kg alone"),
    ("1.0245 SG at 20C", "gravity", "not a unit", "write {read: 1.0245, sample: 20 C}"),
    ("42.5L at 96 °C", "volume", "not a unit", "write {read: 42.5 L, sample: 96 C}"),
    ("5.22 at 20 C", "ph", "not a unit", "write {read: 5.22, sample: 20 C}"),
    ("18.4 C, 18.6 C", "temperature", "two values", "the one value"),
    ("18.4C/65F", "temperature", "two values", "the one value"),
    ("2 x 3.3 kg", "mass", "a sum", "what it comes to"),
    ("6.6 kg + 0.2 kg", "mass", "a sum", "what it comes to"),
    ("60'", "time", "not read", "write min"),
    ("10245", "gravity", "not a specific gravity", "write 1.0245"),
    # A slip of the finger.
    ("1.0.12", "gravity", "not a number", "write 1.012"),
    ("1..012", "gravity", "not a number", "write 1.012"),
    ("1.,012", "gravity", "not a number", "write 1.012"),
    ("1.O12", "gravity", "not a number", "write 1.012"),
    ("l.012", "gravity", "not a number", "write 1.012"),
    ("1-012", "gravity", "not a number", "write 1.012"),
    ("1;012", "gravity", "not a number", "write 1.012"),
    ("1 012", "gravity", "not a number", "write 1.012"),
    ("1.01 2", "gravity", "not a number", "write 1.012"),
    ("0.112", "gravity", "not a specific gravity", "write 1.012"),
    (".012", "gravity", "not a specific gravity", "write 1.012"),
    ("5.4S", "ph", "not a number", "write 5.45"),
    ("5-42", "ph", "not a number", "write 5.42"),
    ("5-6", "ph", "range", "one value"),
    ("54.2", "ph", "not a pH", "write 5.42"),
    ("6S.4 C", "temperature", "not a number", "write 65.4 C"),
    ("6.5.4 C", "temperature", "not a number", "write 6.54 C or 65.4 C"),
    ("6O min", "time", "not a number", "write 60 min"),
    ("O.45 L", "volume", "not a number", "write 0.45 L"),
    ("0,7O bar", "pressure", "not a number", "write 0.70 bar"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "message", "remedy"), REFUSED)
def test_what_is_refused_and_how_it_is_answered(
    text: str, kind: str, message: str, remedy: str
) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, kind)
    assert message in caught.value.message
    assert remedy in caught.value.remedy
    assert caught.value.expected


def test_an_unknown_kind_is_a_mistake_of_the_program() -> None:
    with pytest.raises(ValueError, match="no kind"):
        parse_quantity("1 L", "volumes")


@settings(deadline=None)
@given(st.text(max_size=70), st.sampled_from(KINDS), st.sampled_from([None, "US", "imperial"]))
def test_any_text_is_read_or_refused(text: str, kind: str, gallon: str | None) -> None:
    _read_or_refused(text, kind, gallon)


PIECES = st.lists(
    st.sampled_from(
        [unit.name for unit in UNITS]
        + ["1", "2.5", "0", "-", "+", ".", ",", "/", " ", "e5", "E-3", "gal", "qt", "fl oz", "°",
           "½", "²", "tsp", "m", "hs", "stone", "US", "imp", "per", "(", ")", "nan", "to", ":", "M"]
    ),
    max_size=7,
).map("".join)  # fmt: skip


@settings(deadline=None)
@given(PIECES, st.sampled_from(KINDS), st.sampled_from([None, "US", "imperial"]))
def test_any_mixture_of_numbers_and_units_is_read_or_refused(
    text: str, kind: str, gallon: str | None
) -> None:
    _read_or_refused(text, kind, gallon)


def _read_or_refused(text: str, kind: str, gallon: str | None) -> None:
    try:
        read = parse_quantity(text, kind, gallon)
    except UnitError as error:
        assert error.message and error.expected
        return
    assert isinstance(read, Quantity)
    assert math.isfinite(read.value) and math.isfinite(read.number) and read.step > 0
    assert read.text == text and read.kind == kind


@settings(deadline=None)
@given(st.sampled_from(UNITS), st.decimals(0, 99999, places=3))
def test_there_and_back(unit: Unit, written: object) -> None:
    if unit.kind in ("gravity", "ph"):
        return
    text = f"{written} {unit.name}"
    try:
        read = parse_quantity(text, unit.kind)
    except UnitError as error:
        assert "beyond" in error.message
        return
    back = convert(read.value, unit.kind, unit.name)
    assert back == pytest.approx(float(str(written)), rel=1e-9, abs=1e-9)
    assert read.step == pytest.approx(0.001 * unit.factor)


@settings(deadline=None)
@given(st.floats(-50, 150), st.sampled_from(["metric", "US", "imperial"]))
def test_temperatures_are_displayed_and_read_back(value: float, system: str) -> None:
    units = Units(system)
    shown = f"{fixed(units.converted(value, 'temperature'), 3)} {units.label('temperature')}"
    read = parse_quantity(shown, "temperature")
    assert read.value == pytest.approx(value, abs=0.0006)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_can_be_displayed_and_read_back(kind: str) -> None:
    value = 1.05
    small = {"volume": "small_volume", "mass": "small_mass"}.get(kind, kind)
    for units in map(Units, ("metric", "US", "imperial")):
        for shown in (kind, small):
            text = f"{units.converted(value, shown):.9f} {units.label(shown)}".strip()
            assert parse_quantity(text, kind).value == pytest.approx(value, rel=1e-7)


@pytest.mark.parametrize(
    ("value", "kind", "system", "decimals", "shown", "label"),
    [
        (20.0, "volume", "metric", 1, "20.0", "L"),
        (18.92705892, "volume", "US", 2, "5.00", "US gal"),
        (18.1843600, "volume", "imperial", 2, "4.00", "imp gal"),
        (65.0, "temperature", "US", 0, "149", "°F"),
        (65.0, "temperature", "imperial", 0, "65", "°C"),
        (1.0, "temperature_difference", "US", 1, "1.8", "°F"),
        (1.0, "temperature_difference", "metric", 1, "1.0", "K"),
        (1.0384, "gravity", "metric", 3, "1.038", ""),
        (0.752, "fraction", "metric", 1, "75.2", "%"),
        (0.8, "pressure", "US", 1, "11.6", "psi"),
        (19.7, "colour", "US", 0, "20", "EBC"),
        (0.045, "mass", "metric", 2, "0.04", "kg"),
        (-0.5, "temperature", "metric", 1, "\u22120.5", "°C"),
        (-0.01, "temperature", "metric", 1, "0.0", "°C"),
        (5.416, "ph", "US", 2, "5.42", ""),
    ],
)
def test_numbers_for_print(
    value: float, kind: str, system: str, decimals: int, shown: str, label: str
) -> None:
    assert fixed(Units(system).converted(value, kind), decimals) == shown
    assert Units(system).label(kind) == label


def test_small_amounts_have_their_own_units() -> None:
    assert Units("metric").plain(0.045, "small_mass", 0) == "45 g"
    assert Units("US").label("small_mass") == "oz"
    assert Units("imperial").label("small_volume") == "mL"


def test_convert_refuses_a_unit_of_another_kind_and_a_strange_system() -> None:
    with pytest.raises(UnitError):
        convert(1.0, "volume", "kg")
    with pytest.raises(UnitError):
        convert(1.0, "volume", "gal")
    with pytest.raises(ValueError, match="no system"):
        Units("roman").label("volume")
    assert convert(1.0, "mass", "stone") == pytest.approx(1 / 6.35029318)


def test_a_gravity_with_a_comma_is_not_offered_as_a_thousand() -> None:
    """1050 would be refused in its turn."""
    with pytest.raises(UnitError) as refused:
        parse_quantity("1,050", "gravity")
    assert refused.value.remedy == "write 1.050"
