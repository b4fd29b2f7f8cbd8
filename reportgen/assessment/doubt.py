"""Readings in doubt: a later check found their instrument wrong by more than its U.

The check that held when a batch was read is the last good one; the next may find that the
instrument had moved since. How far it had moved on the day is not known: anything from nothing to
all of it. The record keeps its numbers; this says which readings are in doubt, how far ±U widens,
and what the readings could do to the beer: the same batch assessed with the instrument as found.

Without a correction the error is uniform between 0 and d, of mean square d²/3 (JCGM 100:2008,
4.3.7 and F.2.4.5). That an instrument found wrong puts what it read in doubt, and that this must
be looked into: ICH Q7 5.35, 21 CFR 211.160(b)(4) and 211.194(d).
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment, assess_by
from reportgen.assessment.day_weighed import scale_uncertainty, true_amount
from reportgen.assessment.instruments import check_on
from reportgen.assessment.log import GRAVITY, TEMPERATURE
from reportgen.assessment.readings import instrument_uncertainty
from reportgen.forecast.figures import FIGURES, Figure, Stage
from reportgen.record.finding import Position
from reportgen.record.model.brewery import Instrument, InstrumentCheck
from reportgen.science.number import nominal

FINISHED = ("original_gravity", "final_gravity", "alcohol")
"""Figures of the finished beer in which it is told what readings in doubt could do."""

WEIGHED = Figure("weighed", Stage.MASH, "Weight", "mass", 3, ("brew_day",), "scale")
"""What was weighed out, which is not a figure."""


class DoubtfulReading(Struct, frozen=True):
    """One reading. ``value``, ``shift`` and both ±U (k = 2) are in its figure's base unit.

    ``shift`` is what comes on top if the instrument read then as it was found. ``what`` is empty,
    or says which of several readings of the figure it is.
    """

    figure: Figure
    what: str
    value: float
    shift: float
    uncertainty: float
    position: Position | None

    @property
    def widened(self) -> float:
        """±U (k = 2) with what is not known of the instrument."""
        return math.hypot(self.uncertainty, 2 * self.shift / math.sqrt(3))


class Doubt(Struct, frozen=True):
    """An instrument in doubt for one batch.

    ``last_good`` is the day of the check before, None where there is none; ``found`` the check
    that found it wrong. ``finished`` has what each figure of :data:`FINISHED` would be more.
    """

    instrument: str
    last_good: datetime.date | None
    found: InstrumentCheck
    readings: tuple[DoubtfulReading, ...]
    finished: tuple[tuple[str, float], ...]


def doubts_of(batch: Assessment) -> tuple[Doubt, ...]:
    """Return every doubt that later checks of the instruments cast on a batch."""
    day, brewery = batch.record.brew_day, batch.archive.brewery
    if day is None or brewery is None:
        return ()
    doubts = []
    for name, instrument in brewery.instruments.items():
        check = next_check(instrument, day.date.date)
        if check is None or name not in batch.brewery.instruments:
            continue
        was = batch.brewery.instruments[name]
        if not _is_found_wrong(was, check):
            continue
        doubt = _doubt(batch, name, was, check)
        if doubt is not None:
            doubts.append(doubt)
    return tuple(doubts)


def next_check(instrument: Instrument, day: datetime.date) -> InstrumentCheck | None:
    """Return the first check after a day; None for none."""
    later = [c for c in instrument.checks if c.on.date > day]
    return min(later, key=lambda c: c.on.date, default=None)


def _is_found_wrong(was: Instrument, check: InstrumentCheck) -> bool:
    """Whether a check may find another offset than the one before, by more than ±U.

    With points the offset is another at each reading, and each reading says.
    """
    if (check.points and check.found_high_by is None) or any(c.points for c in was.checks):
        return True
    as_found = check.found_high_by or check.reads_high_by
    held = was.checks[-1].reads_high_by if was.checks else None
    before = held.value if held is not None else 0.0
    after = as_found.value if as_found is not None else 0.0
    return abs(after - before) > instrument_uncertainty(was, None)


def _doubt(
    batch: Assessment, name: str, was: Instrument, check: InstrumentCheck
) -> Doubt | None:
    as_found = check
    if check.found_high_by is not None:
        as_found = check.with_members(reads_high_by=check.found_high_by, points=())
    instruments = dict(batch.brewery.instruments)
    instruments[name] = was.with_members(checks=(as_found,))
    brewery = batch.brewery.with_members(instruments=instruments)
    other = assess_by(
        batch.archive, batch.batch, batch.record, brewery, batch.stock, before=batch
    )
    if other is None:
        return None
    readings = tuple(
        r for r in (*_figures(batch, other), *_log(batch, other), *_weighed(batch, other))
        if abs(r.shift) > r.uncertainty
    )  # fmt: skip
    if not readings:
        return None
    held = check_on(was, batch.record.brewed_on)
    return Doubt(
        name, held.on.date if held is not None else None, check, readings,
        tuple(_finished(batch, other)),
    )  # fmt: skip


def _figures(batch: Assessment, other: Assessment) -> Iterator[DoubtfulReading]:
    for one, two in zip(batch.packed_as, other.packed_as, strict=True):
        own = {result.figure.key for result in one.own_packing}
        where = f", {one.packed_in}" if one.filling_number else ""
        for key, actual in one.actuals.items():
            doubted = two.actuals.get(key)
            if (
                actual.raw is None
                or actual.value is None
                or doubted is None
                or doubted.value is None
            ):
                continue
            if one.filling_number and key not in own:
                # What is of the whole batch is told of the first containers.
                continue
            yield DoubtfulReading(
                FIGURES[key], where, actual.value, doubted.value - actual.value, actual.uncertainty,
                actual.reading.position,
            )  # fmt: skip


def _log(batch: Assessment, other: Assessment) -> Iterator[DoubtfulReading]:
    for a, b in zip(batch.log, other.log, strict=True):
        if a.gravity is not None and b.gravity is not None:
            yield DoubtfulReading(
                GRAVITY, f" of {a.at:%Y-%m-%d %H:%M}", a.gravity, b.gravity - a.gravity,
                a.gravity_uncertainty, a.gravity_position,
            )  # fmt: skip
        if a.temperature is not None and b.temperature is not None:
            yield DoubtfulReading(
                TEMPERATURE, f" of {a.at:%Y-%m-%d %H:%M}", a.temperature,
                b.temperature - a.temperature, a.temperature_uncertainty, a.temperature_position,
            )  # fmt: skip


def _weighed(batch: Assessment, other: Assessment) -> Iterator[DoubtfulReading]:
    for entry in batch.record.all_weighed:
        one = true_amount(batch.record, batch.brewery, entry.amount)
        two = true_amount(batch.record, other.brewery, entry.amount)
        if one is not None and two is not None and entry.amount.value is not None:
            u = scale_uncertainty(batch.record, batch.brewery, entry.amount)
            figure = replace(WEIGHED, kind=entry.amount.value.kind)
            yield DoubtfulReading(
                figure, f" of {entry.item}", one, two - one, u, entry.amount.position
            )


def _finished(batch: Assessment, other: Assessment) -> Iterator[tuple[str, float]]:
    for key in FINISHED:
        one, two = batch.as_brewed(key), other.as_brewed(key)
        if one is not None and two is not None:
            shift = nominal(two) - nominal(one)
            if abs(shift) >= 0.5 * 10 ** -FIGURES[key].decimals:
                yield key, shift
