"""Course of the batch: the times, samples and counts that the sheets ask for, as written.

They have no forecast and no verdict, so they stand as they were typed, in the unit they were
typed in.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.record.model.brew_day import BrewDay, Running
from reportgen.record.model.later import Fermentation, Filled, Harvest, Packaging
from reportgen.record.values import Moment, Reading, State


class CourseLine(NamedTuple):
    """One thing that happened: when, what, and what was written of it."""

    when: str
    what: str
    detail: str = ""


def course_lines(assessment: Assessment) -> tuple[CourseLine, ...]:
    """Return what is known of when each stage was, in the order of the work."""
    record = assessment.record
    found: list[CourseLine] = []
    if record.brew_day is not None:
        found += _brew_day(record.brew_day)
    if record.fermentation is not None:
        found += _fermentation(record.fermentation)
    if record.packaging is not None:
        found += _packaging(record.packaging)
    return tuple(line for line in found if line.when or line.detail)


def _brew_day(day: BrewDay) -> Iterator[CourseLine]:
    yield CourseLine(str(day.date), "Brewed", ", ".join(str(by) for by in day.brewers))
    rinse = f"pH {day.rinse_ph.text.removeprefix('pH').strip()}" if day.rinse_ph else ""
    yield CourseLine("", "Last rinse of the fermenter", rinse)
    if day.mash is not None:
        yield CourseLine(str(day.mash.started or ""), "Mash in")
    if day.run_off is not None:
        yield CourseLine(str(day.run_off.started or ""), "First wort drawn")
        for number, sample in enumerate(day.run_off.runnings, 1):
            yield CourseLine(str(sample.at or ""), f"Runnings, sample {number}", _running(sample))
    if day.boil is not None:
        yield CourseLine(str(day.boil.started or ""), "Boil begins")
        yield CourseLine(str(day.boil.ended or ""), "Heat off")
    if day.pitch is not None:
        yield CourseLine(str(day.pitch.at or ""), "Yeast in")


def _running(sample: Running) -> str:
    parts = (
        ("", as_written(sample.volume), " collected"),
        ("", as_written(sample.gravity), ""),
        ("pH ", as_written(sample.ph), ""),
    )
    return ", ".join(f"{before}{text}{after}" for before, text, after in parts if text)


def as_written(reading: Reading | None) -> str:
    """Return what was written of a reading, with the temperature of its sample; empty for none."""
    if reading is None:
        return ""
    if reading.value is None:
        reason = f" because {reading.reason}" if reading.state is State.NOT_DONE else ""
        return f"{reading.state.value}{reason}"
    sample = reading.sample_temperature
    return reading.value.text if sample is None else f"{reading.value.text} at {sample.text}"


def _fermentation(fermentation: Fermentation) -> Iterator[CourseLine]:
    yield CourseLine(str(fermentation.finished or ""), "Fermentation finished")
    if fermentation.harvest is not None:
        harvest = fermentation.harvest
        yield CourseLine(str(harvest.at), "Yeast harvested", _harvest(harvest))


def _harvest(harvest: Harvest) -> str:
    parts = (
        ("", harvest.amount), ("viability ", harvest.viability), ("stored at ", harvest.stored_at)
    )
    return ", ".join(f"{words}{given.text}" for words, given in parts if given is not None)


def _packaging(packed: Packaging) -> Iterator[CourseLine]:
    parts = (
        ("containers ", packed.containers), ("of ", packed.container_size),
    )
    counted = " ".join(f"{words}{given.text}" for words, given in parts if given is not None)
    best = f"best before {packed.best_before}" if packed.best_before is not None else ""
    yield CourseLine(str(packed.date), "Packed", ", ".join(p for p in (counted, best) if p))
    for one in packed.filled:
        number = f"{one.number} (of {one.of.text})" if one.of is not None else str(one.number)
        day = str(one.at) if isinstance(one.at, Moment) else f"{packed.date} {one.at or ''}"
        yield CourseLine(day.strip(), f"Container {number} filled", _container(one))


def _container(one: Filled) -> str:
    parts = (
        ("", one.volume.text if one.volume is not None else ""),
        ("on gas since ", one.on_gas_since), ("went to ", one.went_to), ("on ", one.went_on),
        ("back on ", one.back_on), ("empty: ", one.empty), ("", one.note),
    )  # fmt: skip
    return ", ".join(f"{words}{given}" for words, given in parts if given)
