"""More priming sugar than the carbonation needs.

Each gram of sugar becomes half a gram of gas with nowhere to go. More than the computed weight by a
tenth raises the pressure noticeably; twice as much bursts bottles. Sugar that the record adds to the
containers counts with what was weighed for priming. What follows from it, as a pressure above the
rating of the bottle, is in the same finding.

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

from collections.abc import Iterator, Sequence

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage, Told
from reportgen.checks.quantities import quantity, volume
from reportgen.checks.slip_undone import with_amount, with_what_follows
from reportgen.forecast.arguments import NothingLeft
from reportgen.forecast.book import NotForecast
from reportgen.forecast.pack import brought, filled, sugar_beside
from reportgen.record.finding import Finding, Position
from reportgen.science.carbonation import priming_sugar
from reportgen.science.number import nominal

NAME = "too-much-priming-sugar"
GROUP = Group.PACKAGING
SEVERITY = Severity.MAJOR
ALSO = {Severity.CRITICAL: "more than 1.5 times what is needed"}
UNTIL = Stage.PACK
FIGURE = "priming_sugar"
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
    return beer.value if beer is not None and beer.value else batch.case.kept_volume


def check(batch: Assessment) -> Remarks:
    """Compare the sugar weighed and added with the sugar computed for the volume packed."""
    packed = batch.record.packaging
    if packed is None:
        return
    parts, (grams, u) = _parts(batch), _grams(batch)
    if not grams:
        return
    litres, needed = _primed(batch), _needed(batch)
    if grams - u > 1.1 * needed:
        yield Remark(
            parts[0][1] if parts else packed.date.position,
            f"{quantity(grams / 1000, 'small_mass', 0, batch)} of sugar for {volume(litres, batch)}",
            f"about {quantity(needed / 1000, 'small_mass', 0, batch)}",
            severity=Severity.CRITICAL if grams > 1.5 * needed else None,
        )


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield the same with what follows from it."""
    own = {finding.position: finding for finding in findings if finding.rule == NAME}
    for packed in batch.packed_as if own else ():
        parts, (grams, _) = _parts(packed), _grams(packed)
        for kg, position in parts[:1]:
            if kg and position in own:
                # Malt extract is more than the sugar in it.
                largest = grams if len(parts) == 1 else 1000 * kg
                share = max(1 - (grams - _needed(packed)) / largest, 0.0)
                right = with_amount(batch.record, own[position], share)
                yield from with_what_follows(batch, findings, told, own[position], right)


def _parts(batch: Assessment) -> list[tuple[float, Position | None]]:
    """Return the amounts of sugar, kg, that went into the containers, the largest first."""
    packed, actual = batch.record.packaging, batch.actuals.get("priming_sugar")
    parts = [
        (e.amount.value.value, e.amount.position) for e in (packed.added if packed is not None else ())
        if str(e.what) in batch.stock.sugars and e.amount.value is not None
    ]
    if actual is not None and actual.value is not None:
        parts.append((actual.value, actual.reading.position))
    return sorted(parts, key=lambda part: -part[0])


def _grams(batch: Assessment) -> tuple[float, float]:
    """Return the sugar weighed and added with its ±U, g."""
    actual = batch.actuals.get("priming_sugar")
    weighed = actual.value if actual is not None else None
    u = actual.uncertainty if actual is not None and weighed is not None else 0.0
    return 1000 * (nominal(sugar_beside(batch.brewed, batch.now)) + (weighed or 0.0)), 1000 * u


def _needed(batch: Assessment) -> float:
    """Return the sugar for the carbonation wanted, g. NotForecast as for the beer that it is in."""
    if brought(batch.brewed) is not None:
        # What is filled out of other containers has its gas already.
        return 0.0
    # As warm as planned, or as the log has it: the sheet has sugar for both.
    return max(
        nominal(priming_sugar(
            case.carbonation, case.highest_temperature, _primed(batch), case.priming_sugar,
            atmosphere=case.air, pressure=case.ferment_pressure,
        ))
        for case in (batch.case, batch.brewed)
    )  # fmt: skip
