"""Says whether a file keeps to its schema, in a fraction of the time that it takes to say why not.

Nearly every record of an archive is sound. The schema is turned once into functions that only
answer yes or no; the ``jsonschema`` library, which words what is wrong, is asked about the others
alone. Both read the same schema and the same keywords of our own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from collections.abc import Mapping as MappingOf
from typing import Any, TypeAlias

Test: TypeAlias = Callable[[Any], bool]
"""Whether a value, as plain dictionaries, lists and texts, is as the schema wants it."""

Keyword: TypeAlias = Callable[[Any, Any, Any, Any], Iterator[Any]]
"""A keyword as ``jsonschema`` calls it: validator, value in the schema, instance, schema."""

Choice: TypeAlias = Callable[[Any, Any], tuple[Any, Any]]
"""From the branches of an ``anyOf`` and a value: the branch that is meant, or what is wrong."""

WORDS = (
    "title",
    "description",
    "examples",
    "$schema",
    "$defs",
    "x-shape",
    "x-positive",
    "x-whole",
    "x-bounds",
    "x-usual",
    "x-usual-per-litre",
)
"""Keywords that allow and forbid nothing by themselves."""

_TYPES: dict[str, type] = {"object": dict, "array": list, "string": str, "null": type(None)}


def test_of(
    schema: MappingOf[str, Any], leaves: MappingOf[str, Keyword], choice: Choice
) -> Test:
    """Return the test of a whole schema.

    ``leaves`` are the keywords that look at one text only. ``NotImplementedError`` for a keyword
    that is neither among them nor known here, so that none is passed over in silence.
    """
    return _Compiler(schema.get("$defs", {}), leaves, choice).test(schema)


class _Compiler:
    def __init__(
        self, definitions: MappingOf[str, Any], leaves: MappingOf[str, Keyword], choice: Choice
    ) -> None:
        self.definitions = definitions
        self.leaves = leaves
        self.choice = choice
        self.known: dict[str, Test] = {}

    def test(self, schema: MappingOf[str, Any]) -> Test:
        """Return the test of one schema: all of its keywords."""
        tests: list[Test] = []
        for keyword, value in schema.items():
            if keyword in WORDS or keyword in ("then", "else"):
                continue
            if keyword == "additionalProperties" and "properties" in schema:
                continue
            tests.append(self._keyword(keyword, value, schema))
        if len(tests) == 1:
            return tests[0]
        return lambda instance: all(test(instance) for test in tests)

    def _keyword(self, keyword: str, value: Any, schema: MappingOf[str, Any]) -> Test:
        if keyword in self.leaves:
            leaf = self.leaves[keyword]
            return lambda x: next(leaf(None, value, x, schema), None) is None
        if keyword == "type":
            return _type(value)
        if keyword == "enum":
            listed = frozenset(value)
            return lambda x: isinstance(x, str) and x in listed
        if keyword == "required":
            return lambda x: not isinstance(x, dict) or all(key in x for key in value)
        if keyword == "dependentRequired":
            return lambda x: not isinstance(x, dict) or all(
                needed in x for key, more in value.items() if key in x for needed in more
            )
        if keyword == "minItems":
            return lambda x: not isinstance(x, list) or len(x) >= value
        return self._nested(keyword, value, schema)

    def _nested(self, keyword: str, value: Any, schema: MappingOf[str, Any]) -> Test:
        if keyword == "$ref":
            return self._reference(value)
        if keyword == "properties":
            return self._properties(value, schema)
        if keyword == "additionalProperties":
            of_value = self.test(value)
            return lambda x: not isinstance(x, dict) or all(map(of_value, x.values()))
        if keyword == "propertyNames":
            of_name = self.test(value)
            return lambda x: not isinstance(x, dict) or all(map(of_name, x))
        if keyword == "items":
            of_item = self.test(value)
            return lambda x: not isinstance(x, list) or all(map(of_item, x))
        if keyword == "anyOf":
            return self._any_of(value)
        if keyword == "if":
            condition = self.test(value)
            then, other = self.test(schema["then"]), self.test(schema["else"])
            return lambda x: then(x) if condition(x) else other(x)
        raise NotImplementedError(f"the keyword {keyword} of a schema")

    def _reference(self, address: str) -> Test:
        name = address.removeprefix("#/$defs/")
        if name not in self.known:
            # A definition may name itself: it is looked up when it is needed.
            self.known[name] = lambda x: self.known[name](x)
            self.known[name] = self.test(self.definitions[name])
        return self.known[name]

    def _properties(self, properties: MappingOf[str, Any], schema: MappingOf[str, Any]) -> Test:
        tests = {key: self.test(below) for key, below in properties.items()}
        more = schema.get("additionalProperties", True)
        others = self.test(more) if isinstance(more, dict) else (lambda x: bool(more))

        def test(instance: Any) -> bool:
            if not isinstance(instance, dict):
                return True
            return all(tests.get(key, others)(value) for key, value in instance.items())

        return test

    def _any_of(self, branches: list[Any]) -> Test:
        # A list of dictionaries cannot be a key; the branch meant is known by what it is.
        tests = {id(branch): self.test(branch) for branch in branches}

        def test(instance: Any) -> bool:
            branch, wrong = self.choice(branches, instance)
            if wrong is not None:
                return False
            return branch is None or tests[id(branch)](instance)

        return test


def _type(named: str | list[str]) -> Test:
    names = {named} if isinstance(named, str) else set(named)
    if "string" in names:
        # Every scalar is still text; a number is a text too.
        names.discard("number")
    if unknown := names - _TYPES.keys():
        raise NotImplementedError(f"the type {', '.join(sorted(unknown))} in a schema")
    types = tuple(_TYPES[name] for name in names)
    return lambda x: isinstance(x, types)
