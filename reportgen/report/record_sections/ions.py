"""Ions from the liquor as drawn to the wort at cast-out, planned and as brewed."""

from __future__ import annotations

from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.forecast.figures import IONS
from reportgen.record.printed import MINUS
from reportgen.science.number import nominal


class IonLine(NamedTuple):
    """One ion, mg/L: in the liquor as drawn, and in the wort at cast-out, planned and as brewed."""

    name: str
    liquor: str
    planned: str
    brewed: str


def ion_lines(assessment: Assessment) -> tuple[IonLine, ...]:
    """Return the ions of a batch; none where the liquor's are not known."""
    keys = [f"cast_out_{ion}_of_liquor" for ion in IONS]
    planned, now = assessment.planned, assessment.now
    if any(key not in planned or key not in now for key in keys):
        return ()
    return tuple(
        IonLine(
            ion.capitalize(), _whole(nominal(assessment.case.ions[ion])),
            _whole(nominal(planned[key])), _whole(nominal(now[key])),
        )
        for ion, key in zip(IONS, keys, strict=True)
    )  # fmt: skip


def _whole(value: float) -> str:
    return f"{value:.0f}".replace("-", MINUS)
