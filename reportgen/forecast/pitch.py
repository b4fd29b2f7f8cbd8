"""Cooling and pitching: volume and gravity in the fermenter, cells."""

from __future__ import annotations

from reportgen.forecast.arguments import NothingLeft
from reportgen.forecast.book import Forecast, InputValue
from reportgen.forecast.case import Case
from reportgen.science.density import extract_from_gravity
from reportgen.science.extract import gravity_after_topping_up
from reportgen.science.number import Number, nominal
from reportgen.science.yeast import cells_to_pitch


def _share(case: Case, cast_out: Number) -> tuple[Number, str, *tuple[InputValue, ...]]:
    """Return the wort that comes into the fermenter, and its working."""
    if case.portion is not None:
        return case.portion, "", InputValue("share of the wort", case.portion, "L", 1)
    shared, taken = case.wort_to_others, case.taken_from("cast_out")
    late = case.added_to("cast_out")
    return (
        cast_out + late - case.kettle_loss - shared - taken,
        "",
        InputValue("cast-out volume", cast_out, "L", 1),
        InputValue("left in the kettle", case.kettle_loss, "L", 1),
        *((InputValue("liquor added after the boil", late, "L", 1),) if nominal(late) else ()),
        *((InputValue("to other fermenters", shared, "L", 1),) if nominal(shared) else ()),
        *((InputValue("taken out", taken, "L", 1),) if nominal(taken) else ()),
    )


def forecast(case: Case, book: Forecast) -> None:
    """Write the figures of cooling and pitching."""
    cast_out = book["cast_out_volume"]
    if nominal(cast_out - case.kettle_loss) <= 0:
        raise NothingLeft(
            "kettle", nominal(case.kettle_loss), nominal(cast_out), " at cast-out",
            "nothing is left for the fermenter",
        )  # fmt: skip
    volume = book.put(
        "fermenter_volume",
        *_share(case, cast_out),
        note="its share of the wort"
        if case.portion is not None
        else "cast-out less what stays with hops and break",
    )
    late = case.added_to("cast_out")
    gravity = book.put(
        "original_gravity",
        gravity_after_topping_up(cast_out, book["cast_out_gravity"], late)
        if nominal(late)
        else book["cast_out_gravity"],
        note="that of the cast-out wort" + (", with the liquor added" if nominal(late) else ""),
    )
    book.put("pitch_temperature", case.pitch_temperature, note="from the plan")
    extract = extract_from_gravity(gravity)
    cells = book.put(
        "viable_cells",
        cells_to_pitch(volume, extract, case.pitch_rate),
        "yeast.cells_to_pitch",
        InputValue("volume", volume, "L", 1),
        InputValue("extract", extract, "°P", 2),
        InputValue("rate", case.pitch_rate, "million/mL/°P", 2),
    )
    if case.cell_density:
        book.put(
            "yeast_amount",
            cells / case.cell_density / 1000,
            "",
            InputValue("cells", cells, "billion", 0),
            InputValue("cell density", case.cell_density, "billion per mL or g", 0),
            note="if all cells live; divide by the living share when it is known",
        )
