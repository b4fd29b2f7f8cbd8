"""``blanks``: the readings still missing, as YAML to paste, in the order of the sheet."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from reportgen.assessment.readings import reading_at
from reportgen.forecast.figures import READ, Figure
from reportgen.record.finding import visible
from reportgen.record.load import Batch
from reportgen.record.model.batch import Record
from reportgen.verbs.where import Misuse, loaded, unread, wanted

UNITS = {
    "volume": "L", "temperature": "C", "gravity": "SG, e.g. 1.042", "ph": "e.g. 5.42",
    "cells": "billion", "amount": "L or g", "pressure": "bar", "mass": "g",
}
_OURS = {
    "US": {
        "volume": "US gal", "temperature": "F", "amount": "US fl oz or oz", "pressure": "psi",
        "mass": "oz",
    },
    "imperial": {
        "volume": "imp gal", "amount": "imp fl oz or oz", "pressure": "psi", "mass": "oz",
    },
}  # fmt: skip
"""Units of a house that does not print metric ones, where they are others."""


def missing(record: Record) -> list[Figure]:
    """Return the figures that have no reading yet, in the order of the work."""
    packed = record.plan.packaging.into
    skipped = {"pressure", "beer_temperature"} if packed != "keg" else {"priming_sugar"}
    if record.plan.run_off.sparge == "none":
        skipped |= {"sparge_liquor", "sparge_temperature", "last_runnings_gravity"}
    if record.plan.liquor.top_up_liquor is None:
        skipped.add("top_up_liquor")
    return [f for f in READ if reading_at(record, f) is None and f.key not in skipped]


def as_yaml(figures: list[Figure], system: str = "metric") -> str:
    """Return the blanks as YAML, nested as in the record, each with what belongs there.

    ``system`` names the units of the house: ``metric``, ``US`` or ``imperial``.
    """
    tree: dict[str, Any] = {}
    for figure in figures:
        place = tree
        for step in figure.path[:-1]:
            place = place.setdefault(step, {})
        place[figure.path[-1]] = figure
    return "\n".join(_lines(tree, 0, UNITS | _OURS.get(system, {}))) + "\n"


def _lines(tree: dict[str, Any], depth: int, units: dict[str, str]) -> list[str]:
    lines = []
    for key, value in tree.items():
        if isinstance(value, dict):
            lines.append(f"{'  ' * depth}{key}:")
            lines += _lines(value, depth + 1, units)
        else:
            blank = f"{'  ' * depth}{key}:"
            lines.append(f"{blank:<32}# {value.title}, {units[value.kind]}")
    return lines


def issued_blank(batch: Batch) -> str:
    """Return the blank for the sheet used, of a batch that was brewed without one; else nothing.

    The plan of now stands in a comment: only the sheet itself can say that it was printed from it.
    """
    if batch.record is None or batch.record.brew_day is None or batch.record.issued is not None:
        return ""
    line = f"# issued: {{plan: {batch.plan_hash}}}"
    return f"{line:<32}# the plan of now: take off the first # if the sheet used has it\n"


def run(arguments: argparse.Namespace) -> int:
    """Print the blanks of one batch."""
    archive, paths = loaded(arguments.path)
    batches = wanted(archive, paths)
    faulty = unread(archive, paths) or [b.file for b in batches if b.record is None]
    if faulty:
        print(f"{visible(faulty[0])}: cannot be read; run reportgen check", file=sys.stderr)
        return 1
    record = batches[0].record if len(batches) == 1 else None
    if record is None:
        raise Misuse("blanks takes the file of one batch")
    figures, issued = missing(record), issued_blank(batches[0])
    if not figures and not issued:
        print("# nothing is missing")
        return 0
    house = archive.brewery
    system = "metric" if house is None else str(house.units)
    print(issued + (as_yaml(figures, system) if figures else ""), end="")
    return 0
