"""What the uncertainty of a batch's figures comes from, of those that a brewer aims at."""

from __future__ import annotations

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.forecast.aims import aims_of
from reportgen.forecast.causes import causes_of, worth_naming
from reportgen.forecast.figures import FIGURES
from reportgen.science.number import Number, expanded_uncertainty


class Matter(Struct, frozen=True, array_like=True):
    """A figure, its ±U (k = 2) in base units, and the share of each cause in its variance."""

    figure: str
    uncertainty: float
    causes: tuple[tuple[str, float], ...]


def keys_of(batch: Assessment) -> list[str]:
    """Return the figures that matter: those aimed at, else the headlines."""
    aimed = {aim.aim.key for aim in aims_of(batch.record.plan).values()}
    wanted = aimed & set(FIGURES) or {f.key for f in FIGURES.values() if f.headline}
    return [key for key in FIGURES if key in wanted and key in batch.planned.expected]


def number_of(batch: Assessment, key: str) -> Number:
    """Return the expected number of a figure; of the strength, with all the extract in it."""
    expected = batch.planned.expected
    if key == "original_gravity" and "starting_gravity" in expected:
        key = "starting_gravity"
    return expected[key].number


def matters_of(batch: Assessment) -> tuple[Matter, ...]:
    """Return what each figure that matters hangs on."""
    matters = []
    for key in keys_of(batch):
        number = number_of(batch, key)
        causes = worth_naming(causes_of(number))
        if causes:
            shares = tuple((c.name, round(c.share, 4)) for c in causes)
            matters.append(Matter(key, expanded_uncertainty(number), shares))
    return tuple(matters)
