"""What was weighed is not what was planned.

A weight that is off by more than a twentieth changes the beer; more often the decimal point slipped
or two items were swapped in typing.

Mend: compare with the sheet; if it is true, write a deviation in the review
Source: common practice, no source
Passes:
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7.0 kg}]}
Fails:
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7.7 kg}]}
"""

from collections import defaultdict
from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.checks.quantities import system_of
from reportgen.record.finding import Severity
from reportgen.record.unit_display import display_unit, format_quantity
from reportgen.record.values import Reading

GROUP = Group.TRUE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Compare the sum weighed of each item with the sum planned."""
    day = batch.record.brew_day
    if day is None:
        return
    plan = batch.record.plan
    planned: dict[str, float] = defaultdict(float)
    kinds: dict[str, str] = {}
    for item, amount in [
        *((g.malt, g.amount) for g in plan.grist),
        *((s.sugar, s.amount) for s in plan.sugars),
        *((h.hop, h.amount) for h in plan.all_hops),
        *((s.salt, s.amount) for s in plan.liquor.salts),
        *((a.acid, a.amount) for a in plan.liquor.acids),
    ]:
        planned[item] += amount.value
        kinds[item] = amount.kind
    weighed: dict[str, float] = defaultdict(float)
    last: dict[str, Reading] = {}
    for entry in day.weighed:
        if entry.amount.value is not None:
            weighed[entry.item] += entry.amount.value.value
            last[entry.item] = entry.amount
    for name, total in weighed.items():
        wanted = planned.get(name)
        if (
            wanted
            and total > 1.05 * wanted
            and total - wanted > 0.0005
            or wanted
            and total < 0.45 * wanted
        ):
            kind = kinds[name]
            yield Said(
                last[name].position,
                f"{name}: {_amount(total, kind, batch)} weighed,"
                f" {_amount(wanted, kind, batch)} planned",
                _amount(wanted, kind, batch),
            )


def _amount(value: float, kind: str, batch: Assessment) -> str:
    """Return a weight or volume as it is weighed out: little of it in the small unit."""
    small = value < 1.0
    # Acid is measured in millilitres everywhere.
    system = "metric" if kind == "volume" and small else system_of(batch)
    places = (0 if value >= 0.1 else 1) if small and system == "metric" else 2
    number = format_quantity(value, kind, system, places, small)
    return f"{number} {display_unit(kind, system, small)}"
