"""The verdict on a reading: on plan, off plan, too close to call, or not recorded.

After the three-way decision rule of ILAC-G8:09/2019 4.2.3 (its two middle classes merged) with
the guard band w = U of JCGM 106: inside the limits narrowed by U a reading is on plan, outside the
limits widened by U it is off, and between them the instrument cannot tell.
"""

from __future__ import annotations

import enum
import math

from msgspec import Struct

DECISION_RULE = "three-way rule with guard band w = U, based on ILAC-G8:09/2019"
"""The decision rule as a record names it."""


class Verdict(enum.Enum):
    """What is said of a reading; the value is the word printed."""

    ON_PLAN = "ON PLAN"
    TOO_CLOSE = "TOO CLOSE TO CALL"
    OFF_PLAN = "OFF PLAN"
    NOT_RECORDED = "NOT RECORDED"


MOST_TOO_CLOSE = 0.2
"""Share of verdicts that may be too close to call before instruments or tolerances are wrong;
common practice, no source."""

COVERED = 1.96
"""Standard deviations to either side within which 95 of 100 normal values lie."""


class Limits(Struct, frozen=True):
    """Tolerance limits in the base unit; either side may be infinite.

    ``critical``: beyond it harm is possible, so that a reading too close to call counts as not
    met. ``origin`` says who set them: plan, house, default, or critical.
    """

    low: float
    high: float
    origin: str = "default"
    critical: bool = False

    def narrowed(self, uncertainty: float, share: float = 0.0) -> tuple[float, float]:
        """Return the range printed on the sheet: inside it a reading is on plan.

        U is ``uncertainty``, or ``share`` of the reading where that is more.
        """
        low = max(self.low + uncertainty, self.low / (1 - share))
        return low, min(self.high - uncertainty, self.high / (1 + share))

    def within(self, other: Limits | None) -> Limits:
        """Return the stricter of both on either side; where that is the other's, its origin."""
        if other is None:
            return self
        low, high = max(self.low, other.low), min(self.high, other.high)
        kept = (low, high) == (self.low, self.high)
        return Limits(low, high, self.origin if kept else other.origin)

    def share_too_close(self, uncertainty: float) -> float:
        """Return how many of a good day's readings this U would leave too close to call.

        0 to 1: of readings that lie within the limits 95 times in 100, normally distributed about
        their middle (JCGM 106:2012, 9.5). 0 where a side has no limit.
        """
        half = (self.high - self.low) / 2
        if not math.isfinite(half) or half <= 0:
            return 0.0
        spread = half / COVERED * math.sqrt(2)
        near, far = max(half - uncertainty, 0.0) / spread, (half + uncertainty) / spread
        return math.erf(far) - math.erf(near)

    def deciding(self) -> float:
        """Return the largest U that leaves no more than ``MOST_TOO_CLOSE`` too close to call."""
        low, high = 0.0, (self.high - self.low) / 2
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (
                (middle, high)
                if self.share_too_close(middle) <= MOST_TOO_CLOSE
                else (low, middle)
            )
        return low

    def too_coarse(self, uncertainty: float) -> bool:
        """Whether an instrument with this U can hardly ever show a reading to be on plan."""
        width = self.high - self.low
        return math.isfinite(width) and uncertainty >= width / 2


def verdict(reading: float | None, uncertainty: float, limits: Limits) -> Verdict:
    """Return the verdict on a reading with its U (k = 2); ``None`` is a reading not recorded.

    Sums are compared with a slack of 1e-9 of the values, so that an edge that is exact in decimal
    writing is not decided by binary rounding.
    """
    if reading is None:
        return Verdict.NOT_RECORDED
    below, low, high, above = edges(limits, uncertainty)
    if low <= reading <= high:
        return Verdict.ON_PLAN
    return Verdict.TOO_CLOSE if below <= reading <= above else Verdict.OFF_PLAN


def edges(
    limits: Limits, uncertainty: float, share: float = 0.0
) -> tuple[float, float, float, float]:
    """Return the numbers that decide a verdict, with the slack of :func:`verdict` in them.

    Off plan below the first and above the last; on plan from the second to the third; between
    them too close to call. All in the base unit; either pair may be infinite. ``share`` as in
    :meth:`Limits.narrowed`.
    """
    low, high = limits.narrowed(uncertainty, share)
    below = min(limits.low - uncertainty, limits.low / (1 + share))
    above = max(limits.high + uncertainty, limits.high / (1 - share))
    return below - _slack(below), low - _slack(low), high + _slack(high), above + _slack(above)


def _slack(value: float) -> float:
    return max(1e-9 * abs(value), 1e-9) if math.isfinite(value) else 0.0


def met(judged: Verdict, limits: Limits) -> bool:
    """Whether a limit is met: a critical one only when the reading is clearly on plan."""
    return judged is Verdict.ON_PLAN or (judged is Verdict.TOO_CLOSE and not limits.critical)
