"""The pressure is above the rating of the vessel it is in.

Vessels burst. Kegs, casks and bottles are judged by their own pressure limit in brewery.yaml, at
the warmest that the plan allows for: beer that is carbonated cold has more than twice the
pressure in a warm room. Priming, the gas still dissolved and extract that can still ferment are
counted in. Of ordinary bottles with too much carbonation, carbonation-high-for-bottles says all. A
fermenter is judged by its own limit when it ferments under pressure. Where
brewery.yaml has no limit, the rating is unknown. Then the pressure is compared with the weakest
vessels of the kind, or of those listed that it may be. The most dangerous slip is a unit: 13 psi
are 0.90 bar, and 13 bar bursts a keg. If it is not a slip, the vessel is in danger: check the
gauge before anything else. The maker's plate, the relief valve and local law come first; nothing
here is a permission.

Fix: choose less carbonation, a colder store, or a vessel rated for it
Afterwards: look at what is left from behind a shield, and keep it cold; next time choose less carbonation
Source: maker's rating as written in brewery.yaml; where it is unknown, DIN 6647-1 and -2:2006 for
    kegs (3 and 7 bar), for other vessels common practice, no source; see the method
    carbonation.gauge_pressure
Passes:
    brewery: {containers: {keg_19: {is: keg, volume: 19 L, pressure_rating: 3 bar}}}
    plan: {packaging: {carbonation: 2.2 vol, beer_temperature: 6 C, highest_temperature: 25 C}}
Fails:
    brewery: {containers: {keg_19: {is: keg, volume: 19 L, pressure_rating: 3 bar}}}
    plan: {packaging: {carbonation: 3.2 vol, beer_temperature: 6 C, highest_temperature: 30 C}}
"""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage, Told
from reportgen.checks.pressures import Meant, is_high_for_bottles, named, other_unit
from reportgen.checks.quantities import gravity_read, quantity, temperature
from reportgen.checks.slip_undone import with_amount, with_what_follows
from reportgen.forecast.vessels import USUAL, Vessel
from reportgen.record.finding import Finding, Position

NAME = "pressure-over-limit"
GROUP = Group.PACKAGING
SEVERITY = Severity.CRITICAL
ALSO = {Severity.MAJOR: "within U of the rating, or the rating is unknown"}
UNTIL = Stage.PACK
EACH_FILLING = True

SOLUBILITY_U = 0.04
"""±U (k = 2) of a pressure computed from the gas, as a share of the absolute pressure; see the method
carbonation.gauge_pressure."""


OF_EXTRACT = ", once it has fermented on from "


class Pressure(Struct, frozen=True):
    """A pressure that a vessel is or will be under: bar gauge, its ±U, when, where written.

    ``is_past`` once it is packed or read; ``expected`` and ``meant`` are of a reading.
    """

    value: float
    uncertainty: float
    when: str
    position: Position | None
    is_past: bool = False
    expected: float | None = None
    meant: Meant | None = None


def check(batch: Assessment) -> Remarks:
    """Compare what each vessel is under with the rating of that vessel."""
    if not is_high_for_bottles(batch):
        yield from of_container(batch)
    for pressure in _in_fermenter(batch):
        said = _judged(batch.case.fermenter, pressure, batch)
        if said is not None:
            yield said


