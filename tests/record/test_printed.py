"""Numbers as printed: units, decimals, signs, and ranges that never promise too much."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.record.printed import MINUS, NARROW, Units, in_units_of, places, signed

METRIC, US, IMPERIAL = Units("metric"), Units("US"), Units("imperial")


@pytest.mark.parametrize(
    ("units", "value", "kind", "decimals", "text"),
    [
        # Conversions by definition: 32 °F at 0 °C, 3.785411784 L, 4.54609 L, 0.45359237 kg.
        (METRIC, 66.0, "temperature", 1, "66.0 °C"),
        (US, 66.0, "temperature", 1, "150.8 °F"),
        (US, 3.785411784, "volume", 1, "1.00 US gal"),
        (IMPERIAL, 4.54609, "volume", 1, "1.00 imp gal"),
        # Four quarts, eight pints to the gallon; the jug is marked in quarters, and never empty.
        (US, 3.785411784, "jug_volume", 1, "4 US qt"),
        (IMPERIAL, 4.54609, "jug_volume", 1, "8 imp pt"),
        (US, 0.6, "jug_volume", 1, "0.75 US qt"),
        (IMPERIAL, 0.02, "jug_volume", 1, "0.25 imp pt"),
        (METRIC, 1.26, "jug_volume", 1, "1.3 L"),
        (US, 0.45359237, "mass", 2, "1.00 lb"),
        (METRIC, 0.0456, "fraction", 4, "4.56 %"),
        (METRIC, 1.0455, "gravity", 4, "1.0455"),
        (METRIC, 1.0455, "gravity", 3, "1.046"),
        (METRIC, -0.4, "temperature", 1, f"{MINUS}0.4 °C"),
        (METRIC, 0.0023, "small_volume", 1, "2.3 mL"),
        (METRIC, 0.1834, "small_mass", 0, "183 g"),
        # 25 / 12.7 EBC for one SRM, from the definitions of the two.
        (US, 19.7, "colour", 0, "20 EBC (10.0 SRM)"),
        (METRIC, 19.7, "colour", 0, "20 EBC"),
    ],
)
def test_value_with_unit(
    units: Units, value: float, kind: str, decimals: int, text: str
) -> None:
    assert units.text(value, kind, decimals).replace(NARROW, " ") == text


def test_a_difference_of_degrees_does_not_have_the_32() -> None:
    assert US.difference(1.0, "temperature", 1) == "+1.8"
    assert METRIC.difference(-1.25, "gravity", 2) == f"{MINUS}1.25"
    assert METRIC.difference(0.0, "volume", 1) == "0.0"


def test_no_negative_zero() -> None:
    assert METRIC.number(-0.04, "volume", 1) == "0.0"
    assert METRIC.number(-0.004, "gravity_step", 2) == "0.00"


def test_range_is_rounded_inwards() -> None:
    assert METRIC.range(1.04131, 1.04529, "gravity", 3) == "1.042–1.045"
    assert METRIC.range(65.5, 66.5, "temperature", 1) == "65.5–66.5"
    assert METRIC.range(-0.44, 0.44, "temperature", 1) == f"{MINUS}0.4 to 0.4"


def test_range_with_one_side_and_with_none_left() -> None:
    assert METRIC.range(1.0086, math.inf, "gravity", 3) == "1.009 or more"
    assert METRIC.range(-math.inf, 0.44, "volume", 1) == "0.4 or less"
    assert METRIC.range(66.2, 65.8, "temperature", 1) == "none"


@given(
    st.floats(0.5, 100), st.floats(0.0, 20), st.sampled_from(["metric", "US", "imperial"]),
    st.sampled_from(["temperature", "volume", "pressure", "mass"]),
)
def test_a_reading_inside_the_printed_range_is_inside_the_true_one(
    low: float, width: float, system: str, kind: str
) -> None:
    units = Units(system)
    text = units.range(low, low + width, kind, 1)
    if text == "none":
        return
    printed = [float(part.replace(MINUS, "-")) for part in text.replace(" to ", "–").split("–")]
    assert printed[0] >= units.converted(low, kind) - 1e-6
    assert printed[-1] <= units.converted(low + width, kind) + 1e-6


@given(st.floats(0, 5), st.integers(0, 4))
def test_uncertainty_is_never_printed_too_small(uncertainty: float, decimals: int) -> None:
    printed = METRIC.plus_minus(uncertainty, "volume", decimals)
    assert printed.startswith("±")
    assert float(printed[1:]) >= uncertainty - 1e-6


def test_places_of_a_step() -> None:
    assert [places(s) for s in (0.0005, 0.001, 0.1, 0.5, 1.0, 20.0)] == [4, 3, 1, 1, 0, 0]


def test_signed() -> None:
    assert [signed(t) for t in ("1.0", "0.00", f"{MINUS}2")] == ["+1.0", "0.00", f"{MINUS}2"]


@pytest.mark.parametrize(
    ("system", "text"),
    [("US", "e.g. {read: 11.54 US gal, sample: 208 F}, 165 to 171 F, 17.6 oz"),
     ("imperial", "e.g. {read: 9.61 imp gal, sample: 98 C}, 74 to 77 C, 17.6 oz"),
     ("metric", "e.g. {read: 43.7 L, sample: 98 C}, 74 to 77 C, 500 g")],
)  # fmt: skip
def test_examples_are_in_units_of_the_house(system: str, text: str) -> None:
    """By 3.785411784 and 4.54609 L, 28.349523125 g."""
    assert in_units_of(system, "e.g. {read: 43.7 L, sample: 98 C}, 74 to 77 C, 500 g") == text
