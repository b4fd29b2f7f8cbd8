"""Allergens and the words by which a label names them: data, shared by the checks about labels.

The allergens are those of Regulation (EU) 1169/2011 annex II; the words are everyday ones in
English, German, French, Dutch, Spanish, Italian and the Scandinavian languages. Each is a whole
word, or several words in a row, without accents and in small letters.
"""

from __future__ import annotations

import re


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


NAMES: dict[str, str] = {
    "barley": "barley, barleycorn, barleymalt, gerste, gerstenmalz, orge, gerst, gerstemout, "
    "cebada, orzo, byg, korn, bygg, bygmalt, byggmalt, kornmalt, cevada",
    "wheat": "wheat, wheatmalt, weizen, weizenmalz, weizenbier, weissbier, ble, froment, tarwe, "
    "tarwemout, trigo, frumento, grano, hvede, hvete, vete",
    "spelt": "spelt, dinkel, epeautre, espelta, farro, spelta, triticum spelta",
    "rye": "rye, ryemalt, roggen, roggenmalz, seigle, rogge, centeno, segale, rugmalt, ragmalt",
    "oats": "oat, oats, oatmeal, hafer, haferflocken, hafermalz, avoine, haver, havre, avena",
    "milk": "milk, lactose, whey, casein, milch, milchzucker, laktose, lait, lactosa, lattosio, "
    "melk, leche, latte, maelk, mjolk, leite",
    "fish": "fish, isinglass, fisch, hausenblase, poisson, ichtyocolle, vis, vislijm, pescado, "
    "pesce, fisk",
    "eggs": "egg, eggs, albumen, ei, eier, eiern, oeuf, oeufs, eieren, huevo, huevos, uovo, uova, "
    "aeg, agg",
    "soya": "soya, soy, soybean, soybeans, soja, soia, soyabean, soyabeans",
    "peanuts": "peanut, peanuts, groundnut, groundnuts, erdnuss, erdnusse, arachide, arachides, "
    "pinda, cacahuete, cacahuetes",
    "nuts": "nut, nuts, tree nut, tree nuts, nuss, nusse, schalenfruchte, fruits a coque, noten, "
    "frutos secos, frutta a guscio, notter",
    "almonds": "almond, almonds, mandel, mandeln, amande, amandes, amandelen, almendra, mandorla",
    "hazelnuts": "hazelnut, hazelnuts, haselnuss, haselnusse, noisette, noisettes, hazelnoot, "
    "hazelnoten, avellana, nocciola",
    "walnuts": "walnut, walnuts, walnuss, walnusse, noix, walnoot, nuez, noce",
    "pecans": "pecan, pecans",
    "cashews": "cashew, cashews, cajou",
    "pistachios": "pistachio, pistachios, pistazie, pistazien, pistache, pistaches",
    "sesame": "sesame, sesam, sesamo",
    "celery": "celery, celeriac, sellerie, celeri, selderij, apio, sedano",
    "mustard": "mustard, senf, moutarde, mosterd, mostaza, senape",
    "lupin": "lupin, lupins, lupine, lupinen, altramuces, lupini",
    "brazil nuts": "brazil nut, brazil nuts, paranuss, paranusse",
    "macadamias": "macadamia, macadamias, macadamia nut, macadamia nuts",
    "crustaceans": "crustacean, crustaceans, prawn, crab, lobster, krebstiere, "
    "crustaces, schaaldieren",
    "molluscs": "mollusc, molluscs, shellfish, oyster, oysters, mussel, mussels, weichtiere, "
    "mollusques, weekdieren, auster, austern, huitre, huitres",
    "sulphites": "sulphite, sulphites, sulfite, sulfites, sulfit, sulfiet, sulfieten, sulfito, "
    "sulfitos, solfito, solfiti, sulphur dioxide, sulfur dioxide, schwefeldioxid, "
    "anhydride sulfureux, metabisulphite, metabisulfite, so2, e220, e221, e222, e223, e224, e226, "
    "e227, e228",
}
"""Allergen, and the words of which any one names it."""

_NUTS = (
    "almonds", "hazelnuts", "walnuts", "pecans", "cashews", "pistachios", "brazil nuts",
    "macadamias",
)  # fmt: skip

ALSO: dict[str, tuple[str, ...]] = {
    "spelt": ("wheat",),
    "nuts": _NUTS,
    "crustaceans": ("molluscs",),
}
"""Allergens whose words name the allergen as well."""

NARROWER: dict[str, tuple[str, ...]] = {"nuts": _NUTS, "wheat": ("spelt",)}
"""Allergens that are the one meant where the stock declares both, as in `wheat (spelt)`."""

CEREALS = ("barley", "wheat", "spelt", "rye", "oats")
"""Cereals with gluten. A label has to name the cereal: `gluten` alone names none of them."""

GLUTEN = ("gluten", "glutenhaltig")

FREE_OF_IT = _words("free frei less")
"""Words after an allergen that deny it: `wheat-free`, `gluten free`."""

LIKENESS = _words("like coloured colored gold golden style")
"""Words joined to an allergen by a hyphen that make it a likeness: `wheat-coloured`."""

NEGATIONS: dict[str, int] = {
    **dict.fromkeys(("non",), 1),
    **dict.fromkeys(("not", "never", "nicht", "cannot"), 2),
    **dict.fromkeys(
        _words(
            "no without neither nor zero none ohne kein keine keinen sans aucun aucune zonder "
            "geen sin senza uden utan ingen inget"
        ),
        4,
    ),
}
"""Words that deny what follows, and how far: at which other word after them they end."""

OF_ONE = _words("no zero kein keine keinen ohne sans geen sin senza uden utan ingen inget")
"""Words that deny one thing, unless a list that ends in `or` or `and`, or a colon, follows."""

REACH = 4
"""The same for the phrases below."""

FREE = ("free from", "free of", "frei von", "exempt de", "libre de", "vrij van", "fri for")

PERHAPS = (
    "may contain", "might contain", "may also contain", "can contain", "traces", "trace of",
    "also handles", "which handles", "that handles", "also processes", "that processes",
    "handling", "kann spuren", "spuren von", "peut contenir", "puede contener", "puo contenere",
    "kan bevatten", "sporen van",
)
"""Warnings of what may have got in by chance, which do not name an ingredient."""

VERBS = _words("contain enthalten contenir")
"""Verbs that follow a denial: `does not contain`."""

WITH = _words("with mit avec from")
"""Words that begin a statement, but go on denying in `not made with`."""

BEGINNINGS = WITH | _words(
    "contains containing ingredients ingredient allergen allergens but enthalt zutaten allergene "
    "contient ingrediente ingredientes ingredienten contiene bevat indeholder innehaller "
    "inneholder mais aber"
)
"""Words with which a new statement begins."""

PLACES = re.compile(
    r"\b(?:brewed|made|bottled|canned|packed|produced|born|gebraut|brasse|brassee)"
    r"(?: (?:and|und|et) \w+)? (?:at|in|by|near|for|bei|von|par)\b"
    r"(?:(?!\b(?:with|from|of|using|containing|contains|mit|aus|avec)\b)[^,.;:()\n])*"
)
"""Where and by whom a beer was made: names of places and makers name no ingredient."""

NAMES_OF_PLACES = _words(
    "lane street road farm mill hill house inn arms court close yard sheaf mow field fields "
    "brewery brewing brewers island bridge cross market tavern club"
)
"""Words after which the word before is a part of a name."""
