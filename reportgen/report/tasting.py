"""Tasting sheets: one side a taster for up to six glasses, and one for who pours.

Printed for an evening, the pouring sheet says which glass is what and who is served in which
order; drawn from the batches and the day, so that printing again gives the same. Without an
evening a taster's side has room for the codes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.assessment.serving import (
    PAIRS,
    TRIANGLES,
    codes,
    letter_orders,
    serving_orders,
)
from reportgen.record.model.flavours import CLASSES, TERMS, term_words
from reportgen.report.cautions import Caution, above
from reportgen.report.parts import Identity
from reportgen.report.plan_text import identity_of
from reportgen.science.triangle import paired_needed, triangle_needed

TITLE = "Tasting sheet"
EVENING = "Tasting evening"
POURING = "Pouring sheet"
SCALE = 9
"""Marks of a scale, 0 to 8."""

MOST_GLASSES = 6
TASTERS = (3, 24)
"""Fewest and most tasters of an evening."""

SCORES, TRIANGLE, PAIRED, RANKING = "scores", "triangle", "paired", "ranking"
"""What an evening asks: how strong, which is different, which of two, in which order."""
OF_TWO = (TRIANGLE, PAIRED)

class Attribute(Struct, frozen=True):
    """One attribute and a hint."""

    name: str
    hint: str


class FlavourClass(Struct, frozen=True):
    """A class of attributes; its title is empty where its one attribute says the same."""

    title: str
    attributes: tuple[Attribute, ...]


class TasterSide(Struct, frozen=True):
    """One taster's side: number, what is asked, the codes in the order of tasting.

    A code is empty where it is still to be written.
    """

    number: str
    test: str
    codes: tuple[str, ...]

    @property
    def has_hints(self) -> bool:
        """Whether there is room for what each word reminds of."""
        return len(self.codes) <= 2


class Pouring(Struct, frozen=True):
    """The side of who pours: codes with their beers, and each taster's order.

    ``different`` is the place of the different glass of each order in a triangle test. ``needed``
    is how many correct responses show a difference, for the tasters that came.
    """

    title: str
    day: str
    test: str
    glasses: tuple[tuple[str, str], ...]
    orders: tuple[tuple[str, tuple[str, ...], str], ...]
    needed: tuple[tuple[str, str], ...]
    source: str


class TastingView(Struct, frozen=True):
    """The sheets of a tasting, ready to be set."""

    identity: Identity
    cautions: tuple[Caution, ...]
    classes: tuple[FlavourClass, ...]
    columns: tuple[tuple[Attribute, ...], ...]
    scale: tuple[str, ...]
    pouring: Pouring | None
    sides: tuple[TasterSide, ...]


class Evening(Struct, frozen=True):
    """A tasting: its day, how many taste, and what is asked."""

    day: str
    tasters: int
    test: str = SCORES


def _classes(own: Mapping[str, str]) -> tuple[FlavourClass, ...]:
    """Return the classes with their attributes, words of the house last."""
    classes = [
        FlavourClass(
            "" if [title.lower()] == list(terms) else title,
            tuple(Attribute(term_words(term), hint) for term, hint in terms.items()),
        )
        for title, terms in CLASSES
    ]
    added = tuple(
        Attribute(term_words(str(word)), str(hint))
        for word, hint in own.items()
        if word not in TERMS
    )
    if added:
        classes.append(FlavourClass("Our own words", added))
    return tuple(classes)


def tasting_sheet(assessment: Assessment, paper: str, copy: int = 1) -> TastingView:
    """Return a taster's side with the codes still to be written."""
    blank = TasterSide("", SCORES, ("",) * MOST_GLASSES)
    return _view(assessment, identity_of(assessment, TITLE, paper, copy), None, (blank,))


