"""The quick test of a file and the library that words what is wrong say the same of every file.

If the quick test called a faulty record sound, its faults would never be told.
"""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.record import validate
from reportgen.record.describe import FILES, file_schema
from reportgen.record.sound import test_of as quick_test_of
from reportgen.record.source import source_from_text
from reportgen.record.validate import plain
from reportgen.record.yamltree import parse

BATCHES = Path(__file__).parents[2] / "batches"
KINDS = {"brewery": BATCHES / "brewery.yaml", "stock": BATCHES / "stock.yaml"}
SLIPS: tuple[Any, ...] = (
    None, "", " ", "no", "12", "1.040", "7.2 kg", "-3 L", "0 L", "NOT RECORDED",
    "not done because the pump stood still", "not written", "2026-02-30", "09:61", "2026-03-14",
    "A\n", "pale", "palle", [], {}, ["pale"], {"read": "1.040"}, {"read": "1.040", "was": "1.041"},
    {"strange": "1"}, [{}], "x" * 70,
)  # fmt: skip


def values_of(path: Path) -> Any:
    tree, _ = parse(source_from_text(path.read_text(encoding="utf-8"), path.name))
    assert tree is not None
    return plain(tree)


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path] if path else []
    below = value.items() if isinstance(value, dict) else (
        enumerate(value) if isinstance(value, list) else ()
    )
    for step, inner in below:
        found += places(inner, (*path, step))
    return found


WHOLE = [("record", values_of(p)) for p in sorted(BATCHES.glob("20*/*.yaml"))]
WHOLE += [(kind, values_of(path)) for kind, path in KINDS.items()]
TABLES = {"kits": set(values_of(KINDS["brewery"])["kits"])}


def both(kind: str, values: Any) -> tuple[bool, bool]:
    token = validate._tables.set(TABLES)
    try:
        return validate._test_of(kind)(values), validate._validator_of(kind).is_valid(values)
    finally:
        validate._tables.reset(token)


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_both_say_the_same_of_a_file_with_a_slip(data: st.DataObject) -> None:
    kind, whole = data.draw(st.sampled_from(WHOLE))
    values = copy.deepcopy(whole)
    for _ in range(data.draw(st.integers(0, 2))):
        *above, last = data.draw(st.sampled_from(places(values)))
        holder = values
        for step in above:
            holder = holder[step]
        slip = data.draw(st.sampled_from(("other", "gone", "more")))
        if slip == "gone":
            del holder[last]
        elif slip == "more" and isinstance(holder, dict):
            holder[data.draw(st.sampled_from(("strange", "a b", "was", "like")))] = copy.deepcopy(
                data.draw(st.sampled_from(SLIPS))
            )
        else:
            # A copy: the next slip may be made within it.
            holder[last] = copy.deepcopy(data.draw(st.sampled_from(SLIPS)))
        if not places(values):
            break
    quick, library = both(kind, values)
    assert quick == library


def test_both_call_the_files_of_the_demo_sound() -> None:
    assert {both(kind, values) for kind, values in WHOLE} == {(True, True)}


@pytest.mark.parametrize("kind", FILES)
@pytest.mark.parametrize("values", [None, "text", [], {}, {"format": "1"}])
def test_both_say_the_same_of_what_is_no_file(kind: str, values: Any) -> None:
    quick, library = both(kind, values)
    assert quick == library


def test_an_unknown_keyword_is_refused_rather_than_passed_over() -> None:
    schema = {**file_schema(FILES["record"]), "maxProperties": 3}
    with pytest.raises(NotImplementedError, match="maxProperties"):
        quick_test_of(schema, validate._LEAVES, validate._meant)
