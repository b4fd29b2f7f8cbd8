"""What would not be found without a slip of the finger: one slip is to be one finding.

A slip in a plan, or in a figure of a kit, shows in every number that follows from it.
"""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from functools import partial
from typing import Any, TypeVar

from msgspec.structs import replace

from reportgen.assessment.assess import Assessment, assess, assess_by, same_trouble
from reportgen.assessment.ingredients import stocked
from reportgen.checks.base import Group, Remark, Remarks, Told, all_checks
from reportgen.record.digit_slips import in_other_units, parted, slips_of
from reportgen.record.each_value import quantity_of, values_in, with_value
from reportgen.record.fields import Entry
from reportgen.record.finding import Finding, Severity
from reportgen.record.kinds import KINDS, readable
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock
from reportgen.record.units import Quantity

STOPS = "forecast-stops"

MOST_MEANT = 3
"""Figures tried in the place of one: each takes an assessment."""

OfPart = Callable[[Any], Iterator[Remark]]
E = TypeVar("E", bound=Entry)


def undone(
    batch: Assessment, findings: Collection[Finding], told: Told, record: Record,
    brewery: Brewery | None = None, stock: Stock | None = None,
) -> tuple[set[Finding], set[Finding]]:
    """Return the findings that are gone with another record or house, and those that come of it.

    ``told`` gives what the checks say of an assessment. Nothing is gone where there is none. Without
    a house it is that of the record's day, or of the sheet's numbers.
    """
    of = replace(batch.batch, record=record)
    if _days(record) != _days(batch.record) and batch.house_then is None:
        made = assess(batch.archive, of)
    else:
        house = brewery or batch.brewery, stock or batch.stock
        made = assess_by(batch.archive, of, record, *house, before=batch)
    if made is None:
        return set(), set()
    made = replace(made, plan_then=batch.plan_then, house_then=batch.house_then)
    # Where the same steps stop for the same reasons, what stops them need not be looked for again:
    # that takes a forecast of the batch for each of its readings.
    stuck = made.problems != () and _stops(made) == _stops(batch)
    standing = [f for f in findings if stuck and f.rule == STOPS]
    then = {_key(finding): finding for finding in told(made, standing)}
    now = {_key(finding) for finding in findings}
    gone = {finding for finding in findings if _key(finding) not in then}
    return gone, {finding for key, finding in then.items() if key not in now}


def _days(record: Record) -> tuple[datetime.date | None, datetime.date | None]:
    """The days by which a record has its house, and its instruments."""
    return record.goes_by, record.brewed_on


def _stops(batch: Assessment) -> list[tuple[str, str]]:
    return [(stage, same_trouble(reason)) for stage, reason in batch.problems]


def warns_of_harm(finding: Finding) -> bool:
    """Whether a finding or all of its check is critical: such is never told in other words."""
    check = all_checks().get(finding.rule)
    return check is None or max(finding.severity, check.module.SEVERITY) > Severity.MAJOR


def follows(
    batch: Assessment, findings: Sequence[Finding], told: Told, of_part: OfPart,
    part: Entry | None = None,
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield what a check says of a part of the house, with the findings that only follow from it.

    These are the ones that are gone once the figure is one that the check has nothing against.
    One that warns of harm stays. Without a part it is the kit of the batch.
    """
    part = part or batch.kit
    for said in of_part(part):
        old = next((q for q in _quantities(part) if q.position == said.position), None)
        best: set[Finding] = set()
        for new in _sound(batch, old, of_part, part) if old is not None else ():
            brewery, stock = with_value(batch.brewery, old, new), with_value(batch.stock, old, new)
            gone, come = undone(batch, findings, told, batch.record, brewery, stock)
            if all(finding.severity < Severity.MAJOR for finding in come):
                best = max(best, gone, key=len)
        follow = {finding for finding in best if not warns_of_harm(finding)}
        if follow:
            yield as_cause(said, follow), follow


def follows_each(
    batch: Assessment, findings: Sequence[Finding], told: Told,
    of_entry: Callable[[str, E], Remarks], table: Mapping[str, E],
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield the same for each entry of a table of the stock that went into a batch, by its name."""
    for name in stocked(batch.record, batch.stock):
        if name in table:
            yield from follows(batch, findings, told, partial(of_entry, name), table[name])


def with_amount(record: Record, own: Finding, share: float) -> Record:
    """Return a record in which the amount that a finding stands at is a share of what it is."""
    old = next((q for q in _quantities(record) if q.position == own.position), None)
    if old is None:
        return record
    right = f"{share * old.value:.4g} {KINDS[old.kind].base}"
    return with_value(record, old, next(readable([right], old.kind, old.position), old))


def with_what_follows(
    batch: Assessment, findings: Sequence[Finding], told: Told, own: Finding, right: Record,
    is_amount: bool = True,
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield what a check says of a value, with what would not be found of the ``right`` record.

    At the place of an amount is that amount, whatever it should be; of the rest only harm follows
    from it, which is told in its own words. A critical limit that the brewer set stands for itself,
    and a decision against what was written of a deviation.
    """
    checks = all_checks()
    gone, _ = undone(batch, findings, told, right)
    here = {f for f in findings if f.position == own.position}
    review = batch.record.review
    is_written = review is not None and bool(review.deviations)
    decided = {
        f for f in gone | here
        if f.rule in checks and checks[f.rule].module.GROUP is Group.DEVIATIONS and warns_of_harm(f)
        and (is_written or checks[f.rule].module.SEVERITY > Severity.MAJOR)
    }
    following = {f for f in gone if warns_of_harm(f)} | here if is_amount else gone
    follow = sorted(following - decided - {own})
    if own not in gone or not follow:
        return
    harm = [f for f in follow if warns_of_harm(f)]
    rules = ", ".join(sorted({f.rule for f in follow}))
    write = [
        f.remedy for f in follow if is_amount and f.rule in checks and checks[f.rule].gives_way
    ]
    expected = (own.expected, *(f.expected for f in harm), f"findings that come of it: {rules}")
    yield Remark(
        own.position,
        "; ".join([own.message, *(f.message for f in harm)]),
        "; ".join(filter(None, expected)),
        "; ".join([own.remedy, *write]),
        max(f.severity for f in (own, *follow)),
    ), {own, *follow}


COMES_OF_IT = {Severity.MAJOR: "findings of batches come of it"}


def as_cause(said: Remark, follow: Collection[Finding]) -> Remark:
    """Return what is said of a figure of the house, as heavy as what batches hold because of it."""
    heavy = any(finding.severity >= Severity.MINOR for finding in follow)
    return replace(said, severity=Severity.MAJOR) if heavy else said


def _quantities(part: Entry) -> Iterator[Quantity]:
    for value in values_in(part):
        if (quantity := quantity_of(value)) is not None:
            yield quantity


def _sound(
    batch: Assessment, old: Quantity, of_part: OfPart, part: Entry
) -> Iterator[Quantity]:
    """Yield the figures that were probably meant: by slips of the digits, and by other units."""
    typed, _ = parted(old.text)
    if not typed:
        return
    for texts in (slips_of(old.text), in_other_units(typed, old.kind, old.unit, batch.brewery.system)):
        sound = (
            new for new in readable(texts, old.kind, old.position, batch.brewery.bare_gallon)
            if all(said.position != old.position for said in of_part(with_value(part, old, new)))
        )
        yield from itertools.islice(sound, MOST_MEANT)


def _key(finding: Finding) -> tuple[object, ...]:
    """What makes a finding the same, whatever numbers it tells."""
    return finding.rule, finding.position, same_trouble(finding.message)
