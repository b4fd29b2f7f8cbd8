"""More wort in the kettle than liquor went in.

Grain keeps liquor back. If more comes out than went in, a volume was misread, a top-up was not
written down, or a hot volume lacks its temperature.

Fix: check the volumes; write down the top-up liquor and the temperature of a hot volume
Source: conservation of mass
Passes:
    brew_day:
      date: 2026-03-14
      mash: {mash_liquor: 20 L}
      run_off: {sparge_liquor: 20 L, kettle_volume: 46.5 L}
      added: [{what: reservoir, amount: 13 L, to: mash}]
Fails:
    brew_day: {date: 2026-03-14, mash: {mash_liquor: 20 L}, run_off: {sparge_liquor: 20 L, kettle_volume: 46.5 L}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.assessment.balance import liquor_to_kettle_full
from reportgen.checks.base import Group, Remark
from reportgen.checks.quantities import volume
from reportgen.record.finding import Severity
from reportgen.science.number import nominal

GROUP = Group.TRUE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare the liquor in with the wort out."""
    needed = ("mash_liquor", "sparge_liquor", "kettle_volume")
    values = [batch.actuals.get(key) for key in needed]
    if any(v is None or v.value is None for v in values):
        return
    mash, sparge, kettle = [(v.value, v.uncertainty) for v in values if v and v.value is not None]
    top_up = batch.actuals.get("top_up_liquor")
    into = mash[0] + sparge[0] + (top_up.value or 0.0 if top_up is not None else 0.0)
    into += nominal(liquor_to_kettle_full(batch))
    # Dissolved extract takes up room: 0.6 L for each kg of malt at the most.
    most = into + 0.6 * nominal(batch.case.grist)
    if kettle[0] - kettle[1] > most + mash[1] + sparge[1]:
        yield Remark(
            batch.actuals["kettle_volume"].reading.position,
            f"{volume(kettle[0], batch)} in the kettle from {volume(into, batch)} of liquor",
            f"less than {volume(into, batch)}, as the grain keeps some",
        )
