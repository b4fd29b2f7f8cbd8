"""Least squares with few parameters, each within bounds: what a curve through a log needs.

Plain floats and no library, since what is printed must not hang on what is installed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from msgspec import Struct

Residuals = Callable[[Sequence[float]], Sequence[float]]
"""From the parameters to the residuals."""

Slopes = Callable[[Sequence[float]], Sequence[Sequence[float]]]
"""From the parameters to the slopes of each residual, one along each parameter."""

MOST_STEPS = 200
"""Steps after which the best point found is taken."""

SMALLEST_STEP = 1e-13
"""A step that is smaller than this share of every parameter's scale ends the search."""

BLUNTEST = 1e16
"""Damping at which no step can help any more."""


class Solution(Struct, frozen=True):
    """The parameters found, half the sum of squared residuals there, and J^T J there."""

    found: tuple[float, ...]
    cost: float
    normal: tuple[tuple[float, ...], ...]


def least_squares(
    residuals: Residuals,
    slopes: Slopes,
    start: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
    scale: Sequence[float],
    most: int = MOST_STEPS,
    smallest: float = SMALLEST_STEP,
) -> Solution:
    """Return the parameters within bounds that make the sum of squared residuals least.

    Levenberg-Marquardt with damping by gain ratio. A parameter that stands at a bound and would
    leave it is held for that step; a step is cut at the bounds. The minimum is the nearest one
    downhill. ``scale`` is by how much each parameter usually changes, in its own unit. At most
    ``most`` steps are tried; a step smaller than ``smallest`` of every scale ends the search.

    Source: K. Madsen, H.B. Nielsen and O. Tingleff 2004, Methods for Non-Linear Least Squares
    Problems, IMM, Technical University of Denmark, algorithm 3.16; C. Kanzow, N. Yamashita and
    M. Fukushima 2004, J. Comput. Appl. Math. 172:375, for steps projected on bounds.
    """
    n = len(start)
    point = [min(max(x, a), b) for x, a, b in zip(start, low, high, strict=True)]
    values = residuals(point)
    cost = _cost(values)
    gradient, normal = _normal(values, slopes(point))
    damping, growth = 1.0, 2.0
    for _ in range(most):
        free = [
            i for i in range(n)
            if not (point[i] <= low[i] and gradient[i] > 0.0)
            and not (point[i] >= high[i] and gradient[i] < 0.0)
        ]  # fmt: skip
        if not free or damping > BLUNTEST:
            break
        damped = [
            [normal[i][j] + (damping * _weight(normal[i][i], scale[i]) if i == j else 0.0)
             for j in free]
            for i in free
        ]  # fmt: skip
        step = solved(damped, [-gradient[i] for i in free])
        trial = list(point)
        for i, s in zip(free, step, strict=True):
            trial[i] = min(max(point[i] + s, low[i]), high[i])
        moved = [t - p for t, p in zip(trial, point, strict=True)]
        if all(abs(m) <= smallest * s for m, s in zip(moved, scale, strict=True)):
            break
        promised = -sum(
            m * (g + 0.5 * sum(a * k for a, k in zip(row, moved, strict=True)))
            for m, g, row in zip(moved, gradient, normal, strict=True)
        )
        values = residuals(trial)
        gain = (cost - _cost(values)) / promised if promised > 0.0 else -1.0
        if gain > 0.0:
            point, cost = trial, _cost(values)
            gradient, normal = _normal(values, slopes(trial))
            damping *= max(1.0 / 3.0, 1.0 - (2.0 * gain - 1.0) ** 3)
            growth = 2.0
        else:
            damping *= growth
            growth *= 2.0
    return Solution(tuple(point), cost, tuple(tuple(row) for row in normal))


def _weight(curvature: float, scale: float) -> float:
    """Return what damps a parameter: its own curvature, and something where it has none."""
    return max(curvature, 1e-12 / scale**2)


def _cost(values: Sequence[float]) -> float:
    """Return half the sum of squares."""
    return 0.5 * math.fsum(r * r for r in values)


def _normal(
    values: Sequence[float], slopes: Sequence[Sequence[float]]
) -> tuple[list[float], list[list[float]]]:
    """Return the gradient J^T r, and J^T J."""
    columns = list(zip(*slopes, strict=True))
    gradient = [math.fsum(r * s for r, s in zip(values, c, strict=True)) for c in columns]
    normal = [[math.fsum(a * b for a, b in zip(c, d, strict=True)) for d in columns]
              for c in columns]
    return gradient, normal


def solved(matrix: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """Return x of a positive definite matrix times x = right, by Cholesky.

    ZeroDivisionError where the matrix is singular.
    """
    n = len(right)
    lower = [[0.0] * n for _ in range(n)]
    for i in range(n):
        for j in range(i + 1):
            rest = matrix[i][j] - math.fsum(lower[i][k] * lower[j][k] for k in range(j))
            lower[i][j] = math.sqrt(max(rest, 0.0)) if i == j else rest / lower[j][j]
    forward: list[float] = []
    for i in range(n):
        done = math.fsum(lower[i][k] * forward[k] for k in range(i))
        forward.append((right[i] - done) / lower[i][i])
    back = [0.0] * n
    for i in reversed(range(n)):
        done = math.fsum(lower[k][i] * back[k] for k in range(i + 1, n))
        back[i] = (forward[i] - done) / lower[i][i]
    return back


def inverse(matrix: Sequence[Sequence[float]]) -> list[list[float]]:
    """Return the inverse of a positive definite matrix; ZeroDivisionError where singular."""
    n = len(matrix)
    return [solved(matrix, [float(i == k) for i in range(n)]) for k in range(n)]
