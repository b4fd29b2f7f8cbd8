"""No instrument is listed for a planned reading.

A reading without a known instrument has no stated uncertainty beyond its last decimal, so its
verdict says less than it seems to. After the brew day only readings that were made are looked at.

Fix: list the instrument in brewery.yaml
Source: JCGM 200: a reading belongs to a measuring instrument
Passes:
    {}
Fails:
    brewery: {instruments: {thermometer: {reads: ph_meter, resolution: 0.01, uncertainty: 0.02}}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.finding import in_error
from reportgen.record.listing import BREWERY

GROUP = Group.READINGS
SEVERITY = Severity.NOTE
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Compare the instruments that the figures need with those listed."""
    if {BREWERY, batch.batch.file} & {*in_error(batch.archive.findings)}:
        # The instrument may be listed there, or the day be written, with an error that has been said.
        return
    at_hand = {str(item.reads) for item in batch.brewery.instruments.values()}
    is_brewed, is_steeped = batch.record.brew_day is not None, batch.case.is_steeped
    wanted = {
        r.figure.instrument for r in batch.results
        if r.figure.path and r.figure.instrument and (r.actual is not None or not is_brewed)
        and not (is_steeped and r.figure.key == "mash_ph")
    }
    if "refractometer" in at_hand:
        # A gravity is read with either.
        wanted.discard("hydrometer")
    for kind in sorted(wanted - at_hand):
        yield Remark(None, f"no {kind.replace('_', ' ')} in brewery.yaml", "one of the instruments")
