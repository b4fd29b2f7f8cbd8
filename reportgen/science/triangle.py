"""Triangle test: whether assessors tell two beers apart, by the exact binomial."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reportgen.science.method import method

GUESS = 1.0 / 3.0
"""Chance of picking the odd glass of three by guessing."""


@dataclass(frozen=True)
class Discriminators:
    """Share of assessors who truly tell the beers apart, with the interval that holds it.

    ``proportion`` is the estimate, 0 when fewer were right than guessing gives. ``low`` and
    ``high`` bound it at the ``confidence`` asked for.
    """

    proportion: float
    low: float
    high: float
    confidence: float


def _upper_tail(assessors: int, correct: int, chance: float) -> float:
    """Return the probability of at least ``correct`` correct responses, for a chance in 0 to 1."""
    term = math.exp(
        math.lgamma(assessors + 1)
        - math.lgamma(correct + 1)
        - math.lgamma(assessors - correct + 1)
        + correct * math.log(chance)
        + (assessors - correct) * math.log1p(-chance)
    )
    total = term
    for k in range(correct, assessors):
        term *= (assessors - k) / (k + 1) * chance / (1.0 - chance)
        total += term
    return total


def _hold(assessors: int, correct: int) -> None:
    if correct > assessors:
        raise ValueError(f"{correct} correct responses of {assessors} assessors")


@method
def triangle_p_value(assessors: int, correct: int) -> float:
    """Probability of so many correct responses or more, were the beers alike.

    Formula:
        p = sum over k = c..n of C(n, k) (1/3)^k (2/3)^(n-k)
    Inputs:
        assessors: count, 1 to 500; responses given, n
        correct: count, 0 to 500; correct responses, c
    Result: probability, 0 to 1; small says that the assessors did tell the beers apart
    Uncertainty: exact, to 1e-15
    Source: ISO 4120:2021, Sensory analysis, Triangle test, 9.2 and Table A.1
    """
    _hold(assessors, correct)
    ways: int = sum(
        math.comb(assessors, k) * 2 ** (assessors - k) for k in range(correct, assessors + 1)
    )
    total: int = 3**assessors
    return ways / total


@method
def triangle_needed(assessors: int, alpha: float = 0.05) -> int | None:
    """Fewest correct responses that show a difference at a level of risk.

    Formula:
        smallest c with p(n, c) <= alpha
    Inputs:
        assessors: count, 1 to 500; responses given, n
        alpha: probability, 0.0001 to 0.5; risk of seeing a difference where there is none
    Result: count of correct responses; None when even all right is not enough
    Uncertainty: exact
    Source: ISO 4120:2021, Sensory analysis, Triangle test, Table A.1
    """
    ways = 0
    limit = alpha * 3**assessors
    needed = None
    for correct in range(assessors, -1, -1):
        ways += math.comb(assessors, correct) * 2 ** (assessors - correct)
        if ways > limit:
            break
        needed = correct
    return needed


@method
def discriminators(assessors: int, correct: int, confidence: float = 0.95) -> Discriminators:
    """Share of assessors who truly tell two beers apart.

    Those who do not tell guess, and one in three guesses is right. The interval is that of
    Clopper and Pearson for the share of correct responses, carried over.

    Formula:
        pd = 1.5 c/n - 0.5; the same for both ends of the exact binomial interval of c/n
    Inputs:
        assessors: count, 1 to 500; responses given, n
        correct: count, 0 to 500; correct responses, c
        confidence: probability, 0.5 to 0.999; two-sided
    Result: Discriminators with proportion, low, high (0 to 1)
    Uncertainty: the interval is its uncertainty; it is never too narrow
    Source: ISO 4120:2021, Annex B; C.J. Clopper and E.S. Pearson 1934, Biometrika 26(4):404
    """
    _hold(assessors, correct)
    tail = (1.0 - confidence) / 2.0
    low = 0.0 if correct == 0 else _chance_with_tail(assessors, correct, tail)
    high = 1.0 if correct == assessors else _chance_with_tail(assessors, correct + 1, 1.0 - tail)
    shares = (correct / assessors, low, high)
    proportion, low, high = (max(0.0, 1.5 * share - 0.5) for share in shares)
    return Discriminators(proportion, low, high, confidence)


def _chance_with_tail(assessors: int, correct: int, tail: float) -> float:
    """Return the chance of a right answer that puts ``tail`` at ``correct`` and above."""
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2.0
        if _upper_tail(assessors, correct, middle) < tail:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
