"""Holds a parsed file against its JSON Schema and says in plain words what is wrong, and where.

The schema is the reference for the format; the ``jsonschema`` library applies it. What differs
from a plain validation: every scalar is still text, ``x-quantity`` and ``x-value`` are read by our
own converters, and an ``anyOf`` answers for the branch that the writer evidently meant.
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Collection, Iterator
from collections.abc import Mapping as MappingOf
from contextvars import ContextVar
from typing import TYPE_CHECKING, Any

from reportgen.record.describe import FILES, TAKEN_AWAY, file_schema
from reportgen.record.finding import Finding, Position
from reportgen.record.kinds import out_of_bounds, read_quantity
from reportgen.record.rules import finding_of
from reportgen.record.sound import Keyword, Test, test_of
from reportgen.record.source import Source
from reportgen.record.suggest import did_you_mean, nearest
from reportgen.record.units import UnitError, parse_clock, parse_date, parse_moment
from reportgen.record.yamltree import Mapping, Node, Scalar, Sequence

if TYPE_CHECKING:
    from jsonschema.exceptions import ValidationError

_NUMBER = re.compile(r"^[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?$")
_SHAPES = {"object": "a mapping of keys", "array": "a list", "string": "a value"}


def plain(node: Node) -> Any:
    """Return a tree as dictionaries, lists and texts; an empty plain scalar becomes None."""
    if isinstance(node, Scalar):
        return None if node.text == "" and node.style == "" else node.text
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return {key.text: plain(value) for key, value in node.entries}


def node_at(root: Node, path: list[Any]) -> Node:
    """Return the node at a path of keys and indices; the nearest one above if it is not there."""
    node = root
    for step in path:
        if isinstance(node, Mapping) and isinstance(step, str):
            found = node.get(step)
        elif isinstance(node, Sequence) and isinstance(step, int) and step < len(node.items):
            found = node.items[step]
        else:
            found = None
        if found is None:
            return node
        node = found
    return node


def _is_number(checker: Any, instance: Any) -> bool:
    return isinstance(instance, str) and bool(_NUMBER.match(instance))


def _x_quantity(validator: Any, kind: str, instance: Any, schema: Any) -> Iterator[Any]:
    if isinstance(instance, str):
        try:
            read = read_quantity(instance, kind, None, _gallon.get())
        except UnitError as error:
            yield _mistake("quantity", error.message, error.expected, error.remedy)
        else:
            if schema.get("x-positive") and read.value <= 0:
                message = f"`{instance}` is nothing; there must be some"
                yield _mistake("quantity", message, "more than 0")
            elif schema.get("x-whole") and read.value != int(read.value):
                message = f"`{instance}` is no whole number"
                expected = f"a whole number, e.g. {math.ceil(read.value)}"
                yield _mistake("quantity", message, expected, "count again")
            elif "x-bounds" in schema and (wrong := out_of_bounds(read, schema["x-bounds"])):
                yield _mistake("quantity", *wrong)


def _x_value(validator: Any, name: str, instance: Any, schema: Any) -> Iterator[Any]:
    if isinstance(instance, str):
        if name == "time":
            # The time of a reading has its day only when it is not the brew day.
            name = "moment" if "-" in instance else "clock"
        reader: Any = {"day": parse_date, "clock": parse_clock, "moment": parse_moment}[name]
        try:
            reader(instance)
        except UnitError as error:
            rule = "date" if name != "clock" else "time"
            yield _mistake(rule, error.message, error.expected, error.remedy)


def _x_names(validator: Any, table: str, instance: Any, schema: Any) -> Iterator[Any]:
    tables = _tables.get({})
    if table not in tables or not isinstance(instance, str) or instance in tables[table]:
        return
    known = sorted(tables[table])
    listed = ", ".join(known[:12]) + (" ..." if len(known) > 12 else "")
    remedy = did_you_mean(instance, known) or f"add it to {WHERE[table]}"
    message = f"`{instance}` is not among {WHERE[table]}"
    yield _mistake("unknown-name", message, f"one of {listed}" if known else "", remedy)


def _pattern(validator: Any, pattern: str, instance: Any, schema: Any) -> Iterator[Any]:
    if "x-value" in schema or not isinstance(instance, str):
        return
    # To Python a $ also stands before a last line feed; in JSON Schema it does not.
    if not re.search(pattern, instance) or instance.endswith("\n"):
        yield _mistake("form", f"`{instance}` has not the form wanted", schema.get("x-shape", ""))


def _min_length(validator: Any, least: int, instance: Any, schema: Any) -> Iterator[Any]:
    if isinstance(instance, str) and len(instance.strip()) < least:
        yield _error("", validator="minLength", instance=instance)


def _any_of(validator: Any, branches: Any, instance: Any, schema: Any) -> Iterator[Any]:
    """Answer for the branch that the writer meant, told by the shape of what was written."""
    branch, wrong = _meant(branches, instance)
    if wrong is not None:
        yield wrong
    elif branch is not None:
        yield from validator.descend(instance, branch)


def _meant(branches: Any, instance: Any) -> tuple[Any, ValidationError | None]:
    """Return the branch that was meant, or what is wrong; neither when nothing more is wanted."""
    if branches[-1] == TAKEN_AWAY:
        # The loader has acted on a null that was written; what is left must hold by itself.
        return branches[0], None
    if instance is None:
        return None, None
    wanted = "object" if isinstance(instance, dict) else "string"
    meant = [b for b in branches if wanted in b["type"]]
    if not meant or isinstance(instance, list):
        error = _error("", validator="type", validator_value=wanted, instance=instance)
        return None, error
    if wanted == "string" and re.match(r"(?i)not\b", instance):
        if re.search(meant[1]["pattern"], instance):
            return None, None
        return None, _mistake(
            "form",
            f"`{instance}` is neither a value nor a way to write a missing one",
            "a value, `NOT RECORDED` or `not done because ...`",
            "write NOT RECORDED, in capitals, if it was forgotten",
        )
    return meant[0], None


def _error(message: str, **more: Any) -> ValidationError:
    """Return a fault as the library has it, which is loaded only once there is one to tell."""
    from reportgen.record.jsonschema_light import ValidationError

    return ValidationError(message, **more)


def _mistake(rule: str, message: str, expected: str = "", remedy: str = "") -> ValidationError:
    error = _error(message)
    error.cause = UnitError(message, expected, remedy)
    error.validator = rule
    return error


_LEAVES: dict[str, Keyword] = {
    "x-quantity": _x_quantity,
    "x-value": _x_value,
    "x-names": _x_names,
    "pattern": _pattern,
    "minLength": _min_length,
}
"""Keywords that look at one text only."""


WHERE = {
    "malts": "the malts of stock.yaml",
    "sugars": "the sugars of stock.yaml",
    "hops": "the hops of stock.yaml",
    "yeasts": "the yeasts of stock.yaml",
    "salts": "the salts of stock.yaml",
    "acids": "the acids of stock.yaml",
    "finings": "the finings of stock.yaml",
    "items": "what stock.yaml lists",
    "addable": "what stock.yaml lists and the liquors of brewery.yaml",
    "kits": "the kits of brewery.yaml",
    "instruments": "the instruments of brewery.yaml",
    "liquors": "the liquors of brewery.yaml",
    "containers": "the containers of brewery.yaml",
    "batches": "the batches of this archive",
    "checks": "the checks",
}
"""What each table of names is called in a message."""

Tables = MappingOf[str, Collection[str]]
_tables: ContextVar[Tables] = ContextVar("tables")
"""The names that are known while one file is validated, by table."""
_gallon: ContextVar[str | None] = ContextVar("gallon", default=None)
"""What a bare gallon means while one file is validated."""


@functools.cache
def _schema_of(name: str) -> Any:
    return file_schema(FILES[name])


@functools.cache
def _test_of(name: str) -> Test:
    return test_of(_schema_of(name), _LEAVES, _meant)


@functools.cache
def _validator_of(name: str) -> Any:
    from reportgen.record.jsonschema_light import Draft202012Validator, validators

    numbers = Draft202012Validator.TYPE_CHECKER.redefine("number", _is_number)
    types = numbers.redefine("integer", _is_number)
    extend: Any = validators.extend
    keywords = {**_LEAVES, "anyOf": _any_of}
    return extend(Draft202012Validator, keywords, type_checker=types)(_schema_of(name))


def findings_of(
    tree: Node, name: str, source: Source, tables: Tables, gallon: str | None = None
) -> list[Finding]:
    """Return everything about a file that its schema does not allow.

    ``name`` is ``brewery``, ``stock`` or ``record``. ``tables`` has the known names; a table that
    is absent is not checked. ``gallon`` says what a bare gallon means.
    """
    if (other := _other_format(tree, source)) is not None:
        return [other]
    token, names = _gallon.set(gallon), _tables.set(tables)
    try:
        found: list[Finding] = []
        values = plain(tree)
        if _test_of(name)(values):
            return []
        for error in _validator_of(name).iter_errors(values):
            found.extend(_findings(error, tree, source))
    finally:
        _gallon.reset(token)
        _tables.reset(names)
    return _without_echoes(found)


FORMAT = "1"
"""The format of files that this version reads. See DEVELOPERS.md for what is promised of it."""


def _other_format(tree: Node, source: Source) -> Finding | None:
    """Return the one finding about a file of another format; nothing else in it can be judged."""
    node = tree.get("format") if isinstance(tree, Mapping) else None
    if not isinstance(node, Scalar) or node.text in ("", FORMAT):
        return None
    later = node.text.isascii() and node.text.isdigit() and len(node.text) < 6
    return finding_of(
        "format",
        node.position,
        f"`{node.text}` is not a format that this version reads",
        f"format: {FORMAT}",
        "the file was written for a later reportgen: use that one, or write the file anew by "
        "schema/ and put format: 1" if later and int(node.text) > int(FORMAT) else None,
        source.line(node.position.line),
    )


def _findings(error: ValidationError, tree: Node, source: Source) -> list[Finding]:
    path = list(error.absolute_path)
    node = node_at(tree, path)
    key = _key_at(tree, path)
    spot = node.position if key is None or isinstance(path[-1], int) else key.position
    said: Any = error.validator

    def finding(
        rule: str, message: str, expected: str = "", remedy: str | None = "",
        where: Position | None = None,
    ) -> Finding:
        position = where or node.position
        shown = source if position.file == source.file else None
        line = shown.lines[position.line - 1] if shown and position.line <= len(shown.lines) else ""
        return finding_of(rule, position, message, expected, remedy, line)

    named = f"`{key.text}`" if key else "the file"
    instance: Any = error.instance
    if "propertyNames" in error.absolute_schema_path and isinstance(node, Mapping):
        strange_name = node.key(str(instance))
        where = strange_name.position if strange_name else node.position
        return [
            finding(
                "form", f"`{instance}` cannot be a name",
                "at most 60 letters A-Z, figures, dots, hyphens and underscores", "", where,
            )
        ]
    if isinstance(error.cause, UnitError):
        return [finding(said, error.cause.message, error.cause.expected, error.cause.remedy)]
    if said == "additionalProperties" and isinstance(node, Mapping):
        known = list(error.schema["properties"])  # type: ignore[index]
        strange = [k for k, _ in node.entries if k.text not in known]
        return [
            _decimal_comma(k, node, finding)
            or finding(
                "unknown-key",
                f"`{k.text}` is not a key of {named}",
                "one of " + ", ".join(known),
                did_you_mean(k.text, known)
                or "delete it, or move the text to `notes` or `remarks`",
                k.position,
            )
            for k in strange
        ]
    if said in ("required", "dependentRequired"):
        missing = error.message.split("'")[1]
        return [
            finding(
                "missing-key",
                f"{named} has no `{missing}`",
                f"a line `{missing}: ...` below it",
                "",
                spot,
            )
        ]
    if instance is None:
        item = bool(path) and isinstance(path[-1], int)
        message = f"an item of {named} is empty" if item else f"nothing is written after {named}"
        return [finding("empty", message, "", None, spot)]
    if said == "type":
        wanted = error.validator_value
        wanted = wanted[0] if isinstance(wanted, list) else wanted
        return [
            finding("shape", f"{named} holds {_shape_of(node)}", _SHAPES.get(str(wanted), ""))
        ]
    if said == "enum":
        listed: Any = error.validator_value
        choices = list(dict.fromkeys(str(choice) for choice in listed))
        return [
            finding(
                "word",
                f"`{instance}` is not a value of {named}",
                "one of " + ", ".join(choices),
                did_you_mean(str(instance), choices),
            )
        ]
    if said in ("minLength", "minItems"):
        return [finding("empty", f"{named} is empty", "", None)]
    raise AssertionError(f"no words for {said} of a schema")


def _decimal_comma(key: Scalar, node: Mapping, finding: Any) -> Finding | None:
    """Answer for ``{amount: 0,35 kg}``: within braces the comma ends the value."""
    if not _BEHIND_COMMA.fullmatch(key.text):
        return None
    entries = [*node.entries]
    at = next(n for n, (found, _) in enumerate(entries) if found is key)
    value = entries[at - 1][1] if at else None
    if not isinstance(value, Scalar) or not _NUMBER.match(value.text):
        return None
    start, end = value.position, key.position
    if start.line != end.line or start.end_column + 1 != end.column:
        return None
    return finding(  # type: ignore[no-any-return]
        "quantity",
        f"`{value.text},{key.text}` has a decimal comma, and within braces a comma ends the value",
        "a decimal point",
        f"write {value.text}.{key.text}",
        Position(start.file, start.line, start.column, end.end_column),
    )


_BEHIND_COMMA = re.compile(r"[0-9]+( ?[A-Za-z%/][A-Za-z%/ 0-9]*)?")


def _shape_of(node: Node) -> str:
    if isinstance(node, Mapping):
        return "a mapping of keys"
    return "a list" if isinstance(node, Sequence) else "a single value"


def _key_at(root: Node, path: list[Any]) -> Scalar | None:
    """Return the key under which the node at a path stands; for a list's item, the list's key."""
    while path and isinstance(path[-1], int):
        path = path[:-1]
    if not path:
        return None
    above = node_at(root, path[:-1])
    return above.key(path[-1]) if isinstance(above, Mapping) else None


def _without_echoes(findings: list[Finding]) -> list[Finding]:
    """Leave one finding a fault.

    Dropped are a missing key that is evidently the mistyped one beside it, and what else is said
    of a value that a comma has cut in two.
    """
    cut = {
        (f.position.line, f.position.column): f for f in findings if "within braces" in f.message
    }
    findings = [
        f for f in findings if cut.get((f.position.line, f.position.column), f) is f
    ]
    typed = [f.message.split("`")[1] for f in findings if f.rule == "unknown-key"]
    kept = []
    for finding in findings:
        if finding.rule == "missing-key":
            missing = finding.message.split("`")[-2]
            if any(nearest(word, [missing]) for word in typed):
                continue
        kept.append(finding)
    return kept
