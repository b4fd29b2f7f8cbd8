"""Suggestions for mistyped words."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.record.suggest import did_you_mean, distance, nearest

KEYS = [
    "mash_temperature", "mash_ph", "strike_temperature", "sparge_liquor", "original_gravity",
    "final_gravity", "name", "batch", "kit", "yeast", "hops", "at", "by",
]  # fmt: skip


def test_words_of_the_trade_lead_to_the_right_one() -> None:
    ways = ["continuous", "batch", "none", "bag"]
    assert nearest("fly", ways) == "continuous"
    assert nearest("BIAB", ways) == "bag"
    assert nearest("no-sparge", ways) == "none"
    assert nearest("fly", ["batch", "bag"]) is None
    assert nearest("additions", ["weighed", "added", "taken"]) == "added"
    assert nearest("item", ["what", "amount"]) == "what"
    assert nearest("ingredient", ["item", "amount"]) == "item"
    assert nearest("tun", ["mash", "sparge", "kettle"]) == "mash"
    assert nearest("keg", ["keg", "bottle"]) == "keg"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("mash_temprature", "mash_temperature"),
        ("mash temperature", "mash_temperature"),
        ("Mash-Temperature", "mash_temperature"),
        ("MASHPH", "mash_ph"),
        ("mahs_ph", "mash_ph"),
        ("orignal_gravty", "original_gravity"),
        ("nmae", "name"),
        ("bacth", "batch"),
        ("yeas", "yeast"),
        ("yeats", "yeast"),
        ("original", "original_gravity"),
        ("sparge", "sparge_liquor"),
        ("At", "at"),
        ("OG", "original_gravity"),
        ("sparge water", "sparge_liquor"),
    ],
)
def test_a_slip_is_recognised(typed: str, meant: str) -> None:
    assert nearest(typed, KEYS) == meant
    assert did_you_mean(typed, KEYS) == f"did you mean `{meant}`?"


@pytest.mark.parametrize(
    "typed", ["", "   ", "colour", "x", "xy", "gravity", "x" * 500, "🍺", "it"]
)
def test_nothing_is_suggested_for_a_word_that_resembles_none(typed: str) -> None:
    assert nearest(typed, KEYS) is None
    assert did_you_mean(typed, KEYS) == ""


def test_the_nearest_wins_and_of_equals_the_first() -> None:
    assert nearest("mash_phs", ["mash_temp", "mash_phss", "mash_ph"]) == "mash_phss"
    assert nearest("cat", ["bat", "hat"]) == "bat"
    assert nearest("cat", []) is None


def test_a_beginning_that_fits_two_words_suggests_neither() -> None:
    assert nearest("mash", KEYS) is None


@pytest.mark.parametrize(
    ("one", "other", "slips"),
    # Worked examples of the optimal string alignment distance: kitten to sitting is 3 (the
    # textbook case of Levenshtein's distance), and one swap counts once.
    [
        ("kitten", "sitting", 3),
        ("abcd", "abdc", 1),
        ("ca", "abc", 3),
        ("", "abc", 3),
        ("a", "a", 0),
    ],
)
def test_slips_are_counted(one: str, other: str, slips: int) -> None:
    assert distance(one, other, 5) == slips
    assert distance(one, other, 0) == min(slips, 1)


@settings(deadline=None)
@given(st.text(max_size=12), st.text(max_size=12), st.integers(0, 5))
def test_slips_do_not_depend_on_the_direction(one: str, other: str, limit: int) -> None:
    there = distance(one, other, limit)
    assert there == distance(other, one, limit)
    assert (there == 0) == (one == other)
