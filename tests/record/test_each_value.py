"""Walks over a record find what is in it, whatever it is made of; where it stands is no value."""

from __future__ import annotations

import datetime
import pickle

import pytest

from reportgen.record.each_value import member_names, with_members
from reportgen.record.finding import Position
from reportgen.record.model.plan import Rest
from reportgen.record.units import parse_quantity
from reportgen.record.values import Day, Reading, State

HERE, THERE = Position("a.yaml", 1, 1, 5), Position("b.yaml", 9, 3, 8)
WARM, HOT = parse_quantity("66 C", "temperature"), parse_quantity("72 C", "temperature")
LONG = parse_quantity("60 min", "time")


def rest(position: Position = HERE) -> Rest:
    return Rest(temperature=WARM, time=LONG, position=position)


def test_every_value_of_an_entry_and_of_a_reading_is_walked_to() -> None:
    assert {"temperature", "time"} <= set(member_names(rest()))
    assert {"value", "again", "because"} <= set(member_names(Reading(State.READ, WARM)))
    assert member_names("66 C") == member_names(66.0) == member_names([WARM]) == ()
    assert member_names(Rest) == ()


def test_a_value_at_another_place_is_the_same_value() -> None:
    day = datetime.date(2026, 3, 14)
    for here, there, other in (
        (Day(day, "2026-03-14", HERE), Day(day, "2026-03-14", THERE), Day(day, "14.3.", HERE)),
        (rest(), rest(THERE), with_members(rest(), temperature=HOT)),
        (Reading(State.READ, WARM, position=HERE), Reading(State.READ, WARM, position=THERE),
         Reading(State.READ, HOT, position=HERE)),
    ):  # fmt: skip
        assert here == there and hash(here) == hash(there)
        assert here != other


def test_an_entry_has_all_its_fields_and_no_others_and_stays_as_it_is() -> None:
    with pytest.raises(TypeError, match="time missing or unknown"):
        Rest(temperature=WARM)  # type: ignore[call-arg]
    with pytest.raises(TypeError, match="warmth missing or unknown"):
        with_members(rest(), warmth=HOT)
    one = rest()
    with pytest.raises(AttributeError, match="temperature"):
        one.temperature = HOT  # type: ignore[misc]
    assert with_members(one, temperature=HOT).temperature is HOT and one.temperature is WARM


def test_an_entry_comes_back_from_another_process() -> None:
    assert pickle.loads(pickle.dumps(rest())) == rest()
