"""A rest has a key that its way of being reached does not use.

The first rest is reached by strike, liquor has a temperature where it is an infusion, and what is
drawn and boiled is that of a decoction. Anything else is not counted: it is left from another plan,
or `reached_by` is not what was meant.

Fix: delete the key, or correct `reached_by`
Source: the record's format
Passes:
    plan:
      mash:
        rests:
          - {temperature: 52 C, time: 15 min}
          - {temperature: 66 C, time: 60 min, reached_by: infusion, liquor_temperature: 98 C}
Fails:
    plan:
      mash:
        rests:
          - {temperature: 52 C, time: 15 min}
          - {temperature: 66 C, time: 60 min, reached_by: heat, liquor_temperature: 98 C}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.MASH
SEVERITY = Severity.MINOR

USED_BY = {
    "liquor_temperature": "infusion", "decoction": "decoction", "decoction_boil": "decoction",
}  # fmt: skip


def check(batch: Assessment) -> Iterator[Remark]:
    """Look for keys of a rest that go with another way."""
    for number, rest in enumerate(batch.record.plan.mash.rests):
        way = str(rest.reached_by or "infusion") if number else "strike"
        keys = ("reached_by", *USED_BY) if number == 0 else USED_BY
        for key in keys:
            value = getattr(rest, key)
            if value is not None and USED_BY.get(key) != way:
                by = "is reached by strike" if number == 0 else f"is reached by {way}"
                yield Remark(value.position, f"`{key}` of a rest that {by} is not used")
