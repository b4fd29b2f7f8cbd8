"""Calcium, magnesium, sodium of the wort with what malt brings, and the calcium that grains keep.

Of malt's ions that are followed from the liquor these have analyses of their own; its chloride and
sulfate have not, so for them the figures of liquor and salts, named so, stand alone.
"""

from __future__ import annotations

from reportgen.forecast.book import Forecast, InputValue
from reportgen.forecast.case import Case
from reportgen.science.density import extract_from_gravity
from reportgen.science.extract import extract_mass
from reportgen.science.number import Number, nominal
from reportgen.science.wort_ions import (
    CALCIUM_KEPT,
    CALCIUM_KEPT_U,
    malt_ion_uncertainty,
    malt_ions,
    wort_ions,
)

OF_MALT = ("calcium", "magnesium", "sodium")


def forecast(case: Case, book: Forecast) -> None:
    """Write the ions of OF_MALT in the wort at cast-out; nothing for wort without a mash."""
    if not case.is_mashed:
        return
    gravity = book["cast_out_gravity"]
    total = extract_mass(book["cast_out_volume"], gravity)
    sugar = case.sugar_to("kettle_full") + case.sugar_to("kettle")
    of_malt = extract_from_gravity(gravity) * (total - sugar) / total
    grist = [(m.malt_class, of_malt * m.amount * m.extract / case.malt_extract) for m in case.malts]
    kept = case.cause("calcium that reaches the wort", CALCIUM_KEPT, CALCIUM_KEPT_U)
    liquor: dict[str, Number] = {ion: book[f"cast_out_{ion}_of_liquor"] for ion in OF_MALT}
    minerals = wort_ions(liquor, grist, kept)
    for ion in OF_MALT:
        spread: Number = 0.0
        for malt_class, extract in grist:
            brought = nominal(malt_ions(malt_class, extract)[ion])
            wide = 2 * malt_ion_uncertainty(malt_class, ion)
            spread = spread + brought * case.cause(f"{ion} of {malt_class} malt", 0.0, wide)
        book.put(
            f"wort_{ion}",
            minerals[ion] + spread,
            "wort_ions.wort_ions",
            InputValue("of liquor and salts", liquor[ion], "mg/L", 1),
            InputValue("extract of malt", of_malt, "°P", 2),
            *((InputValue("share of it that is kept", kept, "", 2),) if ion == "calcium" else ()),
            note="what yeast takes up is not counted",
        )
