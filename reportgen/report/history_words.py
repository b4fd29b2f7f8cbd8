"""The own history in words and numbers ready to print: for the ledger's page and the verb."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from msgspec import Struct

from reportgen.history.pairs import ComparisonLine, GroupComparison, Pair, Test
from reportgen.history.series import (
    FEWEST,
    FEWEST_TO_PROPOSE,
    HouseProposal,
    Series,
    Unusual,
    place,
    proposal_of,
)
from reportgen.record.kinds import in_points
from reportgen.record.printed import DASH, MINUS, NARROW, Units

MOST_JUMPS = 3
"""Changes named in one remark: the latest."""

POINTS = "points"
"""Unit of a difference of two shares: percentage points."""


class MeasureText(Struct, frozen=True):
    """How the numbers of a measure are told: by its kind and decimals, in the units of the house.

    A difference of shares is told in points, with its sign.
    """

    units: Units
    kind: str
    decimals: int

    @property
    def unit(self) -> str:
        """The unit; points for a difference of shares."""
        return POINTS if in_points(self.kind) else self.units.label(self.kind)

    def number(self, value: float) -> str:
        """Return a number without its unit."""
        if in_points(self.kind):
            return self.difference(value)
        return self.units.number(value, self.kind, self.decimals)

    def joined(self, number: str) -> str:
        """Put the unit after a number."""
        return f"{number}{NARROW}{self.unit}" if self.unit else number

    def text(self, value: float) -> str:
        """Return a number with its unit."""
        return self.joined(self.number(value))

    def span(self, low: float, high: float) -> str:
        """Return a range without its unit."""
        one, two = self.number(low), self.number(high)
        return f"{one}{' to ' if one[0] in f'+{MINUS}' else DASH}{two}"

    def difference(self, value: float) -> str:
        """Return a difference with its sign, without its unit."""
        return self.units.difference(value, self.kind, self.decimals)

    def plus_minus(self, uncertainty: float) -> str:
        """Return ±U without its unit."""
        return self.units.plus_minus(uncertainty, self.kind, self.decimals)

    def plain(self, value: float, more: int = 0) -> str:
        """Return a value as a brewer would type it: plain space, plain minus, the usual unit.

        Never coarser than the decimals, and ``more``, of the base unit, whatever the size of the
        printed one.
        """
        units, kind, decimals = self.units, self.kind, self.decimals + more
        if not in_points(kind):
            size = abs(units.converted(1.0, kind) - units.converted(0.0, kind))
            wanted = 1.001 * size * 10.0**-decimals
            while 10.0 ** -units.decimals(kind, decimals) > wanted:
                decimals += 1
        shown = MeasureText(units, kind, decimals).number(value).replace(MINUS, "-")
        return f"{shown} {self.unit.replace('°', '')}".strip()


def told_of(series: Series, units: Units) -> MeasureText:
    """Return how the numbers of a series are told."""
    return MeasureText(units, series.measure.kind, series.measure.decimals)


def title_of(series: Series) -> str:
    """Return the title of a series with its kit or yeast."""
    return f"{series.measure.title}, {series.name}"


def facts(series: Series, units: Units) -> Iterator[tuple[str, str]]:
    """Yield what a series says as labels and texts: mean, limits, next batch, what is stated."""
    told = told_of(series, units)
    chart, interval = series.chart, series.interval
    count = len(series.counted)
    if chart is None or interval is None:
        yield "Batches", f"{count}; limits need at least {FEWEST}"
        yield "Read", ", ".join(f"{told.text(p.value)} in {p.batch}" for p in series.points)
    else:
        yield "Batches", f"{count}, provisional: fewer than 20" if chart.provisional else f"{count}"
        yield "Mean", told.text(chart.centre)
        yield "Warning limits", told.span(*chart.warning)
        yield "Action limits", told.span(*chart.action)
        span = told.span(interval.low, interval.high)
        yield f"Next batch, {interval.coverage * 100:.0f} %", span
    if series.stated_text:
        yield "Stated", f"{series.stated_text}; {_standing(series, units)}"


def _standing(series: Series, units: Units) -> str:
    if len(series.counted) < FEWEST_TO_PROPOSE:
        return f"it takes {FEWEST_TO_PROPOSE} batches to test it"
    width = told_of(series, units).plus_minus(series.mean_reach or 0.0)
    agrees = "agrees" if proposal_of(series) is None else "does not agree"
    return f"{agrees}, since the mean is known to {width}"


def remarks(series: Series, units: Units) -> Iterator[str]:
    """Yield what must be borne in mind about a series, sentence by sentence."""
    if series.reading_share is not None and series.reading_share >= 0.5:
        yield (
            "The instruments alone could make most of this scatter: a better reading would tell "
            "more than another batch."
        )
    if series.jumps and series.chart is not None:
        told = told_of(series, units)
        most = told.plus_minus(series.chart.largest_change).lstrip("±")
        last = series.jumps[-MOST_JUMPS:]
        listed = "; ".join(
            f"{a.batch} to {b.batch}, {told.difference(b.value - a.value)}" for a, b in last
        )
        more = "The latest changes" if len(series.jumps) > len(last) else "Changes"
        yield (
            f"{more} larger than usual from one batch to the next ({most}): {listed}. "
            "Ask what was altered between them."
        )
    aside = [p for p in series.points if p.aside]
    if aside:
        listed = "; ".join(f"{p.batch} ({p.aside})" for p in aside)
        yield f"Set aside from the limits: {listed}."


def proposal_text(proposal: HouseProposal, units: Units) -> str:
    """Return the lines to paste into the house's file, the evidence as comments above them.

    Every value is written so that the file's own reader takes it back.
    """
    series = proposal.series
    measure = series.measure
    told = told_of(series, units)
    points = series.counted
    assert series.interval is not None
    evidence = [
        f"{measure.title}, {series.name}: mean of {len(points)} batches, {points[0].batch} to "
        f"{points[-1].batch}.",
        f"The mean is known to ±{told.plain(proposal.reach, 1)} (95 %); one "
        f"batch lies between {told.plain(series.interval.low)} and "
        f"{told.plain(series.interval.high)}.",
        f"Stated until now: {series.stated_text or 'nothing'}.",
    ]
    aside = [f"{p.batch} ({p.aside})" for p in series.points if p.aside]
    if aside:
        evidence.append(f"Set aside: {'; '.join(aside)}.")
    if series.chart is not None and series.chart.provisional:
        evidence.append("Provisional: fewer than 20 batches.")
    lines = [f"# {line}" for line in evidence]
    keys = place(measure.path, series.name)
    # The entry that changes: the methods as a whole, else one kit, yeast …
    whole = 1 if keys[0] in ("methods", "tolerances") else 2
    lines += [f"{'  ' * depth}{key}:" for depth, key in enumerate(keys[:whole])]
    indent = "  " * whole
    lines.append(f"{indent}since:")
    lines.append(f"{indent}  - from: {_day_after(points[-1].day)}")
    inner = indent + "    "
    for depth, key in enumerate(keys[whole:-1]):
        lines.append(f"{inner}{'  ' * depth}{key}:")
    deepest = inner + "  " * (len(keys) - whole - 1)
    lines.append(f"{deepest}{keys[-1]}: {told.plain(proposal.value)}")
    if proposal.spread is not None and measure.spread_path:
        spread = told.plain(proposal.spread)
        lines.append(f"{deepest}{measure.spread_path[-1]}: {spread}")
    lines.append(
        f"{inner}because: mean of {len(points)} batches, {points[0].batch} to {points[-1].batch}"
    )
    return "\n".join(lines)


def _day_after(day: str) -> str:
    """Return the day after the last batch that counted: no earlier record is changed by it."""
    return str(datetime.date.fromisoformat(day) + datetime.timedelta(days=1))


def unusual_sentence(unusual: Unusual, units: Units) -> str:
    """Return the sentence about a batch beyond an action limit."""
    series, point = unusual.series, unusual.point
    told = told_of(series, units)
    assert series.chart is not None
    return (
        f"{series.measure.title} {told.text(point.value)} is unusual for "
        f"{series.name}: action limits {told.span(*series.chart.action)}."
    )


def comparison_sentence(line: ComparisonLine, a: str, b: str, units: Units) -> str:
    """Return the honest statement about one thing compared."""
    if line.result is None:
        return f"Not compared: {line.reason}."
    kind = "share_difference" if line.kind == "fraction" else line.kind
    told, result = MeasureText(units, kind, line.decimals), line.result
    width = f"{told.difference(result.low)} to {told.difference(result.high)}"
    difference = told.joined(told.difference(result.difference))
    if result.can_be_told:
        return f"{a} less {b}: {difference} ({width}, 95 %). A difference is shown."
    return (
        f"{a} less {b}: {difference} ({width}, 95 %). No difference is shown: the interval "
        "takes in zero, so chance alone would do."
    )


def triangle_sentence(test: Test) -> str:
    """Return what a triangle test showed."""
    shown = (
        "the assessors discriminated between them"
        if test.told_apart
        else "no difference shown, which is not to say that there is none"
    )
    return (
        f"{test.date}: {test.a} against {test.b}, {test.correct_responses} of {test.assessors} "
        f"assessors gave the correct response; p = {test.p_value:.3f}, {shown} (ISO 4120, 5 %)."
    )


def caveats(comparison: GroupComparison) -> Iterator[str]:
    """Yield what must be said beside a comparison."""
    if comparison.compared > 1:
        expected = comparison.compared * 0.05
        yield (
            f"{comparison.compared} things are compared at 95 %: about {expected:.1f} of them "
            "would differ by chance alone."
        )
    if comparison.pairs:
        for pair in comparison.pairs:
            yield pair_sentence(pair, comparison.by)
        yield "All other batches differ in more than that, and this may make the difference."
    else:
        yield (
            f"No two plans differ in nothing but the {comparison.by}: grist, season or strength "
            "may make the difference. Brew a pair to know."
        )


def pair_sentence(pair: Pair, by: str) -> str:
    """Return what two batches say whose plans differ in one thing only."""
    start = f"The plans of {pair.a} and {pair.b} differ in nothing but the {by}"
    if pair.difference is None:
        return f"{start}."
    difference = Units().difference(pair.difference, "fraction", 3)
    told = "more" if abs(pair.difference) > pair.uncertainty else "no more"
    return (
        f"{start}: attenuation differs by {difference} points, {told} than the readings leave open "
        f"({Units().plus_minus(pair.uncertainty, 'fraction', 3)})."
    )
