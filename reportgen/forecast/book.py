"""Where the stages write what they expect, and where each number came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from reportgen.forecast.figures import FIGURES
from reportgen.science.method import Extrapolation
from reportgen.science.number import Number, expanded_uncertainty, flat, nominal


@dataclass(frozen=True)
class Put:
    """One number put into a formula: its name in words, value, unit, number of decimals."""

    name: str
    value: Number
    unit: str
    decimals: int = 2


@dataclass(frozen=True)
class Working:
    """How one expected number was computed.

    ``method`` names the calculation in :data:`reportgen.science.method.METHODS`; it is empty for a
    figure taken straight from the plan. ``puts`` are the numbers put in, ``note`` says what no
    formula says.
    """

    method: str
    puts: tuple[Put, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Expected:
    """One expected number, in the base unit of its kind, with its uncertainty and its working."""

    key: str
    number: Number
    working: Working

    @property
    def value(self) -> float:
        """The plain value."""
        return nominal(self.number)

    @property
    def uncertainty(self) -> float:
        """±U (k = 2) of the forecast itself."""
        return expanded_uncertainty(self.number)


@dataclass
class Book:
    """The numbers of one walk through the stages.

    ``readings`` replace what the stages expect, from there on: the same walk with readings says
    what to expect now.
    """

    readings: Mapping[str, Number] = field(default_factory=dict)
    expected: dict[str, Expected] = field(default_factory=dict)
    marks: list[Extrapolation] = field(default_factory=list)
    """Numbers that lay outside the trusted range of a method in this walk."""
    stopped: Exception | None = None
    """What ended the walk before its last stage."""

    def put(
        self, key: str, number: Number, method: str = "", *puts: Put, note: str = ""
    ) -> Number:
        """Note an expected number and return the one to go on with: the reading, if there is one.

        KeyError if the key is not a figure.
        """
        FIGURES[key]
        self.expected[key] = Expected(key, flat(number), Working(method, puts, note))
        return self.readings.get(key, number)

    def __getitem__(self, key: str) -> Number:
        """Return the number to go on with. KeyError if its stage has not run."""
        if key in self.readings:
            return self.readings[key]
        return self.expected[key].number

    def __contains__(self, key: str) -> bool:
        return key in self.readings or key in self.expected
