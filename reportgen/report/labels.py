"""Labels for bottles and collars for kegs, on ordinary label stock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.report.card import strength_of
from reportgen.report.label_stock import Stock
from reportgen.report.parts import Identity
from reportgen.report.plan_text import identity_of
from reportgen.report.weigh_out import allergens_of

TITLE = "Labels"


class Place(NamedTuple):
    """Where one label stands on the sheet, mm from the left and the top."""

    left: str
    top: str


@dataclass(frozen=True)
class LabelsView:
    """A sheet of equal labels, ready to be set. Sizes are millimetres, as text for the style."""

    identity: Identity
    width: str
    height: str
    places: tuple[Place, ...]
    name_size: str
    text_size: str
    beer: str
    strength: str
    contains: str
    best_before: str
    amount: str


def labels(assessment: Assessment, stock: Stock) -> LabelsView:
    """Return a sheet full of labels: name, batch, strength, allergens, best before, amount."""
    record = assessment.record
    packed = record.packaging
    amount = ""
    if packed is not None and packed.container_size is not None:
        amount = packed.container_size.text
    # Five lines and the name fit into the height of every stock; none is below 8 points.
    name = max(10.0, min(32.0, stock.height * 0.4))
    return LabelsView(
        identity=identity_of(assessment, TITLE, stock.paper, None),
        width=f"{stock.width:.2f}",
        height=f"{stock.height:.2f}",
        places=tuple(Place(f"{x:.2f}", f"{y:.2f}") for x, y in stock.places()),
        name_size=f"{name:.1f}",
        text_size=f"{max(8.0, name * 0.58):.1f}",
        beer=str(record.plan.beer or ""),
        strength=strength_of(assessment),
        contains=", ".join(allergens_of(assessment)),
        best_before=str(packed.best_before or "") if packed is not None else "",
        amount=amount,
    )
