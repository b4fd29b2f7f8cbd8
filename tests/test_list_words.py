"""The list of words is whole, and nothing to choose is named after whoever published it."""

from __future__ import annotations

import re

from list_words import choices, commands, heads_in_code, heads_in_templates, keys

from reportgen.science.method import METHODS, page

NAMED = re.compile(r"(?:[A-Z]\.[ -]?)+(?:de)?([A-Z][a-z]{2,})")
"""A name in a source: initials, then the surname."""


def authors() -> set[str]:
    return {
        name.lower() for method in METHODS for name in NAMED.findall(page(method).source)
    } | {"pawlowski", "doemens", "tabarie"}


def test_the_list_has_all_kinds_of_words() -> None:
    assert ("Methods.colour", "additive, power_law") in list(choices("record"))
    assert any(title == "Mash liquor" for _, title in keys("record"))
    assert "--fail-on" in dict(commands())["check"]
    assert any("Best before" in words for _, words in heads_in_code())
    assert any("Fermentation log" in words for _, words in heads_in_templates())


def test_no_choice_and_no_method_is_named_after_its_author() -> None:
    known = authors()
    assert len(known) > 30, "the sources are not read as they are written"
    offered = [
        words for name in ("brewery", "stock", "record") for _, words in choices(name)
    ]
    words = re.findall(r"[a-z]+", " ".join([*offered, *METHODS]).lower())
    assert known.isdisjoint(words), known.intersection(words)
