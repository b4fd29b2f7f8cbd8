"""A tasting attribute is not on the list.

Scores can only be compared between batches when all use the same words: the first tier of the
published flavour terminology, and words of your own listed in `brewery.yaml`. Anything else belongs
into the remarks.

Fix: use a word of the list, add your own to `flavours` in brewery.yaml, or put it into the remarks
Source: first tier of M.C. Meilgaard, C.E. Dalgliesh and J.F. Clapperton 1979, J. Inst. Brew. 85:38
Passes:
    brew_day: {date: 2026-03-14}
    tasting: [{date: 2026-04-10, scores: {malty: 4}}]
Fails:
    brew_day: {date: 2026-03-14}
    tasting: [{date: 2026-04-10, scores: {maltyness: 4}}]
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.model.flavours import NEAREST, REMINDS, TERMS, term_words
from reportgen.record.suggest import did_you_mean
from reportgen.record.values import Text

GROUP = Group.TASTING
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for attributes that are not on the list."""
    brewery = batch.archive.brewery
    own = () if brewery is None else tuple(str(word) for word in brewery.flavours)
    known = (*TERMS, *own)
    for session in batch.record.tasting:
        for attribute, _ in session.every_mark:
            if attribute in known:
                continue
            word = term_words(attribute.lower())
            nearest = NEAREST.get(word) or REMINDS.get(word)
            yield Remark(
                attribute.position if isinstance(attribute, Text) else session.position,
                f"`{attribute}` is not an attribute",
                "one of " + ", ".join(known),
                f"write `{nearest}`, or add `{attribute}` to `flavours` in brewery.yaml"
                if nearest
                else did_you_mean(attribute, known),
            )
