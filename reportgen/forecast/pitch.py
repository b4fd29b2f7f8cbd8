"""Cooling and pitching: volume and gravity in the fermenter, cells."""

from __future__ import annotations

from reportgen.forecast.arguments import NothingLeft
from reportgen.forecast.book import Forecast, InputValue, unless_nought
from reportgen.forecast.case import Case
from reportgen.science.density import extract_from_gravity
from reportgen.science.extract import gravity_after_sugar, gravity_after_topping_up
from reportgen.science.number import Number, flat, nominal
from reportgen.science.yeast import cells_to_pitch, dry_yeast_mass, slurry_volume


def diluted_by(book: Forecast) -> Number:
    """Return the liquor that is put to the wort in the fermenter by the plan, L."""
    if "dilution_liquor" not in book:
        return 0.0
    return book["dilution_liquor"]


def _share(case: Case, cast_out: Number) -> tuple[Number, str, *tuple[InputValue, ...]]:
    """Return the wort that comes into the fermenter, and its working."""
    if case.portion is not None:
        return case.portion, "", InputValue("share of the wort", case.portion, "L", 1)
    shared, taken = case.wort_to_others, case.taken_from("cast_out")
    late, sugar = case.added_to("cast_out"), case.sugar_to("cast_out")
    return (
        cast_out + late + case.sugar_volume("cast_out") - case.kettle_loss - shared - taken,
        "",
        InputValue("cast-out volume", cast_out, "L", 1),
        InputValue("left in the kettle", case.kettle_loss, "L", 1),
        *unless_nought("liquor added after the boil", late, "L", 1),
        *unless_nought("sugar added after the boil", sugar, "kg", 2),
        *unless_nought("to other fermenters", shared, "L", 1),
        *unless_nought("taken out", taken, "L", 1),
    )


def after_boil(volume: Number, gravity: Number, case: Case) -> tuple[Number, str]:
    """Return the SG of cast-out wort with what went into it after it was read, and what that was.

    ``volume`` is that at cast-out, L at 20 degC.
    """
    late, more = case.added_to("cast_out"), []
    if nominal(late):
        gravity = gravity_after_topping_up(volume, gravity, late)
        volume = volume + late
        more.append("liquor")
    for sugar in case.sugars:
        if sugar.to == "cast_out":
            volume, gravity = gravity_after_sugar(volume, gravity, sugar.amount, sugar.extract)
            more.append("sugar")
    return gravity, f", with the {' and '.join(dict.fromkeys(more))} added" if more else ""


def forecast(case: Case, book: Forecast) -> None:
    """Write the figures of cooling and pitching."""
    cast_out = book["cast_out_volume"]
    if nominal(cast_out - case.kettle_loss) <= 0:
        raise NothingLeft(
            "kettle", nominal(case.kettle_loss), nominal(cast_out), " at cast-out",
            "nothing is left for the fermenter",
        )  # fmt: skip
    liquor: Number = 0.0
    if nominal(case.dilution) or "dilution_liquor" in book.readings:
        liquor = book.put("dilution_liquor", case.dilution, note="from the plan")
    came, method, *puts = _share(case, cast_out)
    if case.portion is None:
        came = came + liquor
    volume = book.put(
        "fermenter_volume",
        came,
        method,
        *puts,
        *unless_nought("dilution liquor", liquor, "L", 1),
        note="its share of the wort"
        if case.portion is not None
        else "cast-out less what stays with hops and break",
    )
    gravity, more = after_boil(cast_out, book["cast_out_gravity"], case)
    if nominal(liquor):
        gravity = gravity_after_topping_up(flat(came - liquor), gravity, liquor)
        more += ", thinned by the dilution liquor"
    gravity = book.put("original_gravity", gravity, note=f"that of the cast-out wort{more}")
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
    with book.step("pitch"):
        _yeast_amount(case, book, cells)


def _yeast_amount(case: Case, book: Forecast, cells: Number) -> None:
    """Write how much of the yeast at hand the wort needs."""
    yeast = case.yeast
    notes = [f"{yeast.form}, {'as counted' if yeast.is_counted else 'usual cells of this form'}"]
    if yeast.age is not None:
        notes.append(f"{yeast.age} days old")
    elif nominal(yeast.living) == 1:
        notes.append("if all cells live")
    dry = yeast.is_weighed and yeast.form == "dry"
    per_unit = "billion/g" if yeast.is_weighed else "billion/mL"
    amount = (dry_yeast_mass if dry else slurry_volume)(cells, yeast.cells, yeast.living)
    book.put(
        "yeast_amount",
        amount,
        "yeast.dry_yeast_mass" if dry else "yeast.slurry_volume",
        InputValue("cells", cells, "billion", 0),
        InputValue("cells of the yeast", yeast.cells, per_unit, 2),
        InputValue("viability", yeast.living, "", 2),
        note="; ".join(notes),
    )
