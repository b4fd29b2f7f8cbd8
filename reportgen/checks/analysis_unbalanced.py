"""A water analysis does not balance.

Positive and negative charges of a water are equal. A large difference means that an ion is missing,
mistyped or in another unit: alkalinity as CaCO3 for bicarbonate, nitrate as nitrogen. What only
follows from a slip of one ion in the records of batches is not listed until it is corrected.

Fix: compare with the laboratory's report; check the unit of the alkalinity
Source: Standard Methods 1030E; warning beyond 10 %
Passes:
    {}
Fails:
    brewery: {liquors: {reservoir: {calcium: 120 mg/L}}}
"""

from collections.abc import Iterator, Sequence

from reportgen.checks.alkalinity_missing import is_missing
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Told
from reportgen.checks.slip_undone import COMES_OF_IT, as_cause, undone, warns_of_harm
from reportgen.forecast.resolve import ions_of
from reportgen.record.digit_slips import slips_of
from reportgen.record.each_value import values_in, with_value
from reportgen.record.finding import Finding
from reportgen.record.kinds import readable
from reportgen.record.model.brewery import Liquor
from reportgen.record.units import Quantity
from reportgen.science.water import ion_balance

GROUP = Group.LIQUOR
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "the charges differ by more than 20 %", **COMES_OF_IT}

OFF, FAR_OFF = 10.0, 20.0
"""Percent: no analysis is so far off, and one of which a number is wrong."""


def check(batch: Assessment) -> Remarks:
    """Compute the ion balance of each liquor used."""
    for part in batch.record.plan.liquor.blend:
        liquor = batch.brewery.liquors[part.liquor]
        off = _balance(liquor)
        if abs(off) > OFF:
            yield Remark(
                liquor.position,
                f"{part.liquor}: charges differ by {off:+.0f} %",
                "within 5 %",
                severity=Severity.MINOR if abs(off) > FAR_OFF else None,
            )


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield what is said of a liquor, with what would not be found if one ion were no slip."""
    for said in check(batch):
        if said.severity is None:
            continue
        (liquor,) = (w for w in batch.brewery.liquors.values() if w.position == said.position)
        best: set[Finding] = set()
        for old in values_in(liquor, Quantity):
            for new in _balanced(liquor, old):
                brewery = with_value(batch.brewery, old, new)
                gone, _ = undone(batch, findings, told, batch.record, brewery)
                best = max(best, gone, key=len)
        follow = {finding for finding in best if not warns_of_harm(finding)}
        if len(follow) > 1:
            yield as_cause(said, follow), follow


def _balanced(liquor: Liquor, old: Quantity) -> Iterator[Quantity]:
    """Yield what a value was meant to be if the analysis balances by it."""
    for new in readable(slips_of(old.text), old.kind, old.position, None):
        if abs(_balance(with_value(liquor, old, new))) <= OFF:
            yield new


def _balance(liquor: Liquor) -> float:
    """Return by how much the charges of a liquor differ, in percent."""
    ions, alkalinity = ions_of(liquor)
    if is_missing(liquor) or not max(ions.values()):
        return 0.0
    return float(ion_balance({**ions, "alkalinity": alkalinity}))
