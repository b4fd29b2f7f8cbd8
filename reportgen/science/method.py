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
        Uncertainty: U = 0.0001 SG from the formula; commonly less
        Source: mass balance; D. Author 1999, J. Inst. Brew. 105(1), eq. 3
        '''

A number below or above its ``low to high`` raises :class:`OutOfRange`. A number inside it but
outside ``trusted`` is a marked extrapolation: it is computed, and noted in
:func:`extrapolations`, so that a document can say so. Inputs with no numeric range (lists, names)
are written with the unit and a description only.

An ``Uncertainty`` that begins with ``U =`` is data: the ±U (k = 2) of the formula itself, beside
that of what is put in. Its terms are ``4 % of the value`` (or of ``1 - the value``, ``the value -
1``, an input), and ``0.1 P`` in the unit of the result, joined by ``+`` (root of the sum of
squares). Within :func:`reckoning` each result of a calculation that another does not call carries
it, as one variable a calculation. Any other text says where the uncertainty comes from: of what is
put in, or handed in. Outside a trusted range U grows, see :func:`widening`.
"""

from __future__ import annotations

import functools
import inspect
import math
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from types import MappingProxyType
from typing import Any, TypeVar

from msgspec import Struct

from reportgen.docstring_page import TEXT, one_line, read_sections
from reportgen.science.number import Number, flat, nominal

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


class Input(Struct, frozen=True):
    """One documented argument: its unit, hard range, trusted range, description."""

    name: str
    unit: str
    low: float | None
    high: float | None
    trusted_low: float | None
    trusted_high: float | None
    note: str


class OwnTerm(Struct, frozen=True):
    """One term of the ±U of a formula: ``amount`` in the unit of the result, or a share of ``of``.

    ``of`` is empty for an amount, else ``the value``, ``1 - the value``, ``the value - 1`` or the
    name of an input.
    """

    amount: float
    of: str = ""
    unit: str = ""


class Page(Struct, frozen=True):
    """The manual page of one calculation, read from its docstring."""

    name: str
    title: str
    text: str
    formula: str
    inputs: tuple[Input, ...]
    result: str
    uncertainty: str
    source: str
    own: tuple[OwnTerm, ...] = ()
    """±U of the formula itself, the terms of ``uncertainty``; none where that is not data."""


class Extrapolation(Struct, frozen=True):
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

Cause = Callable[[str, float, float], Number]
"""Returns the variable of a calculation's error, by its name, value and ±U (k = 2), the same at
each call."""


class _Reckoning(Struct):
    """What the calculations of one walk share: their marks, and the variables of their errors."""

    marks: list[Extrapolation]
    cause: Cause | None = None
    depth: int = 0


_running: ContextVar[_Reckoning | None] = ContextVar("reckoning", default=None)


@contextmanager
def reckoning(cause: Cause | None = None) -> Iterator[list[Extrapolation]]:
    """Collect the extrapolations marked while the block runs.

    With ``cause`` the results carry the uncertainty of their formula. A calculation that another
    one calls does not: what the outer page states covers what is within.
    """
    now = _Reckoning([], cause)
    token = _running.set(now)
    try:
        yield now.marks
    finally:
        _running.reset(token)


_NUMBER = r"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?"
_OF = r"the value - 1|the value|1 - the value|[a-z]+(?:_[a-z]+)*"
_TERM = re.compile(
    rf"(?P<amount>\d+(?:\.\d+)?)(?: % of (?P<of>{_OF})(?![\w-])| (?P<unit>[^+;,.()]+?))?"
    r"(?= \+ |[;,.:]| from | beside | with | \(|$)"
)
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


def own_terms(text: str, name: str) -> tuple[OwnTerm, ...]:
    """Read the terms that an uncertainty begins with; none for a text without ``U =`` there.

    SyntaxError when it begins as one and cannot be read.
    """
    if not text.startswith("U = "):
        return ()
    terms: list[OwnTerm] = []
    at = len("U = ")
    while True:
        match = _TERM.match(text, at)
        if match is None:
            raise SyntaxError(f"{name}: cannot read the uncertainty {text[at:]!r}")
        share = match["of"] is not None
        amount = float(match["amount"]) / (100.0 if share else 1.0)
        terms.append(OwnTerm(amount, match["of"] or "", match["unit"] or ""))
        at = match.end()
        if not text.startswith(" + ", at):
            return tuple(terms)
        at += 3


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
    uncertainty = one_line(body["Uncertainty"])
    own = own_terms(uncertainty, name)
    if any(t.of and "value" not in t.of and t.of not in arguments for t in own):
        raise SyntaxError(f"{name}: the uncertainty is of none of {arguments}")
    return Page(
        name,
        title,
        body[TEXT],
        body["Formula"],
        inputs,
        one_line(body["Result"]),
        uncertainty,
        one_line(body["Source"]),
        own,
    )


@functools.cache
def page(name: str) -> Page:
    """Return the manual page of the calculation ``module.function``. KeyError if unknown."""
    return read_page(inspect.unwrap(METHODS[name]), name)


def own_uncertainty(
    name: str, value: float, inputs: Mapping[str, Number] = MappingProxyType({})
) -> float:
    """Return the ±U (k = 2) of a formula at a result, by the inputs that gave it.

    0 where its page states none; wider outside the trusted range of an input.
    """
    method = page(name)
    squares = 0.0
    for term in method.own:
        given = nominal(inputs.get(term.of, 0.0))
        size = {"": 1.0, "the value": value, "1 - the value": 1.0 - value}.get(term.of, given)
        size = value - 1.0 if term.of == "the value - 1" else size
        squares += (term.amount * size) ** 2
    return math.sqrt(squares) * widest(method, inputs)


def nearest(name: str, argument: str, value: float) -> float:
    """Return the number nearest to a value that a calculation takes for an argument.

    For what is met on the way to a case, where nothing may be refused; whoever asks says that the
    value lies outside, and widens U.
    """
    limit = next(i for i in page(name).inputs if i.name == argument)
    assert limit.low is not None and limit.high is not None
    return min(max(value, limit.low), limit.high)


def widest(page: Page, inputs: Mapping[str, Number]) -> float:
    """Return the largest :func:`widening` of the inputs given; 1 when all can be trusted."""
    grown = 1.0
    for limit in page.inputs:
        given = inputs.get(limit.name)
        if limit.trusted_low is not None and given is not None:
            grown = max(grown, widening(limit, nominal(given)))
    return grown


def widening(limit: Input, value: float) -> float:
    """Return by what the ±U of a formula grows for an input: 1 within its trusted range.

    Twice at half the width of the range beyond it, and on in proportion: a judgement, no source.
    """
    low, high = limit.trusted_low, limit.trusted_high
    if low is None or high is None or low <= value <= high:
        return 1.0
    return 1.0 + 2.0 * max(low - value, value - high) / (high - low)


def method(function: F) -> F:
    """Register a calculation and hold its arguments to the ranges its docstring states."""
    name = f"{function.__module__.rsplit('.', 1)[-1]}.{function.__name__}"
    names: tuple[str, ...] = ()
    limits: list[tuple[int, Input]] | None = None

    @functools.wraps(function)
    def guarded(*args: Any, **kwargs: Any) -> Any:
        nonlocal limits, names
        if limits is None:
            names = tuple(inspect.signature(function).parameters)
            limits = [(n, i) for n, i in enumerate(page(name).inputs) if i.low is not None]
        running = _running.get()
        for index, documented in limits:
            if index < len(args):
                value = args[index]
            elif names[index] in kwargs:
                value = kwargs[names[index]]
            else:
                continue
            if value is not None:
                _hold(name, documented, nominal(value), running)
        if running is None:
            return flat(function(*args, **kwargs))
        running.depth += 1
        try:
            result = function(*args, **kwargs)
        finally:
            running.depth -= 1
        if running.depth == 0 and running.cause is not None and page(name).own:
            inputs = dict(zip(names, args, strict=False)) | kwargs
            result = _with_own(name, result, inputs, running.cause)
        # Within another calculation it is only one of its terms.
        return flat(result) if running.depth == 0 else result

    METHODS[name] = guarded
    return guarded  # type: ignore[return-value]


def _with_own(name: str, result: Any, inputs: Mapping[str, Number], cause: Cause) -> Any:
    """Return a result with the uncertainty of its formula; of a mapping each value.

    A result of another shape stays as it is: what it leaves open is handed in.
    """
    if not isinstance(result, (float, int)) and not hasattr(result, "nominal_value"):
        if isinstance(result, Mapping):
            return {key: _with_own(name, part, inputs, cause) for key, part in result.items()}
        return result
    wide = own_uncertainty(name, nominal(result), inputs)
    if wide == 0.0:
        return result
    return result + wide * cause(name, 0.0, 1.0)


def _is_bound(limit: Input, value: float) -> bool:
    """Whether a value is one of its bounds but for the last digit, as 95 % times 0.01 is 0.95."""
    assert limit.low is not None and limit.high is not None
    hair = 1e-9 * max(abs(limit.low), abs(limit.high))
    return limit.low - hair <= value <= limit.high + hair


def _hold(name: str, limit: Input, value: float, running: _Reckoning | None) -> None:
    assert limit.low is not None and limit.high is not None
    # Written so that NaN, for which every comparison is false, is refused too.
    if not limit.low <= value <= limit.high and not _is_bound(limit, value):
        raise OutOfRange(name, limit.name, value, limit.low, limit.high, limit.unit)
    if running is None or limit.trusted_low is None or limit.trusted_high is None:
        return
    if not limit.trusted_low <= value <= limit.trusted_high:
        mark = Extrapolation(
            name, limit.name, value, limit.trusted_low, limit.trusted_high, limit.unit
        )
        if mark not in running.marks:
            running.marks.append(mark)
