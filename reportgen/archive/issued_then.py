"""What was changed in a plan since its sheet was issued, told from the history kept in git.

The sheet bears the hash of the plan that it was printed from; of the earlier texts of the record
the one whose plan has that hash is looked for. Where there is none, that is said. It bears a hash
of its numbers, too: a batch is assessed by the brewery and stock that give them.
"""

from __future__ import annotations

from reportgen.archive.revisions import (
    SHALLOW,
    NoRevision,
    Revision,
    is_shallow,
    names_of,
    resolve,
    revisions_of,
    text_under,
)
from reportgen.assessment.assess import Assessment, PlanThen, assess
from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.history.difference import changes, changes_between
from reportgen.loading import load_archive
from reportgen.record.bind import Binder
from reportgen.record.digit_slips import in_other_units, misread, near, parted
from reportgen.record.each_value import values_in, with_value
from reportgen.record.kinds import readable
from reportgen.record.listing import BREWERY, STOCK
from reportgen.record.load import plan_hash, plan_hash_with
from reportgen.record.model.plan import Plan
from reportgen.record.old_plan import plan_in
from reportgen.record.units import Quantity

MOST_OF_HOUSE = 20
"""How many earlier revisions of brewery and stock are tried; each is read and computed with."""

MOST = 300
"""How many earlier revisions are looked through."""


def house_then(assessment: Assessment, wanted: str) -> tuple[PlanThen, Assessment | None]:
    """Return what was changed in brewery and stock since they gave the numbers of a hash.

    With the batch as it was assessed by them; None where they are not found.
    """
    archive, batch = assessment.archive, assessment.batch
    try:
        resolve(archive.root, "HEAD")
        names = {file: names_of(archive.root, file) for file in (BREWERY, STOCK)}
        known = [name for file in names for name in names[file]]
        revisions = revisions_of(archive.root, known, MOST_OF_HOUSE)
        for revision in revisions:
            texts = {file: text_under(archive.root, revision, names[file]) for file in names}
            given = {file: text for file, text in texts.items() if text is not None}
            then = load_archive(archive.root, given=given, only=[batch.file])
            old = assess(then, then.batches[batch.id]) if batch.id in then.batches else None
            if old is not None and numbers_hash(old) == wanted:
                differing = [
                    *changes_between(old.brewery, assessment.brewery, BREWERY),
                    *changes_between(old.stock, assessment.stock, STOCK),
                ]
                return PlanThen(revision.short, revision.day, tuple(differing)), old
    except NoRevision as error:
        return PlanThen(why_not=f"what was changed is unknown: {error}"), None
    why = f"none of the last {len(revisions)} revisions of brewery.yaml and stock.yaml gives them"
    if is_shallow(archive.root):
        return PlanThen(why_not=f"{why}; {SHALLOW}"), None
    said = f"{why}: they were not committed, or the calculations have changed"
    return PlanThen(why_not=said), None


def plan_then(assessment: Assessment, wanted: str) -> PlanThen:
    """Return the plan of a hash, held against the plan now.

    It is looked for in the history of the record. What was never committed may still be known: the
    plan from which one slip of a finger leads to that of now.
    """
    then = _in_history(assessment, wanted)
    if then.why_not:
        plan = _one_slip_before(assessment, wanted)
        if plan is not None:
            return PlanThen(changes=tuple(changes(plan, assessment.record.plan)), plan=plan)
    return then


def _one_slip_before(assessment: Assessment, wanted: str) -> Plan | None:
    """Return the plan of a hash that differs from that of now by one mistyped number or unit."""
    plan, gallon = assessment.record.plan, assessment.brewery.bare_gallon
    for old in values_in(plan):
        if not isinstance(old, Quantity):
            continue
        number, rest = parted(old.text)
        if not number:
            continue
        texts = [text + rest for text in (*near(number), *misread(number))]
        texts += in_other_units(number, old.kind, old.unit, assessment.brewery.system)
        hash_with = plan_hash_with(plan, old)
        for new in readable(texts, old.kind, old.position, gallon):
            if hash_with(new) == wanted:
                return with_value(plan, old, new)
    return None


def _in_history(assessment: Assessment, wanted: str) -> PlanThen:
    archive, batch = assessment.archive, assessment.batch
    files = {id_: other.file for id_, other in archive.batches.items()}
    chain, like = [batch.file], assessment.record.plan.like
    while like is not None and (other := archive.batches.get(str(like))) is not None:
        if other.file in chain or other.record is None:
            break
        chain.append(other.file)
        like = other.record.plan.like
    try:
        # Asked first, since it has words for an archive without history.
        resolve(archive.root, "HEAD")
        names = {file: names_of(archive.root, file) for file in chain}
        known = [name for file in chain for name in names[file]]
        revisions = revisions_of(archive.root, known, MOST)
        plans = [_plan_at(assessment, revision, files, names) for revision in revisions]
    except NoRevision as error:
        return PlanThen(why_not=str(error))
    for revision, plan in zip(revisions, plans, strict=True):
        if plan is not None and plan_hash(plan) == wanted:
            changed = tuple(changes(plan, assessment.record.plan))
            return PlanThen(revision.short, revision.day, changed, plan=plan)
    many = len(revisions)
    counted = f"none of the {many} revisions of this record in git has a plan of that hash"
    if is_shallow(archive.root):
        return PlanThen(why_not=f"{counted}; {SHALLOW}")
    return PlanThen(
        why_not=f"{counted}: its text was not committed, or the history was rewritten since"
    )


def _plan_at(
    assessment: Assessment,
    revision: Revision,
    files: dict[str, str],
    names: dict[str, list[str]],
) -> Plan | None:
    root = assessment.archive.root

    def text_of(batch: str) -> bytes | None:
        file = files.get(batch)
        return text_under(root, revision, names.get(file, [file])) if file is not None else None

    data = text_of(assessment.batch.id)
    tree = plan_in(data, text_of) if data is not None else None
    if tree is None:
        return None
    return Binder(gallon=assessment.brewery.bare_gallon).whole(tree, Plan)
