"""A card for those who drink the beer: one A5 side, or half a Letter."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.assessment.ingredients import ingredients
from reportgen.record.model.flavours import term_words
from reportgen.record.printed import BLANK
from reportgen.report.markdown import to_line
from reportgen.report.parts import Identity
from reportgen.report.plan_text import identity_of, name_of, units_of
from reportgen.report.told_in_steps import made_lines
from reportgen.report.weigh_out import allergens_of
from reportgen.science.number import nominal

TITLE = "Card"

MOST_WORDS = 4
"""Flavours named on a card."""


ORDINARY = {
    "acetaldehyde": "with green apple",
    "acetic": "with vinegar",
    "acidic": "sharp",
    "alcoholic": "strong",
    "astringent": "drying, like black tea",
    "body": "full in the mouth",
    "burnt": "roasted",
    "carbonation": "lively",
    "cooked_vegetable": "with sweetcorn",
    "diacetyl": "buttery",
    "estery": "with pear and banana",
    "grainy": "with raw grain",
    "hoppy": "with fresh hops",
    "mouthcoating": "creamy",
    "phenolic": "with clove",
    "resinous": "with pine",
    "warming": "warming",
    "worty": "with fresh malt",
    "yeasty": "with fresh yeast",
}
"""Ordinary words for terms of a panel; most terms are ordinary words themselves."""

LEAST_SAID = {"body": 5.0, "carbonation": 5.0}
"""Scores from which a scale that goes from little to much is told as much, 0 to 8."""


class CardView(Struct, frozen=True):
    """The card, ready to be set."""

    identity: Identity
    beer: str
    strength: str
    contains: str
    ingredients: str
    best_before: str
    story: str
    taste: str
    quote: str
    made: tuple[str, ...]


def card(assessment: Assessment, paper: str) -> CardView:
    """Return the card of a beer."""
    record = assessment.record
    packed, kinds = record.packaging, assessment.filled_kinds
    story = str(packed.story or "") if packed is not None else ""
    return CardView(
        identity=identity_of(assessment, TITLE, paper, None),
        beer=str(record.plan.beer or ""),
        strength=of_each(kinds, [strength_of(kind) for kind in kinds]),
        contains=", ".join(allergens_of(assessment)) or "no allergen known",
        ingredients=ingredients_of(assessment),
        best_before=of_each(kinds, [_best_before(kind) for kind in kinds]),
        story=" ".join(story.split()),
        taste=_taste(assessment),
        quote=_quote(assessment),
        made=made_lines(assessment),
    )


def _best_before(assessment: Assessment) -> str:
    packed = assessment.record.packaging
    return str(packed.best_before or "") if packed is not None else ""


def of_each(kinds: Sequence[Assessment], values: Sequence[str]) -> str:
    """Return what is the same in all kinds of containers; else that of each: ``5.1 % (keg)``."""
    if len(set(values)) == 1:
        return values[0]
    named = zip(values, kinds, strict=True)
    return ", ".join(f"{value} ({kind.packed_in})" for value, kind in named if value)


def strength_of(assessment: Assessment) -> str:
    """Return the alcohol as brewed, else as planned: ``4.3 % vol``."""
    number = assessment.as_brewed("alcohol")
    expected = assessment.planned.expected.get("alcohol")
    if number is None and expected is None:
        return BLANK
    value = nominal(number) if number is not None else expected.value  # type: ignore[union-attr]
    return f"{units_of(assessment).text(value, 'fraction', 3)} vol"


def ingredients_of(assessment: Assessment) -> str:
    """Return water, malts, sugars, hops and yeast by name, in the order of brewing."""
    stock, used = assessment.stock, ingredients(assessment.record)
    named = ["water"]
    named += [name_of(stock.malts, item) for item in used if item in stock.malts]
    named += [name_of(stock.sugars, item) for item in used if item in stock.sugars]
    hops = [item for item in used if item in stock.hops]
    # Malts and sugars are common nouns; a hop's name is a name.
    plain = [name[:1].lower() + name[1:] for name in named]
    plain += [f"{name_of(stock.hops, hop)} hops" for hop in hops]
    return ", ".join(dict.fromkeys((*plain, "yeast")))


def _taste(assessment: Assessment) -> str:
    """Return the strongest flavours of the latest tasting in ordinary words."""
    scored = [s for s in assessment.record.tasting if s.means]
    if not scored:
        return ""
    latest = max(scored, key=lambda session: str(session.date))
    strongest = sorted(latest.means.items(), key=lambda pair: (-pair[1].value, str(pair[0])))
    words = [
        ORDINARY.get(str(k), term_words(str(k))) for k, score in strongest
        if score.value >= LEAST_SAID.get(str(k), 1.0)
    ][:MOST_WORDS]  # fmt: skip
    if not words:
        return ""
    first, rest = " and ".join(words[:2]), " and ".join(words[2:])
    return f"{first} before all{f', then {rest}' if rest else ''}"


def _quote(assessment: Assessment) -> str:
    """Return what the tasters wrote last."""
    written = [s for s in assessment.record.tasting if s.remarks]
    if not written:
        return ""
    latest = max(written, key=lambda session: str(session.date))
    return to_line(latest.remarks)
