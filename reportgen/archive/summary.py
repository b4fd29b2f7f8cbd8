"""One batch in plain values: what the ledger, the history and the tables of exchange go by.

A summary is made from an assessment and its findings, and is small enough to keep: the next build
assesses only the batches whose sources have changed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec.json import encode

from reportgen.archive.matters import Matter, matters_of
from reportgen.assessment.assess import Assessment
from reportgen.assessment.causes import is_closed, name_of, shows_in
from reportgen.assessment.departures import cause_severity
from reportgen.assessment.doubt import doubts_of
from reportgen.assessment.results import Result
from reportgen.history.measures import Measured, base_malt, mash_temperature, measured
from reportgen.history.row import BatchRow, DeviationValue, FigureValue, TastingValue
from reportgen.record.each_value import last_day
from reportgen.record.finding import Finding, Severity
from reportgen.record.load import plan_hash
from reportgen.record.model.batch import Record
from reportgen.record.model.later import Deviation
from reportgen.record.units import Quantity
from reportgen.science.number import nominal


class Summary(BatchRow, frozen=True):
    """One batch, all that is kept of it: its row with every figure, and what only its page shows.
    """

    revision: int
    plan_hash: str
    boil_minutes: float
    into: str
    containers: int | None
    best_before: str
    label: str
    learned: str
    problems: tuple[tuple[str, str], ...]
    silenced: tuple[tuple[str, str], ...]
    figures: tuple[tuple[str, FigureValue], ...]
    measures: tuple[tuple[str, Measured], ...]
    matters: tuple[Matter, ...] = ()
    """What the forecast hangs on; only of a batch that is still to be brewed."""
    also_into: tuple[tuple[str, int | None], ...] = ()
    """Other containers that part of the beer went into: their kind, and how many."""

    def figure(self, key: str) -> FigureValue | None:
        """Return a figure by its key, or None."""
        return next((value for name, value in self.figures if name == key), None)

    def measure(self, key: str) -> Measured | None:
        """Return a measure by its key, or None."""
        return next((value for name, value in self.measures if name == key), None)


def state_of(record: Record) -> str:
    """Return how far a batch has come: planned, brewed, fermented, packed or tasted."""
    if record.tasting:
        return "tasted"
    if record.packaging is not None:
        return "packed"
    if record.fermentation is not None:
        return "fermented" if record.fermentation.finished is not None else "brewed"
    return "planned" if record.brew_day is None else "brewed"


def liquor_of(record: Record) -> str:
    """Return the blend of liquors in words: ``reservoir``, or ``borehole 60 %, reservoir 40 %``."""
    blend = record.plan.liquor.blend
    if len(blend) == 1:
        return str(blend[0].liquor)
    return ", ".join(f"{part.liquor} {part.share.value * 100:.0f} %" for part in blend)


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value


def _figure(assessment: Assessment, result: Result) -> FigureValue:
    actual, limits = result.actual, result.limits
    brewed = assessment.as_brewed(result.figure.key)
    has_value = actual is not None and actual.value is not None
    return FigureValue(
        expected=_finite(result.expected.value) if result.expected else None,
        actual=_finite(actual.value) if actual else None,
        as_brewed=None if brewed is None else _finite(nominal(brewed)),
        low=_finite(limits.low) if limits else None,
        high=_finite(limits.high) if limits else None,
        uncertainty=_finite(actual.uncertainty) if actual and has_value else None,
        verdict=result.verdict.value if result.verdict else "",
    )


def _deviation(
    figures: Sequence[str],
    severity: Severity,
    is_open: bool,
    written: Deviation | None,
    difference: float | None = None,
) -> DeviationValue:
    def text(name: str) -> str:
        return str(getattr(written, name, None) or "")

    return DeviationValue(
        figures[0],
        severity,
        is_open,
        difference,
        tuple(figures[1:]),
        text("what"),
        text("cause"),
        text("cause_certainty"),
        text("effect"),
        text("correction"),
        text("corrective_action"),
        text("other_batches"),
        text("disposition"),
        text("closed_by"),
        text("closed_on"),
    )


def deviations_of(assessment: Assessment) -> tuple[DeviationValue, ...]:
    """Return the deviations of a batch, worst first: each cause once, with all it shows in."""
    deviations = []
    review = assessment.record.review
    for cause in assessment.record.deviations:
        own = [d for d in assessment.departures if d.review is cause]
        keys = dict.fromkeys((*(d.result.figure.key for d in own), *shows_in(cause)))
        severity = cause_severity(assessment.departures, cause)
        is_open = review is not None and not is_closed(cause, severity, review)
        difference = own[0].result.difference if own else None
        deviations.append(
            _deviation(
                tuple(keys) or (name_of(cause),), severity,
                is_open or any(d.is_open for d in own), cause, difference,
            )
        )  # fmt: skip
    deviations += [
        _deviation((d.result.figure.key,), d.severity, d.is_open, d.review, d.result.difference)
        for d in assessment.departures
        if d.review is None or d.batch
    ]
    return tuple(sorted(deviations, key=lambda d: -d.severity.rank))


def _text(value: object) -> str:
    return "" if value is None else str(value)


def _count(value: Quantity | None) -> int | None:
    return None if value is None else round(value.value)


def summary_of(assessment: Assessment, findings: tuple[Finding, ...]) -> Summary:
    """Return the summary of one batch. ``findings`` are those of the checks."""
    record = assessment.record
    packed, review = record.packaging, record.review
    pitch = record.plan.pitch
    return Summary(
        id=assessment.batch.id,
        file=assessment.batch.file,
        name=str(record.name),
        beer=_text(record.plan.beer),
        state=state_of(record),
        disposition=_text(review and review.disposition),
        brewed=_text(record.brew_day and record.brew_day.date),
        finished=_text(record.fermentation and record.fermentation.finished),
        packed=_text(packed and packed.date),
        last_day=_text(last_day(record)),
        revision=_count(record.plan.revision) or 1,
        plan_hash=assessment.batch.plan_hash,
        plan_parts=tuple(
            (section, plan_hash(getattr(record.plan, section)))
            for section in sorted(assessment.batch.plan)
        ),
        like=_text(record.plan.like),
        kit=str(record.plan.kit),
        liquor=liquor_of(record),
        yeast=str(pitch.yeast),
        malt=base_malt(assessment),
        generation=_count(pitch.generation),
        mash_temperature=mash_temperature(assessment),
        boil_minutes=nominal(assessment.case.boil_minutes),
        into=str(record.plan.packaging.into),
        containers=_count(packed.containers if packed is not None else None),
        also_into=tuple(_also_into(assessment)),
        best_before=_text(packed and packed.best_before),
        label=_text(packed and packed.label),
        figures=tuple((r.figure.key, _figure(assessment, r)) for r in assessment.results),
        measures=tuple(measured(assessment).items()),
        matters=matters_of(assessment) if state_of(record) == "planned" else (),
        counts=tuple((v.value, n) for v, n in assessment.verdict_counts().items() if n),
        deviations=deviations_of(assessment),
        tastings=tuple(_tastings(record)),
        learned=_text(review and review.learned),
        problems=assessment.problems,
        silenced=tuple((str(s.check), str(s.because)) for s in review.silenced) if review else (),
        findings=findings,
        doubts=tuple(
            (reading.figure.key, doubt.instrument)
            for doubt in doubts_of(assessment) for reading in doubt.readings
        ),
    )


def _also_into(assessment: Assessment) -> Iterator[tuple[str, int | None]]:
    """Yield what else the beer went into, and how many, as planned until it is packed."""
    for kind in assessment.filled_kinds[1:]:
        packed = kind.record.packaging
        yield kind.case.packed_into, _count(packed.containers if packed is not None else None)


def _tastings(record: Record) -> Iterator[TastingValue]:
    for session in record.tasting:
        test = session.triangle
        yield TastingValue(
            str(session.date),
            len(session.assessors),
            tuple((str(key), value.value) for key, value in session.means.items()),
            str(test.against) if test is not None else "",
            round(test.assessors.value) if test is not None else 0,
            round(test.correct_responses.value) if test is not None else 0,
        )


def as_json(data: object) -> bytes:
    """Return a summary, or what has one in it, as JSON that is read back by its type.

    TypeError for what is no plain value.
    """
    return encode(data, enc_hook=_plain)


def _plain(text: object) -> str:
    """Return a text of the record without its place."""
    if isinstance(text, str):
        return str(text)
    raise TypeError(f"{type(text).__name__} in a summary")
