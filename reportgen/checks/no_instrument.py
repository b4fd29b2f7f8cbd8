"""No instrument is listed for a planned reading.

A reading without a known instrument has no stated uncertainty beyond its last decimal, so its
verdict says less than it seems to.

Mend: list the instrument in brewery.yaml
Source: JCGM 200: a reading belongs to a measuring instrument
Passes:
    {}
Fails:
    brewery: {instruments: {thermometer: {reads: ph_meter}}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.KIT
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Said]:
    """Compare the instruments that the figures need with those listed."""
    at_hand = {str(item.reads) for item in batch.brewery.instruments.values()}
    wanted = {r.figure.instrument for r in batch.results if r.figure.path and r.figure.instrument}
    for kind in sorted(wanted - at_hand):
        yield Said(None, f"no {kind.replace('_', ' ')} in brewery.yaml", "one of the instruments")
