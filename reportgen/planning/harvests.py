"""The harvest of a yeast that a new plan may take, as lines for its `pitch`."""

from __future__ import annotations

from reportgen.record.load import Archive
from reportgen.record.model.batch import Record
from reportgen.record.model.later import Harvest


def last_harvest(archive: Archive, yeast: str) -> tuple[Record, Harvest] | None:
    """Return the last harvest of a yeast in the archive, and the record it stands in."""
    harvests = [
        (record.fermentation.harvest.at.at, record, record.fermentation.harvest)
        for batch in archive.batches.values()
        if (record := batch.record) is not None
        and record.fermentation is not None
        and record.fermentation.harvest is not None
        and str(record.plan.pitch.yeast) == yeast
    ]
    if not harvests:
        return None
    _, record, harvest = max(harvests, key=lambda entry: entry[0])
    return record, harvest


def offered(archive: Archive, yeast: str) -> list[str]:
    """Return the keys of a `pitch` that takes the last harvest of a yeast, as commented lines.

    They say what was harvested, how it is kept and which generation it makes.
    """
    last = last_harvest(archive, yeast)
    if last is None:
        return []
    record, harvest = last
    parts = [
        f"{words}{given.text}"
        for words, given in (
            ("", harvest.amount), ("", harvest.cells), ("viability ", harvest.viability),
            ("at ", harvest.stored_at),
        )
        if given is not None
    ]  # fmt: skip
    lines = [f"# harvested_from: {record.batch}  # {', '.join([str(harvest.at), *parts])}"]
    generation = record.plan.pitch.generation
    if generation is not None:
        lines.append(f"# generation: {generation.value + 1:.0f}")
    return lines
