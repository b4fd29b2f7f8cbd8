"""The nodes of a file: texts as written, lists and mappings, each with its place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

from reportgen.record.finding import Position


@dataclass(frozen=True, slots=True)
class Scalar:
    """A text as written. ``style`` is '' for plain, else the quote or block sign: ' " | >."""

    text: str
    style: str
    position: Position


@dataclass(frozen=True, slots=True)
class Sequence:
    """A list."""

    items: tuple[Node, ...]
    position: Position


@dataclass(frozen=True, slots=True)
class Mapping:
    """Keys and their values, in the order written."""

    entries: tuple[tuple[Scalar, Node], ...]
    position: Position

    def get(self, key: str) -> Node | None:
        """Return the value under a key, or None."""
        return next((value for found, value in self.entries if found.text == key), None)

    def key(self, key: str) -> Scalar | None:
        """Return a key as written, with its position, or None."""
        return next((found for found, _ in self.entries if found.text == key), None)


Node: TypeAlias = Scalar | Sequence | Mapping


def plain(node: Node) -> Any:
    """Return a tree as dictionaries, lists and texts; an empty plain scalar becomes None."""
    if isinstance(node, Scalar):
        return None if node.text == "" and node.style == "" else node.text
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return {key.text: plain(value) for key, value in node.entries}
