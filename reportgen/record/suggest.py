"""Which known word a mistyped one was probably meant to be."""

from __future__ import annotations

from collections.abc import Iterable

_LONGEST = 60

MEANS = {
    "abv": "alcohol", "biab": "bag", "brewinabag": "bag", "copper": "kettle",
    "fg": "final_gravity", "fly": "continuous", "flysparge": "continuous", "ibu": "bitterness",
    "knockout": "cast_out", "nosparge": "none", "og": "original_gravity", "preboilgravity":
    "kettle_gravity", "preboilvolume": "kettle_volume", "sparging": "sparge", "srm": "colour",
    "strike": "strike_temperature", "strikewater": "mash_liquor", "spargewater": "sparge_liquor",
    "whirlpool": "hop_stand", "color": "colour",
    # What goes in and out on the day, and where.
    "additions": "added", "addition": "added", "withdrawals": "taken", "removed": "taken",
    "losses": "taken", "spilt": "taken", "weights": "weighed", "weighings": "weighed",
    "item": "what", "ingredient": "item what", "what": "item", "quantity": "amount",
    "volume": "amount", "weight": "amount", "temp": "temperature", "time": "at", "when": "at",
    "reason": "because", "why": "because", "who": "by", "into": "to", "place": "to from",
    "tun": "mash", "mashtun": "mash", "boiler": "kettle", "boil": "kettle", "hlt": "sparge",
    "fv": "fermenter", "fermentor": "fermenter", "keg": "container", "bottle": "container",
    "cask": "container", "kegging": "packaging", "bottling": "packaging",
    "frombatch": "harvested_from", "fromyeastof": "harvested_from",
}  # fmt: skip
"""Words of the trade, folded, and what a record has for it: the first of these that it knows."""


def folded(word: str) -> str:
    """Return a word as it is compared: case, hyphens, underscores and spaces do not count."""
    return "".join(c for c in word.casefold() if c not in "-_" and not c.isspace())


def distance(one: str, other: str, limit: int) -> int:
    """Return the number of slips between two words, or ``limit + 1`` if there are more.

    A slip is a letter left out, put in, replaced, or swapped with its neighbour (optimal string
    alignment distance; Damerau, Communications of the ACM 7 (1964) 171).
    """
    if abs(len(one) - len(other)) > limit:
        return limit + 1
    before: list[int] = []
    above = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        row = [i]
        for j, wanted in enumerate(other, 1):
            cost = min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (letter != wanted))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == wanted:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        if min(row) > limit:
            return limit + 1
        before, above = above, row
    return min(above[-1], limit + 1)


def nearest(word: str, candidates: Iterable[str]) -> str | None:
    """Return the candidate that a word was most likely meant to be, or None.

    Case, hyphens, underscores and spaces do not count. One slip is allowed in words of up to five
    letters, two in words of up to nine, three in longer ones; failing that, a beginning of three
    letters or more that fits one candidate only.
    """
    typed = folded(word)
    if not typed or len(typed) > _LONGEST:
        return None
    known = list(dict.fromkeys(candidates))
    for meant in MEANS.get(typed, "").split():
        if meant in known:
            return meant
    best: str | None = None
    limit = 1 if len(typed) <= 5 else 2 if len(typed) <= 9 else 3
    # A word of one or two letters resembles every other; only its spelling may differ.
    least = limit + 1 if len(typed) > 2 else 1
    for candidate in known:
        slips = distance(typed, folded(candidate), limit)
        if slips < least:
            best, least = candidate, slips
    if best is not None:
        return best
    if len(typed) >= 3:
        begun = [c for c in known if folded(c).startswith(typed)]
        if len(begun) == 1:
            return begun[0]
    return None


def did_you_mean(word: str, candidates: Iterable[str]) -> str:
    """Return "did you mean `x`?", or an empty text when nothing resembles the word."""
    closest = nearest(word, candidates)
    return f"did you mean `{closest}`?" if closest is not None else ""
