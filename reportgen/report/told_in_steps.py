"""What each step of brewing is for, in words for those who drink the beer and those who learn.

The card and the lesson sheet are made from the same steps, each with the numbers of the batch.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.assessment.ingredients import ingredients
from reportgen.forecast.resolve import rinses
from reportgen.record.printed import Units
from reportgen.report.plan_text import name_of, printed_as, units_of
from reportgen.science.number import nominal


class Number(NamedTuple):
    """One number of a step: planned, and as it was where it was read."""

    title: str
    planned: str
    was: str


class Teaching(Struct, frozen=True):
    """What is said of a step: what it is for, what happens without it, a question to think about.

    ``figures`` are the keys of its numbers.
    """

    title: str
    purpose: str
    without: str
    question: str
    figures: tuple[str, ...]


TEACHINGS = (
    Teaching(
        "Water",
        "Its salts steer the sourness of the mash and the taste: sulfate makes bitterness dry, "
        "chloride makes malt round.",
        "Hard water without acid keeps the mash too alkaline: harsh, dull beer.",
        "Which of the two is higher here, and does the beer taste like it?",
        ("cast_out_sulfate_of_liquor", "cast_out_chloride_of_liquor", "mash_ph"),
    ),
    Teaching(
        "Mash",
        "Warm water lets the malt's own enzymes turn starch into sugar. Warmer leaves more body, "
        "cooler makes a drier beer.",
        "Starch that is not turned stays: no sugar, no alcohol, a cloudy beer.",
        "What would two degrees more have done to the final gravity?",
        ("strike_temperature", "mash_temperature", "first_wort_gravity"),
    ),
    Teaching(
        "Run-off",
        "The sweet wort is drawn from the grain, and hot water rinses out what is left.",
        "Without rinsing about a third of the sugar stays in the grain.",
        "Why stop rinsing while there is still a little sugar?",
        ("last_runnings_gravity", "kettle_volume", "kettle_gravity"),
    ),
    Teaching(
        "Boil",
        "Boiling kills what would spoil the beer, makes hops bitter and drives off unwanted "
        "smells.",
        "Without a boil the hops give hardly any bitterness and the wort sours.",
        "Why do hops added late smell more and taste less bitter?",
        ("cast_out_volume", "cast_out_gravity", "bitterness"),
    ),
    Teaching(
        "Cool and pitch",
        "Yeast works only in cool wort. The gravity now says how much sugar there is.",
        "Yeast put into hot wort dies; wort left warm without yeast is taken by others.",
        "How much alcohol would this sugar give if yeast could eat all of it?",
        ("original_gravity", "pitch_temperature", "fermenter_volume"),
    ),
    Teaching(
        "Fermentation",
        "Yeast turns sugar into alcohol and gas, and makes much of the taste. Gravity falls until "
        "it is done.",
        "Packaged too early, the rest ferments in the bottle, which can burst.",
        "How can you tell that fermentation is over, and not only slow?",
        ("final_gravity", "apparent_attenuation", "alcohol"),
    ),
    Teaching(
        "Packaging",
        "Gas is dissolved under pressure in the cold: the colder the beer, the more it takes up.",
        "Without gas the beer is flat; with too much it gushes or bursts its bottle.",
        "Why does a warm bottle foam more than a cold one?",
        ("beer_temperature", "carbonation", "packaged_volume"),
    ),
)
"""The steps in the order of the work. Common knowledge of the trade, no source."""

DISSOLVED = Teaching(
    "Extract",
    "Malt extract has the sugar of the malt in it already: its maker mashed and rinsed the grain.",
    "Without it, or another sugar, there is nothing for the yeast to eat.",
    "What can one who mashes choose that was chosen here by the maker?",
    ("kettle_volume", "kettle_gravity"),
)

DRAINED = Teaching(
    "Run-off",
    "The sweet wort is drained from the grain. No water rinses out what is left.",
    "Without draining, most of the sugar stays in the grain.",
    "How much more sugar would rinsing bring, and how much more to boil away?",
    ("first_wort_gravity", "kettle_volume", "kettle_gravity"),
)

PRIMED = Teaching(
    "Packaging",
    "A little sugar goes in with the beer, and the yeast still in it makes the gas once it is "
    "closed.",
    "Without sugar the beer stays flat; with too much it gushes or bursts its bottle.",
    "Why must fermentation be over before the sugar is weighed?",
    ("priming_sugar", "carbonation", "packaged_volume"),
)


def teachings_of(assessment: Assessment) -> tuple[Teaching, ...]:
    """Return the steps that this batch has: of extract, undiluted or with sugar for the gas."""
    plan = assessment.record.plan
    steps = {step.title: step for step in TEACHINGS}
    if not plan.grist:
        # Its water has no mash to steer, and the taste of its salts is mostly the maker's.
        steps = {t: s for t, s in steps.items() if t not in ("Water", "Mash")}
        steps["Run-off"] = DISSOLVED
    elif not rinses(plan):
        steps["Run-off"] = DRAINED
    if assessment.find("priming_sugar") is not None:
        steps["Packaging"] = PRIMED
    return tuple(steps.values())


def numbers_of(assessment: Assessment, keys: tuple[str, ...]) -> Iterator[Number]:
    """Yield the numbers of a step, in the units of the house."""
    units = units_of(assessment)
    for key in keys:
        result = assessment.find(key)
        if result is None or result.expected is None:
            continue
        kind, decimals = printed_as(result.figure, assessment.case)
        brewed = assessment.as_brewed(key)
        yield Number(
            result.figure.title,
            units.text(result.expected.value, kind, decimals),
            "" if brewed is None else units.text(nominal(brewed), kind, decimals),
        )


def made_lines(assessment: Assessment) -> tuple[str, ...]:
    """Say in five lines how the beer was made, each with the reason."""
    units, case = units_of(assessment), assessment.case
    stock, plan = assessment.stock, assessment.record.plan
    used = ingredients(assessment.record)
    malts = _listed(_plain(name_of(stock.malts, m)) for m in used if m in stock.malts)
    hops = _listed(name_of(stock.hops, str(h.hop)) for h in plan.boil.hops if h.hop in used)
    yeast = name_of(stock.yeasts, str(plan.pitch.yeast))
    mash = _brewed(assessment, units, "mash_temperature")
    dissolved = _listed(name_of(stock.sugars, str(s.sugar)) for s in plan.sugars)
    lines = [
        f"Dissolved {_plain(dissolved)} in liquor: the sugar of the malt is in it already."
        if not plan.grist
        else f"Mashed from {malts}{f' at {mash}' if mash else ''}: the malt's own enzymes turn its "
        "starch into sugar.",
        f"Boiled{f' with {hops}' if hops else ''}: boiling makes hops bitter, and those added late "
        "give their smell.",
        f"Fermented with {yeast} at {units.text(case.fermentation_temperature, 'temperature', 0)}: "
        "yeast makes alcohol, gas and much of the taste.",
    ]
    attenuation = _brewed(assessment, units, "apparent_attenuation")
    if attenuation:
        lines.append(f"The yeast took {attenuation} of the sugar: what is left gives body.")
    gas = _brewed(assessment, units, "carbonation")
    if gas:
        lines.append(f"Served with {gas} of gas: more would prickle, less would be flat.")
    return tuple(lines)


def _brewed(assessment: Assessment, units: Units, key: str) -> str:
    result, number = assessment.find(key), assessment.as_brewed(key)
    if result is None or number is None:
        return ""
    kind, decimals = printed_as(result.figure, assessment.case)
    return units.text(nominal(number), kind, min(decimals, 1))


def _plain(name: str) -> str:
    """Return the name of a malt within a sentence: a common noun."""
    return name[:1].lower() + name[1:]


def _listed(names: Iterator[str]) -> str:
    listed = list(dict.fromkeys(names))
    if len(listed) < 2:
        return "".join(listed)
    return f"{', '.join(listed[:-1])} and {listed[-1]}"
