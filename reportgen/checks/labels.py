"""What a label says: which allergens it names and which strength it states."""

from __future__ import annotations

import functools
import re
import unicodedata
from collections.abc import Iterator

from msgspec import Struct

from reportgen.checks.allergens import (
    ALSO,
    BEGINNINGS,
    CEREALS,
    FREE,
    FREE_OF_IT,
    GLUTEN,
    LIKENESS,
    NAMES,
    NAMES_OF_PLACES,
    NARROWER,
    NEGATIONS,
    OF_ONE,
    PERHAPS,
    PLACES,
    REACH,
    VERBS,
    WITH,
)

_LIGATURES = {"œ": "oe", "æ": "ae", "ø": "o", "ß": "ss", "’": "'", "‑": "-", "–": "-"}
_CONNECTORS = frozenset(
    ("or", "nor", "and", "any", "added", "of", "the", "oder", "und", "noch", "ou", "ni", "et", "y")
)
_TOKEN = re.compile(r"\w+|[^\w\s]")
_MOST_WORDS = 3


def plain(text: str) -> str:
    """Return a text in small letters, without accents, one space between words."""
    text = text.casefold()
    for mark, letters in _LIGATURES.items():
        text = text.replace(mark, letters)
    parts = unicodedata.normalize("NFKD", text)
    bare = "".join(part for part in parts if not unicodedata.combining(part))
    return re.sub(r"[^\S\n]+", " ", bare.replace("*", "").replace("_", ""))


@functools.cache
def words_of(allergen: str) -> frozenset[str]:
    """Return the words that name an allergen, in the form of :func:`plain`."""
    return frozenset(plain(word.strip()) for word in NAMES[allergen].split(","))


@functools.cache
def _known_words() -> frozenset[str]:
    return frozenset(GLUTEN).union(*(words_of(allergen) for allergen in NAMES))


def wanted_words(declared: str) -> dict[str, frozenset[str]]:
    """Return what has to be named for an allergen as the stock declares it.

    ``barley (gluten)`` is barley; ``barley and wheat`` is both; ``gluten`` alone is named by any
    cereal that has it; a word that the list does not know is named by itself.
    """
    words = _known_words().intersection(_runs(_TOKEN.findall(plain(declared))))
    meant = {allergen for allergen in NAMES if words_of(allergen) & words}
    meant -= {wide for wide, narrow in NARROWER.items() if meant.intersection(narrow)}
    if meant:
        return {
            allergen: frozenset().union(
                *(words_of(word) for word in (allergen, *ALSO.get(allergen, ())))
            )
            for allergen in sorted(meant)
        }
    if words.intersection(GLUTEN):
        cereals = (words_of(cereal) for cereal in CEREALS)
        return {declared: frozenset(GLUTEN).union(*cereals)}
    parts = re.split(r"[(),/]", plain(declared))
    return {declared: frozenset(part.strip() for part in parts if part.strip())}


def named_in(label: str, more: frozenset[str] = frozenset()) -> frozenset[str]:
    """Return the words of a label that name an allergen as something that is in the beer.

    ``more`` are words that are looked for beside those of the list.
    """
    text = PLACES.sub(" ; ", plain(label))
    for pattern, instead in _REWRITTEN:
        text = pattern.sub(instead, text)
    known, named = _known_words() | more, set()
    for statement in re.split(r"[.;!?|•\n]", text):
        named |= _named_in_statement(_TOKEN.findall(statement), known)
    return frozenset(named)


_REWRITTEN = (
    (re.compile(r"\bno\.? ?(?=\d)"), "number "),
    (re.compile(r"\bw/o\b"), "without"),
    (re.compile(r"(?<![\d.,])0(?:[.,]0)? ?%"), "zero"),
    # A dash between spaces ends a statement; one without joins two words.
    (re.compile(r" -+ |—"), " ; "),
)


def _named_in_statement(tokens: list[str], known: frozenset[str]) -> set[str]:
    """Go through the words of a statement, of which a denial reaches over some."""
    named: set[str] = set()
    reach, is_list, is_verb, is_of_one = 0, True, False, False
    at = 0
    while at < len(tokens):
        token = tokens[at]
        opening, how_far = _opening(tokens, at)
        length = opening or _known_at(tokens, at, known) or 1
        if opening:
            reach, is_list, is_verb = how_far, True, how_far == NEGATIONS["not"]
            is_of_one = token in OF_ONE
        elif token in BEGINNINGS:
            reach = reach if token in WITH and is_verb else 0
        elif token == ":":
            is_of_one = False
        elif token == "," and (not is_list or (is_of_one and not _goes_on(tokens[at:]))):
            reach = 0
        elif " ".join(tokens[at : at + length]) in known:
            if not reach and not _is_qualified(tokens, at + length, known):
                named.add(" ".join(tokens[at : at + length]))
        elif token.isalnum() and token not in _CONNECTORS and token not in VERBS:
            reach, is_list = max(0, reach - 1), False
        at += length
    return named


def _goes_on(tokens: list[str]) -> bool:
    """Whether a list goes on to its `or` or `and` before anything else is denied or begun."""
    for token in tokens:
        if token in ("or", "nor", "and", "oder", "und", "ou", "ni", "et", "o", "y"):
            return True
        if token in NEGATIONS or token in BEGINNINGS:
            return False
    return False


