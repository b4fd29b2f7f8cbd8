"""What the checks of pressure share: a number in another unit, a vessel in words."""

from __future__ import annotations

from msgspec import Struct

from reportgen.checks.base import Assessment, silenced_in
from reportgen.forecast.vessels import Vessel
from reportgen.record.units import Quantity, parse_quantity
from reportgen.science.carbonation import STANDARD_ATMOSPHERE

MOST_IN_BOTTLES = 3.0
"""Volumes of gas that ordinary bottles are commonly made for: common practice."""

UNITS = ("psi", "bar", "kPa", "mbar")
NEAR = 2.0
"""Another unit is thought of when it comes within this factor of what was expected; a factor of 14.5
lies between psi and bar."""
NEAR_ABSOLUTE = 0.25
"""The same of a gauge that reads absolute pressure, as a share."""


class Meant(Struct, frozen=True):
    """What a number is in another unit: how it is written, and bar gauge.

    ``absolute`` says that the unit is right and the gauge counts from a vacuum.
    """

    text: str
    bar: float
    absolute: bool = False
    air: float = STANDARD_ATMOSPHERE

    @property
    def hint(self) -> str:
        """What to do about it, after the gauge has been read again."""
        if self.absolute:
            return (
                f"if the gauge shows about {self.air:.2g} bar with no pressure on it, it reads "
                f"absolute pressure: write `{self.bar:.2f} bar`"
            )
        same = "" if self.text.endswith(" bar") else f" = {self.bar:.2f} bar"
        return f"if it shows {self.text}{same}, write `{self.text}`"


def other_unit(
    quantity: Quantity, expected: float | None, most: float, air: float = STANDARD_ATMOSPHERE
) -> Meant | None:
    """Return what a pressure was probably meant as, or None.

    The unit that brings it nearest to what is expected, bar; where nothing is, the first and most
    usual unit that brings it between 0.1 bar and ``most``. ``air`` is the air pressure of the
    place, bar, from which a gauge that counts from a vacuum starts.
    """
    texts = [f"{quantity.number:g} {unit}" for unit in UNITS if unit != quantity.unit]
    ways = [Meant(text, parse_quantity(text, "pressure").value) for text in texts]
    if expected is None or expected <= 0:
        return next((m for m in ways if 0.1 <= m.bar <= most), None)
    near = [m for m in ways if expected / NEAR <= m.bar <= expected * NEAR]
    gauge = quantity.value - air
    if abs(gauge - expected) <= NEAR_ABSOLUTE * expected:
        near.append(Meant(quantity.text, gauge, absolute=True, air=air))
    return min(near, key=lambda m: max(m.bar / expected, expected / m.bar), default=None)


def is_high_for_bottles(batch: Assessment) -> bool:
    """Whether ordinary bottles are to have more gas than they are made for, which its check tells."""
    pack = batch.record.plan.packaging
    return (
        batch.case.container.rating is None and pack.into == "bottle"
        and pack.carbonation.value > MOST_IN_BOTTLES
        and "carbonation-high-for-bottles" not in silenced_in(batch)
    )


def named(vessel: Vessel) -> str:
    """Return a vessel in words, with its name in brewery.yaml where it has one."""
    return vessel.kind if vessel.name == vessel.kind else f"{vessel.kind} {vessel.name}".strip()
