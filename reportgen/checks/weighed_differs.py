"""What was weighed is not what was planned.

A difference of 5 % changes the beer, one of 10 % can be tasted. Often the decimal point is wrong,
two items were swapped or one of several additions is missing. Differences within the scale's
uncertainty are not reported. What goes to the fermenter may be weighed later; until the wort is
pitched, so may the other doses of an item that has several. Left out altogether, with a reason, is
the largest difference of all; so is the yeast, priming sugar, or liquor to the wort. Yeast is compared with
what was pitched.

Fix: compare with the sheet; if it is true, write a deviation in the review
Source: common practice, no source
Passes:
    brew_day:
      date: 2026-03-14
      weighed: [{item: pale, amount: 7.0 kg}, {item: goldings, amount: 90 g}]
Fails:
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7.7 kg}]}
"""

import itertools
import math
from collections import defaultdict

from msgspec import Struct, field

from reportgen.assessment.day_weighed import scale_uncertainty, true_amount
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.misread import has_misread
from reportgen.checks.quantities import value_of
from reportgen.checks.when import is_over
from reportgen.checks.written_twice import twice_weighed
from reportgen.record.model.plan import Plan
from reportgen.record.printed import Units, fixed
from reportgen.record.units import Quantity, parse_quantity
from reportgen.record.values import Reading, State

GROUP = Group.STORE
SEVERITY = Severity.MINOR
ALSO = {
    Severity.NOTE: "off by less than 10 %",
    Severity.MAJOR: "more than 8 times what is planned, as with a wrong unit",
}

TOLD = 0.05
"""Share of the plan from which on a difference is told, when U cannot explain it."""
MINOR = 0.10
"""Share of the plan below which a difference is but a note."""
UNITS = {"mass": ("g", "kg", "oz", "lb"), "volume": ("mL", "L")}
"""Units that are typed for one another."""
MANY = 8
"""Doses of one item of which all sums are looked at."""
FAR = 8.0
"""As many times the plan is a slip of a decimal point or a unit, or harm."""


class _Planned(Struct):
    """What is planned of one item: for the brew day, and in later doses to the fermenter."""

    kind: str
    doses: list[float] = field(default_factory=list)
    later: list[float] = field(default_factory=list)

    def nearest(self, total: float, is_under_way: bool) -> float:
        """Return the sum planned that lies nearest to what was weighed.

        What goes to the fermenter may be weighed on the brew day with the rest or later, so the
        sum may end before any of its doses. While the day is under way it may be that of any of
        the doses: the others are yet to be weighed, or to be typed.
        """
        sums = [*itertools.accumulate([math.fsum(self.doses), *self.later])]
        if is_under_way:
            sums += _sums(self.doses)
        return min((s for s in sums if s > 0), key=lambda s: abs(s - total), default=0.0)


def check(batch: Assessment) -> Remarks:
    """Compare the sum weighed of each item with the sum planned."""
    day = batch.record.brew_day
    if day is None:
        return
    for result in (*batch.results, *(r for o in batch.others_filled for r in o.own_packing)):
        figure, expected, read = result.figure, result.expected, result.actual
        if read is None or read.reading.state is not State.NOT_DONE or expected is None:
            continue
        can_be_left_out = figure.poured or figure.key == "yeast_amount"
        if can_be_left_out and not figure.of_sparge and expected.value > 0:
            of_plan = value_of(figure, expected.value, batch)
            yield _left_out(figure.title, read.reading, of_plan)
    planned, twice = planned_items(batch.record.plan), twice_weighed(batch)
    pitched, yeast = day.pitch.yeast_amount if day.pitch else None, batch.record.plan.pitch.yeast
    if pitched is not None and pitched.value is not None:
        planned[yeast] = _Planned(pitched.value.kind, [pitched.value.value])
    # A line that cannot be read may be what is lacking.
    unread = has_misread(batch, batch.batch.file)
    weighed: dict[str, list[Reading]] = defaultdict(list)
    for entry in day.weighed:
        weighed[entry.item].append(entry.amount)
    for name, readings in weighed.items():
        plan = planned.get(name)
        if plan is not None and all(r.state is State.NOT_DONE for r in readings):
            of_plan = _amount(math.fsum((*plan.doses, *plan.later)), plan.kind, batch)
            yield _left_out(name, readings[-1], of_plan)
            continue
        readings = [r for r in readings if r.value is not None]
        amounts = [r.value for r in readings if r.value is not None]
        # One written twice is told as that.
        if plan is None or not amounts or name in twice:
            continue
        if any(a.kind != plan.kind for a in amounts):
            # A weight cannot be held against a volume.
            continue
        weights = (true_amount(batch.record, batch.brewery, r) for r in readings)
        total = sum(weight for weight in weights if weight is not None)
        wanted = plan.nearest(total, is_under_way=not is_over(batch.record, Stage.BOIL))
        off = abs(total - wanted)
        u = math.hypot(*(scale_uncertainty(batch.record, batch.brewery, r) for r in readings))
        if not wanted or off - u <= TOLD * wanted or (total < wanted and unread):
            continue
        far = off > MINOR * wanted or math.isclose(off, MINOR * wanted)
        yield Remark(
            readings[-1].position,
            f"{name}: {_amount(total, plan.kind, batch)} weighed,"
            f" {_amount(wanted, plan.kind, batch)} {'pitched' if name == yeast else 'planned'}",
            _amount(wanted, plan.kind, batch),
            _meant(amounts, total, wanted),
            severity=Severity.MAJOR if total > FAR * wanted else None if far else Severity.NOTE,
        )


def _left_out(name: str, reading: Reading, wanted: str) -> Remark:
    return Remark(
        reading.position, f"{name}: left out ({reading.reason}), {wanted} planned", wanted,
        "write a deviation in the review, with this check under its `findings`",
    )


def planned_items(plan: Plan) -> dict[str, _Planned]:
    """Return what is planned of each item."""
    planned: dict[str, _Planned] = {}
    for item in plan.ingredients:
        of_item = planned.setdefault(item.name, _Planned(item.amount.kind))
        (of_item.later if item.later else of_item.doses).append(item.amount.value)
    return planned


def _sums(doses: list[float]) -> set[float]:
    """Return every sum of some of the doses."""
    sums = {0.0}
    for dose in doses[:MANY]:
        sums |= {s + dose for s in sums}
    return sums


def _amount(value: float, kind: str, batch: Assessment) -> str:
    """Return a weight or volume as it is weighed out: little of it in the small unit."""
    small, system = value < 1.0, batch.brewery.system
    fine = small and (kind == "volume" or system == "metric")
    places = (0 if value >= 0.1 else 1) if fine else 2
    shown_as = f"small_{kind}" if small else kind
    units = Units(system)
    return f"{fixed(units.converted(value, shown_as), places)} {units.label(shown_as)}"


def _meant(amounts: list[Quantity], total: float, wanted: float) -> str:
    """Return the unit in which a single amount is the one planned; empty when there is none."""
    if len(amounts) != 1 or not total:
        return ""
    for unit in UNITS[amounts[0].kind]:
        text = f"{amounts[0].number:g} {unit}"
        other = parse_quantity(text, amounts[0].kind).value
        if unit != amounts[0].unit and abs(other - wanted) <= MINOR * wanted:
            return f"did you mean {text}?"
    return ""
