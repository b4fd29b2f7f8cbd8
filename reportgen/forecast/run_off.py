"""Run-off: sparge, runnings, kettle full."""

from __future__ import annotations

from msgspec import Struct

from reportgen.forecast.book import Forecast, InputValue, unless_nought
from reportgen.forecast.case import Case
from reportgen.forecast.figures import IONS
from reportgen.forecast.liquor import Treated, forecast_sparge, with_kettle_salts
from reportgen.forecast.materials import shared
from reportgen.science.extract import extract_mass, gravity_from_extract_mass
from reportgen.science.lautering import (
    batch_runnings,
    continuous_recovery,
    hold_up,
    recovery_in_batches,
    recovery_no_sparge,
    runnings_gravity,
    sparge_volume_at_gravity,
    tun_wort_volume,
)
from reportgen.science.method import OutOfRange
from reportgen.science.number import Number, flat, nominal

MOST_BATCHES = 20
"""Parts of a sparge at most; two or three are usual."""


class _Bed(Struct, frozen=True):
    """The mash before it is drained: wort in the tun and what stays behind, L."""

    wort: Number
    held: Number


def needed_kettle_volume(case: Case) -> Number:
    """Return the kettle volume (20 degC, L) that gives the planned volume.

    Volume into the fermenter, plus what stays in the kettle, plus what evaporates, less what
    sugar put into the kettle takes up with its water, and the liquor that only the fermenter gets.
    """
    boiled = case.evaporation * case.boil_minutes / 60
    wort = case.volume - case.dilution
    return wort + case.kettle_loss + boiled - case.sugar_volume("kettle")


def needed_sparge(case: Case, mash_liquor: Number) -> Number:
    """Return the sparge liquor (L) that fills the kettle; 0 when the mash liquor is enough."""
    if not case.rinses:
        return 0.0
    left = case.grain_absorption * case.grist + case.tun_dead_space
    extract = case.sugar_volume("kettle_full")
    wanted = nominal(needed_kettle_volume(case) + left - case.top_up - mash_liquor - extract)
    # The answer is a volume to measure out: it errs by the measuring, no longer by its causes.
    return shared(wanted, "liquor", "sparge") if wanted > 0 else 0.0


def forecast(case: Case, book: Forecast, liquor: Treated) -> None:
    """Write the figures of the run-off."""
    if not case.rinses and "sparge_liquor" not in book.readings and case.sparge_liquor is None:
        # What is not done has no figure, no blank and no verdict.
        sparge: Number = 0.0
    elif case.sparge_liquor is None:
        sparge = book.put(
            "sparge_liquor",
            needed_sparge(case, liquor.volume),
            note="kettle full wanted, plus what the grain keeps, less mash liquor and top-up",
        )
    else:
        sparge = book.put("sparge_liquor", case.sparge_liquor, note="from the plan")
    if "sparge_liquor" not in book.readings:
        # What was read is all that was used.
        sparge = sparge + case.added_to("sparge")
    sparge_liquor = forecast_sparge(case, book, sparge)
    if nominal(sparge) > 0:
        book.put("sparge_temperature", case.sparge_temperature, note="from the plan")
    conversion = book["conversion"]
    bed = _Bed(
        tun_wort_volume(case.grist, case.extract, conversion, case.moisture, liquor.volume),
        hold_up(case.grist, case.grain_absorption, case.extract, conversion, case.moisture)
        + case.tun_dead_space,
    )
    recovery, method = _recovery(case, bed, sparge)
    _runnings(case, book, bed, sparge)
    top_up = book.put("top_up_liquor", case.top_up, note="from the plan")
    if "top_up_liquor" not in book.readings:
        top_up = top_up + case.added_to("kettle_full")
    taken = case.taken_from("mash") + case.taken_from("kettle_full")
    sugar = case.sugar_to("kettle_full")
    puts = (
        InputValue("wort in the tun", bed.wort, "L", 2),
        InputValue("wort that stays in the grain and tun", bed.held, "L", 2),
        InputValue("sparge liquor", sparge, "L", 1),
    )
    book.put("lauter_efficiency", recovery, method, *puts)
    shortfall = case.grain_absorption * case.grist
    drawn = liquor.volume + sparge - shortfall - case.tun_dead_space
    book.put(
        "kettle_volume",
        drawn + top_up + case.sugar_volume("kettle_full") - taken,
        "",
        InputValue("mash liquor", liquor.volume, "L", 1),
        InputValue("sparge liquor", sparge, "L", 1),
        InputValue("top-up liquor", top_up, "L", 1),
        InputValue("water that the grain keeps", shortfall, "L", 2),
        *unless_nought("sugar in the kettle", sugar, "kg", 3),
        *unless_nought("taken out", taken, "L", 1),
        note="liquor in, less what grain and tun keep",
    )
    _kettle_gravity(case, book, conversion, recovery)
    _kettle_ions(case, book, liquor, sparge_liquor, bed, recovery, (sparge, top_up))


