"""A value is far outside the usual range.

Each field of the files has a wide usual range. A value outside it mostly has a wrong unit (7 min
of fermentation for 7 d, 6 F for 6 C, finings in kg) or a wrong decimal point. What was added on
the day is compared with what a plan may have of its kind. A gravity such as `1.048 P` has a unit
too many. A value in brewery.yaml or stock.yaml is named once, at its line.

Fix: correct the value or its unit; if it is right, silence this check with a reason
Source: common practice, no source; the ranges are in the schema of each file
Passes:
    plan: {fermentation: {time: 21 d}}
Fails:
    plan: {fermentation: {time: 7 min}}
"""

from __future__ import annotations

import functools
import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import NamedTuple

from msgspec.structs import replace

from reportgen.assessment.additions import thing
from reportgen.assessment.ingredients import stocked
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Told
from reportgen.checks.slip_undone import follows, undone, warns_of_harm
from reportgen.forecast.resolve import number_of
from reportgen.record.digit_slips import in_other_units, parted, slips_of
from reportgen.record.each_value import fields_in, quantity_of, values_in, with_value
from reportgen.record.fields import About, Entry
from reportgen.record.finding import Finding
from reportgen.record.kinds import KINDS, read_quantity, readable
from reportgen.record.load import Archive
from reportgen.record.model.brewery import Kit
from reportgen.record.model.plan import AcidItem, DryHop, FiningItem, GristItem, SaltItem, SugarItem
from reportgen.record.printed import Units
from reportgen.record.units import Quantity
from reportgen.science.method import OutOfRange

GROUP = Group.RECORD
SEVERITY = Severity.MINOR
ALSO = {
    Severity.MAJOR: "more of an ingredient than the batch can use, a figure of a kit, or findings of "
    "batches come of it"
}
LAST = True
CONTRADICTS = True

LEAST, MOST = 1.0, 2000.0
"""Litres of a batch, by which amounts are judged."""

OF_SIZE = (
    "fermenter-overfull", "forecast-stops", "kettle-overfull", "mash-too-thick",
    "sparge-without-liquor", "strike-too-hot", "tun-overfull", "unusual-value", "volume-missed",
)
"""What is found of a batch of a wrong size."""
THICKEST = 1.2
"""L of liquor for each kg of grist, below which nothing can be stirred: a malt is the slip."""
FEW, OVER = 0.25, 1.0
"""Shares of its vessel beyond which a volume may be the slip, and not what is against it."""

BOILING = 105.0
"""Above this temperature in degC the check fahrenheit-as-celsius speaks."""

ITEMS: dict[str, type[Entry]] = {
    "malt": GristItem, "sugar": SugarItem, "hop": DryHop, "salt": SaltItem, "acid": AcidItem,
    "fining": FiningItem,
}  # fmt: skip
LIKE: dict[str, About] = {
    kind: item.fields["amount"].about for kind, item in ITEMS.items()
}
"""What is declared of the amount of each kind of thing in a plan."""

SHIFTS = (100.0, 0.1, 10.0, 0.01)
"""Factors by which the point of a percentage slips, the usual ones first."""

_ROUNDED = 1e-9
_CONVERTED = ("temperature", "volume", "pressure")


class _Unlikely(NamedTuple):
    """What is said of a value, the value, and what may have been meant."""

    said: Remark
    value: Quantity
    meant: list[Quantity]


def check(batch: Assessment) -> Remarks:
    """Compare each value of the record with the range declared of its field."""
    for unlikely in _in_record(batch):
        yield unlikely.said


def _in_record(batch: Assessment) -> Iterator[_Unlikely]:
    system, volume = batch.brewery.system, batch.record.plan.fermenter_volume
    # Beside an error a value may be the one that was meant for the place of the other.
    for _, slot, value in fields_in(batch.record, batch.batch.faulty):
        quantity, declared = quantity_of(value), slot.said
        if quantity is None or (quantity.is_temperature and quantity.value > BOILING):
            continue
        if meant := _gravity_with_unit(quantity):
            said = Remark(
                quantity.position,
                f"`{quantity.text}` is a specific gravity with a unit of extract",
                "a specific gravity without a unit, or degrees such as 9.5 P or 9.8 Bx",
                f"did you mean {meant}?",
            )
            yield _Unlikely(said, quantity, [read_quantity(meant, "gravity")])
            continue
        if declared.usual is not None:
            yield from _outside(slot.key, declared.kind, quantity, declared.usual, system)
        # Of a batch of a wrong size every amount would be unlikely.
        if (usual := declared.usual_per_litre) is not None and LEAST <= volume.value <= MOST:
            yield from _outside(slot.key, declared.kind, quantity, usual, system, volume.value)


    if LEAST <= volume.value <= MOST:
        yield from _added(batch, system, volume.value)


