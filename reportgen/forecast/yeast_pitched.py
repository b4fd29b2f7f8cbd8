"""The yeast of a plan: in which form it comes, its count, and how much of it lives on the day."""

from __future__ import annotations

import datetime

from msgspec import Struct

from reportgen.record.model.later import Harvest
from reportgen.record.model.plan import PitchPlan
from reportgen.record.model.stock import Lot, Yeast
from reportgen.science.method import nearest
from reportgen.science.number import Number, ufloat
from reportgen.science.yeast import viability

USUAL_CELLS = {"dry": 10.0, "slurry": 1.2, "liquid": 1.0, "starter": 0.1, "slope": 0.1}
"""Billion cells in a g of dry yeast, else in a mL, where nothing is stated. Dry yeast: 8 to 18, S.
Van Den Berg and A. Van Landschoot 2003, Cerevisia 28(3):25; the others: common practice, no
source. A slope is grown up to a starter."""
USUAL_U = {"dry": 0.4, "slurry": 0.5, "liquid": 0.5, "starter": 0.5, "slope": 0.5}
"""±U (k = 2) of these as a share; slurry settles to 0.5 to 2 billion/mL."""
COUNT_U = 0.20
"""±U (k = 2) of a careful count, as a share of it."""
KEPT_AT = 4.0
FRESH = 0.95
"""Viability of new yeast and of a harvest that was not stained: the least that pitching yeast
should have, MEBAK M 350.18.518."""
AGES_AS = {"dry": "dry", "liquid": "liquid", "starter": "liquid", "slope": "liquid",
           "slurry": "slurry"}  # fmt: skip


class PitchedYeast(Struct, frozen=True):
    """Form, unit (``mass`` or ``volume``), billion cells in a g or mL, viability, age in days.

    ``is_counted``: the cells are stated for this yeast, not the usual ones of its form. ``age`` is
    None where the day it was harvested or made, or the day of use, is not known; ``living`` is then
    1 unless it is stated.
    """

    form: str
    by: str
    cells: Number
    is_counted: bool
    living: Number
    age: int | None

    @property
    def is_weighed(self) -> bool:
        """Whether it is weighed; else it is measured as a volume."""
        return self.by == "mass"


def form_of(pitch: PitchPlan, yeast: Yeast) -> str:
    """Return how yeast is pitched: as the plan says, as harvested, as its lot or the yeast is."""
    if pitch.form is not None:
        return str(pitch.form)
    if pitch.harvested_from is not None:
        return "slurry"
    lot = yeast.lots.get(pitch.lot) if pitch.lot is not None else None
    form = str((lot.form if lot is not None else None) or yeast.form or "slurry")
    amount = pitch.yeast_amount
    # Slurry of a yeast that is bought dry is measured in mL, and the other way about.
    if amount is not None and form == "dry" and amount.is_volume:
        return "slurry"
    if amount is not None and form != "dry" and amount.is_mass and (
        yeast.cells is not None and yeast.cells.dry is not None
    ):
        return "dry"
    return form


def measured_by(pitch: PitchPlan, yeast: Yeast) -> str:
    """Return what the yeast is measured out by: ``mass`` or ``volume``. As the plan writes it."""
    if pitch.yeast_amount is not None:
        return pitch.yeast_amount.kind
    return "mass" if form_of(pitch, yeast) == "dry" else "volume"


def pitched(
    pitch: PitchPlan, yeast: Yeast, harvest: Harvest | None, on: datetime.date | None
) -> PitchedYeast:
    """Return the yeast of a plan as it is on a day."""
    form, by = form_of(pitch, yeast), measured_by(pitch, yeast)
    lot = yeast.lots.get(pitch.lot) if pitch.lot is not None else None
    if pitch.harvested_from is not None:
        lot = None
    else:
        harvest = None
    cells, is_counted = _cells(pitch, yeast, harvest, lot, form, by)
    age = _age(harvest, lot, on)
    return PitchedYeast(form, by, cells, is_counted, _living(pitch, harvest, lot, form, age), age)


def _cells(
    pitch: PitchPlan, yeast: Yeast, harvest: Harvest | None, lot: Lot | None, form: str, by: str
) -> tuple[Number, bool]:
    usual = USUAL_CELLS[form]
    for stated in (
        pitch.cells,
        harvest.cells if harvest is not None else None,
        lot.cells if lot is not None else None,
        getattr(yeast.cells, form, None) if yeast.cells is not None else None,
    ):
        if stated is not None and stated.unit.endswith("/g") == (by == "mass"):
            return ufloat(stated.value, stated.value * COUNT_U / 2, "count of the yeast"), True
    return ufloat(usual, usual * USUAL_U[form] / 2, "cells of the yeast, not counted"), False


def _age(harvest: Harvest | None, lot: Lot | None, on: datetime.date | None) -> int | None:
    if on is None:
        return None
    if harvest is not None:
        since = harvest.at.at.date()
    else:
        day = (lot.made or lot.received) if lot is not None else None
        if day is None:
            return None
        since = day.date
    return (on - since).days if on >= since else None


def _living(
    pitch: PitchPlan, harvest: Harvest | None, lot: Lot | None, form: str, age: int | None
) -> Number:
    """Return the viability: as stained for the plan, else as it was, aged."""
    if pitch.viability is not None:
        return pitch.viability.value
    kept = harvest or lot
    stated = kept.viability if kept is not None else None
    if age is None:
        return 1.0 if stated is None else stated.value
    at = kept.stored_at.value if kept is not None and kept.stored_at is not None else KEPT_AT
    fresh = stated.value if stated is not None else FRESH
    given = {"age": float(age), "temperature": at, "fresh": fresh}
    taken = {name: nearest("yeast.viability", name, value) for name, value in given.items()}
    living = viability(taken["age"], taken["temperature"], AGES_AS[form], taken["fresh"])
    wide = max(living.expected - living.low, living.high - living.expected)
    if taken != given:
        # Frozen, boiled, or older than anything that was counted: anything from none to all.
        wide = 1.0
    return ufloat(living.expected, wide / 2, "viability of the yeast")
