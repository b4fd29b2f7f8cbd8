"""From plan to glass: which fact of the day moved which figure of the beer, as table and chart.

The printed steps of a column add up to the printed difference between plan and glass.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple, Protocol

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.assessment.day_fact import DayFact, Moved
from reportgen.assessment.explained import Explained
from reportgen.assessment.replay import Replay, rounded_steps
from reportgen.forecast.figures import FIGURES, OUTCOMES, Stage
from reportgen.record.printed import Units, fixed, signed
from reportgen.report.charts import Chart
from reportgen.report.plan_text import amount_text, sentence, units_of
from reportgen.report.svg import INK, PALE, SOFT, WIDTH, Drawing, Scale

SHARE = 0.03
LEAST_TAKEN, MOST_TAKEN = 0.5, 1.5
"""A reading overrules an earlier fact where it takes back such a share of what that moved."""

OWN = "‡"
"""Marks the reading of an outcome itself: what nothing before it explains."""


class StepCell(NamedTuple):
    """One printed step; ``clear`` where it is larger than its U."""

    text: str
    clear: bool = False


class StepRow(NamedTuple):
    """One fact, or all small ones of a stage, and its steps by outcome."""

    title: str
    amount: str
    cells: tuple[StepCell, ...]
    note: str
    lines: str


class PlanToGlass(Struct, frozen=True):
    """The table of steps, ready to print: heads with units, the two ends, rows between them."""

    heads: tuple[str, ...]
    planned: tuple[str, ...]
    rows: tuple[StepRow, ...]
    glass: tuple[str, ...]
    is_brewed: bool
    chart: Chart | None


def plan_to_glass(
    assessment: Assessment, explained: Explained, lines: Mapping[str, str]
) -> PlanToGlass | None:
    """Return the table and the chart; None where no fact moved anything.

    ``lines`` has by ``step:`` and the fact's key the line of the Working.
    """
    replay, units = explained.replay, units_of(assessment)
    keys = [key for key in OUTCOMES if key in replay.planned and key in replay.brewed]
    if not keys or not replay.steps:
        return None
    alone, together = _by_worth(assessment, replay, keys)
    told = [*(("", [fact]) for fact in alone), *together]
    columns = {
        key: _column(units, key, replay, [_size(facts, key) for _, facts in told]) for key in keys
    }
    rows = []
    for number, (title, facts) in enumerate(told):
        cells = tuple(_cell(facts, key, columns[key][number]) for key in keys)
        amount = note = ""
        if not title:
            title, amount = sentence(facts[0].title), amount_text(assessment, facts[0])
            note = _overrules(alone[:number], facts[0], keys)
        if any(cell.text for cell in cells):
            numbers = [lines.get(f"step:{fact.key}", "") for fact in facts]
            rows.append(StepRow(title, amount, cells, note, _runs(numbers)))
    return PlanToGlass(
        tuple(_short_head(units, key) for key in keys),
        tuple(_end(units, key, replay.planned[key]) for key in keys),
        tuple(rows),
        tuple(_end(units, key, replay.brewed[key]) for key in keys),
        assessment.record.packaging is not None,
        step_chart(assessment, replay, keys),
    )


def _runs(numbers: Sequence[str]) -> str:
    """Return line numbers in short: the first of many, the others follow it."""
    present = [number for number in numbers if number]
    return ", ".join(present) if len(present) < 3 else f"{present[0]} ff."


def _decimals(key: str) -> int:
    return max(FIGURES[key].decimals, 1 if key == "bitterness" else 0)


def _head(units: Units, key: str) -> str:
    unit = "" if key == "alcohol" else units.head(FIGURES[key].kind)
    title = "Alcohol, % vol" if key == "alcohol" else FIGURES[key].title
    return f"{title}, {unit}" if unit else title


def _short_head(units: Units, key: str) -> str:
    """Return the head of a narrow column."""
    return _head(units, key).replace("Original gravity", "OG").replace("Final gravity", "FG")


def _end(units: Units, key: str, value: float) -> str:
    return units.number(value, FIGURES[key].kind, _decimals(key))


def _column(units: Units, key: str, replay: Steps, sizes: Sequence[float]) -> tuple[str, ...]:
    """Return the steps of one outcome as printed, in the unit of the house."""
    kind = FIGURES[key].kind
    shown = units.decimals(kind, _decimals(key))
    start = replay.planned[key]
    running, converted = start, units.converted(start, kind)
    steps = []
    for size in sizes:
        running += size
        after = units.converted(running, kind)
        steps.append(after - converted)
        converted = after
    printed = rounded_steps(units.converted(start, kind), steps, shown)
    return tuple(signed(fixed(step, shown)) if step else "" for step in printed)


def _cell(facts: Sequence[DayFact], key: str, text: str) -> StepCell:
    """Return a step; it is clear where one fact alone moved the outcome, by more than its U."""
    if not text:
        return StepCell("")
    moved = [fact for fact in facts if key in fact.moved]
    own = OWN if any(fact.figure == key for fact in moved) else ""
    return StepCell(text + own, len(moved) == 1 and moved[0].moved[key].is_clear)


def _size(facts: Sequence[DayFact], key: str) -> float:
    """Return how much facts move an outcome together."""
    return sum(fact.moved[key].size for fact in facts if key in fact.moved)


def _by_worth(
    assessment: Assessment, replay: Replay, keys: Sequence[str]
) -> tuple[list[DayFact], list[tuple[str, list[DayFact]]]]:
    """Return the facts that are worth a row, in order of time; the others together, titled."""
    alone: list[DayFact] = []
    small, analysed = [], []
    for fact in replay.steps:
        moved = [key for key in keys if key in fact.moved]
        own = fact.figure in moved
        if own and assessment.actuals[fact.figure].analysed:
            analysed.append(fact)
        elif own or any(abs(fact.moved[key].size) >= _worth(replay, key) for key in moved):
            alone.append(fact)
        elif moved:
            small.append(fact)
    together = (
        ("Analysis of the beer", analysed), ("All else, each too small for a row", small),
    )  # fmt: skip
    return alone, [(title, facts) for title, facts in together if facts]


def _worth(replay: Replay, key: str) -> float:
    """Return the least change of an outcome that has a row; for IBU and EBC it is a share."""
    share = SHARE * replay.planned[key] if key in ("bitterness", "colour") else 0.0
    return max(FIGURES[key].worth, share)


def _overrules(before: Sequence[DayFact], fact: DayFact, keys: Sequence[str]) -> str:
    """Say which earlier row a reading takes back, in full or in part; empty for none."""
    if not fact.figure:
        return ""
    names: dict[str, None] = {}
    for key in keys:
        size = _size([fact], key)
        against = [earlier for earlier in before if _size([earlier], key) * size < 0]
        if abs(size) < FIGURES[key].worth or not against:
            continue
        most = max(against, key=lambda earlier: abs(_size([earlier], key)))
        taken = abs(size / _size([most], key))
        if abs(_size([most], key)) >= FIGURES[key].worth and LEAST_TAKEN <= taken <= MOST_TAKEN:
            names[most.title[:1].lower() + most.title[1:]] = None
    return f"overrules {', '.join(names)}" if names else ""


# The stepped chart

class Steps(Protocol):
    """What the chart asks of a replay, or of the difference of two."""

    @property
    def planned(self) -> Mapping[str, float]:
        """Where each outcome begins."""
        ...

    @property
    def brewed(self) -> Mapping[str, float]:
        """Where each outcome ends."""
        ...

    def by_stage(self, key: str) -> tuple[tuple[Stage, float], ...]:
        """How much each stage moved one outcome."""
        ...

    def unexplained(self, key: str) -> Moved | None:
        """What nothing before the reading of the outcome explains."""
        ...


STAGES = (
    (Stage.LIQUOR, "Liquor"), (Stage.MASH, "Mash"), (Stage.RUN_OFF, "Run-off"),
    (Stage.BOIL, "Boil"), (Stage.PITCH, "Pitch"), (Stage.FERMENT, "Ferment"),
    (Stage.PACK, "Pack"),
)  # fmt: skip
UNEXPLAINED = "Not explained"

TITLES, PLAN, FIRST, LAST = 0.0, 122.0, 132.0, 442.0
"""Where the titles begin, the planned values end, the steps begin and end, points."""

TOP, PITCH, RISE = 14.0, 18.5, 7.0
"""Height of the heads, of a row, and of its steps."""


def step_chart(
    assessment: Assessment,
    replay: Steps,
    keys: Sequence[str],
    ends: tuple[str, str] = ("Plan", ""),
) -> Chart | None:
    """Return a row an outcome: from the plan, stage by stage, to the glass."""
    units = units_of(assessment)
    moved = {key: dict(replay.by_stage(key)) for key in keys}
    columns = [(stage, word) for stage, word in STAGES if any(stage in m for m in moved.values())]
    if not columns:
        return None
    glass = ends[1] or ("Glass" if assessment.record.packaging is not None else "Now")
    names = [word for _, word in columns]
    has_rest = any(replay.unexplained(key) is not None for key in keys)
    wide = (LAST - FIRST) / (len(names) + has_rest * 1.4)
    places = [FIRST + wide * number for number in range(len(names))]
    said: list[str] = []
    begin = "planned" if ends[0] == "Plan" else ends[0]
    drawing = Drawing(TOP + PITCH * len(keys) + 2, "")
    for name, x in zip(names, places, strict=True):
        drawing.words(x + wide / 2, 9, name, "middle", colour=SOFT)
    if has_rest:
        drawing.words(LAST - wide * 0.7, 9, UNEXPLAINED, "middle", colour=SOFT)
    drawing.words(PLAN, 9, ends[0], "end", colour=SOFT)
    drawing.words(WIDTH, 9, glass, "end", bold=True)
    for row, key in enumerate(keys):
        rest = replay.unexplained(key)
        sizes = [moved[key].get(stage, 0.0) for stage, _ in columns]
        sizes += [rest.size if rest is not None else 0.0] if has_rest else []
        edges = [*places, LAST - wide * 1.4, LAST] if has_rest else [*places, LAST]
        texts = _column(units, key, replay, sizes)
        top = TOP + PITCH * row
        _steps(drawing, units, key, replay, sizes, edges, texts, top)
        heads = [*names, UNEXPLAINED] if has_rest else names
        parts = [f"{h.lower()} {t}" for h, t in zip(heads, texts, strict=True) if t]
        said.append(
            f"{_head(units, key)}: {_end(units, key, replay.planned[key])} {begin}, "
            f"{_end(units, key, replay.brewed[key])} {glass.lower()}"
            + (f" ({', '.join(parts)})" if parts else "")
        )
    drawing.alternative = f"From {ends[0].lower()} to {glass.lower()}. {'; '.join(said)}."
    return Chart("From plan to glass", drawing.svg())


def _steps(
    drawing: Drawing,
    units: Units,
    key: str,
    replay: Steps,
    sizes: Sequence[float],
    edges: Sequence[float],
    texts: Sequence[str],
    top: float,
) -> None:
    """Draw one outcome: its two ends in figures, a line that steps where a stage moved it."""
    levels = [replay.planned[key]]
    for size in sizes:
        levels.append(levels[-1] + size)
    low, high = min(levels), max(levels)
    least = 2 * FIGURES[key].worth
    if high - low < least:
        low, high = (low + high - least) / 2, (low + high + least) / 2
    y = Scale(low, high, top + RISE, top)
    drawing.line([(TITLES, top + PITCH - 1.6), (WIDTH, top + PITCH - 1.6)], PALE, 0.5)
    drawing.words(TITLES, top + 9, _head(units, key))
    drawing.words(PLAN, top + 9, _end(units, key, replay.planned[key]), "end")
    drawing.words(WIDTH, top + 9, _end(units, key, replay.brewed[key]), "end", bold=True)
    drawing.line([(PLAN + 3, y(levels[0])), (edges[-1], y(levels[0]))], SOFT, 0.5, "1 2")
    points = [(PLAN + 3, y(levels[0]))]
    for number, text in enumerate(texts):
        middle = (edges[number] + edges[number + 1]) / 2
        points += [(middle, y(levels[number])), (middle, y(levels[number + 1]))]
        if text:
            drawing.words(middle, top + RISE + 8.2, text, "middle")
    points.append((WIDTH - 42, y(levels[-1])))
    drawing.line(points, INK, 1.25)
