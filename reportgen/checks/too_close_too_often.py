"""Too many verdicts of the day will be too close to call.

This is computed before the day, from the U of the instruments and the tolerances. Even on a good
day, more than a fifth of the readings would be within U of a limit. Such verdicts decide nothing:
the instrument is too coarse or the tolerance too narrow. Of one that is too coarse for a reading by
itself, `instrument-too-coarse` says so.

Fix: read with an instrument of the U named, read twice and give both readings, or widen the tolerance
Source: guard bands and the risks of deciding by them, JCGM 106:2012, 9.5
Passes:
    plan: {tolerances: {mash_temperature: 1.5 K}}
Fails:
    brewery:
      instruments:
        thermometer: {reads: thermometer, uncertainty: 2.5 K, resolution: 1 K}
        hydrometer: {reads: hydrometer, resolution: 0.001, uncertainty: 0.003}
"""

from reportgen.assessment.readings import at_hand
from reportgen.assessment.verdicts import MOST_TOO_CLOSE
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import width_of
from reportgen.forecast.figures import Figure
from reportgen.record.finding import in_error
from reportgen.record.listing import BREWERY

GROUP = Group.READINGS
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Remarks:
    """Add up what the U of each instrument leaves undecided; name those that leave too much."""
    faulty = {BREWERY, batch.batch.file} & {*in_error(batch.archive.findings)}
    if batch.record.brew_day is not None or faulty:
        return
    shares: list[tuple[str, float]] = []
    wanted: dict[str, tuple[float, Figure, float]] = {}
    coarse: set[str] = set()
    for result in batch.results:
        figure, limits = result.figure, result.limits
        expected = result.expected
        if limits is None or expected is None or not figure.path or not figure.instrument:
            continue
        name, instrument, u = at_hand(figure, expected.value, batch.record, batch.brewery)
        if instrument is None or not limits.high > limits.low or expected.value == 0:
            continue
        if limits.too_coarse(u):
            # Said of the instrument, whatever else it reads.
            coarse.add(name)
        share = limits.share_too_close(u)
        shares.append((name, share))
        needed = limits.deciding()
        if share > MOST_TOO_CLOSE and (name not in wanted or needed < wanted[name][0]):
            wanted[name] = (needed, figure, u)
    shares = [(n, min(s, MOST_TOO_CLOSE) if n in coarse else s) for n, s in shares]
    # The worst first, and no more of them than it takes.
    fine = [name for name in wanted if name not in coarse]
    left = sorted(fine, key=lambda name: -sum(s - MOST_TOO_CLOSE for n, s in shares if n == name))
    while left and sum(share for _, share in shares) > MOST_TOO_CLOSE * len(shares):
        name = left.pop(0)
        needed, figure, u = wanted[name]
        shares = [(n, min(s, MOST_TOO_CLOSE) if n == name else s) for n, s in shares]
        yield Remark(
            batch.brewery.instruments[name].position,
            f"too many verdicts will be too close to call: {name} reads to "
            f"±{width_of(figure, u, batch)}, for {figure.in_sentence} ±"
            f"{width_of(figure, needed, batch)} would decide",
            f"at most {100 * MOST_TOO_CLOSE:.0f} % of verdicts too close to call",
        )
