"""What a calculation says of itself, and the guard that holds it to that.

Every public calculation in this package carries ``@method``. Its docstring is its manual page and
has a fixed shape, so that the documentation and the range check cannot drift apart::

    @method
    def dilution(volume: Number, gravity: Number, liquor: Number) -> Number:
        '''Gravity after topping up with liquor.

        One or more paragraphs of plain explanation, if needed.

        Formula:
            SG2 = 1 + (SG1 - 1) V1 / (V1 + L)
        Inputs:
            volume: L, 0.1 to 2000; wort at 20 degC
            gravity: SG, 1.000 to 1.130 (trusted 1.000 to 1.110)
            liquor: L, 0 to 2000
        Result: SG at 20/20 degC
        Uncertainty: under 0.0001 from the formula
        Source: mass balance; D. Author 1999, J. Inst. Brew. 105(1), eq. 3
        '''

A number below or above its ``low to high`` raises :class:`OutOfRange`. A number inside it but
outside ``trusted`` is a marked extrapolation: it is computed, and noted in
:func:`extrapolations`, so that a document can say so. Inputs with no numeric range (lists, names)
are written with the unit and a description only.
"""

from __future__ import annotations

import functools
import inspect
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any, TypeVar

from reportgen.docstring_page import TEXT, one_line, read_sections
from reportgen.science.number import flat, nominal

F = TypeVar("F", bound=Callable[..., Any])


class OutOfRange(ValueError):
    """A number outside the range in which a formula holds.

    Attributes: ``method`` (qualified name), ``name`` of the argument, ``value``, ``low``,
    ``high``, ``unit``.
    """

    def __init__(
        self, method: str, name: str, value: float, low: float, high: float, unit: str
    ) -> None:
        self.method, self.name, self.value = method, name, value
        self.low, self.high, self.unit = low, high, unit
        words, shown = name.replace("_", " "), unit.replace("degC", "°C")
        super().__init__(
            f"{words} is {value:.5g} {shown}, outside {low:g} to {high:g} {shown}"
        )


@dataclass(frozen=True)
class Input:
    """One documented argument: its unit, hard range, trusted range, description."""

    name: str
    unit: str
    low: float | None
    high: float | None
    trusted_low: float | None
    trusted_high: float | None
    note: str


@dataclass(frozen=True)
class Page:
    """The manual page of one calculation, read from its docstring."""

    name: str
    title: str
    text: str
    formula: str
    inputs: tuple[Input, ...]
    result: str
    uncertainty: str
    source: str


@dataclass(frozen=True)
class Extrapolation:
    """A number that lay outside the trusted range of a method, though inside its hard range."""

    method: str
    name: str
    value: float
    low: float
    high: float
    unit: str


REFUSED = (ValueError, ArithmeticError)
"""What a calculation raises for numbers that it cannot be carried out with: :class:`OutOfRange`, a
division by nought, an overflow. Whoever computes for a record expects these, and nothing else."""

METHODS: dict[str, Callable[..., Any]] = {}
"""Every calculation by its name, ``module.function``."""

_marks: ContextVar[list[Extrapolation] | None] = ContextVar("extrapolations", default=None)


@contextmanager
def extrapolations() -> Iterator[list[Extrapolation]]:
    """Collect the extrapolations marked while the block runs."""
    marks: list[Extrapolation] = []
    token = _marks.set(marks)
    try:
        yield marks
    finally:
        _marks.reset(token)


_NUMBER = r"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?"
_INPUT = re.compile(
    rf"^(?P<name>\w+): (?P<unit>[^,;]+?)"
    rf"(?:, (?P<low>{_NUMBER}) to (?P<high>{_NUMBER})"
    rf"(?: \(trusted (?P<tlow>{_NUMBER}) to (?P<thigh>{_NUMBER})\))?)?"
    rf"(?:; (?P<note>.*))?$"
)


def _optional(text: str | None) -> float | None:
    return None if text is None else float(text)


def _input(line: str, where: str) -> Input:
    match = _INPUT.match(line)
    if match is None:
        raise SyntaxError(f"{where}: cannot read the input line {line!r}")
    return Input(
        match["name"],
        match["unit"],
        _optional(match["low"]),
        _optional(match["high"]),
        _optional(match["tlow"]),
        _optional(match["thigh"]),
        match["note"] or "",
    )


def _joined_inputs(lines: list[str]) -> list[str]:
    """Join continuation lines (indented deeper than the first) to the input they belong to."""
    joined: list[str] = []
    for line in lines:
        if line.startswith(" ") and joined:
            joined[-1] += " " + line.strip()
        elif line.strip():
            joined.append(line.strip())
    return joined


def read_page(function: Callable[..., Any], name: str) -> Page:
    """Read the manual page of a calculation from its docstring.

    Raises ``SyntaxError`` when a section is missing or an argument is undocumented, so that a
    calculation with a poor page cannot be imported into a document or pass the tests.
    """
    sections = ("Formula", "Inputs", "Result", "Uncertainty", "Source")
    title, body = read_sections(function.__doc__ or "", sections, name)
    lines = _joined_inputs(body["Inputs"].splitlines())
    inputs = tuple(_input(line, name) for line in lines)
    arguments = list(inspect.signature(function).parameters)
    if [i.name for i in inputs] != arguments:
        raise SyntaxError(f"{name}: documents {[i.name for i in inputs]}, takes {arguments}")
    return Page(
        name,
        title,
        body[TEXT],
        body["Formula"],
        inputs,
        one_line(body["Result"]),
        one_line(body["Uncertainty"]),
        one_line(body["Source"]),
    )


@functools.cache
def page(name: str) -> Page:
    """Return the manual page of the calculation ``module.function``. KeyError if unknown."""
    return read_page(inspect.unwrap(METHODS[name]), name)


def method(function: F) -> F:
    """Register a calculation and hold its arguments to the ranges its docstring states."""
    name = f"{function.__module__.rsplit('.', 1)[-1]}.{function.__name__}"
    names = tuple(inspect.signature(function).parameters)
    limits: list[tuple[int, Input]] | None = None

    @functools.wraps(function)
    def guarded(*args: Any, **kwargs: Any) -> Any:
        nonlocal limits
        if limits is None:
            limits = [(n, i) for n, i in enumerate(page(name).inputs) if i.low is not None]
        for index, documented in limits:
            if index < len(args):
                value = args[index]
            elif names[index] in kwargs:
                value = kwargs[names[index]]
            else:
                continue
            if value is not None:
                _hold(name, documented, nominal(value))
        return flat(function(*args, **kwargs))

    METHODS[name] = guarded
    return guarded  # type: ignore[return-value]


def _hold(name: str, limit: Input, value: float) -> None:
    assert limit.low is not None and limit.high is not None
    # Written so that NaN, for which every comparison is false, is refused too.
    if not limit.low <= value <= limit.high:
        raise OutOfRange(name, limit.name, value, limit.low, limit.high, limit.unit)
    if limit.trusted_low is None or limit.trusted_high is None:
        return
    marks = _marks.get()
    if marks is not None and not limit.trusted_low <= value <= limit.trusted_high:
        mark = Extrapolation(
            name, limit.name, value, limit.trusted_low, limit.trusted_high, limit.unit
        )
        if mark not in marks:
            marks.append(mark)
