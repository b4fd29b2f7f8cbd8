"""More priming sugar than the carbonation needs.

Each gram of sugar becomes half a gram of gas with nowhere to go. More than the computed weight by a
tenth raises the pressure noticeably; twice as much bursts bottles. Sugar that the record adds to the
containers counts with what was weighed for priming.

Fix: open or vent carefully with eyes shielded, and keep the containers cold
Afterwards: open what is left with eyes shielded, and keep it cold; next time weigh the sugar twice
Source: stoichiometry; see the method carbonation.priming_sugar
Passes:
    plan: {packaging: {into: bottle}}
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, packaged_volume: 38 L, priming_sugar: 180 g}
Fails:
    plan: {packaging: {into: bottle}}
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, packaged_volume: 38 L, priming_sugar: 400 g}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import quantity, volume
from reportgen.forecast.arguments import NothingLeft
from reportgen.forecast.book import NotForecast
from reportgen.forecast.pack import brought, filled, sugar_beside
from reportgen.science.carbonation import priming_sugar
from reportgen.science.number import nominal

GROUP = Group.PACKAGING
SEVERITY = Severity.MAJOR
ALSO = {Severity.CRITICAL: "more than 1.5 times what is needed"}
UNTIL = Stage.PACK
EACH_FILLING = True


def _primed(batch: Assessment) -> float:
    """Return the beer that the sugar is in, L. NotForecast where nobody knows how much."""
    if batch.brewed.share is not None:
        try:
            return nominal(filled(batch.brewed, batch.now))
        except NothingLeft as error:
            # The forecast stops at it, and that is told.
            raise NotForecast("packaged_volume") from error
    beer = batch.actuals.get("packaged_volume")
    return beer.value if beer is not None and beer.value else batch.case.volume


def check(batch: Assessment) -> Remarks:
    """Compare the sugar weighed and added with the sugar computed for the volume packed."""
    packed = batch.record.packaging
    actual = batch.actuals.get("priming_sugar")
    if packed is None:
        return
    added = nominal(sugar_beside(batch.brewed, batch.now))
    sugars = batch.stock.sugars
    where = [e.amount.position for e in packed.added if str(e.what) in sugars]
    grams, u = 1000 * added, 0.0
    if actual is not None and actual.value is not None:
        grams, u = grams + 1000 * actual.value, 1000 * actual.uncertainty
        where.insert(0, actual.reading.position)
    if not grams:
        return
    litres = _primed(batch)
    # What is filled out of other containers has its gas already.
    needed = 0.0 if brought(batch.brewed) is not None else nominal(
        priming_sugar(
            batch.case.carbonation, batch.case.highest_temperature, litres,
            batch.case.priming_sugar, atmosphere=batch.case.air,
            pressure=batch.case.ferment_pressure,
        )
    )
    if grams - u > 1.1 * needed:
        yield Remark(
            where[0] if where else packed.date.position,
            f"{quantity(grams / 1000, 'small_mass', 0, batch)} of sugar for {volume(litres, batch)}",
            f"about {quantity(needed / 1000, 'small_mass', 0, batch)}",
            severity=Severity.CRITICAL if grams > 1.5 * needed else None,
        )