def evening_sheets(
    batches: Sequence[Assessment], evening: Evening, paper: str, copy: int = 1
) -> TastingView:
    """Return the pouring sheet of an evening and a side for each taster.

    ValueError for a number of batches or tasters that the test does not take.
    """
    most = 2 if evening.test in OF_TWO else MOST_GLASSES
    least = 1 if evening.test == SCORES else 2
    if not least <= len(batches) <= most:
        wanted = f"{least} to {most}" if least < most else f"{most}"
        raise ValueError(f"{evening.test} takes {wanted} batches, not {len(batches)}")
    if not TASTERS[0] <= evening.tasters <= TASTERS[1]:
        raise ValueError(f"{TASTERS[0]} to {TASTERS[1]} assessors, not {evening.tasters}")
    seed = " ".join([*(str(b.record.batch) for b in batches), evening.day, evening.test])
    glasses, orders, different = _served(len(batches), evening, seed)
    sides = tuple(
        TasterSide(str(n), evening.test, order) for n, order in enumerate(orders, 1)
    )
    named = tuple(
        (code, f"{batches[which].record.batch} {batches[which].record.name}")
        for code, which in glasses
    )
    pouring = Pouring(
        POURING, evening.day, evening.test, named,
        tuple((str(n), order, odd) for n, (order, odd) in
              enumerate(zip(orders, different, strict=True), 1)),
        _needed(evening), "ISO 4120" if evening.test == TRIANGLE else "ISO 5495",
    )  # fmt: skip
    # Not the sheet of one batch, which could be made again from its record alone.
    identity = replace(identity_of(batches[0], EVENING, paper, copy), date=evening.day)
    return _view(batches[0], identity, pouring, sides)


def _served(
    batches: int, evening: Evening, seed: str
) -> tuple[list[tuple[str, int]], list[tuple[str, ...]], list[str]]:
    """Return codes with the number of their batch, each taster's codes, the different place."""
    if evening.test == TRIANGLE:
        # Two codes a beer: glasses alike must not be known by their code.
        a, aa, b, bb = codes(4, seed)
        orders, different = [], []
        for letters in letter_orders(TRIANGLES, evening.tasters, seed):
            left = {"A": [a, aa], "B": [b, bb]}
            orders.append(tuple(left[letter].pop(0) for letter in letters))
            odd = min("AB", key=letters.count)
            different.append(("left", "middle", "right")[letters.index(odd)])
        return [(a, 0), (aa, 0), (b, 1), (bb, 1)], orders, different
    each = codes(batches, seed)
    if evening.test == PAIRED:
        pairs = letter_orders(PAIRS, evening.tasters, seed)
        orders = [tuple(each["AB".index(letter)] for letter in letters) for letters in pairs]
    elif batches == 1:
        orders = [each] * evening.tasters
    else:
        orders = [
            tuple(each[g] for g in order)
            for order in serving_orders(batches, evening.tasters, seed)
        ]
    return list(zip(each, range(batches), strict=True)), orders, [""] * evening.tasters


def _needed(evening: Evening) -> tuple[tuple[str, str], ...]:
    """Return how many must answer alike, for as many as came: all of them, or a few fewer."""
    if evening.test not in OF_TWO:
        return ()
    needed = []
    for came in range(max(TASTERS[0], evening.tasters - 4), evening.tasters + 1):
        least = triangle_needed(came) if evening.test == TRIANGLE else paired_needed(came)
        needed.append((str(came), str(least or "not enough")))
    return tuple(needed)


def _view(
    assessment: Assessment,
    identity: Identity,
    pouring: Pouring | None,
    sides: tuple[TasterSide, ...],
) -> TastingView:
    brewery = assessment.archive.brewery
    classes = _classes({} if brewery is None else brewery.flavours)
    every = tuple(attribute for group in classes for attribute in group.attributes)
    return TastingView(
        identity=identity,
        cautions=above("taste"),
        classes=classes,
        columns=(every[: len(every) // 2 + 1], every[len(every) // 2 + 1 :]),
        scale=tuple(str(n) for n in range(SCALE)),
        pouring=pouring,
        sides=sides,
    )
