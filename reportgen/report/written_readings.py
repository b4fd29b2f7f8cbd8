"""Readings of a page that can be written on: what decides each verdict, as numbers.

The page computes nothing of its own. For each reading and each instrument of the house that could
take it there are the edges of the verdict, and a table from what is read, and the temperature of
its sample, to what that stands for. Both are got from the functions that judge a record.
"""

from __future__ import annotations

import functools
import math
from typing import Any

from reportgen.assessment.assess import Assessment
from reportgen.assessment.corrections import WARM_PH, Actual
from reportgen.assessment.readings import (
    METHOD_U,
    actual_of_reading,
    instrument_uncertainty,
)
from reportgen.assessment.verdicts import Limits, edges
from reportgen.forecast.figures import Figure
from reportgen.record.printed import Units, width_kind
from reportgen.record.units import Quantity, parse_quantity
from reportgen.record.values import Reading, State, Text
from reportgen.report.parts import Raw
from reportgen.report.plan_text import instrument_of, kind_of_reading
from reportgen.report.shown import sample_offset
from reportgen.report.written_parts import unit_typed

MOST_DECIMALS = 4
"""Decimals written, beyond which the last counts as this one."""

_READS = {
    "gravity": tuple(round(0.97 + 0.02 * n, 2) for n in range(1, 12)),
    "volume": (10.0, 1000.0),
    "temperature": (10.0, 90.0),
    "ph": (4.0, 7.0),
}
"""Readings at which a table has a column, in the printed unit. Straight lines join them: for a
gravity that is within 0.000005 of the correction itself."""

_SAMPLES = {"gravity": (0, 60, 1), "volume": (0, 110, 1)}
"""First and last true temperature of a sample, and the step, degC, at which a table has a row: all
that the formulas cover."""


