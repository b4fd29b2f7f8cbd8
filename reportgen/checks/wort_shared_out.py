"""Wort shared out to other batches does not balance.

One wort may fill several fermenters. What this batch gives, what each other takes and what the
kettle held must agree, or one of the records is wrong. A batch whose wort comes from another starts
from that batch's plan.

Fix: correct `wort_to_others` in the one plan or `wort_from` in the other record
Source: the records against each other
Passes:
    plan: {fermenter_volume: 40 L}
Fails:
    plan: {fermenter_volume: 40 L, wort_to_others: {2026-77: 20 L}}
"""

from pathlib import PurePosixPath

from reportgen.assessment.balance import added_after_boil
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume
from reportgen.record.model.batch import Record
from reportgen.record.model.plan import WortFrom
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.RECORD
SEVERITY = Severity.MAJOR
CONTRADICTS = True

_POURED = 0.05
"""Share by which what runs into a fermenter may be off what was to: nobody measures it to the drop."""

SLACK = 0.05
"""L that the two records of one share may differ by: a rounding."""


def check(batch: Assessment) -> Remarks:
    """Compare what a batch gives and what the others take, at both records."""
    yield from _given(batch)
    if batch.record.wort_from is not None:
        yield from _taken(batch, batch.record.wort_from)


def _given(batch: Assessment) -> Remarks:
    shares = batch.record.plan.wort_to_others
    for name, share in shares.items():
        if str(name) == batch.batch.id:
            yield Remark(share.position, "a batch cannot give wort to itself", "another batch")
            continue
        other = batch.archive.batches.get(str(name))
        if other is None and is_unreadable(batch, str(name)):
            yield Remark(share.position, f"the record of batch {name} cannot be read",
                       "a record without errors", f"correct the file of batch {name}")
            continue
        if other is None:
            yield Remark(share.position, f"there is no batch {name} to take {share.text} of wort",
                       "the id of a batch of this archive")
            continue
        if other.record is None:
            yield Remark(share.position, f"the record of batch {name} cannot be read",
                       "a record without errors", f"correct {other.file}")
            continue
        taken = other.record.wort_from
        if taken is None or str(taken.batch) != batch.batch.id:
            yield Remark(share.position, f"batch {name} does not say that it takes this wort",
                       f"`wort_from: {{batch: {batch.batch.id}, volume: {share.text}}}` there")
        elif abs(taken.volume.value - share.value) > SLACK:
            yield Remark(share.position,
                       f"{share.text} of wort goes to batch {name}, which takes {taken.volume.text}",
                       taken.volume.text)
    if not shares:
        return
    had = _too_much(batch, sum(share.value for share in shares.values()))
    if had is not None:
        first = next(iter(shares.values()))
        yield Remark(first.position, "more wort is given away than there was",
                   f"at most {volume(had, batch)} in all")


def _too_much(batch: Assessment, given: float) -> float | None:
    """Return the wort there was, L, where more than that is given away; None where it is not.

    A batch with the wort of another walks the same brew day up to the pitching.
    """
    made = batch.now if "cast_out_volume" in batch.now else batch.planned
    if "cast_out_volume" not in made:
        return None
    had = made["cast_out_volume"] + added_after_boil(batch.brewed, batch.now) - batch.case.kettle_loss
    left = had - batch.brewed.taken_from("cast_out") - given
    return nominal(had) if nominal(left) + expanded_uncertainty(left) < 0 else None


def is_unreadable(batch: Assessment, name: str) -> bool:
    """Whether there is a file of a batch, with faults for which nothing of it is known."""
    files = (finding.position.file for finding in batch.archive.findings)
    return any(PurePosixPath(file).stem == name for file in files)


def _taken(batch: Assessment, own: WortFrom) -> Remarks:
    source = str(own.batch)
    if source == batch.batch.id:
        yield Remark(own.batch.position, "a batch cannot take its own wort", "another batch")
        return
    other = batch.archive.batches.get(source)
    if other is None:
        return
    if other.record is None:
        yield Remark(own.batch.position,
                   f"the record of batch {source} cannot be read, so nothing is known of its wort",
                   "a record without errors", f"correct {other.file}")
        return
    if other.record.wort_from is not None:
        brewed = other.record.wort_from.batch
        yield Remark(own.batch.position, f"batch {source} takes its own wort from batch {brewed}",
                   f"{brewed}, where it was brewed")
        return
    given = other.record.plan.wort_to_others.get(batch.batch.id)
    if given is None:
        yield Remark(own.batch.position, f"batch {source} does not say that it gives wort to this one",
                   f"`wort_to_others: {{{batch.batch.id}: {own.volume.text}}}` in its plan")
    elif (had := _too_much(batch, _given_by(other.record))) is not None:
        yield Remark(own.volume.position, f"batch {source} gives away more wort than there was",
                   f"at most {volume(had, batch)} in all")
    elif abs(given.value - own.volume.value) > SLACK:
        yield Remark(own.volume.position,
                   f"{own.volume.text} of wort is taken, and batch {source} gives {given.text}",
                   given.text)
    if str(batch.record.plan.like or "") != source:
        yield Remark(own.batch.position,
                   f"the plan does not start from that of batch {source}, whose wort it is",
                   f"`like: {source}` in the plan")
    yield from _brewed_twice(batch, other.record, source)


def _given_by(record: Record) -> float:
    return sum(share.value for share in record.plan.wort_to_others.values())


def _brewed_twice(batch: Assessment, giver: Record, source: str) -> Remarks:
    """Look for a brew day that is written in both records, or only in the one that takes."""
    day = batch.record.brew_day
    if day is None:
        return
    if giver.brew_day is None:
        yield Remark(day.position, f"batch {source}, whose wort it is, has no brew day yet",
                   "its brew day, written there", f"write `brew_day` into the record of {source}")
        return
    for key in ("mash", "run_off", "boil"):
        own, theirs = getattr(day, key), getattr(giver.brew_day, key)
        if own is not None and own.position.file == batch.batch.file and theirs is not None:
            yield Remark(own.position, f"`{key}` of one wort is written here and in batch {source}",
                       "once, where it was brewed", f"move it to the record of {source}")
    entries = (*((e.to, e.position) for e in day.added), *((e.from_, e.position) for e in day.taken))
    for place, where in entries:
        if where and where.file == batch.batch.file and place in ("mash", "sparge", "kettle"):
            yield Remark(where, f"what was done to the wort of batch {source} is written here",
                       "in the record where it was brewed", f"move it to the record of {source}")
    read = batch.actuals.get("fermenter_volume")
    if read is None or read.number is None or batch.record.wort_from is None:
        return
    more = read.number - batch.record.wort_from.volume.value - added_after_boil(batch.brewed, batch.now)
    if nominal(more) > expanded_uncertainty(more) + _POURED * batch.record.wort_from.volume.value:
        yield Remark(read.reading.position,
                   f"{volume(nominal(read.number), batch)} in the fermenter, but batch {source}"
                   f" gave {batch.record.wort_from.volume.text}",
                   "at most the volume taken and what was added")
