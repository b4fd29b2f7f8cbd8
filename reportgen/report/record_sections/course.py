"""Course of the batch: one time line of all that was done, as written, with who did it.

What stands here has no forecast and no verdict, so it stands as it was typed, in the unit it was
typed in. What was added and taken out stands where its time puts it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.assessment.times import moment
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Added, BrewDay, Running, Taken
from reportgen.record.model.later import AlsoPacked, Fermentation, Filled, Harvest, Packaging
from reportgen.record.model.plan import WortFrom
from reportgen.record.values import Clock, Day, Moment, Reading, State


class CourseLine(NamedTuple):
    """One thing that happened: when, what, and what was written of it."""

    when: str
    what: str
    detail: str = ""
    by: str = ""


class _Event(NamedTuple):
    """A line of the course with its time as it was written; None for none."""

    at: Day | Clock | Moment | str | None
    what: str
    detail: str = ""
    by: str = ""


HALF_LINE = 64
"""Letters of a line that stands in half the width of the page, in two rows at most."""


def course_lines(assessment: Assessment) -> tuple[CourseLine, ...]:
    """Return what is known of when each thing was done, in the order of time."""
    record = assessment.record
    events: list[_Event] = []
    if record.wort_from is not None:
        events.append(_wort(record.wort_from))
    if record.brew_day is not None:
        events += _brew_day(record.brew_day, record)
    if record.fermentation is not None:
        events += _fermentation(record.fermentation, record)
    if record.packaging is not None:
        events += _packaging(record.packaging)
    return tuple(CourseLine(str(at or ""), *told) for at, *told in events if at or told[1])


def in_halves(lines: tuple[CourseLine, ...]) -> tuple[tuple[CourseLine, ...], ...]:
    """Split the course: what stands in two columns, and from the first long line on the rest."""
    first = next(
        (n for n, line in enumerate(lines) if len(line.what) + len(line.detail) > HALF_LINE),
        len(lines),
    )
    return lines[:first], lines[first:]


def _in_time(events: Iterable[_Event], record: Record) -> list[_Event]:
    """Sort by time; what has none stays behind its neighbour.

    A clock without its day is of the brew day, or past its midnight.
    """
    last, placed = "", []
    for event in events:
        at = moment(record, event.at) if isinstance(event.at, Clock) else None
        when = str(event.at or "") if at is None else f"{at:%Y-%m-%d %H:%M}"
        last = max(last, when)
        placed.append((when or last, event))
    return [event for _, event in sorted(placed, key=lambda pair: pair[0])]


def _wort(wort: WortFrom) -> _Event:
    return _Event(None, f"Wort of batch {wort.batch}", wort.volume.text)


def _brew_day(day: BrewDay, record: Record) -> Iterator[_Event]:
    yield _Event(day.date, "Brewed", "", ", ".join(str(by) for by in day.brewers))
    rinse = f"pH {day.rinse_ph.text.removeprefix('pH').strip()}" if day.rinse_ph else ""
    yield _Event(None, "Last rinse of the fermenter", rinse)
    later = (*(_added(a) for a in day.added), *(_taken(t) for t in day.taken))
    yield from _in_time((*_clocks(day), *later), record)


def _clocks(day: BrewDay) -> Iterator[_Event]:
    if day.mash is not None:
        yield _Event(day.mash.started, "Mash in")
    if day.run_off is not None:
        yield _Event(day.run_off.started, "First wort drawn")
        for number, sample in enumerate(day.run_off.runnings, 1):
            yield _Event(sample.at, f"Runnings, sample {number}", _running(sample))
    if day.boil is not None:
        yield _Event(day.boil.started, "Boil begins")
    for weighed in day.weighed:
        if weighed.added_at is not None:
            item = str(weighed.item).replace("_", " ")
            amount = as_written(weighed.amount)
            yield _Event(weighed.added_at, f"Into the kettle: {item}", amount)
    if day.boil is not None:
        paused = f"paused {day.boil.paused.text}" if day.boil.paused is not None else ""
        yield _Event(day.boil.ended, "Heat off", paused)
        stand = day.boil.hop_stand_temperature
        at = stand.at if stand is not None else None
        yield _Event(at, "Wort while the hops stood", as_written(stand))
        yield _Event(day.boil.hop_stand_ended, "Hop stand ended, cooling began")
        yield _Event(day.boil.below_60_at, "Below 60 °C")
    if day.pitch is not None:
        yield _Event(day.pitch.at, "Yeast pitched")


def _added(added: Added) -> _Event:
    parts = (
        as_written(added.amount),
        f"at {added.temperature.text}" if added.temperature is not None else "",
        f"lot {added.lot}" if added.lot else "",
        f"because {added.because}" if added.because else "",
    )
    what = f"Added to the {added.to}: {str(added.what).replace('_', ' ')}"
    return _Event(added.at, what, ", ".join(p for p in parts if p), str(added.by or ""))


def _taken(taken: Taken) -> _Event:
    what = f"Taken from the {taken.from_}{f': {taken.what}' if taken.what else ''}"
    because = f"because {taken.because}" if taken.because else ""
    detail = ", ".join(p for p in (as_written(taken.amount), because) if p)
    return _Event(taken.at, what, detail, str(taken.by or ""))


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


def _fermentation(fermentation: Fermentation, record: Record) -> Iterator[_Event]:
    lines = [
        *(_added(a) for a in fermentation.added), *(_taken(t) for t in fermentation.taken),
        _Event(fermentation.finished, "Fermentation finished"),
    ]  # fmt: skip
    if fermentation.harvest is not None:
        harvest = fermentation.harvest
        lines.append(_Event(harvest.at, "Yeast harvested", _harvest(harvest)))
    yield from _in_time(lines, record)


def _harvest(harvest: Harvest) -> str:
    parts = (
        ("", harvest.amount), ("", harvest.cells), ("viability ", harvest.viability),
        ("stored at ", harvest.stored_at),
    )  # fmt: skip
    return ", ".join(f"{words}{given.text}" for words, given in parts if given is not None)


def _packaging(packed: Packaging) -> Iterator[_Event]:
    by = str(packed.packaged_by or "")
    yield from (_added(a) for a in packed.added)
    yield _Event(packed.date, "Packed", ", ".join(_filling(packed)), by)
    for other in sorted(packed.also, key=lambda container: (container.date or packed.date).date):
        yield from (_added(a) for a in other.added)
        yield _Event(
            other.date or packed.date, f"Packed into {name_of_kind(other)}",
            ", ".join(_also(other)), by,
        )  # fmt: skip
    for container in packed.filled:
        number = (
            f"{container.number} (of {container.of.text})"
            if container.of is not None
            else str(container.number)
        )
        day = (
            str(container.at)
            if isinstance(container.at, Moment)
            else f"{packed.date} {container.at or ''}"
        )
        yield _Event(day.strip(), f"Container {number} filled", _container(container))


def name_of_kind(other: AlsoPacked) -> str:
    """Return what other containers are: their name, else their kind."""
    return str(other.container or other.into).replace("_", " ")


def _also(other: AlsoPacked) -> Iterator[str]:
    if other.volume is not None:
        yield other.volume.text
    if other.from_ is not None:
        yield f"out of the {other.from_.replace('_', ' ')}"
    yield from _filling(other)


def _filling(packed: Packaging | AlsoPacked) -> Iterator[str]:
    """Yield what was written of some containers that has no verdict."""
    parts = (("containers ", packed.containers), ("of ", packed.container_size))
    counted = " ".join(f"{words}{given.text}" for words, given in parts if given is not None)
    if counted:
        yield counted
    if packed.rejects is not None:
        yield f"rejects {packed.rejects.text}"
    if packed.sugar_each is not None:
        yield f"sugar in each {as_written(packed.sugar_each)}"
    if packed.best_before is not None:
        yield f"best before {packed.best_before}"


def _container(container: Filled) -> str:
    parts = (
        ("", container.volume.text if container.volume is not None else ""),
        ("on gas since ", container.on_gas_since), ("went to ", container.went_to),
        ("on ", container.went_on),
        ("back on ", container.back_on), ("empty: ", container.empty), ("", container.note),
    )  # fmt: skip
    return ", ".join(f"{words}{given}" for words, given in parts if given)
