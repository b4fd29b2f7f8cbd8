"""Words and amounts of the plan, shared by the documents: names, doses, identity."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.assessment.day_fact import DayFact
from reportgen.assessment.instruments import reads_high_by, shown_by, weighs_high_by
from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.assessment.log import GRAVITY, TEMPERATURE
from reportgen.assessment.readings import SAMPLE, fitting, house_instrument, instrument_name
from reportgen.forecast.case import Case
from reportgen.forecast.figures import FIGURES, Figure
from reportgen.record.kinds import KINDS
from reportgen.record.model.brewery import Instrument
from reportgen.record.printed import MINUS, NARROW, Units, fine, places, signed
from reportgen.record.units import Quantity
from reportgen.report.cautions import DEFERENCE
from reportgen.report.parts import Identity, Signature


def units_of(assessment: Assessment) -> Units:
    """Return the units that the house prints in."""
    return Units(assessment.brewery.system)


def sheet_units(assessment: Assessment) -> Units:
    """Return the units of a working sheet: short labels, since a blank has little room."""
    return Units(assessment.brewery.system, short=True)


GALLONS = {
    "US": "gal is the US gallon, 3.785 L.",
    "imperial": "gal is the imperial gallon, 4.546 L.",
}
"""What a short label means, by the system of units of the house."""


def gallon_note(assessment: Assessment) -> str:
    """Return which gallon a sheet of the house means; empty for a house that prints none."""
    return GALLONS.get(str(assessment.brewery.units or ""), "")


LITRES_OF_YEAST = 100.0
"""Wort, L, from which slurry is measured in litres: it takes about 1 in 100 of the wort."""


def printed_as(figure: Figure, case: Case) -> tuple[str, int]:
    """Return the kind a figure is printed as, and its decimals in the base unit of that kind.

    An amount of yeast is a mass when it is weighed, else a volume: in the small unit, save for
    batches that take litres. A mass given to the gram is printed in the small unit.
    """
    if KINDS[figure.kind].is_either:
        if case.yeast.is_weighed:
            return "small_mass", 1
        return ("small_volume", 0) if case.volume < LITRES_OF_YEAST else ("volume", 1)
    return fine(figure.kind, figure.decimals)


def kind_of_reading(figure: Figure, case: Case) -> str:
    """Return the kind of quantity that is read of a figure: of an amount of yeast, which one."""
    if KINDS[figure.kind].is_either:
        return case.yeast.by
    return figure.kind


def kind_of(figure: Figure, case: Case) -> str:
    """Return the kind a figure is printed as."""
    return printed_as(figure, case)[0]


def name_of(table: Mapping[str, object], key: str) -> str:
    """Return the printed name of an item of the stock; its key in words when it has none."""
    item = table.get(key)
    return str(getattr(item, "name", None) or key.replace("_", " "))


def acid_name(assessment: Assessment, key: str) -> str:
    """Return what an acid is, and its strength: ``lactic acid 80 %``."""
    acid = assessment.stock.acids[key]
    return f"{acid.is_} acid {acid.strength.value * 100:.0f}{NARROW}%"


def is_alone(assessment: Assessment) -> bool:
    """Whether one person brews here alone, so that nobody else can check or sign."""
    return len(assessment.brewery.people) == 1


def signed_by(
    assessment: Assessment, doer: Signature, checker: Signature
) -> tuple[Signature, ...]:
    """Return who signs: the checker too, where there can be one."""
    return (doer,) if is_alone(assessment) else (doer, checker)


SMALL_WEIGHT = 0.2
"""Below this a weight is printed in the small unit, kg."""

LEAST_OUNCE = 0.00708
"""Below a quarter of an ounce a weight is printed in grams, as scales show it, kg."""


def mass_text(quantity: Quantity, units: Units, small: bool = False) -> tuple[str, str, int]:
    """Return (number, unit, decimals printed) of a weight; ``small`` for hops and salts.

    In metric units the decimals are those the brewer wrote, so that 2.50 kg stays 2.50 kg.
    """
    in_ounces = quantity.unit in ("oz", "lb")
    if small and units.system != "metric" and quantity.value < LEAST_OUNCE and not in_ounces:
        units = Units()
    kind = "small_mass" if small or quantity.value < SMALL_WEIGHT else "mass"
    step = units.converted(quantity.step, kind)
    usual = 2 if kind == "mass" else 1
    # Written in another unit, a step becomes a long fraction that says nothing.
    written = places(step) if units.system == "metric" else 2
    shown = min(max(written, 2 if kind == "mass" else 0), max(usual, 2))
    if written > 3:
        shown = usual
    base = shown - (units.decimals(kind, 0) if units.system != "metric" else 0)
    return units.number(quantity.value, kind, base), units.label(kind), shown


def salt_units(quantity: Quantity, units: Units) -> Units:
    """Return the units a salt is weighed in: grams, as scales show it, if not typed in oz."""
    return units if quantity.unit in ("oz", "lb") else Units()


def volume_text(quantity: Quantity, units: Units, small: bool = False) -> tuple[str, str, int]:
    """Return (number, unit, decimals printed) of a volume; ``small`` for acids."""
    kind = "small_volume" if small else "volume"
    base = 1
    shown = units.decimals(kind, base)
    return units.number(quantity.value, kind, base), units.label(kind), shown


def dose_text(quantity: Quantity, units: Units, small: bool = True) -> str:
    """Return a weight or volume with its unit."""
    maker = volume_text if quantity.is_volume else mass_text
    number, unit, _ = maker(quantity, units, small)
    return f"{number}{NARROW}{unit}"


def yeast_text(amount: Quantity, units: Units) -> str:
    """Return an amount of yeast in the unit it was measured in: grams, millilitres, litres."""
    if amount.is_mass:
        return units.text(amount.value, "small_mass", 1)
    if amount.value < 1:
        # Less than 10 mL keeps its tenths, so that a slip in the unit can be seen.
        return units.text(amount.value, "small_volume", 0 if amount.value >= 0.01 else 2)
    return units.text(amount.value, "volume", 1)


def identity_of(assessment: Assessment, document: str, paper: str, copy: int | None) -> Identity:
    """Return what stands at the head and foot of every page of a document."""
    record, brewery = assessment.record, assessment.brewery
    day = record.brew_day
    revision = record.plan.revision
    return Identity(
        document=document,
        batch=str(record.batch),
        name=str(record.name),
        house=str(brewery.name),
        place=str(brewery.place or ""),
        revision=f"{revision.value:.0f}" if revision else "1",
        plan_hash=assessment.batch.plan_hash,
        numbers=numbers_hash(assessment),
        copy="" if copy is None else str(copy),
        date=str(day.date) if day else "",
        language=str(brewery.language or "en"),
        paper=paper,
        deference=DEFERENCE,
    )


def instrument_of(assessment: Assessment, figure: Figure) -> tuple[str, Instrument | None]:
    """Return the name of the instrument at hand for a figure, and the instrument if known."""
    expected = assessment.planned.expected.get(figure.key)
    about = expected.value if expected is not None else None
    name = instrument_name(assessment.record, figure, None, assessment.brewery, about)
    return name, fitting(assessment.brewery, name, kind_of_reading(figure, assessment.case))


READ: dict[str, Figure] = {
    **FIGURES, "log_gravity": GRAVITY, "log_temperature": TEMPERATURE, "sample": SAMPLE,
}
"""The figures that have a reading on a sheet, by their key."""


def shown(assessment: Assessment, key: str, true: float) -> float:
    """Return what the instrument at hand for a figure shows where a value is true.

    Of nothing, nothing is read: no gauge is looked at for liquor that is not added.
    """
    figure = READ[key]
    _, instrument = instrument_of(assessment, figure)
    kind = kind_of_reading(figure, assessment.case)
    if kind in FROM_NOTHING and true <= 0:
        return true
    return shown_by(instrument, kind, true)


FROM_NOTHING = ("volume", "mass", "amount", "cells", "pressure")
"""Kinds that are counted from nothing."""


BY_POINTS = "by its check"
"""Where an instrument shows another amount too much at each value, which no one number says."""


def on_scale(assessment: Assessment, mass: Quantity) -> tuple[Quantity, str]:
    """Return a mass as the scale at hand shows it, and what that shows too much; empty for nothing.

    A dose that the scale would show as nothing is left as it is: it cannot be weighed on it.
    """
    given = assessment.record.plan.instruments
    name = str(given.scale) if given is not None and given.scale is not None else ""
    name = name or house_instrument(assessment.brewery, "scale", mass.value)
    instrument = fitting(assessment.brewery, name, "mass")
    reads = shown_by(instrument, "mass", mass.value)
    if instrument is None or not weighs_high_by(instrument, "mass", reads):
        return mass, ""
    offset = instrument.checks[-1].reads_high_by
    if instrument.checks[-1].points:
        return replace(mass, value=reads), f"{name.replace('_', ' ')} {BY_POINTS}"
    by = signed(offset.text.replace("-", MINUS).lstrip("+")) if offset is not None else ""
    return replace(mass, value=reads), f"{name.replace('_', ' ')} {by}"


def offset_by(assessment: Assessment, key: str) -> str:
    """Return what the instrument of a figure shows too much; empty when it shows what is true."""
    figure = READ[key]
    _, instrument = instrument_of(assessment, figure)
    offset = instrument.checks[-1].reads_high_by if instrument and instrument.checks else None
    kind = kind_of_reading(figure, assessment.case)
    if instrument and instrument.checks and instrument.checks[-1].points:
        return BY_POINTS if reads_high_by(instrument, kind) else ""
    if offset is None or not reads_high_by(instrument, kind):
        return ""
    return signed(offset.text.replace("-", MINUS).lstrip("+"))


def offset_words(assessment: Assessment, key: str) -> str:
    """Return which instrument shows too much, and how much; empty when it shows what is true."""
    by = offset_by(assessment, key)
    name, _ = instrument_of(assessment, READ[key])
    return f"{name.replace('_', ' ')} {by}" if by else ""


def amount_text(assessment: Assessment, fact: DayFact) -> str:
    """Return what was written of a fact: its amount, or its reading; empty for an analysis."""
    read = assessment.actuals.get(fact.figure)
    if read is not None and read.reading.value is not None and not read.analysed:
        return read.reading.value.text
    return fact.amount.text if fact.amount is not None else ""


def sentence(word: str) -> str:
    """Return a text with a capital at its start; the rest is left as the brewer wrote it."""
    return word[:1].upper() + word[1:]
