"""What a mistyped number was meant to be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.record.digit_slips import misread, near, without_slip


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("1.145", "1.0145"), ("1.064", "1.046"), ("1.0046", "1.046"), ("74", "47"), ("425", "42.5"),
     ("4.25", "42.5"), ("0.72", "7.2"), ("188.4", "18.4"), ("6.6", "6.06"), ("5406", "54.06")],
)  # fmt: skip
def test_one_slip_is_taken_back(typed: str, meant: str) -> None:
    assert float(meant) in {float(text) for text in near(typed)}


DECIMALS = st.decimals(0, 2000, places=3, allow_nan=False).map(str)


@given(DECIMALS, st.data())
def test_two_digits_exchanged_are_exchanged_back(number: str, data: st.DataObject) -> None:
    digits = number.replace(".", "")
    at = data.draw(st.integers(0, len(digits) - 2))
    swapped = digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]
    typed = f"{swapped[:-3]}.{swapped[-3:]}"
    meant = {float(text) for text in near(typed)}
    assert float(typed) == float(number) or float(number) in meant


@given(st.text(max_size=12))
def test_anything_typed_is_gone_through(text: str) -> None:
    for kind in ("gravity", "volume"):
        assert all(isinstance(way, str) for way in without_slip(text, kind))
    assert all(float(way) >= 0 for way in near(text))


@given(DECIMALS)
def test_one_wrong_digit_is_among_those_that_differ_in_one(number: str) -> None:
    assert all(number in misread(other) for other in misread(number))
