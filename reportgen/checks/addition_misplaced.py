"""Something was added where it makes no sense, or in a wrong unit.

Malt belongs in the mash, yeast in the fermenter, a culture that `sours` may be in the kettle; liquor is measured by volume, hops by weight. An
entry that fits neither has a wrong name, place or unit, and is not counted. The units of what was
weighed for the plan are checked too. Hops may go into the mash, but no calculation gives their
bitterness: a note says that they are not counted.

Fix: correct `what`, `to` or the unit of `amount`
Source: common practice, no source
Passes:
    brew_day: {date: 2026-03-14, added: [{what: reservoir, amount: 2 L, to: kettle}]}
Fails:
    brew_day: {date: 2026-03-14, added: [{what: pale, amount: 500 g, to: fermenter}]}
"""

from reportgen.assessment.additions import PLACES, UNITS, can_be_in, entries_of, thing
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.model.brew_day import Added
from reportgen.record.printed import in_units_of
from reportgen.record.values import Reading

GROUP = Group.RECORD
SEVERITY = Severity.MAJOR
ALSO = {Severity.NOTE: "hops in the mash"}

_WORDS = {"mass": "a weight, e.g. 500 g", "volume": "a volume, e.g. 2.0 L"}


def check(batch: Assessment) -> Remarks:
    """Compare each addition with the places and units of its kind."""
    for addition in entries_of(batch.record):
        entry = addition.entry
        if not isinstance(entry, Added):
            continue
        kind = thing(str(entry.what), batch.brewery, batch.stock)
        if not kind:
            continue
        if not can_be_in(kind, entry, batch.stock):
            yield Remark(
                entry.to.position,
                f"{entry.what} is a {kind}, and the {entry.to} is the wrong place for it",
                ", ".join(PLACES[kind]),
            )
        elif kind == "hop" and entry.to == "mash":
            yield Remark(
                entry.to.position,
                f"{entry.what} in the mash: its bitterness is not counted",
                "a measured bitterness, if it matters",
                "write the bitterness under `analysis`, or judge it at the tasting",
                severity=Severity.NOTE,
            )
        value = entry.amount.value
        if value is not None and value.kind not in UNITS[kind]:
            yield _in_another_unit(batch, entry.what, kind, entry.amount)
        elif value is not None and value.value <= 0:
            yield Remark(
                entry.amount.position,
                f"{value.text} of {entry.what} is not an addition",
                in_units_of(batch.brewery.system, f"{_WORDS[value.kind]}, above 0"),
                "correct the amount, or delete the entry",
            )
    for weighed in batch.record.all_weighed:
        kind = thing(str(weighed.item), batch.brewery, batch.stock)
        value = weighed.amount.value
        if kind and value is not None and value.kind not in UNITS[kind]:
            yield _in_another_unit(batch, weighed.item, kind, weighed.amount)


def _in_another_unit(batch: Assessment, name: str, kind: str, amount: Reading) -> Remark:
    text = amount.value.text if amount.value is not None else ""
    return Remark(
        amount.position,
        f"{text} of {name}: wrong kind of unit for a {kind}",
        in_units_of(batch.brewery.system, " or ".join(_WORDS[unit] for unit in UNITS[kind])),
    )
