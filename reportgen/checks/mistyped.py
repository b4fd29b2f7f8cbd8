"""A number or a day was mistyped.

A nought left out (1.12 for 1.012), two digits exchanged (1.064 for 1.046), one typed twice, a point
in the wrong place, a single wrong digit, another unit, a time twelve hours off, a day of another
year or with another tens digit, two readings in each other's place. Such a reading contradicts
others, and each of them says so. Where one slip taken back would leave none of that, it is reported
once, in the place of all that comes of it. Until it is corrected the number counts as it was typed.

Fix: compare with the sheet
Source: common practice, no source; the slips are those of any typed number
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.012}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.12}
"""

from __future__ import annotations

import datetime
import itertools
import math
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from typing import NamedTuple

from msgspec.structs import replace

from reportgen.assessment.log import is_in_order, last_gravity
from reportgen.checks import clock_backwards
from reportgen.checks.base import Assessment, Group, Remark, Severity, Told, contradictions
from reportgen.checks.slip_undone import undone, warns_of_harm
from reportgen.checks.weighed_differs import planned_items
from reportgen.forecast.resolve import number_of
from reportgen.record.digit_slips import in_other_units, misread, parted, slips_of
from reportgen.record.each_value import fields_in, with_value
from reportgen.record.finding import Finding, Position
from reportgen.record.kinds import KINDS, readable
from reportgen.record.model.batch import Record
from reportgen.record.units import Quantity
from reportgen.record.values import Clock, Day, Moment, Reading
from reportgen.science.density import extract_from_gravity, gravity_from_extract
from reportgen.science.method import OutOfRange
from reportgen.science.number import nominal
from reportgen.science.refractometer import extract_from_brix

GROUP = Group.READINGS
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "as heavy as the heaviest of what comes of it"}

OF_TWO = frozenset({"gravity-rises", "final-differs-from-log"})
"""Checks of the log that speak at the later of two gravities."""

MOST_TRIES = 24
"""Numbers tried for one record: each is a whole assessment of it."""

CLOSER = 0.3
"""The share of the distance to what was expected that may be left."""
FAR = 0.2
"""Share of what was expected from which on a reading can be a slip, where a kind has no width of
its own that is wide for it: nearer by, it may well be true. What is meant lies within."""

MISREAD = 2
"""Kinds of contradiction that another digit must end, since any number is a digit from many, and
any slip of a reading that is not far off."""

SG_DECIMALS = 4
"""More of them no hydrometer or density meter of a brewery shows."""

COLD = 5.0
"""degC down to which wort on its way to the fermenter is no sample."""
COOL = 40.0
"""degC up to which a sample may be for a hydrometer (trusted range of its correction)."""

PAIRED = 6
"""Readings with findings of which any two are tried in each other's place."""

Typed = Quantity | Clock | Day | Moment


