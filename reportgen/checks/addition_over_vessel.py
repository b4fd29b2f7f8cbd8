"""More was added or taken out than the vessel holds.

A decimal point in the wrong place, or millilitres typed as litres, shows here. An entry above the
brim of its vessel (of containers: the brim of the fermenter) is not counted. No more can be taken
out of a vessel than was in it.

Fix: correct the amount or its unit
Source: the record against the kit
Passes:
    brew_day: {date: 2026-03-14, added: [{what: reservoir, amount: 2 L, to: kettle}]}
Fails:
    brew_day: {date: 2026-03-14, added: [{what: reservoir, amount: 200 L, to: kettle}]}
"""

from reportgen.assessment.additions import entries_of
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume
from reportgen.record.model.brew_day import Taken
from reportgen.science.number import nominal

GROUP = Group.RECORD
SEVERITY = Severity.MAJOR


HELD = {"kettle": "kettle_volume", "fermenter": "fermenter_volume", "container": "packaged_volume"}
"""Figures of what is in each place."""


def _filled(batch: Assessment) -> dict[int, float]:
    """Return by the id of each entry the beer in the containers that it went into, where there are
    several kinds and this was written."""
    return {
        id(entry): nominal(filling.amount)
        for filling in batch.kinds_filled
        if filling.entry is not None and filling.amount is not None
        for entry in filling.entry.added
    }


def check(batch: Assessment) -> Remarks:
    """Compare each volume, and each weight as if it were water, with the vessel's brim."""
    case, packed = batch.case, batch.now.expected.get("packaged_volume")
    taken: dict[str, float] = {}
    filled = _filled(batch)
    for addition in entries_of(batch.record):
        value, place = addition.entry.amount.value, addition.place
        if value is None or value.kind not in ("volume", "mass"):
            continue
        brim = case.brim_of(place)
        if place == "container" and packed is not None:
            brim = packed.value - nominal(batch.brewed.added_to("container"))
            brim = min(brim, filled.get(id(addition.entry), brim))
        if value.value > brim:
            yield Remark(
                addition.entry.amount.position,
                f"{value.text} is more than the {place} holds",
                f"less than {volume(brim, batch)}",
            )
        elif isinstance(addition.entry, Taken):
            taken[place] = taken.get(place, 0.0) + value.value
            held = batch.now.expected.get(HELD.get(place, ""))
            if held is not None and taken[place] > held.value + held.uncertainty:
                yield Remark(
                    addition.entry.amount.position,
                    f"{volume(taken[place], batch)} taken from the {place}, which held "
                    f"{volume(held.value, batch)}",
                    f"less than {volume(held.value, batch)}",
                )
