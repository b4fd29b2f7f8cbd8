"""Whatever the loader lets a kit, a liquor or a lot say can be counted with: nothing falls over."""

from __future__ import annotations

import copy
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from reportgen.assessment.assess import assess
from reportgen.loading import load_archive
from reportgen.record.bind import slots
from reportgen.record.fields import Entry
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock

FULL = Path(__file__).parents[1] / "full"
UNITS = {
    "fraction": ("%", 100.0), "attenuation": ("%", 100.0), "colour": ("EBC", 1.0),
    "concentration": ("mg/L", 1.0), "evaporation": ("L/h", 1.0), "ratio": ("", 1.0),
    "ph": ("", 1.0), "count": ("", 1.0), "temperature": ("C", 1.0), "length": ("m", 1.0),
    "temperature_difference": ("K", 1.0), "specific_volume": ("L/kg", 1.0), "power": ("kW", 1.0),
    "cell_density": ("billion/mL", 1.0), "pressure": ("bar", 1.0), "time": ("min", 1.0),
}  # fmt: skip
"""The unit that each kind is written in here, and what makes the base unit that."""


BY_OTHERS = ("evaporation", "lowest_temperature", "highest_temperature")
"""Fields that another field bounds as well: the kettle, the other end of the range."""


def bounded(tree: Any, cls: type[Entry], path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield (path, kind, low, high) of every value of a file that has bounds."""
    for slot in slots(cls):
        value = tree.get(slot.key) if isinstance(tree, dict) else None
        if value is None:
            continue
        if slot.said.bounds and isinstance(value, str) and slot.key not in BY_OTHERS:
            yield (*path, slot.key), slot.said.kind, *slot.said.bounds
        inner = next(
            (h for h in (slot.hint, *typing.get_args(slot.hint))
             if isinstance(h, type) and issubclass(h, Entry)), None,
        )  # fmt: skip
        if inner is None:
            continue
        if typing.get_origin(slot.hint) is None:
            yield from bounded(value, inner, (*path, slot.key))
        elif isinstance(value, dict):
            for key, entry in value.items():
                yield from bounded(entry, inner, (*path, slot.key, key))


@pytest.mark.parametrize("end", [0, 1])
@pytest.mark.parametrize(("file", "cls"), [("brewery.yaml", Brewery), ("stock.yaml", Stock)])
def test_every_value_at_its_bound_can_be_counted_with(
    file: str, cls: type[Entry], end: int
) -> None:
    tree = yaml.load((FULL / file).read_text(encoding="utf-8"), yaml.BaseLoader)
    found = list(bounded(tree, cls))
    assert len(found) > 8
    changed = copy.deepcopy(tree)
    for path, kind, *ends in found:
        place = changed
        for key in path[:-1]:
            place = place[key]
        unit, times = UNITS[kind]
        place[path[-1]] = f"{ends[end] * times:g} {unit}".strip()
    text = yaml.safe_dump(changed, allow_unicode=True, sort_keys=False).encode()
    archive = load_archive(FULL, given={file: text})
    wrong = [f.message for f in archive.findings if f.position.file == file]
    assert wrong == []
    for batch in archive.batches.values():
        assert assess(archive, batch) is not None