class _Suspect(NamedTuple):
    """A number, where what is found of it stands, and whether any other number could be meant."""

    typed: Typed
    place: Position | None
    may_be_any: bool


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield each number that is a slip, with the findings that would not be there without it.

    ``told`` gives what the checks say of an assessment.
    """
    left, tries = set(findings), MOST_TRIES
    if not _is_against(left):
        return
    suspects, changes = _suspects(batch, findings), list[tuple[Typed, Typed]]()
    for suspect, other in _exchanged(batch, suspects):
        here = {f for f in left if f.position in (suspect.place, other.place)}
        first, second = _put(suspect.typed, other.typed), _put(other.typed, suspect.typed)
        gone, _ = _gone_with(batch, [(suspect.typed, first), (other.typed, second)], left, told)
        tries -= 1
        if here <= gone and len(gone) > 1 and _is_against(gone):
            left -= gone
            message = f"`{other.typed.text}` and `{suspect.typed.text}` stand in each other's place"
            yield _said(other.place, gone, message, "exchange the two, if the sheet has them so")
    # What a slip hides of an earlier one shows once it is taken back: that one is tried again.
    waiting, tried = list(suspects), list[_Suspect]()
    while waiting and len(left) > 1 and _is_against(left):
        old, place, may_be_any = suspect = waiting.pop(0)
        # A boil or mash cut short is no slip; only an order of things that cannot be.
        kinds = {"clock-backwards"} if isinstance(old, Clock) else contradictions()
        may_go = _before_fermentation(batch, left) if isinstance(old, Clock) else left
        if kinds.isdisjoint(f.rule for f in left) or len(may_go) < 2:
            tried.append(suspect)
            continue
        # What warns of harm stays there, whatever was meant.
        here = {f for f in left if f.position == place and not warns_of_harm(f)}
        best: tuple[int, set[Finding], Typed] = (1, set(), old)
        meant = itertools.chain(_meant(batch, old, may_be_any, here), _as_logged(batch, old))
        for new, fewest in meant if here or may_be_any else ():
            if tries <= 0:
                break
            if isinstance(old, Clock) and not _turns_forward(batch, [*changes, (old, new)], left):
                continue
            tries -= 1
            gone, hidden = _gone_with(batch, [*changes, (old, new)], left, told)
            rules = {f.rule for f in gone}
            # Three checks that all speak of one number are as good as two contradictions.
            enough = len(rules & kinds) >= fewest or (bool(rules & kinds) and len(rules) > fewest)
            if here <= gone and enough and len(gone) - hidden > best[0]:
                best = len(gone) - hidden, gone, new
        _, gone, right = best
        if not gone:
            tried.append(suspect)
            continue
        left -= gone
        changes.append((old, right))
        waiting, tried = [*tried, *waiting], []
        message = f"`{old.text}` does not fit what else is written; `{right.text}` would"
        remedy = f"did you mean {right.text}? Compare with the sheet"
        yield _said(old.position, gone, message, remedy)


def _said(
    place: Position | None, gone: set[Finding], message: str, remedy: str
) -> tuple[Remark, set[Finding]]:
    expected = f"{len(gone)} findings come of it: {', '.join(sorted({f.rule for f in gone}))}"
    heaviest = max((SEVERITY, *(f.severity for f in gone)))
    return Remark(place, message, expected, remedy, heaviest), gone


def _is_against(gone: Collection[Finding]) -> bool:
    return any(f.rule in contradictions() for f in gone)


def _exchanged(
    batch: Assessment, suspects: Sequence[_Suspect]
) -> Iterator[tuple[_Suspect, _Suspect]]:
    """Yield pairs of readings of a kind of which each is what was expected of the other."""
    known = []
    for suspect in suspects:
        if isinstance(suspect.typed, Quantity):
            wanted, value = _expected(batch, suspect.typed), _value(suspect.typed)
            if wanted is not None and value is not None:
                known.append((suspect, value, wanted))
    for (suspect, mine, wish), (other, its, aim) in itertools.combinations(known[:PAIRED], 2):
        near_by = (
            abs(its - wish) <= CLOSER * abs(mine - wish)
            and abs(mine - aim) <= CLOSER * abs(its - aim)
        )
        if near_by and getattr(suspect.typed, "kind", "") == getattr(other.typed, "kind", ""):
            yield suspect, other


def _put(place: Typed, text: Typed) -> Typed:
    """Return what one reading says in the place of another."""
    assert isinstance(text, Quantity)
    return replace(text, position=place.position)


def _suspects(batch: Assessment, findings: Sequence[Finding]) -> list[_Suspect]:
    """Return the numbers that findings stand at, those with the most of them first.

    A finding stands at the later of two times or gravities, of which the earlier may be the slip;
    a day that several name is before each of theirs.
    """
    record, rules = batch.record, {f.rule for f in findings}
    suspects: list[tuple[_Suspect, int]] = []
    for section in (record.brew_day, record.fermentation, record.packaging, record.analysis):
        for _, slot, value in fields_in(section) if section is not None else ():
            if isinstance(value, Reading):
                in_log = slot.key == "gravity"
                earlier = in_log and not rules.isdisjoint(OF_TWO)
                sample = value.sample_temperature
                # A cool sample is what is asked for; how warm or cold another was, anyone may have
                # read.
                odd = sample is not None and not COLD < sample.value <= COOL
                both = ((value.value, in_log), (sample, odd))
                for typed, any_size in reversed(both) if odd else both:
                    if typed is not None:
                        suspects.append((_Suspect(typed, value.position, any_size), earlier))
            elif isinstance(value, (Day, Moment)):
                named = sum(f.rule in contradictions() and str(value) in f.message for f in findings)
                suspects.append((_Suspect(value, value.position, True), named))
            elif isinstance(value, Clock):
                at = _Suspect(value, value.position, True)
                suspects.append((at, "clock-backwards" in rules))
            elif isinstance(value, Quantity):
                suspects.append((_Suspect(value, value.position, False), False))
    lines = [f.position.line for f in findings]

    def order(at: tuple[_Suspect, int]) -> tuple[int, int]:
        place, more = at[0].place, at[1]
        far = min(abs(line - place.line) for line in lines) if place is not None else 0
        return -(more + sum(f.position == place for f in findings)), far

    ranked = sorted(((order(at), at[0]) for at in suspects), key=lambda at: at[0])
    return [suspect for (count, _), suspect in ranked if count]


def _meant(
    batch: Assessment, old: Typed, may_be_any: bool, here: Collection[Finding] = ()
) -> Iterator[tuple[Typed, int]]:
    """Yield what a number may have been meant to be, the nearest to what was expected first.

    With each comes how many kinds of contradiction it must end: of a single wrong digit more. Where
    nothing was expected there is nothing unless it ``may_be_any``; one near what was expected may
    well be true, unless what is found ``here`` says that another reading is against it.
    """
    if isinstance(old, Clock):
        yield from ((time, 1) for time in _other_times(old))
        return
    if isinstance(old, (Day, Moment)):
        for day in _other_days(old):
            if isinstance(day, Day) or is_in_order(
                day if entry.at is old else entry.at for entry in batch.record.log
            ):
                yield day, 1
        return
    typed, rest = parted(old.text)
    if not typed:
        return
    wanted, gallon = _expected(batch, old), batch.brewery.bare_gallon
    of_wort = _is_of_wort(batch, old)
    value = _value(old, of_wort)
    texts = [(text, 1) for text in slips_of(old.text)]
    most = math.inf
    if wanted is not None:
        most = _far(old.kind, wanted)
        if value is not None:
            off = abs(value - wanted)
            if off < most / 2 and not _is_against(here):
                return
            if off < most:
                texts = [(text, MISREAD) for text, _ in texts]
            texts += [(number + rest, MISREAD) for number in misread(typed)]
            if value == 0 and old.unit == KINDS[old.kind].base:
                # A nought for what was not measured: it counts as expected.
                texts.append((f"{wanted:.3g} {old.unit}", 1))
            most = min(CLOSER * off, most)
    elif not may_be_any:
        return
    # A record may be in gallons in a house of litres.
    unit = batch.record.plan.fermenter_volume.unit
    system = next((s for s in ("US", "imperial") if unit.startswith(s[:3])), batch.brewery.system)
    texts += [(text, 1) for text in in_other_units(typed, old.kind, old.unit, system)]
    instruments = batch.brewery.instruments.values()
    if old.unit == "SG" and value is not None and any(i.reads == "refractometer" for i in instruments):
        # On the SG scale of a refractometer beer has another gravity than it has.
        texts.append((f"{nominal(extract_from_gravity(value)):.1f} Bx", 1))
    meant: list[tuple[Quantity, int, float]] = []
    for text, fewest in texts:
        new = next(readable([text], old.kind, old.position, gallon), None)
        if new is None or (new.unit == "SG" and len(text.partition(".")[2]) > SG_DECIMALS):
            continue
        number = _value(new, of_wort)
        # Of degrees Brix of beer it is not known how near they come: they are tried last.
        off = abs(number - wanted) if wanted is not None and number is not None else (
            0.0 if wanted is None else most
        )
        if wanted is None and old.is_temperature and new.value > COOL:
            continue
        if off <= most and new.text != old.text:
            meant.append((new, fewest, off))
    yield from ((new, fewest) for new, fewest, _ in sorted(meant, key=lambda way: way[1:]))


def likely(batch: Assessment, read: Quantity) -> Iterator[Typed]:
    """Yield what a reading far off was by its digits meant to be, nearest to what was expected.

    Degrees Brix of beer are not: how near they come is not known before they are tried.
    """
    of_wort = _is_of_wort(batch, read)
    return (
        new for new, fewest in _meant(batch, read, False)
        if fewest < MISREAD and (of_wort or getattr(new, "unit", "") != "Bx")
    )


def _as_logged(batch: Assessment, old: Typed) -> Iterator[tuple[Typed, int]]:
    """Yield what the log ends with, where a number is the final gravity: tried after its slips."""
    final, last = batch.actuals.get("final_gravity"), last_gravity(batch.record)
    if final is not None and final.reading.value is old and last is not None:
        yield replace(last[1], position=old.position), 1


def _is_of_wort(batch: Assessment, old: Quantity) -> bool:
    """Whether a number is the gravity of wort, so that degrees Brix of it are so many Plato."""
    return any(
        r.actual is not None and r.actual.reading.value is old and not r.figure.has_alcohol
        for r in batch.results
    )


def _value(quantity: Quantity, of_wort: bool = False) -> float | None:
    """Return a quantity in its base unit; None for degrees Brix that may be of beer."""
    try:
        if quantity.unit == "Bx":
            extract = extract_from_brix(quantity.number)
            return nominal(gravity_from_extract(extract)) if of_wort else None
        return number_of(quantity)
    except OutOfRange:
        return None


def _far(kind: str, wanted: float) -> float:
    width = KINDS[kind].width if kind in KINDS else None
    return width.wide if width is not None and width.wide else FAR * abs(wanted)


def _expected(batch: Assessment, old: Quantity) -> float | None:
    """Return what was expected of a reading, in its base unit; None for what has no such number."""
    for result in batch.results:
        actual = result.actual
        if actual is not None and actual.reading.value is old and result.expected is not None:
            return result.expected.value
    for entry in batch.record.all_weighed:
        planned = planned_items(batch.record.plan).get(entry.item)
        if entry.amount.value is old and planned is not None:
            return planned.nearest(old.value, is_under_way=True) or None
    return None


def _other_times(old: Clock) -> Iterator[Clock]:
    hours, minutes = divmod(old.minutes, 60)
    swapped = (hours % 10) * 10 + hours // 10, (minutes % 10) * 10 + minutes // 10
    # Of two that would do, the nearer comes first.
    times = [(hours - 1, minutes), (hours + 1, minutes), (hours, swapped[1]), (swapped[0], minutes)]
    times += [(hours + by, minutes) for by in (-10, 10, -12, 12)] + [(minutes, hours)]
    for hour, minute in times:
        if 0 <= hour < 24 and 0 <= minute < 60 and (hour, minute) != (hours, minutes):
            yield Clock(60 * hour + minute, f"{hour:02d}:{minute:02d}", old.position)


def _other_days(old: Day | Moment) -> Iterator[Day | Moment]:
    """Yield days that are typed for one another: by the tens, of the year beside, exchanged."""
    day = old.date if isinstance(old, Day) else old.at.date()
    for year, month, number in (
        (day.year + 1, day.month, day.day), (day.year - 1, day.month, day.day),
        (day.year, day.day, day.month), (day.year, day.month + 1, day.day),
        (day.year, day.month - 1, day.day),
        *((day.year, day.month, day.day + tens) for tens in (-10, 10, -20, 20)),
    ):  # fmt: skip
        try:
            then = datetime.date(year, month, number)
        except ValueError:
            continue
        if then == day:
            continue
        if isinstance(old, Day):
            yield Day(then, then.isoformat(), old.position)
        else:
            at = datetime.datetime.combine(then, old.at.time())
            yield Moment(at, f"{at:%Y-%m-%d %H:%M}", old.position)


def _changed(record: Record, changes: Sequence[tuple[Typed, Typed]]) -> Record:
    for old, new in changes:
        record = with_value(record, old, new)
    return record


def _before_fermentation(batch: Assessment, left: Collection[Finding]) -> list[Finding]:
    """Return what a clock of the brew day may have to do with: not how warm the beer was later."""
    made = batch.record.fermentation
    end = made.position.line if made is not None and made.position is not None else math.inf
    return [f for f in left if f.rule in contradictions() or f.position.line < end]


def _turns_forward(
    batch: Assessment, changes: Sequence[tuple[Typed, Typed]], left: set[Finding]
) -> bool:
    """Whether fewer times run backwards with other ones: the record says so without a forecast."""
    then = replace(batch, record=_changed(batch.record, changes))
    still = Counter(said.position for said in clock_backwards.check(then) if said.position)
    return bool(Counter(f.position for f in left if f.rule == "clock-backwards") - still)


def _gone_with(
    batch: Assessment, changes: Sequence[tuple[Typed, Typed]], left: set[Finding], told: Told
) -> tuple[set[Finding], int]:
    """Return the findings that are not there with other numbers; none where others come of them.

    What warns of harm is told all the same. Of a time one may come that the wrong one hid: how many
    do is returned as well.
    """
    gone, come = undone(batch, left, told, _changed(batch.record, changes))
    heavy = [finding for finding in come if finding.severity >= SEVERITY]
    hidden = 0 if isinstance(changes[-1][0], Quantity) or len(gone) <= MISREAD else 1
    if len(heavy) > hidden:
        return set(), 0
    return {finding for finding in gone if not warns_of_harm(finding)}, len(heavy)
