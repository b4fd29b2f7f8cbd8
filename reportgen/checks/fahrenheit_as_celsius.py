"""A temperature looks like Fahrenheit written as Celsius.

A mash at 150 degrees Celsius cannot be. The number is usual in Fahrenheit, so the unit was probably
mistyped; in a fermentation it is the decimal point. A sample at 20 degrees Fahrenheit is ice.

Fix: write F, or correct the number
Source: water boils at 100 C and freezes at 0 C
Passes:
    plan: {mash: {rests: [{temperature: 152 F, time: 60 min}]}}
Fails:
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 152 C}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import temperature
from reportgen.record.each_value import fields_in, quantity_of
from reportgen.record.values import Reading

GROUP = Group.READINGS
SEVERITY = Severity.MAJOR
CONTRADICTS = True

COOL = {"cool", "pitch", "fermentation", "packaging", "malt temperature"}
"""Parts of a record with temperatures of nothing that is hot."""
FROZEN = -5.0
"""degC below which no sample is read: beer of 5 % freezes above it, and wort before that."""
WARMEST = 45.0
"""degC, of those."""


def check(batch: Assessment) -> Remarks:
    """Look for temperatures above the boiling point."""
    for where, slot, value in fields_in(batch.record):
        written = [(quantity_of(value), False)]
        if isinstance(value, Reading):
            written.append((value.sample_temperature, True))
        for quantity, is_sample in written:
            if quantity is None or not quantity.is_temperature:
                continue
            # Of a gravity that cannot be corrected it is said already.
            if is_sample and quantity.value < FROZEN and slot.said.kind != "gravity":
                yield Remark(
                    quantity.position, f"a sample of {quantity.text} is ice",
                    f"{temperature(FROZEN, batch, 0)} or more",
                    f"did you mean {quantity.number:g} C?" if quantity.unit == "F" else "",
                )
            if quantity.value <= 105:
                continue
            yield Remark(
                quantity.position,
                f"{quantity.text} is hotter than boiling water",
                f"at most {temperature(105, batch, 0)}",
                _meant(quantity.number, where),
            )


def _meant(number: float, where: str) -> str:
    """Say what was meant: of what is never hot a point is missing, else it is Fahrenheit."""
    if not COOL.isdisjoint(where.split(", ")) and number <= 10 * WARMEST:
        return f"did you mean {number / 10:g} C?"
    return f"did you mean {number:g} F?" if number <= 221 else ""
