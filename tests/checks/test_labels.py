"""What a label names and which strength it states, by tables of labels in ordinary wording."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from reportgen.checks.allergens import ALSO, NAMES, NARROWER
from reportgen.checks.labels import named_in, plain, strengths_in, wanted_words

LABELS = yaml.safe_load((Path(__file__).parent / "labels.yaml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", LABELS, ids=[case["label"][:50] for case in LABELS])
def test_allergens_that_a_label_does_not_name(case: dict[str, Any]) -> None:
    wanted: dict[str, frozenset[str]] = {}
    for declared in case["has"]:
        wanted |= wanted_words(declared)
    named = named_in(case["label"], frozenset().union(*wanted.values()))
    assert sorted(a for a, words in wanted.items() if not words & named) == case["lacks"]


@pytest.mark.parametrize("allergen", sorted(NAMES))
def test_each_word_of_the_list_names_its_allergen_and_is_denied(allergen: str) -> None:
    for word in NAMES[allergen].split(", "):
        assert plain(word) in named_in(f"Beer, 5 % vol, contains {word}."), word
        for denied in (f"without {word}", f"no {word}", f"contains barley, free from {word}",
                       f"may contain {word}", f"{word}-free", f"does not contain {word}"):
            assert plain(word) not in named_in(denied) - {"barley"} or word == "barley", denied
    assert {*ALSO, *NARROWER} <= {*NAMES}


@pytest.mark.parametrize(
    ("label", "stated"),
    [
        ("Bitter, 4.1 % vol, contains barley", [4.1]),
        ("Bitter, alc. 4,1 % vol.", [4.1]),
        ("Bitter ABV 4.1%", [4.1]),
        ("Bitter, 4.1% ABV", [4.1]),
        ("Bitter, 4.1 ABV", [4.1]),
        ("Bitter, alcohol 4.1 per cent by volume", [4.1]),
        ("alcohol by volume: 4.1 %", [4.1]),
        ("Bitter 5 %", [5.0]),
        ("Bitter, about 4.0 % vol, 500 mL", [4.0]),
        ("Starkbier, 7,5 % Vol.", [7.5]),
        ("Table beer, 5.8 % vol, contains 30 % wheat", [5.8]),
        ("Ale, 100 % barley, 20 % off", []),
        ("Ale, 50 % wheat", []),
        ("Ale, 4 % by weight", []),
        ("Ale, contains barley", []),
    ],
)
def test_the_strength_that_a_label_states(label: str, stated: list[float]) -> None:
    assert [one.percent for one in strengths_in(label)] == stated


def test_a_strength_may_be_stated_as_a_most() -> None:
    assert strengths_in("Small beer, less than 1.2 % vol")[0].is_most
    assert not strengths_in("Small beer, 1.2 % vol")[0].is_most
