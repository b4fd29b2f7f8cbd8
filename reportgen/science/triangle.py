"""Triangle and paired tests: whether assessors tell beers apart, by the exact binomial."""

from __future__ import annotations

import math

from reportgen.science.method import method


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
def paired_needed(assessors: int, alpha: float = 0.05) -> int | None:
    """Fewest that must name one beer of two to show a difference in one direction.

    Formula:
        smallest c with sum over k = c..n of C(n, k) / 2^n <= alpha
    Inputs:
        assessors: count, 1 to 500; responses given, n
        alpha: probability, 0.0001 to 0.5; risk of seeing a difference where there is none
    Result: count of responses for the beer named beforehand; None when even all are not enough
    Uncertainty: exact
    Source: ISO 5495:2005, Sensory analysis, Paired comparison test, one-sided
    """
    ways = 0
    needed = None
    for count in range(assessors, -1, -1):
        ways += math.comb(assessors, count)
        if ways > alpha * 2**assessors:
            break
        needed = count
    return needed
