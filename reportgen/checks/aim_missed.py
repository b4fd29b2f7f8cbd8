"""The forecast does not reach what the plan aims at.

The plan states an aim and its amounts lead somewhere else, by more than the forecast could err.
Better to change the plan now than to explain the beer later.

Fix: change the amounts, or the aim
Source: comparison within the combined uncertainty, JCGM 100
Passes:
    plan: {aims: {original_gravity: 1.049}}
Fails:
    plan: {aims: {original_gravity: 1.060}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import quantity, width_number, width_of
from reportgen.forecast.aims import Aim, aims_of
from reportgen.forecast.figures import FIGURES
from reportgen.record.kinds import is_share
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.RECORD
SEVERITY = Severity.NOTE
UNTIL = Stage.LIQUOR


def check(batch: Assessment) -> Remarks:
    """Compare each aim with the forecast."""
    for aimed in aims_of(batch.record.plan).values():
        aim = aimed.aim
        number = aim.number(batch.planned)
        if number is None:
            continue
        expected, spread = nominal(number), max(expanded_uncertainty(number), aim.step)
        if abs(expected - aim.wanted) > spread:
            yield Remark(
                aimed.position,
                f"{aim.title}: the forecast is {_number(aim, expected, batch)},"
                f" the aim {_number(aim, aim.wanted, batch)}",
                f"the aim within ±{_width(aim, spread, batch)} of the forecast",
            )


def _number(aim: Aim, value: float, batch: Assessment) -> str:
    return quantity(value, aim.kind, aim.decimals, batch)


def _width(aim: Aim, width: float, batch: Assessment) -> str:
    if aim.key in FIGURES:
        return width_of(FIGURES[aim.key], width, batch)
    number = width_number(aim.kind, aim.decimals, width, batch.brewery.system)
    return f"{number} percentage points" if is_share(aim.kind) else number