def of_container(batch: Assessment) -> Remarks:
    """Yield what is said of the container: once, of what it is gassed to and what that becomes."""
    vessel = batch.case.container
    remarks = [_judged(vessel, pressure, batch) for pressure in _in_container(batch)]
    over = [said for said in remarks if said is not None]
    yield from sorted(over, key=lambda said: said.severity is not None)[:1]


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield what is said of a pressure that was read, with what follows from it."""
    own = {finding.position: finding for finding in findings if finding.rule == NAME}
    for packed in batch.packed_as if own else ():
        result = packed.find("pressure")
        actual = result.actual if result is not None else None
        if result is None or actual is None or not actual.value or result.expected is None:
            continue
        if (position := actual.reading.position) in own:
            share = result.expected.value / actual.value
            right = with_amount(batch.record, own[position], share)
            yield from with_what_follows(batch, findings, told, own[position], right)


def bursts_of_gas(batch: Assessment) -> bool:
    """Whether it says of a container that extract which is left will be too much for it."""
    return any(OF_EXTRACT in said.message and said.severity is None for said in of_container(batch))


def _in_container(batch: Assessment) -> Iterator[Pressure]:
    """Give the pressure when the beer is gassed and when it is warmest: as read, else as planned."""
    pack, packed = batch.record.plan.packaging, batch.record.packaging
    read, sugar = batch.actuals.get("pressure"), batch.actuals.get("priming_sugar")
    result = batch.find("pressure")
    wanted = result.expected.value if result is not None and result.expected is not None else None
    # Of other containers, what both have in common stands elsewhere.
    where = pack.position if batch.filling_number else pack.carbonation.position
    if packed is not None:
        taken = [a.reading.position for a in (read, sugar) if a is not None and a.value is not None]
        where = packed.position if batch.filling_number else packed.date.position
        where = taken[0] if taken else where
    past, meant = packed is not None, None
    if read is not None and read.value is not None:
        if read.reading.value is not None:
            meant = other_unit(
                read.reading.value, wanted, USUAL["keg"].weakest, batch.case.air
            )
        yield Pressure(read.value, read.uncertainty, "as read", where, True, wanted, meant)
    elif not past and wanted is not None:
        u = SOLUBILITY_U * (wanted + batch.case.air)
        yield Pressure(wanted, u, "when it is gassed", where)
    book = batch.now if past else batch.planned
    warm = book.expected.get("highest_pressure")
    if warm is not None:
        at = temperature(batch.case.packed_highest_temperature, batch, 0)
        u = max(warm.uncertainty, SOLUBILITY_U * (warm.value + batch.case.air))
        when = f"at {at}, the warmest in store{_of_extract(batch) if past else ''}"
        yield Pressure(warm.value, u, when, where, past, None, meant)


def _of_extract(batch: Assessment) -> str:
    """Say what ferments on in it, where the final gravity is above the expected end."""
    final, end = batch.actuals.get("final_gravity"), batch.now.expected.get("final_gravity")
    if final is None or final.value is None or end is None:
        return ""
    if final.value - final.uncertainty <= end.value + end.uncertainty:
        return ""
    return f"{OF_EXTRACT}{gravity_read(final)} to {end.value:.4f}"


def _in_fermenter(batch: Assessment) -> Iterator[Pressure]:
    planned = batch.record.plan.fermentation.pressure
    most = USUAL["fermenter"].strongest
    if planned is not None and planned.value > 0:
        meant = other_unit(planned, None, most)
        yield Pressure(planned.value, 0.0, "as planned", planned.position, meant=meant)
    aim = planned.value if planned is not None else None
    for entry in batch.record.log:
        read = entry.pressure.value if entry.pressure is not None else None
        if read is not None and read.value > 0:
            meant = other_unit(read, aim, most, batch.case.air)
            yield Pressure(read.value, 0.0, f"on {entry.at}", read.position, True, aim, meant)


def _judged(vessel: Vessel, pressure: Pressure, batch: Assessment) -> Remark | None:
    usual = USUAL[vessel.kind]
    amount = quantity(pressure.value, "pressure", 2, batch)
    what = f"{amount} in the {named(vessel)} {pressure.when}"
    if vessel.rating is not None:
        if pressure.value + pressure.uncertainty <= vessel.rating:
            return None
        is_over = pressure.value > vessel.rating
        rating = quantity(vessel.rating, "pressure", 2, batch)
        if vessel.least_of:
            # Which of them it is may be a stronger one.
            what += f": too much for {vessel.least_of}; `container` does not say which it is"
            expected = f"at most {rating}, the rating of the weakest listed"
            is_over = pressure.value > usual.strongest
        else:
            what += ", above its rating" if is_over else ": too close to its rating"
            expected = f"at most {rating}, its maker's rating"
    else:
        least = min(usual.weakest, usual.weakest if vessel.weakest is None else vessel.weakest)
        if pressure.value <= least:
            return None
        is_over = pressure.value > usual.strongest
        what += f"; rating unknown: {vessel.why_unknown}"
        weakest = quantity(least, "pressure", 1, batch)
        takes = f"some take only {weakest}" if least else "some take no pressure at all"
        expected = f"no more than its plate says; {takes}"
    if pressure.expected is not None:
        expected += f"; {quantity(pressure.expected, 'pressure', 2, batch)} is wanted"
    return Remark(
        pressure.position, what, expected, _remedy(vessel, pressure),
        severity=None if is_over else Severity.MAJOR,
    )  # fmt: skip


def _remedy(vessel: Vessel, pressure: Pressure) -> str:
    if pressure.meant is not None:
        start = "read the gauge again" if pressure.is_past else "check the unit"
        done = "; if it is true, vent slowly, others away" if pressure.is_past else ""
        return f"{start}: {pressure.meant.hint}{done}"
    if pressure.is_past:
        return "keep what is left cold and vent it slowly, eyes shielded and others away"
    if vessel.least_of and not pressure.is_past:
        return "name the one that is used with `container`, or choose less carbonation"
    if vessel.rating is None:
        return "read the plate, write `pressure_rating` in brewery.yaml, and stay below it"
    return ""
