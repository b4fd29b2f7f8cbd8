"""A container was filled again before it came back.

A keg cannot be with two people. Its number is mistyped, or its return was not written down; until
then a recall would ask the wrong one. A number that is elsewhere written with other capitals, hyphens or
spaces is the same one.

Fix: write when it came back, or correct the number
Source: common practice, no source
Passes:
    brew_day: {date: 2026-03-14}
    packaging:
      date: 2026-03-24
      filled: [{number: K-07, went_to: household 3, went_on: 2026-04-01, back_on: 2026-04-20}]
    others:
      2026-02:
        brew_day: {date: 2026-04-14}
        packaging: {date: 2026-04-24, filled: [{number: K-07}]}
Fails:
    brew_day: {date: 2026-03-14}
    packaging:
      date: 2026-03-24
      filled: [{number: K-07, went_to: household 3, went_on: 2026-04-01}]
    others:
      2026-02:
        brew_day: {date: 2026-04-14}
        packaging: {date: 2026-04-24, filled: [{number: K-07}]}
"""

from collections import Counter

from reportgen.checks.base import Group, Remark, Remarks, Severity
from reportgen.record.suggest import folded
from reportgen.store.balance import Store
from reportgen.store.takings import BatchTakings, Sent

NAME = "container-out-twice"
GROUP = Group.PACKAGING
SEVERITY = Severity.NOTE


def check_store(store: Store, system: str) -> Remarks:
    """Follow each container through the batches in order of brewing."""
    last: dict[str, tuple[BatchTakings, Sent]] = {}
    spelled = Counter(sent.number for batch in store.batches for sent in batch.sent)
    usual = {folded(number): number for number, _ in reversed(spelled.most_common())}
    for batch in store.batches:
        for sent in batch.sent:
            number = usual[folded(sent.number)]
            before = last.get(number)
            last[number] = (batch, sent)
            if NAME in batch.silenced:
                continue
            if number != sent.number:
                yield Remark(
                    sent.position, f"container {sent.number} is written {number} elsewhere",
                    "each number written in one way", f"did you mean `{number}`?",
                )
                continue
            if before is None or before[1].back_on or not before[1].went_to:
                continue
            if before[0] is batch:  # container-dates says that it is filled twice
                continue
            yield Remark(
                sent.position,
                f"container {sent.number} is filled with {batch.batch} and, by the record of "
                f"{before[0].batch}, has not come back",
                "a day after `back_on` there",
            )
