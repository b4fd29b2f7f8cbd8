"""Holds what is typed beside a name against the kind of what the name stands for.

The schema knows the kind of each field. A tolerance, a critical limit and the figures of an
instrument have theirs from the key beside them: of the figure, or of what the instrument reads.
That is looked at here, once, as each file is read; what is wrong is an error at its own place and
is not taken for a value.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from collections.abc import Mapping as MappingOf

from reportgen.record.finding import Finding, Position
from reportgen.record.kinds import (
    INSTRUMENTS,
    KINDS,
    PLATO_FROM,
    Width,
    read_quantity,
    readable,
    width_of,
    without_degrees,
)
from reportgen.record.quantity import Quantity, UnitError
from reportgen.record.rules import finding_of
from reportgen.record.since import day_of
from reportgen.record.source import Source
from reportgen.record.suggest import nearest
from reportgen.record.unit_table import BASE, EXAMPLES, NAMES
from reportgen.record.yamlnode import below, items_below, text_below
from reportgen.record.yamltree import Mapping, Node, Scalar, Sequence

WIDEST_PLATO = 2.0
"""Widest difference of a gravity instrument graduated in degrees Plato or Brix."""

STEPS_OF_U = 100.0
"""±U of more steps than this is a slip: no instrument is graduated so much finer than it is good
for. Common practice, no source."""

FINEST_U = 0.25
"""±U (k = 2) of fewer steps than this is a slip: reading between two marks by eye gives a quarter
of a step at best. Common practice, no source."""

SIDES = ("at_least", "at_most")
REFERENCES = (4.0, 30.0)
"""Reference temperatures that hydrometers are made for lie well within this, degC."""


class _Wrong(Exception):
    """What is wrong with a number beside its key."""

    def __init__(self, message: str, expected: str, remedy: str) -> None:
        super().__init__(message)
        self.message, self.expected, self.remedy = message, expected, remedy


def wrong_figures(
    tree: Node, source: Source, figures: MappingOf[str, str], gallon: str | None
) -> list[Finding]:
    """Return what is wrong with the tolerances, limits and instruments of one file.

    ``figures`` has the kind of each figure by its key; a key that is not in it is left to the
    checks. What cannot be read at all is left to the schema.
    """
    return [
        finding_of(
            "quantity", position, wrong.message, wrong.expected, wrong.remedy,
            source.line(position.line),
        )
        for position, wrong in _all(tree, figures, gallon)
    ]  # fmt: skip


def _all(
    tree: Node, figures: MappingOf[str, str], gallon: str | None
) -> Iterator[tuple[Position, _Wrong]]:
    plan = below(tree, "plan")
    for place in (tree, plan):
        for key, node in _entries(below(place, "tolerances")):
            if key in figures:
                yield from _said(node, lambda n, k=key: _tolerance(n, k, figures[k], gallon))
    for key, node in _entries(below(plan, "critical_limits")):
        if key in figures:
            yield from _critical(node, key, figures[key], gallon)
    yield from _analysis(below(tree, "analysis"), gallon)
    yield from _stock(tree, gallon)
    yield from _crossed(
        below(plan, "fermentation"), "temperature", "highest_temperature",
        "of the fermentation", gallon, may_meet=True,
    )
    for name, node in _entries(below(tree, "containers")):
        yield from _container(node, name, gallon)
    for name, node in _entries(below(tree, "kits")):
        yield from _kit(node, name, gallon)
    for name, node in _entries(below(tree, "instruments")):
        yield from _instrument(node, name, gallon)


def _said(node: Node | None, judge: object) -> Iterator[tuple[Position, _Wrong]]:
    if not isinstance(node, Scalar) or not node.text:
        return
    try:
        judge(node)  # type: ignore[operator]
    except _Wrong as wrong:
        yield node.position, wrong


def _entries(node: Node | None) -> Iterator[tuple[str, Node]]:
    if isinstance(node, Mapping):
        for key, value in node.entries:
            yield key.text, value


def _read(text: str, kind: str, gallon: str | None) -> Quantity | None:
    return next(readable([text], kind, None, gallon), None)


def _quantity(node: Node | None, kind: str, gallon: str | None) -> Quantity | None:
    """Return the quantity of a kind that a node is, with its place; None for anything else."""
    if not isinstance(node, Scalar):
        return None
    return next(readable([node.text], kind, node.position, gallon), None)


def _place(read: Quantity) -> Position:
    assert read.position is not None
    return read.position


def _tolerance(node: Scalar, key: str, kind: str, gallon: str | None) -> None:
    typed, width = _read(node.text, "tolerance", gallon), width_of(kind)
    if typed is None or width is None:
        return
    what = f"a tolerance of `{key}`"
    share = _read(node.text, "fraction", gallon) if width.share else None
    if share is None:
        _fits(node.text, typed, what, width, gallon)
    elif not 0 < share.value <= 0.5:
        raise _Wrong(
            f"`{node.text}` is not a half-width for {what}", "more than 0 % and at most 50 %",
            "write 5 %, or as much as the beer allows",
        )  # fmt: skip


def _fits(
    text: str, typed: Quantity, what: str, width: Width, gallon: str | None, signed: bool = False
) -> Quantity:
    """Return a width as read by its kind. ``_Wrong`` when it is of another, nought or too wide."""
    text = without_degrees(text) if width.kind == "ratio" else text
    quantity = _read(text, "offset" if signed else width.kind, gallon)
    if signed and quantity is not None and quantity.kind != width.kind:
        quantity = None
    also = " or a share, e.g. 5 %" if width.share else ""
    if quantity is None:
        number = f"{typed.number:g}"
        unit = {"K": " K", "L": " L", "kg": " g", "bar": " bar"}.get(BASE.get(width.kind, ""), "")
        may_be = unit or abs(typed.number) <= width.most
        raise _Wrong(
            f"`{text}` is {NAMES[typed.kind]}; {what} is {width.name}",
            f"{width.name}, e.g. {width.example}{also}",
            f"write {number}{unit}, if that is meant" if may_be else f"write {width.name}",
        )
    _within(text, quantity.value, what, width, width.most, signed)
    return quantity


def _within(
    text: str, value: float, what: str, width: Width, most: float, signed: bool = False
) -> None:
    expected = f"{width.name} of at most {_shown(most, width)}, e.g. {width.example}"
    if not signed and value <= 0:
        raise _Wrong(
            f"`{text}` leaves no width for {what}", expected,
            f"write a number above 0, e.g. {width.example}",
        )  # fmt: skip
    if abs(value) <= most:
        return
    remedy = f"write the difference alone, e.g. {width.example}"
    if width.kind == "ratio" and 1 < value < 1.1:
        remedy = f"write {round(value - 1, 4):g}"
    raise _Wrong(f"`{text}` is too wide for {what}", expected, remedy)


def _shown(value: float, width: Width) -> str:
    return f"{value:g} {BASE.get(width.kind, '')}".rstrip()


def _critical(
    node: Node, key: str, kind: str, gallon: str | None
) -> Iterator[tuple[Position, _Wrong]]:
    """Look at both sides of a critical limit, and that the one lies below the other."""

    def judge(side: Scalar) -> None:
        typed = _read(side.text, "limit", gallon)
        if typed is None:
            return
        try:
            read_quantity(side.text, kind, None, gallon)
        except UnitError as unread:
            other = typed.kind not in KINDS[kind].reads
            named = NAMES.get(kind, kind)
            raise _Wrong(
                f"`{side.text}` is {NAMES[typed.kind]}; a limit of `{key}` is {named}"
                if other
                else unread.message,
                unread.expected, unread.remedy or "write it in the unit of the figure",
            ) from None  # fmt: skip

    sides = [below(node, side) for side in SIDES]
    # A key that is one of the two mistyped has been told.
    told = isinstance(node, Mapping) and any(nearest(k.text, SIDES) for k, _ in node.entries)
    if isinstance(node, Mapping) and sides == [None, None] and not told:
        yield node.position, _Wrong(
            f"the critical limit of `{key}` has neither `at_least` nor `at_most`",
            "one of the two, or both",
            "write the value beyond which harm is possible",
        )
    wrong = [fault for side in sides for fault in _said(side, judge)]
    yield from wrong
    low, high = (_quantity(side, kind, gallon) for side in sides)
    if wrong or low is None or high is None or (low.kind, low.unit) != (high.kind, high.unit):
        scales = ("SG", "P", "Bx")
        if wrong or low is None or high is None or low.unit in scales or high.unit in scales:
            return
    if low.value >= high.value:
        yield _place(high), _Wrong(
            f"`at_most` {high.text} of `{key}` is not above `at_least` {low.text}: "
            "no reading can be within both",
            f"more than {low.text}",
            "exchange the two, or correct one of them",
        )


ANALYSED = {
    "bitterness": "bitterness", "colour": "colour", "alcohol": "fraction",
    "carbonation": "carbonation",
}  # fmt: skip
"""Kinds of what an analysis gives beside its ±U."""


def _analysis(node: Node | None, gallon: str | None) -> Iterator[tuple[Position, _Wrong]]:
    """Look for ±U of an analysis that is nothing, or as large as what was measured."""
    for key, kind in ANALYSED.items():
        value = below(node, key)
        value = below(value, "read") if isinstance(value, Mapping) else value
        u = _quantity(below(node, f"{key}_uncertainty"), kind, gallon)
        read = _quantity(value, kind, gallon)
        if u is None or read is None or 0 < u.value < read.value:
            continue
        yield _place(u), _Wrong(
            f"`{u.text}` cannot be the ±U of {key}, {read.text}",
            f"more than 0 and less than {read.text}",
            "write ±U as the laboratory states it, in the unit of what was measured",
        )


MEASURED_IN: dict[str, tuple[str, ...]] = {
    "malts": ("mass",), "sugars": ("mass",), "hops": ("mass",), "salts": ("mass",),
    "finings": ("mass",), "acids": ("volume",), "yeasts": ("mass", "volume"),
}  # fmt: skip
"""In what each table of the stock is dosed by a plan, and so counted in the store."""

STRONGEST_ACID = {"hydrochloric": 0.45}
"""Strongest solution of an acid that is a gas by itself: what water of 0 degC holds at the pressure
of the air (CRC Handbook of Chemistry and Physics, 45.1 % of the weight)."""


def _stock(tree: Node, gallon: str | None) -> Iterator[tuple[Position, _Wrong]]:
    """Look at lots and packs in a unit that nothing is dosed in, and at figures that cross."""
    for table, kinds in MEASURED_IN.items():
        for name, item in _entries(below(tree, table)):
            yield from _counted(item, "pack", name, kinds, gallon)
            for _, lot in _entries(below(item, "lots")):
                yield from _counted(lot, "amount", name, kinds, gallon)
    for name, item in _entries(below(tree, "yeasts")):
        yield from _crossed(
            item, "lowest_temperature", "highest_temperature", f"of `{name}`", gallon
        )
    for name, item in _entries(below(tree, "acids")):
        acid, share = text_below(item, "is"), _quantity(below(item, "strength"), "fraction", gallon)
        most = STRONGEST_ACID.get(acid)
        if most is not None and share is not None and share.value > most:
            yield _place(share), _Wrong(
                f"{acid} acid of {share.text} cannot be: `{name}`",
                f"at most {100 * most:g} %", "read the label again, and which acid it is",
            )


def _crossed(
    node: Node | None, lower: str, upper: str, whose: str, gallon: str | None,
    may_meet: bool = False,
) -> Iterator[tuple[Position, _Wrong]]:
    """Look for a pair of temperatures of which the higher is not above the lower."""
    low, high = (_quantity(below(node, k), "temperature", gallon) for k in (lower, upper))
    if low is None or high is None or low.value < high.value:
        return
    if not may_meet or low.value > high.value:
        yield _place(high), _Wrong(
            f"`{upper}` {high.text} {whose} is {'below' if may_meet else 'not above'} `{lower}` "
            f"{low.text}",
            f"more than {low.text}", "exchange the two, or correct one of them",
        )


def _counted(
    node: Node, key: str, name: str, kinds: tuple[str, ...], gallon: str | None
) -> Iterator[tuple[Position, _Wrong]]:
    read = _quantity(below(node, key), "amount", gallon)
    if read is not None and read.kind not in kinds:
        named, is_weighed = NAMES[kinds[0]], kinds[0] == "mass"
        yield _place(read), _Wrong(
            f"`{read.text}` is {NAMES[read.kind]}; `{name}` is dosed, and so counted, as {named}",
            f"{named}, e.g. {EXAMPLES[kinds[0]].split(',')[0]}",
            "weigh it, or multiply by the density on its label" if is_weighed
            else "divide the weight by the density on its label",
        )


LARGEST_BOTTLE = 30.0
"""L; the largest bottles of the trade hold 27 to 30 L (common practice, no source)."""


def _container(
    node: Node, name: str, gallon: str | None
) -> Iterator[tuple[Position, _Wrong]]:
    """Look for a bottle as large as a tank."""
    read = _quantity(below(node, "volume"), "volume", gallon)
    if text_below(node, "is") == "bottle" and read is not None and read.value > LARGEST_BOTTLE:
        yield _place(read), _Wrong(
            f"`{read.text}` is not the size of a bottle: `{name}`",
            f"at most {LARGEST_BOTTLE:g} L",
            f"write {read.number:g} mL, if that is meant" if read.unit == "L"
            else "look at the unit",
        )


KEPT = (
    ("mash_tun", "dead_space", "volume"),
    ("kettle", "loss", "volume"),
    ("kettle", "evaporation", "evaporation"),
    ("fermenter", "loss", "volume"),
)
"""What a vessel keeps, or boils off in an hour: less than it holds. Vessel, key, kind."""


def _kit(node: Node, name: str, gallon: str | None) -> Iterator[tuple[Position, _Wrong]]:
    """Look for a vessel that would keep all that it holds."""
    for vessel, key, kind in KEPT:
        volume = _quantity(below(node, vessel, "volume"), "volume", gallon)
        kept = _quantity(below(node, vessel, key), kind, gallon)
        if volume is not None and kept is not None and kept.value >= volume.value > 0:
            yield _place(kept), _Wrong(
                f"`{key}` {kept.text} is all that the {vessel.replace('_', ' ')} of `{name}` holds",
                f"less than {volume.text}{' in an hour' if kind == 'evaporation' else ''}",
                "look at the unit and the decimal point of both",
            )


def _instrument(
    node: Node, name: str, gallon: str | None
) -> Iterator[tuple[Position, _Wrong]]:
    """Look at the figures of one instrument, by what it reads."""
    reads = below(node, "reads")
    if not isinstance(reads, Scalar) or reads.text not in INSTRUMENTS:
        return
    named = reads.text.replace("_", " ").replace("ph ", "pH ")
    width = width_of(INSTRUMENTS[reads.text])
    assert width is not None
    shown = below(node, "resolution")
    gravity = INSTRUMENTS[reads.text] == "gravity"
    one_step = _quantity(shown, "resolution" if gravity else width.kind, gallon)
    step = one_step.value if one_step is not None else None
    # A step of 1.001 is no step in degrees Plato: it is a gravity typed for its last figure.
    is_value = reads.text == "hydrometer" and step is not None and 1 < step < 1.1
    most = width.most
    is_plato = step is not None and step >= PLATO_FROM and not is_value
    if gravity and (reads.text == "refractometer" or is_plato):
        most = WIDEST_PLATO

    def judge(part: Scalar, key: str, signed: bool = False) -> None:
        what = f"`{key}` of the {named} `{name}`"
        typed = _read(part.text, "offset", gallon)
        if typed is None:
            return
        of_kind = Width(width.kind, width.name, width.example, most)
        quantity = _fits(part.text, typed, what, of_kind, gallon, signed)
        if key != "uncertainty" or not step or step > most or not isinstance(shown, Scalar):
            return
        if quantity.value > STEPS_OF_U * step:
            raise _Wrong(
                f"`{part.text}` is more than {STEPS_OF_U:g} times the resolution of `{name}`",
                f"±U of a few steps; one step is {shown.text}",
                "compare with its certificate or its last check",
            )
        if quantity.value < FINEST_U * step:
            raise _Wrong(
                f"`{part.text}` is finer than `{name}` can be read",
                f"±U of a quarter of a step or more; one step is {shown.text}",
                "look at the units of both",
            )

    for key in ("resolution", "uncertainty"):
        yield from _said(below(node, key), lambda n, k=key: judge(n, k))
    last: datetime.date | None = None
    for check in items_below(node, "checks"):
        on = below(check, "on")
        day = day_of(on)
        if on is not None and day is not None:
            if last is not None and day < last:
                yield on.position, _Wrong(
                    f"check of `{name}` on {day}, after the one of {last}",
                    "the earliest check first",
                    "put the checks in order, or correct the day",
                )
            last = day
        yield from _said(below(check, "uncertainty"), lambda n: judge(n, "uncertainty"))
        for key in ("reads_high_by", "found_high_by"):
            yield from _said(below(check, key), lambda n, k=key: judge(n, k, True))
        points = below(check, "points")
        if isinstance(points, Sequence):
            yield from _points(points, INSTRUMENTS[reads.text], most, f"`{name}`", gallon)
            both = below(check, "reads_high_by")
            if points.items and isinstance(both, Scalar):
                yield both.position, _Wrong(
                    "`reads_high_by` beside `points`", "one of the two", "delete one of them"
                )
    yield from _said(
        below(node, "reference_temperature"), lambda n: _reference(n, name, gallon)
    )


def _points(
    points: Sequence, kind: str, most: float, name: str, gallon: str | None
) -> Iterator[tuple[Position, _Wrong]]:
    """Look at the points of a check: of the instrument's kind, two or more, in order."""
    example = "two or more, e.g. `{at: 1.000, reads: 1.002}`"
    if len(points.items) == 1:
        yield points.position, _Wrong(
            f"one point of {name}", example, "write `reads_high_by` for a single point"
        )
    last: tuple[float, float] | None = None
    for point in points.items:
        pair = below(point, "at"), below(point, "reads")
        if not all(isinstance(node, Scalar) for node in pair):
            continue
        values = [_read(n.text, kind, gallon) for n in pair if isinstance(n, Scalar)]
        at, shown = values
        if at is None or shown is None or at.unit != shown.unit:
            wrong = pair[0] if at is None else pair[1]
            assert isinstance(wrong, Scalar)
            yield wrong.position, _Wrong(
                f"`{wrong.text}` is not a reading of {name}",
                f"{NAMES[kind]}, both in one unit", "write what the instrument shows, in its unit",
            )
            continue
        if kind != "gravity" and abs(shown.value - at.value) > most:
            yield point.position, _Wrong(
                f"{name} is {shown.value - at.value:+.4g} off", f"within {most:g}",
                "check both numbers",
            )
        here = at.value, shown.value
        if last is not None and not (here[0] > last[0] and here[1] > last[1]):
            yield point.position, _Wrong(
                f"the points of {name} do not rise", "each with a larger `at` and a larger `reads`",
                "put them in order, and check the numbers",
            )
        last = here


def _reference(node: Scalar, name: str, gallon: str | None) -> None:
    quantity = _read(node.text, "temperature", gallon)
    low, high = REFERENCES
    if quantity is not None and not low <= quantity.value <= high:
        raise _Wrong(
            f"`{node.text}` is not a reference temperature of `{name}`",
            f"{low:g} C to {high:g} C, e.g. 20 C or 60 F",
            f"write {quantity.number:g} F" if low <= (quantity.value - 32) / 1.8 <= high
            else "read it on the stem",
        )  # fmt: skip
