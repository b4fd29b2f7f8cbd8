"""An allergen is missing on the label.

Barley, wheat, fish and milk can make people very ill, and most countries make their naming a duty.
The label text in the record should name each allergen that went in.

Mend: add it to the label, and hold the batch until the labels are right
Source: EU Regulation 1169/2011 annex II; local law decides
Passes:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, label: 'Bitter, contains barley'}
Fails:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, label: 'Bitter 5 %'}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.WISE
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Iterator[Said]:
    """Compare the allergens of what was used with the words of the label."""
    packed = batch.record.packaging
    if packed is None or packed.label is None:
        return
    plan = batch.record.plan
    used = [batch.stock.malts[item.malt].allergens for item in plan.grist]
    used += [batch.stock.sugars[item.sugar].allergens for item in plan.sugars]
    finings = (*plan.boil.finings, *plan.ferment.finings)
    used += [batch.stock.finings[item.fining].allergens for item in finings]
    words = {str(allergen) for group in used for allergen in group}
    said = packed.label.casefold()
    for word in sorted(words):
        names = [part.strip(" ()").casefold() for part in word.replace("(", ",").split(",")]
        if not any(name and name in said for name in names):
            yield Said(packed.label.position, f"the label does not name {word}", word)
