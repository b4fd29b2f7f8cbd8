"""A figure in words and numbers, by its key: title, number, unit, difference, U.

Documents put a narrow space before a unit and signs before a difference; a line of the terminal has
the number with its unit as a record has them.
"""

from __future__ import annotations

from collections.abc import Iterable

from reportgen.checks.quantities import width_number
from reportgen.forecast.aims import COMPUTED
from reportgen.forecast.figures import FIGURES
from reportgen.record.kinds import KINDS, is_share
from reportgen.record.printed import NARROW, Units, fine, width_kind


def figure_title(key: str, of: str = "") -> str:
    """Return the title of a figure, or of what an aim computes; else the brewer's own word.

    ``of`` names the containers, where the beer is in several kinds.
    """
    if key in COMPUTED:
        return COMPUTED[key][0]
    figure = FIGURES.get(key)
    title = figure.title if figure is not None else key.replace("_", " ")
    return f"{title} ({of})" if of else title


def listed(titles: Iterable[str], in_sentence: bool = False) -> str:
    """Return titles one after the other; of several each without what stands after its comma, which
    would read as one more.

    The first begins with its capital, unless it stands ``in_sentence``.
    """
    texts = list(titles)
    short = texts if len(texts) == 1 else [
        head + (tail[tail.index(" (") :] if " (" in tail else "")
        for head, _, tail in (title.partition(",") for title in texts)
    ]
    low = [title[:1].lower() + title[1:] for title in short]
    return ", ".join(low if in_sentence else (*short[:1], *low[1:]))


def _kind(key: str, is_weighed: bool = False) -> tuple[str, int]:
    """Return the kind that a figure is printed as, and its decimals."""
    if key in COMPUTED:
        return COMPUTED[key][1:]
    figure = FIGURES[key]
    if is_weighed and KINDS[figure.kind].is_either:
        return "small_mass", 1
    return fine(figure.kind, figure.decimals)


def figure_number(units: Units, key: str, value: float, decimals: int | None = None) -> str:
    """Return a number of a figure without its unit, with the figure's decimals unless told."""
    kind, usual = _kind(key)
    return units.number(value, kind, usual if decimals is None else decimals)


def figure_unit(units: Units, key: str) -> str:
    """Return the unit of a figure; SG for a gravity."""
    return units.head(_kind(key)[0])


def figure_difference(units: Units, key: str, value: float) -> str:
    """Return a difference of a figure with its sign and unit; shares in percentage points."""
    kind, decimals = _kind(key)
    shown = units.difference(value, kind, decimals)
    if is_share(kind):
        return f"{shown}{NARROW}points"
    label = units.label(width_kind(kind))
    return f"{shown}{NARROW}{label}" if label else shown


def typed_number(key: str, value: float | None, system: str, is_weighed: bool = False) -> str:
    """Return a number of a figure with its unit, as on a line of the terminal; none for None.

    ``is_weighed``: what may be a mass or a volume is a mass.
    """
    if value is None:
        return "none"
    kind, decimals = _kind(key, is_weighed)
    return Units(system).plain(value, kind, decimals)


def typed_width(key: str, width: float, system: str, is_weighed: bool = False) -> str:
    """Return a difference or U likewise, with more decimals where those would show nought."""
    kind, decimals = _kind(key, is_weighed)
    unit = Units(system).label(width_kind(kind))
    return f"{width_number(kind, decimals, width, system)} {unit}".strip()
