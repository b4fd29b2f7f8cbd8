"""Uncertainty by drawing, beside that carried to first order through the walk (JCGM 101).

Every variable that a case hangs on is drawn, errors of formulas and models among them, and the
whole forecast walked anew. Run as a program it prints the table of eight figures over ten plans of
the demo::

    python -m tests.support.monte_carlo [DRAWS]
"""

from __future__ import annotations

import random
import statistics
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from reportgen.forecast.case import Case
from reportgen.forecast.resolve import resolve
from reportgen.forecast.walk import walk
from reportgen.loading import load_archive
from reportgen.science.number import standard_uncertainty

DEMO = Path(__file__).parents[2] / "batches"
FIGURES = (
    "mash_ph", "first_wort_gravity", "kettle_volume", "original_gravity", "bitterness", "colour",
    "final_gravity", "alcohol",
)  # fmt: skip
PLANS = (
    "2025-01", "2025-03", "2025-04", "2025-05", "2025-06", "2026-01", "2026-02", "2026-04",
    "2026-06", "2026-10",
)  # fmt: skip
SEED = 20261128


def case_of(batch: str) -> Case:
    """Return the case of a plan of the demo."""
    archive = load_archive(DEMO, only=[f"{batch[:4]}/{batch}.yaml"])
    found = archive.batches[batch].record
    assert found is not None and archive.brewery is not None and archive.stock is not None
    return resolve(found, archive.brewery, archive.stock)


def drawn(thing: Any, rng: random.Random, known: dict[int, float], only: str) -> Any:
    """Return a case with every uncertain number drawn; ``only`` those of one cause, if named."""
    if isinstance(thing, Struct):
        new = {
            name: drawn(getattr(thing, name), rng, known, only)
            for name in thing.__struct_fields__
        }
        return replace(thing, **new)
    if isinstance(thing, tuple):
        return tuple(drawn(one, rng, known, only) for one in thing)
    if isinstance(thing, Mapping):
        return {name: drawn(one, rng, known, only) for name, one in thing.items()}
    if not hasattr(thing, "nominal_value"):
        return thing
    value = thing.nominal_value
    for variable, slope in thing.derivatives.items():
        if only and variable.tag != only:
            continue
        if id(variable) not in known:
            known[id(variable)] = rng.gauss(0.0, variable.std_dev)
        value += slope * known[id(variable)]
    return value


def as_printed(case: Case) -> Case:
    """Return a case whose sparge is the volume that its sheet prints.

    The sheet is printed before the day: the sparge does not follow what the mash turns out to be.
    """
    if case.sparge_liquor is not None:
        return case
    book, _ = walk(case)
    printed = book.expected.get("sparge_liquor")
    return case if printed is None else replace(case, sparge_liquor=printed.number)


def spreads(
    case: Case, keys: Iterable[str], draws: int, only: str = "", seed: int = SEED
) -> dict[str, float]:
    """Return the standard deviation of figures over so many draws of a case.

    The case must have been walked, so that it knows the errors of its formulas.
    """
    rng = random.Random(seed)
    values: dict[str, list[float]] = {key: [] for key in keys}
    for _ in range(draws):
        book, stopped = walk(drawn(case, rng, {}, only))
        assert not stopped, stopped
        for key, found in values.items():
            found.append(book.expected[key].value)
    return {key: statistics.stdev(found) for key, found in values.items()}


def ratios(batch: str, draws: int) -> dict[str, float]:
    """Return drawn over carried standard uncertainty of each figure of a plan."""
    case = as_printed(case_of(batch))
    book, stopped = walk(case)
    assert not stopped
    by_drawing = spreads(case, FIGURES, draws)
    return {
        key: by_drawing[key] / standard_uncertainty(book.expected[key].number) for key in FIGURES
    }


def main() -> None:
    """Print the table."""
    draws = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    print(f"drawn / carried standard uncertainty, {draws} draws")
    print(f"{'':9}", *(f"{key[:14]:>14}" for key in FIGURES))
    for batch in PLANS:
        print(f"{batch:9}", *(f"{ratio:14.3f}" for ratio in ratios(batch, draws).values()))


if __name__ == "__main__":
    main()
