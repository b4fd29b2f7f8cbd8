"""A hop's alpha acids are outside the plausible range.

Hops hold about 2 to 20 per cent of alpha acids; extracts more. A slip of the decimal point here
makes the beer ten times as bitter on paper. So it does in a lot that has seven times the alpha acids
of its hop, or a seventh.

Fix: compare with the hop's analysis
Source: common practice, no source
Passes:
    {}
Fails:
    stock: {hops: {goldings: {alpha: 52 %}}}
"""

from collections.abc import Iterator, Sequence

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Told
from reportgen.checks.slip_undone import COMES_OF_IT, follows_each
from reportgen.record.finding import Finding
from reportgen.record.load import Archive
from reportgen.record.model.stock import Hop

GROUP = Group.BOIL
SEVERITY = Severity.MINOR
ALSO = COMES_OF_IT
DECADE = 7.0
"""Times the alpha acids of its hop from which on a lot's point is in the wrong place: crops of one
hop differ by less than half (common practice, no source)."""


def check_house(archive: Archive) -> Remarks:
    """Look at the alpha acids of each hop and of each of its lots."""
    for name, hop in archive.stock.hops.items() if archive.stock is not None else ():
        yield from _of_hop(str(name), hop)


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Return what is said of the batch's hops, with what follows from each in the record."""
    return follows_each(batch, findings, told, _of_hop, batch.stock.hops)


def _of_hop(name: str, hop: Hop) -> Remarks:
    most, usual = (0.7, "20 to 60 %") if hop.form == "extract" else (0.25, "2 to 20 %")
    lots = {f"{name} {n}": lot.alpha for n, lot in hop.lots.items() if lot.alpha is not None}
    apart = [alpha for alpha in lots.values() if not _alike(alpha.value, hop.alpha.value)]
    if 1 < len(lots) == len(apart):
        # All of its lots say that it is the hop's own number.
        apart = [hop.alpha]
    for named, alpha in {name: hop.alpha, **lots}.items():
        is_apart = any(alpha is one for one in apart)
        if 0.005 <= alpha.value <= most and not is_apart:
            continue
        # A lot is compared with its hop, a hop with its lots, one alone with what is usual.
        beside = hop.alpha if alpha is not hop.alpha else next(iter(lots.values()), None)
        about = beside.value if beside is not None and is_apart else most / 3
        meant = [by for by in (10, 0.1) if _alike(by * alpha.value, about)]
        remedy = f"did you mean {alpha.number * meant[0]:.3g} %?" if meant else ""
        yield Remark(alpha.position, f"{named}: alpha acids {alpha.text}", usual, remedy)


def _alike(one: float, other: float) -> bool:
    return other / DECADE < one < other * DECADE
