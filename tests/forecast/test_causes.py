"""The shares of U by cause, against a Monte Carlo; and what halves U."""

from __future__ import annotations

import dataclasses
import math
import random
import statistics
from pathlib import Path
from typing import Any

import pytest

from reportgen.forecast.case import Case
from reportgen.forecast.causes import Cause, causes_of, halving
from reportgen.forecast.resolve import resolve
from reportgen.forecast.walk import walk
from reportgen.loading import load_archive
from reportgen.science.number import standard_uncertainty
from reportgen.science.uncertain import ufloat

DEMO = Path(__file__).parents[2] / "batches"
FIGURES = ("original_gravity", "final_gravity", "alcohol", "bitterness", "colour")
DRAWS = 200


def case_of(batch: str) -> Case:
    archive = load_archive(DEMO, only=[f"{batch[:4]}/{batch}.yaml"])
    found = archive.batches[batch].record
    assert found is not None and archive.brewery is not None and archive.stock is not None
    return resolve(found, archive.brewery, archive.stock)


def drawn(thing: Any, rng: random.Random, known: dict[int, float], only: str) -> Any:
    """Return a case with every uncertain number drawn; ``only`` those of one cause, if named."""
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        new = {
            f.name: drawn(getattr(thing, f.name), rng, known, only)
            for f in dataclasses.fields(thing) if f.name != "causes"
        }
        if isinstance(thing, Case):
            new["causes"] = {
                name: drawn(number, rng, known, only) for name, number in thing.causes.items()
            }
        return dataclasses.replace(thing, **new)
    if isinstance(thing, tuple):
        return tuple(drawn(one, rng, known, only) for one in thing)
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


def spread(case: Case, key: str, only: str = "") -> float:
    rng = random.Random(20261128)
    values = []
    for _ in range(DRAWS if not only else DRAWS // 2):
        book, stopped = walk(drawn(case, rng, {}, only))
        assert not stopped
        values.append(book.expected[key].value)
    return statistics.stdev(values)


@pytest.mark.parametrize("key", ["alcohol", "bitterness"])
def test_shares_against_a_monte_carlo(key: str) -> None:
    case = case_of("2026-01")
    book, _ = walk(case)
    number = book.expected[key].number
    total = spread(case, key)
    # The standard deviation of 200 draws is itself known to 5 %; three times that.
    assert standard_uncertainty(number) == pytest.approx(total, rel=0.15)
    largest = causes_of(number)[0]
    alone = spread(case, key, largest.name)
    assert largest.share == pytest.approx((alone / total) ** 2, rel=0.35)


def test_shares_add_up_and_causes_of_one_name_count_together() -> None:
    book, _ = walk(case_of("2025-01"))
    for key in FIGURES:
        causes = causes_of(book.expected[key].number)
        assert sum(c.share for c in causes) == pytest.approx(1.0)
        assert len({c.name for c in causes}) == len(causes)
        assert [c.share for c in causes] == sorted((c.share for c in causes), reverse=True)


def test_halving_by_hand() -> None:
    """Of 5 = sqrt(4^2 + 3^2), 2.5 is left: 4 alone would have to vanish, and 3 shrink to 2.5."""
    a, b = ufloat(0, 4, "conversion"), ufloat(0, 3, "evaporation")
    found = halving(a + b)
    # 4 brings 64 % of the variance, less than the 75 % that must go, so both are named.
    assert [c.name for c, _ in found.causes] == ["conversion", "evaporation"]
    assert [then for _, then in found.causes] == pytest.approx([2 * 4 / 2, 2 * 3 / 2])
    alone = halving(ufloat(0, 4, "conversion") + ufloat(0, 1, "colour model"))
    ((cause, then),) = alone.causes
    left = math.sqrt((then / 2) ** 2 + 1.0)
    assert left == pytest.approx(math.sqrt(17) / 2)
    nothing = halving(ufloat(0, 4, "a thing nobody can measure"))
    assert not nothing.is_possible and nothing.causes == ()
    assert causes_of(3.0) == () and isinstance(cause, Cause)
