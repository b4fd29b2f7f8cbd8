"""The words that a tasting scores: the first tier of the published flavour terminology, whole.

The classes and the 44 terms of the first tier, in their order, are those of M.C. Meilgaard, C.E.
Dalgliesh and J.F. Clapperton 1979, J. Inst. Brew. 85:38-42, as adopted by the European Brewery
Convention, the American Society of Brewing Chemists and the Master Brewers Association. The 78
terms of the second tier belong into the remarks. What a term reminds of is said in our words.
"""

from __future__ import annotations

CLASSES: tuple[tuple[str, dict[str, str]], ...] = (
    (
        "Aromatic, fragrant, fruity, floral",
        {
            "alcoholic": "wine, spirits",
            "solvent_like": "nail varnish",
            "estery": "pear drops, banana",
            "fruity": "citrus, berries, melon",
            "acetaldehyde": "green apple",
            "floral": "rose, blossom",
            "hoppy": "fresh hops",
        },
    ),
    (
        "Resinous, nutty, green, grassy",
        {"resinous": "pine, sawdust", "nutty": "hazelnut, almond", "grassy": "cut grass, hay"},
    ),
    (
        "Cereal",
        {"grainy": "raw grain, husk", "malty": "biscuit, malt loaf", "worty": "fresh wort"},
    ),
    ("Caramelized, roasted", {"caramel": "toffee, treacle", "burnt": "roast, coffee, smoke"}),
    ("Phenolic", {"phenolic": "clove, sticking plaster"}),
    (
        "Soapy, fatty, diacetyl, oily, rancid",
        {
            "fatty_acid": "goat, cheese, soap",
            "diacetyl": "butter",
            "rancid": "old butter",
            "oily": "salad oil",
        },
    ),
    (
        "Sulphury",
        {
            "sulphury": "sulphur of any kind",
            "sulphitic": "struck match",
            "sulphidic": "rotten egg",
            "cooked_vegetable": "sweetcorn (DMS)",
            "yeasty": "fresh yeast, broth",
        },
    ),
    (
        "Oxidized, stale, musty",
        {
            "stale": "old beer",
            "catty": "blackcurrant leaf",
            "papery": "wet cardboard",
            "leathery": "leather, old books",
            "mouldy": "damp cellar",
        },
    ),
    ("Sour, acidic", {"acidic": "sharp", "acetic": "vinegar", "sour": "lemon, sour milk"}),
    ("Sweet", {"sweet": "sugar water"}),
    ("Salty", {"salty": "table salt"}),
    ("Bitter", {"bitter": "tonic water"}),
    (
        "Mouthfeel",
        {
            "alkaline": "baking soda",
            "mouthcoating": "cream",
            "metallic": "iron, coins",
            "astringent": "strong black tea",
            "powdery": "chalk, cocoa powder",
            "carbonation": "flat to lively",
            "warming": "warm in the throat",
        },
    ),
    ("Fullness", {"body": "thin to full"}),
)
"""Each class with its terms, as they are typed, and what each reminds of."""

TERMS: tuple[str, ...] = tuple(term for _, terms in CLASSES for term in terms)
"""The 44 terms, in order."""

NEAREST = {
    "roasted": "burnt",
    "roasty": "burnt",
    "smoky": "burnt",
    "oxidised": "stale",
    "oxidized": "stale",
    "cardboard": "papery",
    "musty": "mouldy",
    "moldy": "mouldy",
    "dms": "cooked_vegetable",
    "sweetcorn": "cooked_vegetable",
    "buttery": "diacetyl",
    "apple": "acetaldehyde",
    "sulfury": "sulphury",
    "sulfitic": "sulphitic",
    "sulfidic": "sulphidic",
    "full": "body",
    "gas": "carbonation",
}
"""Words that are often typed for a term of the first tier, and that term."""

REMINDS = {
    word: term
    for _, terms in CLASSES
    for term, words in terms.items()
    for word in words.split(", ")
}
"""What a taster may write who knows what a term reminds of and not the term."""


def term_words(term: str) -> str:
    """Return a term as it is printed."""
    return term.replace("_", " ")
