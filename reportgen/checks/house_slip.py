"""What the records of a kit show only because a figure of the kit is a slip."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from reportgen.assessment.assess import Assessment, assess_by, gallon_of, same_trouble
from reportgen.checks.base import Remark, Told
from reportgen.record.digit_slips import near
from reportgen.record.each_value import quantity_of, values_in
from reportgen.record.exchange import with_value
from reportgen.record.finding import Finding, Severity
from reportgen.record.kinds import read_quantity
from reportgen.record.model.brewery import Kit
from reportgen.record.units import Quantity, UnitError

OTHER_UNITS = {"time": ("min", "h"), "volume": ("mL", "L")}
"""Units that are written for one another in the figures of a kit."""

OfKit = Callable[[Kit], Iterator[Remark]]


def follows(
    batch: Assessment, findings: Sequence[Finding], told: Told, of_kit: OfKit
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield what a check says of the batch's kit, with the findings that only follow from it.

    These are the ones that are gone once the figure is one that the check has nothing against.
    One that warns of harm stays.
    """
    for said in of_kit(batch.kit):
        old = next((q for q in _quantities(batch.kit) if q.position == said.position), None)
        new = _sound(batch, old, of_kit) if old is not None else None
        if new is None:
            continue
        brewery = with_value(batch.brewery, old, new)
        made = assess_by(batch.archive, batch.batch, batch.record, brewery, batch.stock)
        if made is None:
            continue
        left = {_key(f) for f in told(made)}
        yield said, {
            f for f in findings if f.severity <= Severity.MAJOR and _key(f) not in left
        }


def _quantities(kit: Kit) -> Iterator[Quantity]:
    for _, value in values_in(kit):
        if (quantity := quantity_of(value)) is not None:
            yield quantity


def _sound(batch: Assessment, old: Quantity, of_kit: OfKit) -> Quantity | None:
    """Return the figure that was probably meant; None where no slip explains it."""
    typed = re.fullmatch(r"([0-9.]+)(.*)", old.text)
    if typed is None:
        return None
    texts = [f"{typed[1]} {unit}" for unit in OTHER_UNITS.get(old.kind, ())]
    texts += [number + typed[2] for number in near(typed[1])]
    for text in texts:
        try:
            new = read_quantity(text, old.kind, old.position, gallon_of(batch.brewery))
        except UnitError:
            continue
        kit = with_value(batch.kit, old, new)
        if all(said.position != old.position for said in of_kit(kit)):
            return new
    return None


def _key(finding: Finding) -> tuple[object, ...]:
    return finding.rule, finding.position, same_trouble(finding.message)
