"""What an instrument read, batch by batch, and which of it is in doubt."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import partial
from pathlib import Path

from msgspec import Struct

from reportgen.archive.issued import as_issued
from reportgen.archive.workers import FEWEST, LARGEST, in_order, portions
from reportgen.assessment.assess import Assessment
from reportgen.assessment.day_weighed import scale_of
from reportgen.assessment.doubt import doubts_of
from reportgen.assessment.log import GRAVITY, PH, TEMPERATURE
from reportgen.assessment.readings import instrument_name
from reportgen.forecast.figures import FIGURES
from reportgen.loading import load_archive
from reportgen.record.listing import Listing, listing_of


class ReadWith(Struct, frozen=True):
    """What one instrument read of one batch. ``doubted`` are readings in doubt since ``found``.

    Readings are figures by their titles, in the order of the record; ``brewed`` and ``found`` are
    ISO days, empty where there is none.
    """

    batch: str
    brewed: str
    readings: tuple[str, ...]
    doubted: tuple[str, ...] = ()
    found: str = ""


def read_with(root: Path, instrument: str) -> tuple[ReadWith, ...]:
    """Return what an instrument read of each batch of an archive, in order of the ids."""
    listing = listing_of(root)
    shares = portions(listing.names, LARGEST, fewest=FEWEST)
    batches = [entry for part in in_order(partial(_portion, root, listing, instrument), shares)
             for entry in part]
    return tuple(sorted(batches, key=lambda entry: entry.batch))


def _portion(
    root: Path, listing: Listing, instrument: str, records: Collection[str]
) -> list[ReadWith]:
    archive = load_archive(root, (), only=set(records), listing=listing)
    batches = []
    for batch in archive.batches.values():
        assessment = as_issued(archive, batch) if batch.file in records else None
        if assessment is not None and (entry := of_batch(assessment, instrument)) is not None:
            batches.append(entry)
    return batches


def of_batch(batch: Assessment, instrument: str) -> ReadWith | None:
    """Return what an instrument read of one batch; None when nothing."""
    readings = tuple(dict.fromkeys(_titles(batch, instrument)))
    if not readings:
        return None
    brewed = batch.record.brew_day.date if batch.record.brew_day is not None else ""
    doubt = next((d for d in doubts_of(batch) if d.instrument == instrument), None)
    if doubt is None:
        return ReadWith(batch.batch.id, str(brewed), readings)
    doubted = tuple(r.figure.title + r.what for r in doubt.readings)
    return ReadWith(batch.batch.id, str(brewed), readings, doubted, str(doubt.found.on))


def _titles(batch: Assessment, instrument: str) -> Iterator[str]:
    record, brewery = batch.record, batch.brewery
    for key, actual in batch.actuals.items():
        if actual.instrument == instrument and actual.value is not None:
            yield FIGURES[key].title
    for entry in record.log:
        pairs = ((GRAVITY, entry.gravity), (TEMPERATURE, entry.temperature), (PH, entry.ph))
        for figure, reading in pairs:
            if reading is None or reading.value is None:
                continue
            if instrument_name(record, figure, reading, brewery) == instrument:
                yield f"{figure.title}, log"
    for weighed in record.all_weighed:
        if weighed.amount.value is not None:
            scale = scale_of(record, brewery, weighed.amount)
            if scale is not None and scale is brewery.instruments.get(instrument):
                yield f"Weight of {weighed.item}"
