"""The runnings get stronger during the sparge, or their volume falls.

Rinsing only takes extract away, so that no running is stronger than the one before it, nor than
the first wort. The full kettle holds all of them, so that without liquor poured into it it cannot be
thinner than the last. If runnings rise by more than the instrument could err, a sample was taken too
early or hot, or typed into the wrong row. Volumes are those collected so far, so they only rise.

Fix: compare with the sheet; cool the sample before reading
Afterwards: compare with the sheet; next time cool the sample before reading
Source: washing out cannot concentrate
Passes:
    brew_day:
      date: 2026-03-14
      mash: {first_wort_gravity: 1.084}
      run_off: {runnings: [{gravity: 1.060}, {gravity: 1.030}], last_runnings_gravity: 1.008}
Fails:
    brew_day:
      date: 2026-03-14
      mash: {first_wort_gravity: 1.074}
      run_off: {runnings: [{gravity: 1.030}, {gravity: 1.060}], last_runnings_gravity: 1.090}
"""

from collections.abc import Iterator

from reportgen.assessment.corrections import Actual
from reportgen.assessment.readings import actual_of_reading
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import as_read
from reportgen.forecast.figures import FIGURES
from reportgen.science.number import nominal

GROUP = Group.RUN_OFF
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "above the first wort"}
UNTIL = Stage.RUN_OFF
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare each running, corrected, with the weakest before it."""
    yield from _collected(batch)
    yield from _in_kettle(batch)
    weakest: Actual | None = None
    for actual in _in_order(batch):
        if actual.value is None:
            continue
        if weakest is not None and weakest.value is not None:
            reach = max(0.002, actual.uncertainty + weakest.uncertainty)
            if actual.value > weakest.value + reach:
                first = weakest.key == "first_wort_gravity"
                shown = as_read(actual, f"{actual.value:.4f}")
                yield Remark(
                    actual.reading.position,
                    f"{shown} after {weakest.value:.4f}{' of the first wort' if first else ''}",
                    f"at most {weakest.value:.4f}",
                    severity=Severity.MAJOR if first else None,
                )
                continue
        if weakest is None or weakest.value is None or actual.value < weakest.value:
            weakest = actual


def _in_kettle(batch: Assessment) -> Remarks:
    """Hold the last runnings against the full kettle, where nothing else went into it."""
    last, full = batch.actuals.get("last_runnings_gravity"), batch.actuals.get("kettle_gravity")
    if last is None or full is None or last.value is None or full.value is None:
        return
    topped = batch.actuals.get("top_up_liquor")
    added = any(str(entry.to) == "kettle" for entry in batch.record.all_added)
    if added or nominal(batch.brewed.top_up) or (topped is not None and topped.value):
        return
    if last.value > full.value + max(0.002, last.uncertainty + full.uncertainty):
        shown = as_read(last, f"{last.value:.4f}")
        yield Remark(
            last.reading.position, f"last runnings {shown}, the full kettle {full.value:.4f}",
            f"at most {full.value:.4f}",
        )  # fmt: skip


def _collected(batch: Assessment) -> Remarks:
    """Look at the volumes collected so far."""
    day = batch.record.brew_day
    before = None
    for running in day.run_off.runnings if day is not None and day.run_off is not None else ():
        read = running.volume.value if running.volume is not None else None
        if read is None:
            continue
        if before is not None and read.value < before.value:
            yield Remark(
                running.volume.position if running.volume is not None else None,
                f"{read.text} collected after {before.text}", f"at least {before.text}",
            )  # fmt: skip
        before = read


def _in_order(batch: Assessment) -> Iterator[Actual]:
    """Return first wort, runnings and last runnings, each as far as it was read."""
    day = batch.record.brew_day
    if (first := batch.actuals.get("first_wort_gravity")) is not None:
        yield first
    figure = FIGURES["last_runnings_gravity"]
    for running in day.run_off.runnings if day is not None and day.run_off is not None else ():
        if running.gravity is not None:
            yield actual_of_reading(batch.record, figure, running.gravity, batch.brewery, None)
    if (last := batch.actuals.get("last_runnings_gravity")) is not None:
        yield last
