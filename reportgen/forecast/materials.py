"""Malt, sugar and hops as they are sold, to the numbers that count: doses of a case.

The uncertainties given to what nobody measured are common practice, no source; what the brewer
states in ``stock.yaml`` replaces them.
"""

from __future__ import annotations

import datetime

from reportgen.forecast.case import HopDose, MaltDose, SugarDose
from reportgen.record.model.stock import Hop, Lot, Malt, Stock
from reportgen.record.units import Quantity
from reportgen.science.bitterness import UNKNOWN_LOSS, UNKNOWN_LOSS_U, hop_alpha_stored
from reportgen.science.extract import (
    COARSE_BELOW_FINE,
    COARSE_BELOW_FINE_U,
    malt_extract_as_sold,
)
from reportgen.science.method import nearest
from reportgen.science.number import Number, nominal, ufloat

SHARES_OF_U = {
    "weight": 0.005,
    "liquor": 0.01,
    "analysis": 0.05,
    "extract": 0.015,
    "colour": 0.10,
    "alpha": 0.08,
    "evaporation": 0.10,
    "loss": 0.25,
}
"""±U (k = 2) as a share of the value, where nothing else is stated."""

MOISTURE = 0.04
COLD = 20.0
"""degC beside which the loss of alpha acids was measured."""
LOSS_U, LOSS_U_ELSEWHERE = 0.15, 0.30
"""±U (k = 2) of the loss of alpha acids as a share of it, at 20 degC and elsewhere: that of
bitterness.hop_storage_alpha."""


def shared(value: float, cause: str, tag: str) -> Number:
    """Return a number with the usual share of uncertainty; exact zero stays a plain float."""
    if value == 0:
        return 0.0
    return ufloat(value, abs(value) * SHARES_OF_U[cause] / 2, tag)


def _value(quantity: Quantity | None, default: float) -> float:
    return default if quantity is None else quantity.value


def moisture_of(malt: Malt, lot: Lot | None = None) -> float:
    """Return the moisture of a malt, or of a lot of it that states its own."""
    own = lot.moisture if lot is not None else None
    return _value(own or malt.moisture, MOISTURE)


def extract_of(malt: Malt, lot: Lot | None = None, tag: str = "extract") -> Number:
    """Return the extract of a malt as weighed and coarsely ground, kg/kg, from its certificate.

    A lot that states its extract but not on which basis has that of the malt.
    """
    own = lot if lot is not None and lot.extract is not None else None
    stated = malt.extract if lot is None or lot.extract is None else lot.extract
    basis = (own.extract_basis if own is not None else None) or malt.extract_basis
    grind, _, dry = str(basis or "coarse_as_is").partition("_")
    fine_less_coarse = (
        own.fine_coarse_difference if own is not None else None
    ) or malt.fine_coarse_difference
    difference: Number = _value(fine_less_coarse, 0.0)
    if grind == "fine" and fine_less_coarse is None:
        difference = ufloat(COARSE_BELOW_FINE, COARSE_BELOW_FINE_U / 2, f"grind of {tag}")
    if stated.value <= nominal(difference):
        # A slip that the check of malts names: nothing is left to take the grind off.
        difference = 0.0
    return malt_extract_as_sold(
        shared(stated.value, "extract", tag), dry, grind, moisture_of(malt, lot), difference
    )


def malt_of(name: str, amount: Number, lot: str | None, stock: Stock) -> MaltDose:
    """Return a malt of the stock, with the figures of its lot where that has its own."""
    malt = stock.malts[name]
    own = malt.lots.get(lot) if lot is not None else None
    colour = own.colour if own and own.colour else malt.colour
    return MaltDose(
        name,
        malt.name or name.replace("_", " "),
        amount,
        extract_of(malt, own, f"extract of {name}"),
        moisture_of(malt, own),
        shared(colour.value, "colour", f"colour of {name}"),
        malt.malt_class,
        malt.distilled_water_mash_ph.value if malt.distilled_water_mash_ph else None,
        lot or "",
        distilled_water_mash_ph_u=malt.distilled_water_mash_ph_uncertainty.value
        if malt.distilled_water_mash_ph_uncertainty
        else None,
    )


def sugar_of(
    name: str, amount: Number, to: str, stock: Stock, minutes: float | None = None
) -> SugarDose:
    """Return a sugar of the stock, where it goes and how long before the end of the boil."""
    sugar = stock.sugars[name]
    return SugarDose(
        name,
        sugar.name or name.replace("_", " "),
        amount,
        sugar.extract.value,
        sugar.fermentability.value if sugar.fermentability is not None else None,
        _value(sugar.colour, 0.0),
        to,
        minutes=minutes,
    )


def days_stored(lot: Lot, on: datetime.date | None) -> tuple[float, float]:
    """Return the days from the analysis of a lot to a day: in its packing, and opened."""
    if lot.analysed is None or on is None or on <= lot.analysed.date:
        return 0.0, 0.0
    analysed = lot.analysed.date
    opened = lot.opened.date if lot.opened is not None else on
    cut = min(max(opened, analysed), on)
    return float((cut - analysed).days), float((on - cut).days)


def alpha_left(
    hop: Hop, lot: Lot, on: datetime.date | None, temperature: float, packing: str
) -> Number:
    """Return the share of a lot's alpha acids that storage has left on a day.

    1 for extract, which keeps, and where no day or no analysis is known.
    """
    closed, opened = (
        nearest("bitterness.hop_storage_alpha", "days", days) for days in days_stored(lot, on)
    )
    if hop.form == "extract" or closed + opened <= 0:
        return 1.0
    loss: Number = _value(hop.storage_loss, UNKNOWN_LOSS)
    if hop.storage_loss is None:
        loss = ufloat(UNKNOWN_LOSS, UNKNOWN_LOSS_U / 2, "loss of hops in storage")
    stays = [(closed, temperature, packing), (opened, temperature, "open")]
    # A share of 1 hundredth keeps the alpha acids within the range of the formula.
    left = 100 * hop_alpha_stored(0.01, stays, loss)
    spread = LOSS_U if abs(temperature - COLD) <= 2 else LOSS_U_ELSEWHERE
    gone = 1 - nominal(left)
    return left + ufloat(0.0, gone * spread / 2, "rate of loss in storage")


def hop_of(
    name: str,
    grams: Number,
    minutes: float | None,
    lot: str | None,
    stock: Stock,
    on: datetime.date | None = None,
) -> HopDose:
    """Return a hop of the stock as it is on a day, with the alpha acids of its lot.

    Those of a lot that says how it was stored are what its storage has left; else as analysed.
    """
    hop = stock.hops[name]
    own = hop.lots.get(lot) if lot is not None else None
    stated = own.alpha if own and own.alpha else hop.alpha
    alpha = shared(stated.value, "alpha", f"alpha acids of {name}")
    if own is not None and own.stored_at is not None:
        alpha = alpha * alpha_left(hop, own, on, own.stored_at.value, str(own.packing or "open"))
    return HopDose(name, hop.name or name.replace("_", " "), grams, alpha, minutes, lot or "")