def _opening(tokens: list[str], at: int) -> tuple[int, int]:
    """Return how many words open a denial or a warning here, and how far it reaches."""
    for phrase in (*FREE, *PERHAPS):
        words = phrase.split()
        if tokens[at : at + len(words)] == words:
            return len(words), REACH
    return (1, NEGATIONS[tokens[at]]) if tokens[at] in NEGATIONS else (0, 0)


def _known_at(tokens: list[str], at: int, known: frozenset[str]) -> int:
    """Return how many words from here on are one that names an allergen; 0 when they are none."""
    for length in range(_MOST_WORDS, 0, -1):
        if " ".join(tokens[at : at + length]) in known:
            return length
    return 0


def _runs(tokens: list[str]) -> Iterator[str]:
    for length in range(1, _MOST_WORDS + 1):
        for at in range(len(tokens) - length + 1):
            yield " ".join(tokens[at : at + length])


def _is_qualified(tokens: list[str], after: int, known: frozenset[str]) -> bool:
    """Whether what follows a word denies it, as in "wheat and gluten free", or makes it a name."""
    follows = tokens[after : after + 2]
    if follows[:1] and follows[0] in NAMES_OF_PLACES:
        return True
    if len(follows) == 2 and follows[0] == "-" and follows[1] in LIKENESS:
        return True
    while after < len(tokens):
        if tokens[after] in FREE_OF_IT:
            return tokens[after : after + 2] not in (["free", "from"], ["free", "of"])
        if tokens[after] in ("-", "and", "or", "und", "&", "/"):
            after += 1
        elif tokens[after - 1] in ("and", "or", "und", "&", "/") and (
            length := _known_at(tokens, after, known)
        ):
            after += length
        else:
            return False
    return False


class Strength(Struct, frozen=True):
    """Alcohol as a label states it, in per cent by volume.

    ``is_most``: it says less than that. ``is_claim``: in words, which grant no tolerance.
    """

    percent: float
    is_most: bool
    is_claim: bool = False


_NUMBER = r"(?<![\d.,])(\d{1,2}(?:[.,]\d{1,2})?)"
_PERCENT = re.compile(_NUMBER + r" ?(?:%|per ?cent\b|pct\b)")
_BARE_ABV = re.compile(rf"{_NUMBER} ?(?=abv\b)|\babv ?[:=]? ?{_NUMBER}(?! ?%)")
_VOLUME_AFTER = re.compile(r"^ ?\(?(?:vol|v/v|abv|alc|alk|by vol)")
_VOLUME_BEFORE = re.compile(
    r"(?:alc|alcohol|alcool|alkohol|abv|strength|vol|volume)[ .:=]*(?:content|by volume)?"
    r"[ .:=]*(?:is|of|about|ca|approx|approximately|max|maximum|under|less than|up to|<)?[ .:=]*$"
)
_WITHOUT = (
    r"alcohol[- ]?free|non[- ]?alcoholic|(?:no|without|zero) alcohol|free (?:of|from) alcohol"
    r"|alkoholfrei\w*|ohne alkohol|sans alcool|sin alcohol|senza alcol"
)
_LITTLE = r"low[- ](?:in )?alcohol|alkoholarm\w*|peu alcoolisee?"
CLAIMS = (
    (re.compile(rf"(?<!not )\b(?:{_WITHOUT})\b"), 0.5),
    (re.compile(rf"(?<!not )\b(?:{_LITTLE})\b"), 1.2),
)
"""Words that state a strength, with the most in % vol that they allow: 0.5, the widest that laws of
beer grant them (21 CFR 7.71 and German practice; 0.05 in some), and 1.2, from which on a strength has
to be stated (Regulation (EU) 1169/2011 article 9)."""
_WEIGHT_AFTER = re.compile(r"^ ?(?:w/w|by weight|wt|abw)")
_MOST_BEFORE = re.compile(r"(?:max|maximum|under|less than|not more than|no more than|up to|<)\.? ?$")
_ENDS = re.compile(r"^ ?(?:$|[,.;:)\]\n|/-]|contains?\b|contient\b|contiene\b|enthalt\b)")


def strengths_in(label: str) -> list[Strength]:
    """Return each strength that a label states.

    A percentage counts with a word for alcohol or volume beside it; where there is none, a single
    percentage that no other word follows than one for what it contains.
    """
    text = plain(label)
    strengths, bare = [], []
    for match in _PERCENT.finditer(text):
        before, after = text[: match.start()], text[match.end() :]
        strength = Strength(
            float(match[1].replace(",", ".")), _MOST_BEFORE.search(before) is not None
        )
        if _WEIGHT_AFTER.match(after):
            continue
        if _VOLUME_AFTER.match(after) or _VOLUME_BEFORE.search(before):
            strengths.append(strength)
        elif _ENDS.match(after):
            bare.append(strength)
    for match in _BARE_ABV.finditer(text) if not strengths else ():
        strengths.append(Strength(float((match[1] or match[2]).replace(",", ".")), False))
    if not strengths and not bare:
        strengths = [Strength(most, True, True) for words, most in CLAIMS if words.search(text)][:1]
    if strengths:
        return strengths
    return bare if len(bare) == 1 else []
