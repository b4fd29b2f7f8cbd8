"""The batch ids of an archive, told without reading every record in full.

A record names its batch on a line of its own at the left edge. That line is enough to know which
batches there are; only a file where it is not to be found so is parsed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from collections.abc import Mapping as MappingOf
from pathlib import Path

from msgspec import Struct

from reportgen.record.source import source_from_bytes
from reportgen.record.yamlnode import items_below, mapping_below, text_below
from reportgen.record.yamltree import Node, parse

YEAR = 4
"""Digits of the year that an id begins with, as do the names of the folders that `new` makes."""

_BATCH = re.compile(
    rb"""^batch:[ \t]+(["']?)([0-9A-Za-z][0-9A-Za-z._-]*)\1[ \t]*(?:\#.*)?\r?$""", re.MULTILINE
)


class Ids(Struct, frozen=True):
    """The ids of the files of an archive. Ids that differ in capitals only are twins."""

    files: MappingOf[str, tuple[str, ...]]
    """The files of each id, written small; the one that counts comes first (see :func:`at_home`).
    """
    known: frozenset[str]
    """The ids as written, one of each."""

    def files_of(self, batch: str) -> tuple[str, ...]:
        """Return the files that bear an id."""
        return self.files.get(batch.casefold(), ())


def ids_of(files: Iterable[tuple[str, bytes]]) -> Ids:
    """Return the ids of the record files given by name and bytes, in order."""
    ids: dict[str, list[str]] = {}
    known: dict[str, str] = {}
    for name, data in files:
        batch = batch_id(name, data)
        ids.setdefault(batch.casefold(), []).append(name)
        known.setdefault(batch.casefold(), batch)
    return Ids(
        {batch: tuple(sorted(names, key=at_home)) for batch, names in ids.items()},
        frozenset(known.values()),
    )


def at_home(name: str) -> tuple[bool, str]:
    """Return what files of one id are sorted by: the record counts that lies in its year's folder.

    The other is mostly a copy: laid into the wrong folder, or kept aside.
    """
    path = Path(name)
    return path.parent.name != path.name[:YEAR], name


def batch_id(name: str, data: bytes) -> str:
    """Return the batch id of one record file: as written, else the file's name."""
    line = _BATCH.search(data)
    if line is not None:
        return line[2].decode("ascii")
    source, _ = source_from_bytes(data, name)
    tree = parse(source)[0] if source is not None else None
    return text_below(tree, "batch") or Path(name).stem


def linked_ids(tree: Node) -> list[str]:
    """Return the batches that a record cannot be judged without.

    The one its plan starts from, those that it shares a wort with, the one its yeast comes from and
    those that it was tasted against.
    """
    named = [
        text_below(tree, "plan", "like"),
        text_below(tree, "plan", "pitch", "harvested_from"),
        text_below(tree, "wort_from", "batch"),
        *(text_below(one, "triangle", "against") for one in items_below(tree, "tasting")),
    ]
    others = mapping_below(tree, "plan", "wort_to_others")
    takers = [key.text for key, _ in others.entries] if others is not None else []
    return [*filter(None, named), *takers]
