"""An entry of the store is older than its lot.

What was counted, lost or found of a lot before it came in was of another lot, or one of the two days
is mistyped, often in the year. The entry counts all the same.

Fix: compare both days with the delivery note; write the entry under the lot that it is of
Source: order of time
Passes:
    stock: {malts: {pale: {lots: {M-1: {received: 2026-02-01, amount: 25 kg, entries: [{on: 2026-04-01, lost: 1 kg, because: mice}]}}}}}
Fails:
    stock: {malts: {pale: {lots: {M-1: {received: 2026-02-01, amount: 25 kg, entries: [{on: 2025-04-01, lost: 1 kg, because: mice}]}}}}}
"""

from reportgen.checks.base import Group, Remark, Remarks, Severity
from reportgen.record.load import Archive
from reportgen.record.model.stock import TABLES, Lot

GROUP = Group.STORE
SEVERITY = Severity.MINOR



def check_house(archive: Archive) -> Remarks:
    """Compare the days of each lot's entries with that of its delivery."""
    for table in TABLES if archive.stock is not None else ():
        for item in getattr(archive.stock, table).values():
            for number, lot in item.lots.items():
                yield from _of_lot(str(number), lot)


def _of_lot(number: str, lot: Lot) -> Remarks:
    came = lot.received or lot.made
    for entry in lot.entries:
        if came is not None and entry.on.date < came.date:
            yield Remark(
                entry.on.position, f"{entry.on} is before the lot {number} came in, {came}",
                f"{came} or later",
            )
