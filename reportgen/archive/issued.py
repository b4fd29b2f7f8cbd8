"""A batch as the numbers of its sheet were issued, and whether its record still has them.

The history in git is asked, and what asks it loaded, only where it has not.
"""

from __future__ import annotations

from msgspec.structs import replace

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.record.load import Archive, Batch


def as_issued(archive: Archive, batch: Batch) -> Assessment | None:
    """Assess a batch by the numbers of its sheet; None when it cannot be read.

    Where its plan gives other numbers now, and git has the brewery and stock that give those of
    the sheet, it is assessed by these: the verdicts of a record stay those of its paper.
    """
    assessment = assess(archive, batch)
    return None if assessment is None else _by_house_then(assessment)


def with_issued_plan(assessment: Assessment) -> Assessment:
    """Return an assessment by the numbers of its sheet, with what git knows of the plan printed.

    It is the assessment itself when no sheet was issued, or plan and numbers are still the ones
    issued.
    """
    issued = assessment.record.issued
    if issued is None or assessment.house_then is not None:
        return assessment
    if str(issued.plan) == assessment.batch.plan_hash:
        return _by_house_then(assessment)
    from reportgen.archive.issued_then import plan_then

    return replace(assessment, plan_then=plan_then(assessment, str(issued.plan)))


def _by_house_then(now: Assessment) -> Assessment:
    """Return an assessment by brewery and stock as they were issued; itself where nothing changed.

    The archive stays that of now, and so does what a later check of an instrument says.
    """
    issued = now.record.issued
    if issued is None or issued.numbers is None or str(issued.plan) != now.batch.plan_hash:
        # Another plan gives other numbers.
        return now
    numbers = numbers_hash(now)
    if str(issued.numbers) == numbers:
        return now
    from reportgen.archive.issued_then import house_then

    then, old = house_then(now, str(issued.numbers))
    then = replace(then, numbers=numbers)
    if old is None:
        return replace(now, house_then=then)
    return replace(old, archive=now.archive, batch=now.batch, house_then=then)