class Readings:
    """Makes the numbers of all readings of a batch, each table once."""

    def __init__(self, assessment: Assessment) -> None:
        self.assessment = assessment
        self.units = Units(assessment.brewery.system)
        self.tables: dict[str, Any] = {}
        self.samples: dict[str, list[float]] = {}
        self._colds: dict[tuple[str, str, str, float | None], float | None] = {}
        # The thermometer of the samples may show too much, as any other.
        self.sample_offset = sample_offset(assessment)
        self.warm = WARM_PH + self.sample_offset

    def of(self, figure: Figure, raw: Raw) -> list[dict[str, Any]]:
        """Return what decides about a figure, with each instrument; that of the sheet first."""
        name, _ = instrument_of(self.assessment, figure)
        ours = self.assessment.brewery.instruments
        alike = [n for n, i in ours.items() if str(i.reads) == figure.instrument and n != name]
        return [self._with(figure, raw, which) for which in (name, *alike)]

    def _with(self, figure: Figure, raw: Raw, name: str) -> dict[str, Any]:
        made: dict[str, Any] = {"name": name, "table": self._table(figure, raw, name)}
        if raw.low is None or raw.high is None or raw.expected is None:
            return made
        # What is read twice counts by its mean, whose U is smaller.
        return made | self._decides(figure, raw, name, made["table"]) | {
            "twice": self._decides(figure, raw, name, made["table"], True)
        }

    def _decides(
        self, figure: Figure, raw: Raw, name: str, table: str, twice: bool = False
    ) -> dict[str, Any]:
        """Return the edges of the verdict, for as many decimals as are written, and U.

        ``hot`` has the edges for temperatures of the sample, where U grows with it.
        """
        assert raw.low is not None and raw.high is not None and raw.expected is not None
        limits = Limits(raw.low, raw.high)
        about = self.units.converted(raw.expected, raw.kind)
        # Read with an unknown instrument, a value is as good as its last decimal.
        counts = range(MOST_DECIMALS + 1) if name not in self.assessment.brewery.instruments else ()
        texts = [f"{about:.{count}f}" for count in counts] or [f"{about:.{MOST_DECIMALS}f}"]

        def each(sample: float | None = None) -> list[list[float | None]]:
            return [self._edges(figure, raw, limits, name, t, sample, twice) for t in texts]

        made: dict[str, Any] = {"edges": each()}
        hot = [each(at) for at in self.samples.get(table, [])]
        noise = _NOISE.get(raw.kind, 1e-9)
        if any(_apart(edges, made["edges"]) > noise for edges in hot):
            rows = sorted(_nodes(hot, 0, len(hot) - 1, noise))
            made["hot"] = {
                "at": [self.tables[table]["temps"][row] for row in rows],
                "edges": [[hot[row][count] for row in rows] for count in range(len(texts))],
            }
        u = self._actual(figure, raw, name, texts[-1], twice=twice).uncertainty
        made["u"] = round(self.units.converted(u, width_kind(raw.kind)), 12)
        return made

    def _edges(
        self,
        figure: Figure,
        raw: Raw,
        limits: Limits,
        name: str,
        text: str,
        sample: float | None = None,
        twice: bool = False,
    ) -> list[float | None]:
        share = METHOD_U.get(figure.kind, 0.0)
        if share:
            # U then grows with the reading: what is the instrument's own is asked for apart.
            instrument = self.assessment.brewery.instruments.get(name)
            read = self._read(figure, raw, text)
            u = instrument_uncertainty(instrument, read, 2 if twice else 1)
            bounds = edges(limits, u, share)
        else:
            # Each side by the U of a reading that stands for its limit.
            low, high = (
                self._u_at(figure, raw, name, text, sample, edge, twice)
                for edge in (limits.low, limits.high)
            )
            bounds = (*edges(limits, low)[:2], *edges(limits, high)[2:])
        return [
            round(self.units.converted(edge, raw.kind), 12) if math.isfinite(edge) else None
            for edge in bounds
        ]

    def _u_at(
        self, figure: Figure, raw: Raw, name: str, text: str, sample: float | None, edge: float,
        twice: bool,
    ) -> float:
        """Return the U of a reading that stands for an edge, as exactly written as ``text``."""
        if not math.isfinite(edge):
            return self._actual(figure, raw, name, text, sample, twice).uncertainty
        count = len(text.partition(".")[2])
        read = self.units.converted(edge, raw.kind)
        if figure.kind == "volume":
            cold = self._cold(figure, raw, name, f"{read:.{count}f}", sample)
            if cold is not None:
                read += read - self.units.converted(cold, raw.kind)
        return self._actual(figure, raw, name, f"{read:.{count}f}", sample, twice).uncertainty

    def _cold(
        self, figure: Figure, raw: Raw, name: str, text: str, sample: float | None
    ) -> float | None:
        """Return the volume that a reading stands for, read once or twice; each is got once."""
        key = figure.key, name, text, sample
        if key not in self._colds:
            self._colds[key] = self._actual(figure, raw, name, text, sample).value
        return self._colds[key]

    def _temperature(self, celsius: float) -> float:
        return self.units.converted(celsius, "temperature")

    def _read(self, figure: Figure, raw: Raw, text: str) -> Quantity:
        """Return what is typed as ``text`` in the printed unit."""
        kind = kind_of_reading(figure, self.assessment.case)
        return _quantity(text + unit_typed(raw.kind, self.units.system), kind)

    def _actual(
        self, figure: Figure, raw: Raw, name: str, text: str, sample: float | None = None,
        twice: bool = False,
    ) -> Actual:
        """Return what a reading stands for; ``text`` in the printed unit, ``sample`` in degC."""
        read = self._read(figure, raw, text)
        reading = Reading(
            State.READ,
            read,
            again=read if twice else None,
            instrument=Text(name) if name else None,
            sample_temperature=(
                None if sample is None else _quantity(f"{sample:.6f} C", "temperature")
            ),
        )
        return actual_of_reading(
            self.assessment.record, figure, reading, self.assessment.brewery, None
        )

    def _table(self, figure: Figure, raw: Raw, name: str) -> str:
        """Return the name of the table of a figure read with an instrument; empty for none.

        A table has what readings stand for without a sample (``bare``) and at each temperature of
        one (``at``).
        """
        if figure.kind not in _READS:
            # An amount of yeast is read in litres as well, but cold.
            return ""
        key = f"{raw.kind} {name}"
        if key in self.tables:
            return key if self.tables[key] else ""
        reads = _READS[raw.kind]
        bare = self._line(figure, raw, name, None)
        made: dict[str, Any] = {"reads": reads, "bare": bare, "temps": [], "at": []}
        for celsius in self._sample_temperatures(raw.kind):
            line = self._line(figure, raw, name, celsius)
            if line:
                made["temps"].append(round(self._temperature(celsius), 9))
                self.samples.setdefault(key, []).append(celsius)
                made["at"].append(line)
        if raw.kind == "ph":
            made["from"] = self._temperature(self.warm)
        changes = made["at"] or any(a != b for a, b in zip(reads, bare, strict=True))
        self.tables[key] = made if changes else {}
        return key if changes else ""

    def _sample_temperatures(self, kind: str) -> list[float]:
        if kind == "ph":
            # A straight line, continued to where it begins; its U has corners.
            return [self.warm + n for n in range(1, 61)]
        if kind not in _SAMPLES:
            return []
        first, last, step = _SAMPLES[kind]
        return [t + self.sample_offset for t in range(first, last + 1, step)]

    def _line(
        self, figure: Figure, raw: Raw, name: str, sample: float | None
    ) -> list[float]:
        """Return what each reading stands for; nothing where its formula does not cover it."""
        line = []
        for read in _READS[raw.kind]:
            actual = self._actual(figure, raw, name, f"{read}", sample)
            if actual.note:
                return []
            line.append(self._shown(raw, actual))
        return line

    def _shown(self, raw: Raw, actual: Actual) -> float:
        return round(self.units.converted(actual.value or 0.0, raw.kind), 7)


@functools.lru_cache(maxsize=8192)
def _quantity(text: str, kind: str) -> Quantity:
    # The same few temperatures and values are asked for with every figure and instrument.
    return parse_quantity(text, kind)


_NOISE = {"gravity": 1e-6, "volume": 1e-5}
"""Edges alike but for this share of them are the same: they are solved for, and read to less."""

Edges = list[list[float | None]]


def _apart(ours: Edges, others: Edges) -> float:
    """Return the largest difference of two sets of edges, as a share of them."""
    pairs = [pair for a, b in zip(ours, others, strict=True) for pair in zip(a, b, strict=True)]
    return max(
        (abs(a - b) / abs(b) for a, b in pairs if a is not None and b is not None), default=0.0
    )


def _nodes(rows: list[Edges], first: int, last: int, noise: float) -> set[int]:
    """Return the rows between which straight lines give all others."""
    worst, where = 0.0, 0
    for row in range(first + 1, last):
        share = (row - first) / (last - first)
        line: Edges = [
            [None if a is None or b is None else a + (b - a) * share
             for a, b in zip(low, high, strict=True)]
            for low, high in zip(rows[first], rows[last], strict=True)
        ]  # fmt: skip
        apart = _apart(line, rows[row])
        if apart > worst:
            worst, where = apart, row
    if worst <= noise:
        return {first, last}
    return _nodes(rows, first, where, noise) | _nodes(rows, where, last, noise)
