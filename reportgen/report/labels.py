"""Labels for bottles and collars for kegs, on ordinary label stock."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.report.card import strength_of
from reportgen.report.fit import MM, lines_of
from reportgen.report.label_stock import LabelStock
from reportgen.report.parts import Identity
from reportgen.report.plan_text import identity_of, units_of
from reportgen.report.weigh_out import allergens_of

TITLE = "Labels"


class Place(NamedTuple):
    """Where one label stands on the sheet, mm from the left and the top."""

    left: str
    top: str


class LabelsView(Struct, frozen=True):
    """A sheet of equal labels, ready to be set. Sizes are millimetres, as text for the style."""

    identity: Identity
    width: str
    height: str
    places: tuple[Place, ...]
    name_size: str
    text_size: str
    name_lines: int
    beer: str
    strength: str
    contains: str
    best_before: str
    amount: str


def labels(assessment: Assessment, stock: LabelStock) -> LabelsView:
    """Return a sheet full of labels: name, batch, strength, allergens, best before, amount."""
    record = assessment.record
    packed = record.packaging
    contains = ", ".join(allergens_of(assessment))
    identity = identity_of(assessment, TITLE, stock.paper, None)
    name, text, lines = _sizes(stock, identity.name, f"Contains {contains}" if contains else "")
    return LabelsView(
        identity=identity,
        width=f"{stock.width:.2f}",
        height=f"{stock.height:.2f}",
        places=tuple(Place(f"{x:.2f}", f"{y:.2f}") for x, y in stock.places()),
        name_size=f"{name:.1f}",
        text_size=f"{text:.1f}",
        name_lines=lines,
        beer=str(record.plan.beer or ""),
        strength=strength_of(assessment),
        contains=contains,
        best_before=str(packed.best_before or "") if packed is not None else "",
        amount=amount_of(assessment),
    )


def amount_of(assessment: Assessment) -> str:
    """Return what one container holds, as written; of several kinds each by its own size, which
    brewery.yaml may have; empty where nobody wrote it."""
    packed, size = assessment.record.packaging, assessment.case.container.volume
    if packed is not None and packed.container_size is not None:
        return packed.container_size.text
    if assessment.filling is None or size is None:
        return ""
    return units_of(assessment).text(size, "volume", 2 if size < 1 else 1)


def file_end(assessment: Assessment, kinds: Sequence[Assessment]) -> str:
    """Return how the file of labels of one kind of container ends: ``-keg``, ``-bottle-2``; empty
    where there is one kind."""
    if len(kinds) < 2:
        return ""
    kind = assessment.case.packed_into
    alike = [filled.filling_number for filled in kinds if filled.case.packed_into == kind]
    place = alike.index(assessment.filling_number) + 1
    return f"-{kind}-{place}" if place > 1 else f"-{kind}"


PADDING, MARGIN = 6.0, 11.0
"""Of a label above and below together, and on both sides with some play, mm."""

PLAIN_LINES = 3
"""Lines beside the name and the allergens: strength, batch, brewery."""

LARGEST, LEAST_NAME, LEAST_TEXT = 32.0, 10.0, 6.5
"""Type, points. The least is that of 1.2 mm of x-height, which labels of food must have (EU)
1169/2011, article 13."""


def _sizes(stock: LabelStock, name: str, contains: str) -> tuple[float, float, int]:
    """Return the type of name and text, points, and the lines of the name.

    The largest in which all has room. Allergens are never cut: for them the type gets smaller.
    """
    room, height = stock.width - MARGIN, stock.height - PADDING
    size, text = max(LEAST_NAME, min(LARGEST, stock.height * 0.4)), 0.0
    while True:
        text = max(LEAST_TEXT, min(size * 0.58, text or size))
        if size > LEAST_NAME:
            text = max(8.0, text)
        named = min(2, lines_of(name, room, size, True))
        lines = PLAIN_LINES + (lines_of(contains, room, text, True) if contains else 1)
        if named * size * 1.1 * MM + lines * text * 1.2 * MM <= height or text <= LEAST_TEXT:
            return size, text, named
        if size > LEAST_NAME:
            size = max(LEAST_NAME, size * 0.96)
        else:
            text *= 0.96