def _recovery(case: Case, bed: _Bed, sparge: Number) -> tuple[Number, str]:
    if nominal(sparge) <= 0 or case.sparge == "none":
        return recovery_no_sparge(bed.wort, bed.held), "lautering.recovery_no_sparge"
    if case.sparge == "continuous":
        recovered = continuous_recovery(bed.wort, bed.held, sparge, case.tanks_in_series)
        return recovered, "lautering.continuous_recovery"
    parts = _parts(case)
    recovered = recovery_in_batches(bed.wort, bed.held, [sparge / parts] * parts)
    return recovered, "lautering.recovery_in_batches"


def _parts(case: Case) -> int:
    """Return into how many parts the sparge is split. OutOfRange for a number nobody drains."""
    if case.sparge != "batch":
        return 1
    if not 1 <= case.batches <= MOST_BATCHES:
        number = float(case.batches)
        raise OutOfRange("run_off.sparge_batches", "batches", number, 1, MOST_BATCHES, "count")
    return case.batches


def _runnings(case: Case, book: Forecast, bed: _Bed, sparge: Number) -> None:
    if nominal(sparge) <= 0:
        return
    first = book["first_wort_gravity"]
    puts = (
        InputValue("first wort gravity", first, "SG", 4),
        InputValue("wort held by the grain", bed.held, "L", 2),
        InputValue("sparge liquor", sparge, "L", 1),
    )
    if case.sparge == "continuous":
        if 1.0 < case.cut_off_gravity < nominal(first):
            book.put(
                "sparge_at_stop",
                sparge_volume_at_gravity(
                    first, case.cut_off_gravity, bed.held, case.tanks_in_series
                ),
                "lautering.sparge_volume_at_gravity",
                *puts[:2],
                InputValue("cut-off gravity", case.cut_off_gravity, "SG", 4),
                note="if it is less than the sparge planned, stop there and top the kettle up",
            )
        last = runnings_gravity(first, sparge, bed.held, case.tanks_in_series)
        method = "lautering.runnings_gravity"
    else:
        parts = _parts(case)
        book.runnings = batch_runnings(bed.wort, first, bed.held, [sparge / parts] * parts)
        last = book.runnings[-1][1]
        method = "lautering.batch_runnings"
    notes = [f"{nominal(v):.1f} L of {nominal(sg):.4f}" for v, sg in book.runnings]
    note = f"runnings: {', '.join(notes)}" if notes else ""
    book.put("last_runnings_gravity", last, method, *puts, note=note)


def _kettle_gravity(case: Case, book: Forecast, conversion: Number, recovery: Number) -> None:
    potential = case.malt_extract
    volume = book["kettle_volume"]
    sugar, taken = case.sugar_to("kettle_full"), (
        case.taken_from("mash") + case.taken_from("kettle_full")
    )
    # What was taken out had the strength of the rest.
    left = volume_share(volume, taken) if nominal(taken) else 1.0
    mass = (potential * conversion * recovery + sugar) * left
    gravity = book.put(
        "kettle_gravity",
        gravity_from_extract_mass(mass, volume),
        "extract.gravity_from_extract_mass",
        InputValue("extract of the grist", potential, "kg", 3),
        InputValue("conversion", conversion, "", 3),
        InputValue("lauter efficiency", recovery, "", 3),
        InputValue("kettle volume", volume, "L", 1),
        *unless_nought("sugar in the kettle", sugar, "kg", 3),
    )
    book.put(
        "mash_efficiency",
        (extract_mass(volume, gravity) / left - sugar) / potential,
        "extract.extract_mass",
        InputValue("kettle volume", volume, "L", 1),
        InputValue("kettle gravity", gravity, "SG", 4),
        InputValue("extract of the grist", potential, "kg", 3),
        *unless_nought("sugar in the kettle", sugar, "kg", 3),
    )


def volume_share(volume: Number, taken: Number) -> Number:
    """Return the share of a well mixed wort that is left when some of it was taken out."""
    return volume / (volume + taken)


def _kettle_ions(
    case: Case,
    book: Forecast,
    liquor: Treated,
    sparge_liquor: Treated | None,
    bed: _Bed,
    recovery: Number,
    added: tuple[Number, Number],
) -> None:
    """Ions follow the water: what the grain holds back is part mash wort, part sparge liquor."""
    sparge, top_up = added
    volume = book["kettle_volume"]
    rinsed = flat(sparge - (bed.held - (1 - recovery) * bed.wort)) if nominal(sparge) > 0 else 0.0
    drained = flat(liquor.volume * recovery)
    carried: dict[str, Number] = {}
    for ion in IONS:
        amount = liquor.ions[ion] * drained + case.ions[ion] * top_up
        if sparge_liquor is not None:
            amount = amount + sparge_liquor.ions[ion] * rinsed
        carried[ion] = amount / volume
    for ion, concentration in with_kettle_salts(case, carried, volume).items():
        book.put(
            f"kettle_{ion}_of_liquor",
            concentration,
            "",
            InputValue("in the mash liquor", liquor.ions[ion], "mg/L", 1),
            InputValue("mash liquor", liquor.volume, "L", 1),
            InputValue("share washed out", recovery, "", 3),
            InputValue("sparge liquor that reaches the kettle", rinsed, "L", 2),
            InputValue("kettle volume", volume, "L", 1),
            note="what the liquors carry into the kettle; malt's own ions are not counted",
        )
