"""Where the uncertainty of a forecast comes from, and what to measure better to halve it.

Every number of the forecast knows the variables it hangs on. The part of one cause is the square of
its share in the standard uncertainty (JCGM 100, 5.1.2); causes of one name count together.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from reportgen.science.number import Number

HALF = 0.75
"""Share of the variance that must go for U to halve."""
LEAST = 0.01
"""A share that is worth naming."""


class Cause(Struct, frozen=True):
    """One cause: its name, ±U (k = 2) that it alone brings, its share of the variance, 0 to 1.

    ``remedy`` says what to measure better; empty where nothing can be.
    """

    name: str
    uncertainty: float
    share: float
    remedy: str


REMEDIES = (
    ("extract of ", "the extract of the lot, by the maltster's analysis"),
    ("colour of boil", "the colour of the packed beer (analysis)"),
    ("colour of ", "the colour of the lot, by the maltster's analysis"),
    ("colour model", "the colour of the packed beer (analysis), over several batches"),
    ("alpha acids of ", "the alpha acids of the lot, by an analysis on delivery"),
    ("weight of ", "the weight, on a finer scale"),
    ("conversion", "first wort gravity and volumes, until `history` gives the kit's own"),
    ("water shortfall", "liquor in and wort out, until `history` gives the kit's own"),
    ("evaporation", "the kettle before and after the boil, until `history` gives the kit's own"),
    ("kettle loss", "what stays in the kettle after cast-out"),
    ("fermenter loss", "what stays with the yeast at packaging"),
    ("mash liquor", "the mash liquor, with a finer gauge or by weight"),
    ("sparge", "the sparge liquor, with a finer gauge or by weight"),
    ("top-up liquor", "the top-up liquor, with a finer gauge or by weight"),
    ("attenuation", "the limit of attenuation, by a forced fermentation of this wort"),
    ("utilisation", "the bitterness of packed beers (analysis), until `history` gives a factor"),
    ("acidity of ", "the pH of this malt in distilled water, or the mash pH of several batches"),
    ("buffering of malt", "the mash pH itself, ten minutes into the mash"),
    ("mash pH model", "the mash pH itself, ten minutes into the mash"),
    ("mash model", "the final gravity of several mashes of this kind"),
    ("amylases", "the final gravity of several mashes of this malt"),
    ("heat that the enzymes", "the mash temperature over time, with a checked thermometer"),
)  # fmt: skip
"""What to measure better, by how the name of a cause begins."""


def remedy_of(name: str) -> str:
    """Return what to measure better for a cause; empty where nothing can be."""
    return next((words for start, words in REMEDIES if name.startswith(start)), "")


def causes_of(number: Number) -> tuple[Cause, ...]:
    """Return the causes of a number's uncertainty, the largest first; none for a plain number."""
    components = getattr(number, "error_components", None)
    if components is None:
        return ()
    squares: dict[str, float] = {}
    for variable, part in components().items():
        name = str(variable.tag or "not named")
        squares[name] = squares.get(name, 0.0) + float(part) ** 2
    total = sum(squares.values())
    if total <= 0:
        return ()
    causes = (
        Cause(name, 2 * math.sqrt(square), square / total, remedy_of(name))
        for name, square in squares.items()
        if square > 0
    )
    return tuple(sorted(causes, key=lambda c: (-c.share, c.name)))


class Halving(Struct, frozen=True):
    """What must be better known for U to halve: causes, and the U of each then.

    ``is_possible`` is False where not even all that can be measured would do it.
    """

    causes: tuple[tuple[Cause, float], ...]
    is_possible: bool


def halving(number: Number, causes: Sequence[Cause] | None = None) -> Halving:
    """Return the fewest causes, the largest first, that halve U when they are better known.

    Each of them is to shrink by the same factor, down to nought where need be.
    """
    known = causes_of(number) if causes is None else causes
    able = [c for c in known if c.remedy]
    chosen: list[Cause] = []
    share = 0.0
    for cause in able:
        if share >= HALF:
            break
        chosen.append(cause)
        share += cause.share
    is_possible = share >= HALF - 1e-12 and share > 0
    factor = math.sqrt(max(0.0, 1.0 - HALF / share)) if is_possible else 0.0
    return Halving(tuple((c, c.uncertainty * factor) for c in chosen), is_possible)


def worth_naming(causes: Sequence[Cause]) -> tuple[Cause, ...]:
    """Return the causes that bring at least a hundredth of the variance."""
    return tuple(c for c in causes if c.share >= LEAST)


__all__ = ["Cause", "Halving", "causes_of", "halving", "worth_naming"]
