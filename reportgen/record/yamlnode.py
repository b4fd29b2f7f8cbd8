"""The nodes of a file: texts as written, lists and mappings, each with its place."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, TypeAlias

from msgspec import Struct

from reportgen.record.finding import Position


class Scalar(Struct, frozen=True):
    """A text as written. ``style`` is '' for plain, else the quote or block sign: ' " | >."""

    text: str
    style: str
    position: Position


class Sequence(Struct, frozen=True):
    """A list."""

    items: tuple[Node, ...]
    position: Position


class Mapping(Struct, frozen=True):
    """Keys and their values, in the order written."""

    entries: tuple[tuple[Scalar, Node], ...]
    position: Position

    def get(self, key: str) -> Node | None:
        """Return the value under a key, or None."""
        return next((value for name, value in self.entries if name.text == key), None)

    def key(self, key: str) -> Scalar | None:
        """Return a key as written, with its position, or None."""
        return next((name for name, _ in self.entries if name.text == key), None)

    def with_value(self, key: str, value: Node) -> Mapping:
        """Return the mapping with another value under a key that it has."""
        entries = tuple((k, value if k.text == key else v) for k, v in self.entries)
        return Mapping(entries, self.position)


Node: TypeAlias = Scalar | Sequence | Mapping


def below(node: Node | None, *keys: str) -> Node | None:
    """Return what stands under keys, each below the one before; None where nothing does."""
    for key in keys:
        node = node.get(key) if isinstance(node, Mapping) else None
    return node


def mapping_below(node: Node | None, *keys: str) -> Mapping | None:
    """Return the mapping that stands there, as :func:`below` does; None for anything else."""
    node_below = below(node, *keys)
    return node_below if isinstance(node_below, Mapping) else None


def items_below(node: Node | None, *keys: str) -> tuple[Node, ...]:
    """Return the items of the list that stands there; none for anything else."""
    node_below = below(node, *keys)
    return node_below.items if isinstance(node_below, Sequence) else ()


def text_below(node: Node | None, *keys: str) -> str:
    """Return the text that stands there; empty for anything else."""
    node_below = below(node, *keys)
    return node_below.text if isinstance(node_below, Scalar) else ""


def plain(node: Node) -> Any:
    """Return a tree as dictionaries, lists and texts; an empty plain scalar becomes None."""
    if isinstance(node, Scalar):
        return None if node.text == "" and node.style == "" else node.text
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return {key.text: plain(value) for key, value in node.entries}


def is_null(node: Node) -> bool:
    """Whether a value is a null written out, which takes away what another plan has there."""
    return isinstance(node, Scalar) and node.style == "" and node.text in ("null", "~")


def laid_over(
    base: Mapping, over: Mapping, but: Collection[str] = (), stays: bool = False
) -> Mapping:
    """Lay one mapping over another: mappings are merged, lists and values replaced.

    A null laid over a key takes the key away. ``but`` are keys of the base that are not taken
    over. The whole stands where what is laid over does, or, if it ``stays``, where the base does.
    """
    own = {key.text: (key, value) for key, value in over.entries}
    entries: list[tuple[Scalar, Node]] = []
    for key, value in base.entries:
        mine = own.pop(key.text, None)
        if mine is None:
            if key.text not in but:
                entries.append((key, value))
        elif isinstance(value, Mapping) and isinstance(mine[1], Mapping):
            entries.append((mine[0], laid_over(value, mine[1], but, stays)))
        elif not is_null(mine[1]):
            entries.append(mine)
    return Mapping((*entries, *own.values()), base.position if stays else over.position)
