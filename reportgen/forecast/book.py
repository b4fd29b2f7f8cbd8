"""Where the stages write what they expect, and where each number came from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from msgspec import Struct, field

from reportgen.forecast.figures import FIGURES
from reportgen.science.method import REFUSED, Extrapolation
from reportgen.science.number import Number, expanded_uncertainty, flat, nominal


class InputValue(Struct, frozen=True):
    """One number put into a formula: its name in words, value, unit, number of decimals."""

    name: str
    value: Number
    unit: str
    decimals: int = 2


def unless_nought(
    name: str, value: Number, unit: str, decimals: int = 2
) -> tuple[InputValue, ...]:
    """Return a number put in, or none where it is nought, so that nothing is told of it."""
    return (InputValue(name, value, unit, decimals),) if nominal(value) else ()


class Expected(Struct, frozen=True):
    """One expected number, in the base unit of its kind, with its uncertainty and its working.

    ``method`` names the calculation in :data:`reportgen.science.method.METHODS`; it is empty for a
    figure taken straight from the plan. ``puts`` are the numbers put in, ``note`` says what no
    formula says.
    """

    key: str
    number: Number
    method: str = ""
    puts: tuple[InputValue, ...] = ()
    note: str = ""

    @property
    def value(self) -> float:
        """The plain value."""
        return nominal(self.number)

    @property
    def uncertainty(self) -> float:
        """±U (k = 2) of the forecast itself."""
        return expanded_uncertainty(self.number)


class NotForecast(ValueError):
    """A figure that is not in the book: the step that computes it could not be carried out.

    Why is among the problems of the book. Attribute: ``key`` of the figure.
    """

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__(f"there is no {FIGURES[key].in_sentence}")


class Forecast(Struct):
    """The numbers of one walk through the stages.

    ``readings`` replace what the stages expect, from there on: the same walk with readings says
    what to expect now.
    """

    readings: Mapping[str, Number] = field(default_factory=dict)
    expected: dict[str, Expected] = field(default_factory=dict)
    marks: list[Extrapolation] = field(default_factory=list)
    """Numbers that lay outside the trusted range of a method in this walk."""
    problems: list[tuple[str, Exception]] = field(default_factory=list)
    """What could not be computed in this walk, as (stage, error)."""

    runnings: list[tuple[Number, Number]] = field(default_factory=list)
    """Where the mash is drained: volume, L at 20 degC, and SG of each running, first wort first."""

    decoctions: dict[int, Number] = field(default_factory=dict)
    """Mash to draw for a decoction, L at 20 degC, by the number of the rest that it leads to."""

    @contextmanager
    def step(self, stage: str) -> Iterator[None]:
        """Carry out a step of a stage; numbers it cannot be computed with end this step only.

        What later lacks a figure of it ends in silence: the reason is noted once, here.
        """
        try:
            yield
        except NotForecast:
            return
        except REFUSED as error:
            self.problems.append((stage, error))

    def put(
        self, key: str, number: Number, method: str = "", *puts: InputValue, note: str = ""
    ) -> Number:
        """Note an expected number and return the one to go on with: the reading, if there is one.

        KeyError if the key is not a figure.
        """
        FIGURES[key]
        self.expected[key] = Expected(key, flat(number), method, puts, note)
        return self.readings.get(key, number)

    def __getitem__(self, key: str) -> Number:
        """Return the number to go on with. NotForecast if it could not be computed."""
        if key in self.readings:
            return self.readings[key]
        return self.forecast(key).number

    def forecast(self, key: str) -> Expected:
        """Return what is expected of a figure. NotForecast if it could not be computed."""
        if key not in self.expected:
            raise NotForecast(key)
        return self.expected[key]

    def __contains__(self, key: str) -> bool:
        return key in self.readings or key in self.expected
