"""Names that must stand in another table: malts, instruments, batches and so on."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from reportgen.record.fields import Entry, about
from reportgen.record.finding import Finding, Severity
from reportgen.record.suggest import did_you_mean
from reportgen.record.values import Reading, Text

WHERE = {
    "malts": "malts in stock.yaml",
    "sugars": "sugars in stock.yaml",
    "hops": "hops in stock.yaml",
    "yeasts": "yeasts in stock.yaml",
    "salts": "salts in stock.yaml",
    "acids": "acids in stock.yaml",
    "finings": "finings in stock.yaml",
    "items": "stock.yaml",
    "kits": "kits in brewery.yaml",
    "instruments": "instruments in brewery.yaml",
    "liquors": "liquors in brewery.yaml",
    "batches": "the batches of this archive",
    "checks": "the checks",
}


def names_used(entry: Entry) -> Iterator[tuple[str, Text]]:
    """Yield every (table, name) that an entry and all below it refer to."""
    for field in dataclasses.fields(entry):
        said = about(field)
        if said is not None:
            yield from _names(getattr(entry, field.name), said.names)


def _names(value: Any, table: str) -> Iterator[tuple[str, Text]]:
    if isinstance(value, Entry):
        yield from names_used(value)
    elif isinstance(value, Reading):
        if value.instrument is not None:
            yield "instruments", value.instrument
    elif isinstance(value, tuple):
        for item in value:
            yield from _names(item, table)
    elif isinstance(value, dict):
        for item in value.values():
            yield from _names(item, "")
    elif table and isinstance(value, Text):
        yield table, value


def unknown_names(
    entry: Entry, tables: Mapping[str, Collection[str]], lines: Mapping[str, tuple[str, ...]]
) -> list[Finding]:
    """Return a finding for each name that does not stand in its table.

    ``tables`` has the known names by table; a table that is absent is not checked. ``lines`` has
    the lines of each file, to show the one at fault.
    """
    found = []
    for table, name in names_used(entry):
        if table not in tables or name in tables[table] or name.position is None:
            continue
        known = sorted(tables[table])
        shown = lines.get(name.position.file, ())
        number = name.position.line
        found.append(
            Finding(
                "unknown-name",
                Severity.ERROR,
                name.position,
                f"`{name}` is not among {WHERE[table]}",
                "one of " + ", ".join(known[:12]) + (" ..." if len(known) > 12 else ""),
                did_you_mean(name, known) or f"add it to {WHERE[table]}",
                shown[number - 1] if number <= len(shown) else "",
            )
        )
    return found
