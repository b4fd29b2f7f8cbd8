"""What the loader says of a file and what the published schema allows are the same.

The schema is for editors and other programs; ``jsonschema`` applies it here, with our own keywords
read as ``describe.py`` says. Were the loader the milder one, an editor would underline what passes
a check; were it the stricter one, a record that an editor calls sound would fail.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator, validators
from jsonschema.exceptions import ValidationError

from reportgen.record.bind import Binder
from reportgen.record.describe import FILES, file_schema
from reportgen.record.finding import Position
from reportgen.record.kinds import read_quantity
from reportgen.record.source import source_from_text
from reportgen.record.units import UnitError, parse_clock, parse_date, parse_moment
from reportgen.record.yamltree import Mapping, Node, Scalar, Sequence, parse, plain

BATCHES = Path(__file__).parents[2] / "batches"
KINDS = {"brewery": BATCHES / "brewery.yaml", "stock": BATCHES / "stock.yaml"}
SLIPS: tuple[Any, ...] = (
    None, "", " ", "no", "12", "1.040", "7.2 kg", "-3 L", "0 L", "NOT RECORDED",
    "not done because the pump stood still", "not written", "2026-02-30", "09:61", "2026-03-14",
    "A\n", "pale", "palle", [], {}, ["pale"], {"read": "1.040"}, {"read": "1.040", "was": "1.041"},
    {"strange": "1"}, [{}], "x" * 70,
)  # fmt: skip
NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?")
HERE = Position("x.yaml", 1, 1, 1)
SOURCE = source_from_text("", "x.yaml")


def nodes_of(value: Any) -> Node:
    """Return values as the parser of YAML would: every text in quotes but the empty one."""
    if isinstance(value, dict):
        pairs = ((Scalar(key, "", HERE), nodes_of(below)) for key, below in value.items())
        return Mapping(tuple(pairs), HERE)
    if isinstance(value, list):
        return Sequence(tuple(map(nodes_of, value)), HERE)
    return Scalar("", "", HERE) if value is None else Scalar(value, '"', HERE)


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


# ---- our own keywords, as describe.py says what they mean


def x_quantity(validator: Any, kind: str, text: Any, schema: Any) -> Iterator[ValidationError]:
    if isinstance(text, str):
        try:
            read = read_quantity(text, kind)
        except UnitError as error:
            yield ValidationError(error.message)
            return
        low, high = schema.get("x-bounds", (-1e99, 1e99))
        if not low <= read.value <= high or (schema.get("x-positive") and read.value <= 0):
            yield ValidationError("out of bounds")
        elif schema.get("x-whole") and read.value % 1:
            yield ValidationError("no whole number")


def x_value(validator: Any, name: str, text: Any, schema: Any) -> Iterator[ValidationError]:
    if isinstance(text, str):
        if name == "time":
            name = "moment" if "-" in text else "clock"
        try:
            {"day": parse_date, "clock": parse_clock, "moment": parse_moment}[name](text)
        except UnitError as error:
            yield ValidationError(error.message)


def x_names(validator: Any, table: str, text: Any, schema: Any) -> Iterator[ValidationError]:
    if isinstance(text, str) and table in TABLES and text not in TABLES[table]:
        yield ValidationError("unknown")


def pattern(validator: Any, wanted: str, text: Any, schema: Any) -> Iterator[ValidationError]:
    # To Python a $ also stands before a last line feed; a date is read by its own reader.
    is_time = "x-value" in schema
    if isinstance(text, str) and not is_time and not re.search(wanted.replace("$", r"\Z"), text):
        yield ValidationError("pattern")


def least(validator: Any, length: int, text: Any, schema: Any) -> Iterator[ValidationError]:
    if isinstance(text, str) and len(text.strip()) < length:
        yield ValidationError("empty")


def any_of(validator: Any, branches: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
    """Take away a null that was written for one, and a word for a quantity that begins with not."""
    if isinstance(value, str) and re.match(r"(?i)not\b", value) and len(branches) == 4:
        branches = branches[1:2]
    if branches[-1].get("type") == "null" and len(branches) == 2:
        branches = branches[:1]  # the loader has acted on it; one left blank is empty
    if not any(validator.evolve(schema=branch).is_valid(value) for branch in branches):
        yield ValidationError("none of the branches")


def is_number(checker: Any, value: Any) -> bool:
    return isinstance(value, str) and bool(NUMBER.fullmatch(value))


def validator_of(kind: str) -> Any:
    numbers = Draft202012Validator.TYPE_CHECKER.redefine("number", is_number)
    extend: Any = validators.extend
    own = {
        "x-quantity": x_quantity, "x-value": x_value, "x-names": x_names, "pattern": pattern,
        "minLength": least, "anyOf": any_of,
    }  # fmt: skip
    return extend(Draft202012Validator, own, type_checker=numbers)(file_schema(FILES[kind]))


VALIDATORS = {kind: validator_of(kind) for kind in FILES}


def both(kind: str, values: Any) -> tuple[bool, bool]:
    _, found = Binder(TABLES).file(nodes_of(values), FILES[kind], SOURCE)
    return not found, VALIDATORS[kind].is_valid(values)


@settings(max_examples=300, deadline=None)
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
    loader, schema = both(kind, values)
    assert loader == schema


@pytest.mark.parametrize("number", ["0", "0.5", "90000"])
def test_both_draw_the_same_bounds_of_every_number(number: str) -> None:
    """Each field of the demo that has a number is once nought, once in parts, once far too much."""
    seen = set()
    for kind, whole in WHOLE[-3:]:
        for *above, last in places(whole):
            holder = whole
            for step in above:
                holder = holder[step]
            name = tuple(step for step in (kind, *above, last) if isinstance(step, str))[-3:]
            found = NUMBER.match(holder[last]) if isinstance(holder[last], str) else None
            if found is None or "-" in holder[last] or ":" in holder[last] or name in seen:
                continue
            seen.add(name)
            text, holder[last] = holder[last], number + holder[last][found.end() :]
            try:
                loader, schema = both(kind, whole)
                assert loader == schema, (name, holder[last])
            finally:
                holder[last] = text
    assert len(seen) > 100


def test_both_call_the_files_of_the_demo_sound() -> None:
    assert {both(kind, values) for kind, values in WHOLE} == {(True, True)}


@pytest.mark.parametrize("kind", FILES)
@pytest.mark.parametrize("values", [None, "text", [], {}, {"format": "1"}])
def test_both_say_the_same_of_what_is_no_file(kind: str, values: Any) -> None:
    loader, schema = both(kind, values)
    assert loader == schema


def test_a_value_is_read_once_however_many_plans_it_is_laid_into(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Every record of the demo, with the plans that they start from and the worts they share."""
    from reportgen.loading import load_archive
    from reportgen.record import bind

    read: list[tuple[Position | None, str]] = []

    def counted(text: str, kind: str, position: Position | None, gallon: str | None) -> Any:
        read.append((position, kind))
        return read_quantity(text, kind, position, gallon)

    monkeypatch.setattr(bind, "read_quantity", counted)
    load_archive(BATCHES)
    assert len(read) > 1000
    assert len(set(read)) == len(read)
