"""The harvest of yeast cannot be as it is written.

More living cells than cells, or hardly any, is a decimal point or a percent sign: 0.95 for 95 %. A
fermenter settles one to five litres of slurry for each 100 litres of beer.

Mend: compare with the cellar sheet, and correct the number or its unit
Source: a share is at most 100 %; pitching yeast is 90 % alive or more, MEBAK M 350.18.518; amounts:
    common practice, no source
Passes:
    brew_day: {date: 2026-03-14}
    fermentation: {harvest: {at: 2026-03-22 10:00, amount: 1.2 L, viability: 92 %}}
Fails:
    brew_day: {date: 2026-03-14}
    fermentation: {harvest: {at: 2026-03-22 10:00, amount: 1.2 L, viability: 950 %}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.checks.quantities import volume
from reportgen.record.finding import Severity

GROUP = Group.TRUE
SEVERITY = Severity.MINOR

FEWEST_ALIVE = 0.5
LEAST, MOST = 0.0005, 0.25
"""Slurry as a share of the wort."""


def check(batch: Assessment) -> Iterator[Said]:
    """Look at the viability and the amount of what was harvested."""
    fermentation = batch.record.fermentation
    harvest = fermentation.harvest if fermentation is not None else None
    if harvest is None:
        return
    alive = harvest.viability
    if alive is not None and not FEWEST_ALIVE <= alive.value <= 1:
        meant = next((v for v in (100, 0.1) if 0.8 <= alive.value * v <= 1), None)
        yield Said(
            alive.position,
            f"{alive.text} of the yeast alive",
            "50 % to 100 %",
            f"did you mean {100 * alive.value * meant:.3g} %?" if meant is not None else "",
            severity=Severity.MAJOR if alive.value > 1 else None,
        )
    amount, wort = harvest.amount, batch.case.volume
    if amount is not None and wort > 0 and not LEAST * wort <= amount.value <= MOST * wort:
        yield Said(
            amount.position,
            f"{amount.text} of yeast from {volume(wort, batch)} of wort",
            f"{volume(LEAST * wort, batch, 2)} to {volume(MOST * wort, batch)}",
        )
