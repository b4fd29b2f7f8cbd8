"""A later check found the instrument wrong, so readings are in doubt.

The check before was the last good one. If the next check finds that the instrument differs by
more than its ±U, it may have been wrong on the brew day already. The record keeps its numbers and
verdicts. The finding names the readings, and what they could do to original gravity, final
gravity and alcohol. A closed deviation that names the instrument answers it.

Fix: investigate, then write a deviation with `instrument`, what it did, and who closed it
Source: ICH Q7 5.35; 21 CFR 211.160(b)(4) and 211.194(d); ±U by JCGM 100:2008, F.2.4.5
Passes:
    brewery:
      instruments:
        thermometer:
          checks: [{on: 2026-01-02}, {on: 2026-06-01, reads_high_by: 0.3 K}]
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66 C}}
Fails:
    brewery:
      instruments:
        thermometer:
          checks: [{on: 2026-01-02}, {on: 2026-06-01, reads_high_by: 1.3 K}]
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66 C}}
"""

from reportgen.assessment.doubt import Doubt, DoubtfulReading, doubts_of
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import value_of, width_of
from reportgen.forecast.figures import FIGURES

GROUP = Group.READINGS
SEVERITY = Severity.MINOR

MOST = 6
"""Readings named in one finding; of more it is said how many there are."""


def check(batch: Assessment) -> Remarks:
    """Say which readings each instrument in doubt took, and what they could do."""
    answered = {
        str(d.instrument) for d in batch.record.deviations
        if d.instrument is not None and d.closed_on is not None
    }  # fmt: skip
    for doubt in doubts_of(batch):
        if doubt.instrument not in answered:
            yield Remark(doubt.readings[0].position, _message(doubt, batch))


def _message(doubt: Doubt, batch: Assessment) -> str:
    since = f"good on {doubt.last_good}" if doubt.last_good else "not checked before"
    named = [_reading(r, batch) for r in doubt.readings[:MOST]]
    if len(doubt.readings) > MOST:
        named.append(f"{len(doubt.readings) - MOST} more readings")
    effects = [
        f"{FIGURES[key].in_sentence} {width_of(FIGURES[key], shift, batch, signed=True)}"
        for key, shift in doubt.finished
    ]
    could = f"; it could mean {', '.join(effects)}" if effects else "; the beer stays as recorded"
    return (
        f"{doubt.instrument} was found wrong on {doubt.found.on}, {since}; in doubt: "
        f"{'; '.join(named)}{could}"
    )


def _reading(reading: DoubtfulReading, batch: Assessment) -> str:
    figure = reading.figure
    value = value_of(figure, reading.value, batch)
    return (
        f"{figure.in_sentence}{reading.what} {value}, perhaps "
        f"{value_of(figure, reading.value + reading.shift, batch)}, "
        f"±U {width_of(figure, reading.widened, batch)}"
    )