def _added(batch: Assessment, system: str, litres: float) -> Iterator[_Unlikely]:
    """Hold what was added beyond the plan against the most that a plan may have of its kind."""
    for entry in batch.record.all_added:
        kind = thing(str(entry.what), batch.brewery, batch.stock)
        declared, quantity = LIKE.get(kind), entry.amount.value
        if declared is None or quantity is None or quantity.kind != declared.kind:
            continue
        if declared.usual_per_litre is not None:
            usual = ("0 " + declared.usual_per_litre[1].split()[1], declared.usual_per_litre[1])
            yield from _outside("amount", declared.kind, quantity, usual, system, litres)


def check_house(archive: Archive) -> Remarks:
    """Compare each value of brewery.yaml and stock.yaml with the range of its field."""
    brewery = archive.brewery
    system = brewery.system if brewery is not None else "metric"
    for kit in brewery.kits.values() if brewery is not None else ():
        yield from _of_kit(kit, system)
    for file, without in ((brewery, ("kits",)), (archive.stock, ())):
        if file is not None:
            yield from _in_house(file, system, without)


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield what is said of kit, liquors, stock and plan of a batch, with what follows from each.

    A reading that is a slip has a check of its own.
    """
    system = batch.brewery.system
    yield from follows(batch, findings, told, lambda kit: _of_kit(kit, system))
    liquors = (batch.brewery.liquors[o.liquor] for o in batch.record.plan.liquor.blend)
    for part in (*liquors, *stocked(batch.record, batch.stock).values()):
        yield from follows(batch, findings, told, lambda other: _in_house(other, system), part)
    left = set(findings)
    if len(left) < 2:
        return
    planned = {id(value) for value in values_in(batch.record.plan)}
    for said, old, meant in (*_of_size(batch, left), *_in_record(batch)):
        best: tuple[set[Finding], str] = (set(), "")
        for new in meant if id(old) in planned else ():
            record = with_value(batch.record, old, replace(new, position=old.position))
            gone, come = undone(batch, left, told, record)
            gone = {finding for finding in gone if not warns_of_harm(finding)}
            if len(gone) > max(len(best[0]), 1) and all(other.severity < SEVERITY for other in come):
                best = gone, new.text
        gone, text = best
        if gone:
            left -= gone
            yield replace(
                said,
                expected=f"{said.expected}; other findings that come of it: {len(gone) - 1}",
                remedy=f"did you mean {text}?",
                severity=max(finding.severity for finding in gone),
            ), gone


def _of_size(batch: Assessment, findings: Collection[Finding]) -> Iterator[_Unlikely]:
    """Yield an amount of the plan that is far from what a vessel or the mash holds, where several
    things are against it."""
    if sum(finding.rule in OF_SIZE for finding in findings) < 2:
        return
    for amount, least, most, expected in _sizes(batch):
        if least <= amount.value <= most:
            continue
        number, _ = parted(amount.text)
        units = in_other_units(number, amount.kind, amount.unit, batch.brewery.system)
        texts = (*slips_of(amount.text), *units)
        meant = [other for other in readable(texts, amount.kind) if least <= other.value <= most]
        said = Remark(
            amount.position, f"`{amount.text}` does not go with the kit and the amounts", expected
        )
        yield _Unlikely(said, amount, meant)


def _sizes(batch: Assessment) -> Iterator[tuple[Quantity, float, float, str]]:
    """Yield amounts of a plan that all else hangs on, each from and to where it may be right."""
    plan, kit = batch.record.plan, batch.kit
    liquor = plan.liquor.mash_liquor
    for volume, few, vessel, word in (
        (plan.fermenter_volume, FEW, kit.fermenter, "fermenter"),
        (liquor, FEW, kit.tun, "mash tun"), (plan.liquor.sparge_liquor, 0.0, kit.kettle, "kettle"),
    ):  # fmt: skip
        if volume is not None:
            holds = vessel.volume.value
            expected = f"{'about' if few else 'at most'} what the {word} holds, {vessel.volume.text}"
            yield volume, few * holds, OVER * holds, expected
    if plan.grist and liquor is not None:
        heaviest, *others = sorted((item.amount for item in plan.grist), key=lambda a: -a.value)
        most = liquor.value / THICKEST - math.fsum(other.value for other in others)
        yield heaviest, 0.0, most, f"{THICKEST:g} L of liquor or more for each kg of grist"


def _of_kit(kit: Kit, system: str) -> Remarks:
    """Go through the figures of a kit, from which the forecast of each of its batches follows."""
    for said in _in_house(kit, system):
        yield replace(said, severity=Severity.MAJOR)


def _in_house(entry: Entry, system: str, without: tuple[str, ...] = ()) -> Remarks:
    for _, slot, value in fields_in(entry, without):
        quantity, usual = quantity_of(value), slot.said.usual
        if quantity is None or usual is None:
            continue
        for said, *_ in _outside(slot.key, slot.said.kind, quantity, usual, system):
            # Nothing silences a check in these files.
            yield replace(said, remedy=said.remedy or "correct the value or its unit")


def _outside(
    key: str, kind: str, quantity: Quantity, usual: tuple[str, str], system: str,
    litres: float = 1.0,
) -> Iterator[_Unlikely]:
    low, high = (_bound(text, kind) for text in usual)
    if _is_within(quantity, low, high, litres):
        return
    # Too much of an ingredient is drunk; what is too little is only missed.
    is_too_much = litres != 1.0 and quantity.value > high.value * litres
    message, expected = f"`{quantity.text}` is unlikely for `{key}`", _range(low, high, system)
    if litres != 1.0:
        message += f" in {Units(system).plain(litres, 'volume', 1)}"
        expected = f"{usual[0]} to {usual[1]} per litre of the batch"
        if low.value <= 0:
            expected = f"at most {usual[1]} per litre of the batch"
    units, slips = _meant(quantity, low, high, litres)
    likely = next((ways[0].text for ways in (units, slips) if len(ways) == 1), "")
    said = Remark(
        quantity.position,
        message,
        expected,
        f"did you mean {likely}?" if likely else "",
        Severity.MAJOR if is_too_much else None,
    )
    yield _Unlikely(said, quantity, units + slips)


def _gravity_with_unit(quantity: Quantity) -> str:
    """Return the specific gravity that was typed with a unit of extract; empty for any other.

    No saccharometer or refractometer is read to a thousandth of a degree.
    """
    number = quantity.text.split()[0] if quantity.text.split() else ""
    is_fine = len(number.partition(".")[2]) >= 3
    if quantity.unit not in ("P", "Bx") or not is_fine:
        return ""
    low, high = KINDS["gravity"].usual
    return number if low <= quantity.number <= high else ""


@functools.lru_cache(maxsize=512)
def _bound(text: str, kind: str) -> Quantity:
    return read_quantity(text, kind)


def _is_within(quantity: Quantity, low: Quantity, high: Quantity, litres: float) -> bool:
    if quantity.unit == "Bx":
        # In fermenting wort degrees Brix are not its gravity.
        return True
    try:
        value = number_of(quantity)
    except OutOfRange:
        return False
    return low.value * litres <= value + _ROUNDED and value - _ROUNDED <= high.value * litres


def _meant(
    quantity: Quantity, low: Quantity, high: Quantity, litres: float
) -> tuple[list[Quantity], list[Quantity]]:
    """Return the other ways to write the number that lie in the range.

    First those in the units that are written for one another, then the slips of the finger; of a
    percentage only the likeliest.
    """

    def fitting(texts: Iterable[str]) -> list[Quantity]:
        ways: dict[float, Quantity] = {}
        for other in readable(texts, quantity.kind):
            if _is_within(other, low, high, litres):
                ways.setdefault(other.value, other)
        return list(ways.values())

    if quantity.is_share:
        return [], fitting(f"{quantity.number * shift:g} %" for shift in SHIFTS)[:1]
    units = in_other_units(f"{quantity.number:g}", quantity.kind, quantity.unit, "metric")
    return fitting(units), fitting(slips_of(quantity.text))


def _range(low: Quantity, high: Quantity, system: str) -> str:
    if low.kind not in _CONVERTED:
        return f"{low.text} to {high.text}"
    return " to ".join(
        Units(system).plain(bound.value, bound.kind, 0 if bound.value == round(bound.value) else 2)
        for bound in (low, high)
    )
