"""An actual: a reading, corrected, with its uncertainty."""

from __future__ import annotations

from msgspec import Struct

from reportgen.record.values import Reading, State
from reportgen.science.number import Number, expanded_uncertainty, nominal


class Actual(Struct, frozen=True):
    """A reading in the base unit of its figure.

    ``number`` is corrected and carries the instrument's uncertainty; None when there is no value.
    ``correction`` is what was added to the raw reading, ``method`` the calculation that did it,
    ``note`` says why something was not corrected or not used. ``instrument`` is its name in the
    brewery. ``offset`` says what was taken off since the instrument reads too high.
    ``derived_from`` names the readings of an actual that no instrument reads. ``analysed`` is the
    day of the analysis of the beer that gave it; empty for a reading of the brewer's own.
    """

    key: str
    reading: Reading
    number: Number | None
    raw: float | None = None
    correction: float = 0.0
    method: str = ""
    instrument: str = ""
    instrument_is_known: bool = False
    note: str = ""
    derived_from: tuple[str, ...] = ()
    offset: str = ""
    analysed: str = ""

    @property
    def value(self) -> float | None:
        """The plain corrected value, or None."""
        return None if self.number is None else nominal(self.number)

    @property
    def uncertainty(self) -> float:
        """±U (k = 2) of the reading; 0 when there is no value."""
        return 0.0 if self.number is None else expanded_uncertainty(self.number)

    @property
    def state(self) -> State:
        """Read, not recorded or not done."""
        return self.reading.state
