"""A method is used outside the range it is trusted in.

The formula still gives a number there, but fewer measurements stand behind it. Take what follows
from it as a hint.

Fix: take extra readings; no change is needed
Source: ranges stated with each method
Passes:
    {}
Fails:
    plan: {boil: {time: 180 min, hops: [{hop: goldings, amount: 60 g, time: 180 min}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.house_cause import wrong_figure
from reportgen.checks.inputs import origin, planned_like
from reportgen.forecast.arguments import argument_text
from reportgen.record.finding import Position
from reportgen.record.model.plan import Plan
from reportgen.science.method import Extrapolation, page

GROUP = Group.RECORD
SEVERITY = Severity.NOTE
UNTIL = Stage.PACK

WORDS = {
    "minutes": "time", "volumes": "carbonation", "mcu": "colour of the malts",
    "living": "viability", "density": "count of cells",
}  # fmt: skip
"""Arguments whose names say little by themselves."""


def check(batch: Assessment) -> Remarks:
    """Pass on the extrapolations of the planned walk."""
    plan, system, said = batch.record.plan, batch.brewery.system, set()
    if batch.planned.marks and wrong_figure(batch) is not None:
        # That figure is named at its own line; what follows from it tells no more.
        return
    # What the plan itself says is told before what only follows from it.
    follows: list[tuple[Position | None, str, str]] = []
    for mark in sorted(batch.planned.marks, key=lambda m: _planned(m, plan) is None):
        if batch.case.is_steeped and mark.name == "liquor_to_grist":
            # Grain that is only steeped is no mash.
            continue
        name = WORDS.get(mark.name, mark.name.replace("_", " "))
        place = _planned(mark, plan) or origin(mark.name, plan) or plan.fermenter_volume.position
        # One input met by two methods is one thing to say.
        if (name, place) in said:
            continue
        said.add((name, place))
        value, low, high = (
            argument_text(v, mark.unit, system) for v in (mark.value, mark.low, mark.high)
        )
        if value in (low, high):
            value = argument_text(mark.value, mark.unit, system, more=2)
        title = page(mark.method).title
        message = f"{name} of {value} is beyond the trusted range of: {title}"
        if _planned(mark, plan) is not None:
            yield Remark(place, message, f"{low} to {high}")
        else:
            follows.append((place, message, f"{low} to {high}"))
    if follows:
        # What only follows from the plan has one cause or two: the first is told, the rest counted.
        place, message, expected = follows[0]
        more = len(follows) - 1
        also = "so is another number" if more == 1 else f"so are {more} other numbers"
        yield Remark(place, f"{message}; {also}" if more else message, expected)


def _planned(mark: Extrapolation, plan: Plan) -> Position | None:
    """Return where the plan has the number; None where it only follows from others.

    Of several that are the same number, that with the name of the argument or, failing that, that
    of one ingredient rather than of a whole section.
    """
    work = (
        plan.fermenter_volume, plan.liquor, plan.mash, plan.run_off, plan.boil, plan.cool, plan.pitch,
        plan.fermentation, plan.packaging,
    )  # fmt: skip
    places = planned_like(work, mark.value, mark.unit)
    return max(places, key=lambda place: (place.name == mark.name, place.depth)).position if places else None
