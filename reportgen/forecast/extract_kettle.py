"""Wort without a mash: malt extract and sugar in liquor, up to the full kettle."""

from __future__ import annotations

from reportgen.forecast.arguments import NothingLeft
from reportgen.forecast.book import Forecast, InputValue, unless_nought
from reportgen.forecast.case import Case
from reportgen.forecast.figures import IONS
from reportgen.forecast.liquor import with_kettle_salts
from reportgen.forecast.materials import shared
from reportgen.forecast.run_off import needed_kettle_volume, volume_share
from reportgen.science.extract import gravity_from_extract_mass
from reportgen.science.number import Number, nominal


def needed_liquor(case: Case) -> Number:
    """Return the liquor, L at 20 degC, that fills the kettle beside the extract's own volume."""
    wanted = nominal(needed_kettle_volume(case) - case.sugar_volume("kettle_full"))
    return shared(wanted, "liquor", "liquor to the kettle") if wanted > 0 else 0.0


def forecast(case: Case, book: Forecast) -> None:
    """Write what the kettle holds before the boil, with all extract dissolved in it.

    Volumes follow from masses: extract takes up its own volume, and a syrup brings its water.
    """
    planned = case.top_up
    sugars = [sugar for sugar in case.sugars if sugar.to == "kettle_full"]
    liquor = book.put(
        "top_up_liquor",
        planned if nominal(planned) else needed_liquor(case),
        note="from the plan"
        if nominal(planned)
        else "kettle full wanted, less what the extract takes up",
    )
    if "top_up_liquor" not in book.readings:
        liquor = liquor + case.added_to("kettle_full")
    taken = case.taken_from("kettle_full")
    whole = liquor + case.sugar_volume("kettle_full")
    if nominal(whole) <= 0:
        raise NothingLeft("kettle", 0.0, 0.0, " before the boil", "no liquor goes into it")
    volume = book.put(
        "kettle_volume",
        whole - taken,
        "",
        InputValue("liquor", liquor, "L", 1),
        *(InputValue(f"{s.title} takes up", s.volume, "L", 2) for s in sugars),
        *unless_nought("taken out", taken, "L", 1),
        note="liquor, and what the extract takes up with its water",
    )
    mass = case.sugar_to("kettle_full") * volume_share(volume, taken)
    book.put(
        "kettle_gravity",
        gravity_from_extract_mass(mass, volume),
        "extract.gravity_from_extract_mass",
        *(
            InputValue(f"extract of {s.title}", s.amount * s.extract, "kg", 3)
            for s in sugars
        ),
        InputValue("kettle volume", volume, "L", 1),
    )
    for ion, concentration in with_kettle_salts(
        case, {ion: case.ions[ion] * liquor / whole for ion in IONS}, volume
    ).items():
        book.put(
            f"kettle_{ion}_of_liquor",
            concentration,
            "",
            InputValue("in the liquor", case.ions[ion], "mg/L", 1),
            InputValue("liquor", liquor, "L", 1),
            InputValue("kettle volume", volume, "L", 1),
            note="what the liquor carries into the kettle; the extract's own ions are not counted",
        )
