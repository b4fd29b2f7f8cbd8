"""More was added or taken out than the vessel holds.

A decimal point in the wrong place, or millilitres typed as litres, shows here.

Fix: correct the amount or its unit
Source: the record against the kit
Passes:
    brew_day: {date: 2026-03-14, added: [{what: reservoir, amount: 2 L, to: kettle}]}
Fails:
    brew_day: {date: 2026-03-14, added: [{what: reservoir, amount: 200 L, to: kettle}]}
"""

from collections.abc import Iterator

from reportgen.assessment.additions import entries_of
from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.checks.quantities import volume
from reportgen.record.finding import Severity
from reportgen.science.number import nominal

GROUP = Group.RECORD
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare each volume, and each weight as if it were water, with the vessel's brim."""
    case, packed = batch.case, batch.now.expected.get("packaged_volume")
    brims = {
        "mash": case.tun_volume, "sparge": 2 * case.kettle_brim, "kettle": case.kettle_brim,
        "fermenter": case.fermenter_brim,
        "container": case.fermenter_brim if packed is None
        else packed.value - nominal(batch.brewed.added_to("container")),
    }  # fmt: skip
    for found in entries_of(batch.record):
        value = found.entry.amount.value
        brim = brims[found.place]
        if value is not None and value.kind in ("volume", "mass") and value.value > brim:
            yield Remark(
                found.entry.amount.position,
                f"{value.text} is more than the {found.place} holds",
                f"less than {volume(brim, batch)}",
            )
