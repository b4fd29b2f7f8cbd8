"""Two batches, or two revisions of one, held against each other: only what differs.

The plans are compared value by value, not as text: 7.2 kg and 7200 g are the same. What the
difference does is the forecast of the one plan less that of the other, section by section: each
section of the second plan is put into the first in the order of the work, so the steps add up.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from reportgen.assessment.assess import Assessment, PlanChange
from reportgen.assessment.causes import shows_in
from reportgen.assessment.doubt import doubts_of
from reportgen.forecast.book import Forecast
from reportgen.forecast.figures import DERIVED, FIGURES, IONS, Figure
from reportgen.forecast.resolve import resolve
from reportgen.forecast.walk import walk
from reportgen.record.each_value import member_names
from reportgen.record.fields import Entry
from reportgen.record.kinds import KINDS
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.plan import Plan
from reportgen.record.model.stock import Stock
from reportgen.record.units import Quantity
from reportgen.science.number import expanded_uncertainty, nominal

SECTIONS = (
    "kit", "fermenter_volume", "grist", "sugars", "liquor", "mash", "run_off", "boil", "cool",
    "pitch",
    "fermentation", "packaging", "methods",
)  # fmt: skip
"""Sections of the plan that change the forecast, in the order of the work."""

MASHED = ("grist", "sugars", "liquor", "mash", "run_off")
"""Sections that only change together where one of two batches has no mash."""

HOUSE = "brewery.yaml and stock.yaml"

FORECAST = (
    "mash_ph", "kettle_volume", "original_gravity", "final_gravity", "alcohol", "bitterness",
    "colour", "fermenter_volume", "carbonation", *(f"cast_out_{ion}_of_liquor" for ion in IONS),
)  # fmt: skip
"""Figures in which the effect of a change of plan is told."""

KEYS = {
    "GristItem": ("malt",), "SugarItem": ("sugar", "to", "time"), "SaltItem": ("salt", "to"),
    "AcidItem": ("acid", "to"), "Share": ("liquor",), "HopItem": ("hop", "time"),
    "FiningItem": ("fining", "time"), "DryHop": ("hop", "on_day"),
}  # fmt: skip
"""What tells the items of a list apart; those not named here are told apart by their place."""

SKIPPED = ("position", "like", "written_by", "revision")


class PlanEffect(Struct, frozen=True):
    """What one section, or all together, does to one figure, in its base unit."""

    figure: str
    section: str
    change: float


class ResultPair(Struct, frozen=True):
    """One figure of both; None where there is none. ``uncertainty`` is U of the difference."""

    figure: str
    expected: tuple[float | None, float | None]
    actual: tuple[float | None, float | None]
    verdict: tuple[str, str]
    uncertainty: float
    doubted: str = ""
    """Instruments in doubt that read one of the two; ``uncertainty`` then has that in it."""
    of: str = ""
    """The containers that it is of, where one of the two is in several kinds."""

    @property
    def difference(self) -> float | None:
        """Actual of the second less that of the first."""
        first, second = self.actual
        return None if first is None or second is None else second - first

    @property
    def can_be_told(self) -> bool:
        """Whether the actuals differ by more than their U together."""
        return (
            self.difference is not None and not self.doubted
            and abs(self.difference) > self.uncertainty
        )  # fmt: skip

    @property
    def is_alike(self) -> bool:
        """Whether both were read, none by an instrument in doubt, and they differ within U."""
        return self.difference is not None and not self.doubted and not self.can_be_told

    @property
    def doubt(self) -> str:
        """What stands behind a difference that an instrument in doubt read; else empty."""
        return f" ({self.doubted.replace('_', ' ')} in doubt)" if self.doubted else ""


class ScorePair(Struct, frozen=True):
    """Mean scores of one attribute in both."""

    attribute: str
    first: float | None
    second: float | None


class TriangleBetween(Struct, frozen=True):
    """A triangle test between the two: its day, how many took it, how many found the odd glass."""

    date: str
    assessors: int
    correct_responses: int


class Difference(Struct, frozen=True):
    """All that differs between two batches or revisions.

    ``effects`` are by section and, under ``together``, in sum; ``sections`` is their order. It is
    empty when the two houses have not the names in common that the steps would need. ``results``
    are the figures that differ beyond U, ``within`` those that do not. ``scores`` are of
    ``evenings``, on which both were tasted. ``common`` are the sections of the plan that the two
    share; ``scored`` is whether each was tasted and scored on any. Where one is not ``brewed`` yet,
    ``results`` are what the two plans expect.
    """

    plan: tuple[PlanChange, ...]
    sections: tuple[str, ...]
    effects: tuple[PlanEffect, ...]
    together: tuple[PlanEffect, ...]
    results: tuple[ResultPair, ...]
    deviations: tuple[tuple[str, ...], tuple[str, ...]]
    scores: tuple[ScorePair, ...]
    evenings: tuple[str, ...] = ()
    triangles: tuple[TriangleBetween, ...] = ()
    within: tuple[ResultPair, ...] = ()
    common: tuple[str, ...] = ()
    brewed: tuple[bool, bool] = (True, True)
    scored: tuple[bool, bool] = (False, False)

    @property
    def is_none(self) -> bool:
        """Whether nothing differs: what was planned, what it was expected to give, what was found.
        """
        return not (
            self.plan or self.together or self.results or self.scores or self.triangles
            or {*self.deviations[0]} != {*self.deviations[1]}
        )


def difference_of(a: Assessment, b: Assessment) -> Difference:
    """Return what differs between two assessments, the second against the first."""
    sections, effects = effects_of(a, b)
    together = _steps("together", a.planned, b.planned)
    pairs = [
        pair for of, (one, two) in kinds_across((a, b)) if one is not None and two is not None
        for pair in _results(one, two, of)
    ]
    evenings = _evenings(a, b)
    return Difference(
        tuple(changes(a.record.plan, b.record.plan)),
        sections,
        effects,
        tuple(together),
        tuple(pair for pair in pairs if not pair.is_alike),
        (_deviations(a), _deviations(b)),
        tuple(_scores(a, b, evenings)),
        evenings,
        tuple(_triangles(a, b)),
        tuple(pair for pair in pairs if pair.is_alike),
        shared_sections(a, b),
        (a.record.brew_day is not None, b.record.brew_day is not None),
        (bool(_scored_on(a)), bool(_scored_on(b))),
    )


def shared_sections(*batches: Assessment) -> tuple[str, ...]:
    """Return the sections of the plan that all batches have alike, in the order of the work."""
    first, *others = (batch.record.plan for batch in batches)
    return tuple(
        name
        for name in SECTIONS
        if not any(
            True
            for other in others
            for _ in _changes(getattr(first, name), getattr(other, name), ())
        )
    )


def _triangles(a: Assessment, b: Assessment) -> Iterator[TriangleBetween]:
    """Yield each triangle test between the two; one that both records have stands once."""
    triangles: dict[TriangleBetween, None] = {}
    for one, other in ((a, b), (b, a)):
        for session in one.record.tasting:
            test = session.triangle
            if test is not None and str(test.against) == str(other.record.batch):
                tasters, correct = round(test.assessors.value), round(test.correct_responses.value)
                triangles[TriangleBetween(str(session.date), tasters, correct)] = None
    yield from triangles


def changes(a: Plan, b: Plan) -> Iterator[PlanChange]:
    """Yield each value of the plan that differs, in the order of the plan."""
    yield from _changes(a, b, ())


def changes_between(a: object, b: object, place: str) -> Iterator[PlanChange]:
    """Yield each value that differs between two of one model, or two tables of such."""
    yield from _changes(a, b, (place,))


def _changes(a: object, b: object, place: tuple[str, ...]) -> Iterator[PlanChange]:
    if a is None and b is None:
        return
    if isinstance(a, Quantity) or isinstance(b, Quantity):
        if _value(a) != _value(b):
            yield PlanChange(", ".join(place), _text(a), _text(b))
    elif isinstance(a, tuple) or isinstance(b, tuple):
        yield from _list_changes(_items(a), _items(b), place)
    elif isinstance(a, dict) or isinstance(b, dict):
        one = a if isinstance(a, dict) else {}
        two = b if isinstance(b, dict) else {}
        for key in dict.fromkeys([*one, *two]):
            yield from _changes(one.get(key), two.get(key), (*place, str(key).replace("_", " ")))
    elif isinstance(a, Entry) or isinstance(b, Entry):
        yield from _field_changes(a, b, place)
    elif member_names(a) or member_names(b):
        return  # a day or a reading: what happened, not what is planned
    elif _text(a) != _text(b):
        yield PlanChange(", ".join(place), _text(a), _text(b))


def _field_changes(a: object, b: object, place: tuple[str, ...]) -> Iterator[PlanChange]:
    model = a if a is not None else b
    assert isinstance(model, Entry)
    for name, field in model.fields.items():
        if name not in SKIPPED:
            title = field.about.title[:1].lower() + field.about.title[1:]
            yield from _changes(getattr(a, name, None), getattr(b, name, None), (*place, title))


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, Quantity):
        return value.text
    return " ".join(str(value).split())


def _items(value: object) -> Sequence[object]:
    return value if isinstance(value, tuple) else ()


_Items = dict[tuple[str, ...], tuple[str, object]]


def _named(items: Sequence[object]) -> _Items:
    """Return the items of a list with their names, by what tells them apart.

    An hour and 60 min tell nothing apart: the value counts, and its text is the name.
    """
    by_name: _Items = {}
    for number, item in enumerate(items, 1):
        keys = KEYS.get(type(item).__name__)
        if keys is not None:
            values = [getattr(item, key) for key in keys]
        else:
            values = [item if isinstance(item, str) else number]
        known = tuple(map(_value, values))
        name = " ".join(map(_text, values)).strip()
        while known in by_name:
            known, name = (*known, "again"), f"{name} again"
        by_name[known] = name, item
    return by_name


def _value(value: object) -> str:
    return value.in_base_unit if isinstance(value, Quantity) else _text(value)


def _list_changes(
    a: Sequence[object], b: Sequence[object], place: tuple[str, ...]
) -> Iterator[PlanChange]:
    one, two = _named(a), _named(b)
    moved = _moved(one, two)
    for known, (name, _) in (one | {k: v for k, v in two.items() if k not in one}).items():
        here = (*place, name)
        if known in one and known in two:
            yield from _changes(one[known][1], two[known][1], here)
        elif known in moved:
            yield from _changes(one[known][1], two[moved[known]][1], here)
        elif known not in moved.values():
            none = name, None
            first, second = one.get(known, none)[1], two.get(known, none)[1]
            yield PlanChange(", ".join(here), _whole(first), _whole(second))


def _moved(one: _Items, two: _Items) -> dict[tuple[str, ...], tuple[str, ...]]:
    """Pair what stands in one list alone with its like in the other: a hop at another time."""
    own = [known for known in one if known not in two]
    others = [known for known in two if known not in one]
    moved = {}
    for known in own:
        like = next((other for other in others if len(known) > 1 and other[0] == known[0]), None)
        if like is not None:
            others.remove(like)
            moved[known] = like
    return moved


def _whole(item: object) -> str:
    """Return an item of a list in one line; empty for none."""
    if item is None:
        return ""
    if not member_names(item) or isinstance(item, Quantity):
        return _text(item)
    keys = KEYS.get(type(item).__name__, ())
    words = [
        _text(getattr(item, name))
        for name in member_names(item)
        if name != "position" and name not in keys
    ]
    return ", ".join(word for word in words if word) or "there"


def _book(plan: Plan, of: Assessment, brewery: Brewery, stock: Stock) -> Forecast:
    book, _ = walk(resolve(of.record.with_members(plan=plan), brewery, stock))
    return book


def effects_of(a: Assessment, b: Assessment) -> tuple[tuple[str, ...], tuple[PlanEffect, ...]]:
    """Return what each differing section does to the forecast, put in one after the other."""
    names = [
        name
        for name in SECTIONS
        if any(
            True for _ in _changes(getattr(a.record.plan, name), getattr(b.record.plan, name), ())
        )
    ]
    # The instruments of an assessment are those of its day, and do not move the forecast.
    half = MASHED if a.case.is_mashed != b.case.is_mashed else ()
    names = [name for name in names if name == "grist" or name not in half]
    same_house = a.archive.on(a.record.goes_by) == b.archive.on(b.record.goes_by)
    plan, before = a.record.plan, a.planned
    effects: list[PlanEffect] = []
    try:
        for name in names:
            parts = half if name in half else (name,)
            new = {part: getattr(b.record.plan, part) for part in parts}
            plan = plan.with_members(**new)
            after = _book(plan, a, a.brewery, a.stock)
            effects += _steps(name, before, after)
            before = after
        if not same_house:
            by_house = list(_steps(HOUSE, before, b.planned))
            effects += by_house
            names += [HOUSE] if by_house else []
    except (KeyError, ZeroDivisionError):
        # A name of the second plan is not in the first one's house: there is no step between.
        return (), ()
    return tuple(names), tuple(effects)


def _steps(section: str, before: Forecast, after: Forecast) -> Iterator[PlanEffect]:
    for key in FORECAST:
        if key in before and key in after:
            change = nominal(after[key]) - nominal(before[key])
            if abs(change) >= 0.5 * 10 ** -FIGURES[key].decimals:
                yield PlanEffect(key, section, change)


def is_compared(figure: Figure, batches: Iterable[Assessment | None]) -> bool:
    """Whether a figure is read, follows from readings, or is one that a beer is known by.

    An amount of yeast is compared where each is a volume of slurry: grams are of another yeast.
    """
    is_told = bool(figure.path) or figure.key in DERIVED or figure.headline
    yeasts = [batch.case.yeast for batch in batches if batch is not None]
    return is_told and not (KINDS[figure.kind].is_either and any(y.is_weighed for y in yeasts))


ALL = "all of it"

Kinds = tuple[str, tuple[Assessment | None, ...]]


def kinds_across(batches: Sequence[Assessment]) -> list[Kinds]:
    """Return the batches as a whole, then kind by kind of container, each under its name.

    None stands for one that has none of a kind. Where none is in several kinds, or no two have a
    kind in common, the first kind of each is all there is, under no name.
    """
    def by_name(batch: Assessment) -> dict[str, Assessment]:
        kinds = [filled.case.packed_into for filled in batch.filled_kinds]
        by_kind: dict[str, Assessment] = {}
        for kind, filled in zip(kinds, batch.filled_kinds, strict=True):
            # Two of one name, as bottles filled on two days: the first.
            by_kind.setdefault(kind if kinds.count(kind) == 1 else filled.packed_in, filled)
        return by_kind

    named = [by_name(batch) for batch in batches]
    in_both = [
        (kind, tuple(own.get(kind) for own in named))
        for kind in dict.fromkeys(kind for own in named for kind in own)
    ]
    shared = [(kind, own) for kind, own in in_both if len([o for o in own if o is not None]) > 1]
    whole = tuple(batches)
    if not any(batch.others_filled for batch in batches) or not shared:
        return [("", whole)]
    return [(ALL, whole), *shared]


def is_told_of(figure: Figure, of: str) -> bool:
    """Whether a figure is told of these containers, or of the whole batch."""
    return not of or figure.of_each is (of != ALL)


def _results(a: Assessment, b: Assessment, of: str) -> Iterator[ResultPair]:
    """Yield the figures of both that are not alike: day against day, else plan against plan."""
    # Of a batch not brewed yet nothing can have been read: that is no difference.
    both = a.record.brew_day is not None and b.record.brew_day is not None
    doubts = _doubts(a), _doubts(b)
    for key, figure in FIGURES.items():
        if not is_compared(figure, (a, b)) or not is_told_of(figure, of):
            continue
        one, two = a.find(key), b.find(key)
        expected = (
            one.expected.value if one and one.expected else None,
            two.expected.value if two and two.expected else None,
        )
        numbers = (a.as_brewed(key), b.as_brewed(key))
        first, second = (None if n is None else nominal(n) for n in numbers)
        if both and (first is None or second is None):
            # Not read in one of them: there is nothing to compare.
            continue
        if not _differ((first, second) if both else expected, figure.decimals):
            continue
        needed = (key, *DERIVED.get(key, ()))
        named = dict.fromkeys(d[k][0] for d in doubts for k in needed if k in d)
        u = math.hypot(*(
            doubt[key][1] if key in doubt else 0.0 if n is None else expanded_uncertainty(n)
            for doubt, n in zip(doubts, numbers, strict=True)
        ))  # fmt: skip
        verdicts = tuple(r.verdict.value if r and r.verdict else "" for r in (one, two))
        actual = (first, second)
        yield ResultPair(
            key, expected, actual, (verdicts[0], verdicts[1]), u, ", ".join(named),
            "" if of == ALL else of,
        )


def _doubts(batch: Assessment) -> dict[str, tuple[str, float]]:
    """Return the figures in doubt of a batch, each with its instrument and the ±U it then has."""
    return {
        reading.figure.key: (doubt.instrument, reading.widened)
        for doubt in doubts_of(batch) for reading in doubt.readings
    }  # fmt: skip


def _differ(pair: tuple[float | None, float | None], decimals: int) -> bool:
    first, second = pair
    if first is None or second is None:
        return first is not second
    return f"{first:.{decimals}f}" != f"{second:.{decimals}f}"


def _deviations(batch: Assessment) -> tuple[str, ...]:
    keys = [d.result.figure.key for d in batch.departures]
    for written in batch.record.deviations:
        keys += [key for key in shows_in(written) if key not in keys]
    return tuple(keys)


def _evenings(a: Assessment, b: Assessment) -> tuple[str, ...]:
    """Return the days on which both were tasted and scored."""
    return tuple(sorted(_scored_on(a) & _scored_on(b)))


def _scored_on(batch: Assessment) -> set[str]:
    return {str(session.date) for session in batch.record.tasting if session.means}


def _scores(a: Assessment, b: Assessment, evenings: Sequence[str]) -> Iterator[ScorePair]:
    one, two = means_of(a, evenings), means_of(b, evenings)
    for attribute in sorted({*one, *two}):
        first, second = one.get(attribute), two.get(attribute)
        if _differ((first, second), 1):
            yield ScorePair(attribute, first, second)


def means_of(batch: Assessment, evenings: Sequence[str]) -> dict[str, float]:
    """Return the mean score of each attribute over some days."""
    scores: dict[str, list[float]] = {}
    for session in batch.record.tasting:
        for attribute, score in session.means.items():
            if str(session.date) in evenings:
                scores.setdefault(str(attribute), []).append(score.value)
    return {k: math.fsum(v) / len(v) for k, v in scores.items()}
