"""A temperature looks like Fahrenheit written as Celsius.

A mash at 150 degrees Celsius cannot be. The number is usual in Fahrenheit, so the unit was probably
mistyped.

Mend: write F, or mend the number
Source: water boils at 100 C
Passes:
    plan: {mash: {rests: [{temperature: 152 F, time: 60 min}]}}
Fails:
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 152 C}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.checks.quantities import temperature
from reportgen.record.finding import Severity

GROUP = Group.TRUE
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Iterator[Said]:
    """Look for temperatures above the boiling point."""
    for actual in batch.actuals.values():
        quantity = actual.reading.value
        if quantity is not None and quantity.kind == "temperature" and quantity.value > 105:
            yield Said(
                quantity.position,
                f"{quantity.text} is hotter than boiling water",
                f"at most {temperature(105, batch, 0)}",
                f"did you mean {quantity.number:g} F?",
            )
    plan = batch.record.plan
    planned = [rest.temperature for rest in plan.mash.rests]
    planned += [plan.cool.temperature, plan.ferment.temperature]
    for quantity in planned:
        if quantity.value > 105:
            yield Said(
                quantity.position,
                f"{quantity.text} is hotter than boiling water",
                f"at most {temperature(105, batch, 0)}",
                f"did you mean {quantity.number:g} F?",
            )
