"""A hop's alpha acids are outside the plausible range.

Hops hold about 2 to 20 per cent of alpha acids; extracts more. A slip of the decimal point here
makes the beer ten times as bitter on paper.

Fix: compare with the hop's analysis
Source: common practice, no source
Passes:
    {}
Fails:
    stock: {hops: {goldings: {alpha: 52 %}}}
"""



from reportgen.checks.base import Group, Remark, Remarks, Severity
from reportgen.record.load import Archive

GROUP = Group.BOIL
SEVERITY = Severity.MINOR


def check_house(archive: Archive) -> Remarks:
    """Look at the alpha acids of each hop and of each of its lots."""
    for name, hop in archive.stock.hops.items() if archive.stock is not None else ():
        most, usual = (0.7, "20 to 60 %") if hop.form == "extract" else (0.25, "2 to 20 %")
        alphas = {str(name): hop.alpha}
        alphas |= {f"{name} {n}": lot.alpha for n, lot in hop.lots.items() if lot.alpha is not None}
        for named, alpha in alphas.items():
            if not 0.005 <= alpha.value <= most:
                yield Remark(alpha.position, f"{named}: alpha acids {alpha.text}", usual)
