"""An allergen is missing on the label.

Barley, wheat, fish and milk can make people very ill, and most countries make their naming a duty.
The label text in the record should name each allergen that went in, as a word of its own: a cereal
by its name, since `gluten` alone names none. "No wheat", "wheat-free", "may contain wheat" and the
name of a place do not name it. Common words of several languages are known.

Fix: add it to the label, and hold the batch until the labels are right
Afterwards: tell those who have the beer, and correct the labels of what is left
Source: EU Regulation 1169/2011 annex II; local law decides
Passes:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, label: 'Bitter, contains barley'}
Fails:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, label: 'Bitter 5 %'}
"""

from reportgen.assessment.ingredients import allergens_in
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.labels import named_in, wanted_words

GROUP = Group.PACKAGING
SEVERITY = Severity.MAJOR
UNTIL = Stage.PACK


def check(batch: Assessment) -> Remarks:
    """Compare the allergens of what was used with the words of the label."""
    packed = batch.record.packaging
    if packed is None or packed.label is None:
        return
    wanted: dict[str, frozenset[str]] = {}
    for allergen in sorted(allergens_in(batch.record, batch.stock)):
        wanted |= wanted_words(allergen)
    named = named_in(packed.label, frozenset().union(*wanted.values()))
    for allergen, words in wanted.items():
        if not words & named:
            yield Remark(packed.label.position, f"the label does not name {allergen}", allergen)
