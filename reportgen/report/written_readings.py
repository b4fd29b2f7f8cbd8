"""Readings of a page that can be written on: what decides each verdict, as numbers.

The page computes nothing of its own. For each reading and each instrument of the house that could
take it there are the edges of the verdict, and a table from what is read, and the temperature of
its sample, to what that stands for. Both are got from the functions that judge a record.
"""

from __future__ import annotations

import math
from typing import Any

from reportgen.assessment.actual import Actual
from reportgen.assessment.assess import Assessment
from reportgen.assessment.corrections import WARM_PH
from reportgen.assessment.readings import (
    METHOD_U,
    actual_of_reading,
    instrument_uncertainty,
)
from reportgen.assessment.verdicts import Limits, edges
from reportgen.forecast.figures import Figure
from reportgen.record.printed import width_kind
from reportgen.record.units import parse_quantity
from reportgen.record.values import Reading, State, Text
from reportgen.report.numbers import Units
from reportgen.report.parts import Raw
from reportgen.report.plan_text import instrument_of
from reportgen.report.shown import sample_offset

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

TOO_HOT = 100.0
"""A sample for which no hydrometer is corrected, degC."""


def unit_typed(kind: str, system: str) -> str:
    """Return the unit of a kind as it is typed after a number, with its space; empty for none."""
    if kind == "cells":
        return " billion"
    label = Units(system).label(kind).replace("°", "")
    return f" {label}" if label else ""


class Readings:
    """Makes the numbers of all readings of a batch, each table once."""

    def __init__(self, assessment: Assessment) -> None:
        self.assessment = assessment
        self.units = Units(str(assessment.brewery.units or "metric"))
        self.tables: dict[str, Any] = {}
        self.samples: dict[str, list[float]] = {}
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
        limits = Limits(raw.low, raw.high)
        about = self.units.converted(raw.expected, raw.kind)
        # Read with an unknown instrument, a value is as good as its last decimal.
        counts = range(MOST_DECIMALS + 1) if name not in self.assessment.brewery.instruments else ()
        texts = [f"{about:.{count}f}" for count in counts] or [f"{about:.{MOST_DECIMALS}f}"]
        made["edges"] = [self._edges(figure, raw, limits, name, text) for text in texts]
        # U grows with the sample's temperature: what decides stands for each that has a row.
        rows = self.samples.get(made["table"], [])
        made["hot"] = [
            [self._edges(figure, raw, limits, name, text, at) for at in rows] for text in texts
        ] if rows else []
        u = self._actual(figure, raw, name, texts[-1]).uncertainty
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
    ) -> list[float | None]:
        share = METHOD_U.get(figure.kind, 0.0)
        if share:
            # U then grows with the reading: what is the instrument's own is asked for apart.
            instrument = self.assessment.brewery.instruments.get(name)
            u = instrument_uncertainty(instrument, parse_quantity(
                text + unit_typed(raw.kind, self.units.system), figure.kind
            ))
            found = edges(limits, u, share)
        else:
            # Each side by the U of a reading that stands for its limit.
            low, high = (
                self._u_at(figure, raw, name, text, sample, edge)
                for edge in (limits.low, limits.high)
            )
            found = (*edges(limits, low)[:2], *edges(limits, high)[2:])
        return [
            round(self.units.converted(edge, raw.kind), 12) if math.isfinite(edge) else None
            for edge in found
        ]

    def _u_at(
        self, figure: Figure, raw: Raw, name: str, text: str, sample: float | None, edge: float
    ) -> float:
        """Return the U of a reading that stands for an edge, as exactly written as ``text``."""
        if not math.isfinite(edge):
            return self._actual(figure, raw, name, text, sample).uncertainty
        count = len(text.partition(".")[2])
        read = self.units.converted(edge, raw.kind)
        found = self._actual(figure, raw, name, f"{read:.{count}f}", sample)
        if found.value is not None and figure.kind == "volume":
            read += read - self.units.converted(found.value, raw.kind)
        return self._actual(figure, raw, name, f"{read:.{count}f}", sample).uncertainty

    def _temperature(self, celsius: float) -> float:
        return self.units.converted(celsius, "temperature")

    def _actual(
        self, figure: Figure, raw: Raw, name: str, text: str, sample: float | None = None
    ) -> Actual:
        """Return what a reading stands for; ``text`` in the printed unit, ``sample`` in degC."""
        system = self.units.system
        reading = Reading(
            State.READ,
            parse_quantity(text + unit_typed(raw.kind, system), figure.kind),
            instrument=Text(name) if name else None,
            sample_temperature=(
                None if sample is None else parse_quantity(f"{sample:.6f} C", "temperature")
            ),
        )
        return actual_of_reading(
            self.assessment.record, figure, reading, self.assessment.brewery, None
        )

    def _table(self, figure: Figure, raw: Raw, name: str) -> str:
        """Return the name of the table of a figure read with an instrument; empty for none.

        A table has what readings stand for without a sample (``bare``) and at each temperature of
        one (``at``), and what is added where a correction is not made (``plain``).
        """
        if raw.kind not in _READS:
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
        made["plain"] = bare[-1] - reads[-1]
        if raw.kind == "gravity":
            far = self._actual(figure, raw, name, f"{reads[-1]}", TOO_HOT)
            made["plain"] = round(self._shown(raw, far) - reads[-1], 7)
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
