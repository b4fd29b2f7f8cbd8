"""Liquor: the ions of mash and sparge liquor after salts and acids."""

from __future__ import annotations

from msgspec import Struct

from reportgen.forecast.book import Forecast, InputValue
from reportgen.forecast.case import AcidDose, Case, SaltDose
from reportgen.forecast.dechlorination import chlorine_left
from reportgen.forecast.figures import IONS
from reportgen.science.acid import (
    ACIDS,
    acid_normality,
    ionised_equivalents,
    liquor_ph_after_acid,
)
from reportgen.science.number import Number, nominal
from reportgen.science.salts import SULFITES, ion_increase
from reportgen.science.water import convert_hardness, residual_alkalinity

SPARGE_END_PH = 5.6
"""Sparge liquor is soured to about this (common practice, no source)."""


class Treated(Struct, frozen=True):
    """A liquor after treatment: mg/L of each ion; alkalinity in mEq/L before any acid."""

    volume: Number
    ions: dict[str, Number]
    alkalinity: Number
    acid_millimoles: dict[str, Number]


def treat(case: Case, volume: Number, where: str) -> Treated:
    """Return the liquor of ``volume`` litres with what the plan adds to it there."""
    ions: dict[str, Number] = dict(case.ions)
    alkalinity: Number = case.alkalinity
    acids: dict[str, Number] = {}
    for dose in doses(case.salts, where):
        for ion, more in ion_increase(dose.salt, dose.grams, volume, dose.assay).items():
            if ion == "alkalinity":
                alkalinity = alkalinity + more
            else:
                ions[ion] = ions.get(ion, 0.0) + more
    for acid in acid_doses(case.acids, where):
        moles = acid.millilitres * acid_normality(acid.acid, acid.strength)
        acids[acid.acid] = acids.get(acid.acid, 0.0) + moles
        anion = ACIDS[acid.acid].anion
        if anion in ions:
            ions[anion] = ions[anion] + moles * ACIDS[acid.acid].anion_mass / volume
    return Treated(volume, ions, alkalinity, acids)


def with_kettle_salts(
    case: Case, ions: dict[str, Number], volume: Number
) -> dict[str, Number]:
    """Return ions of the kettle, mg/L, with those of the salts that go into it."""
    salted = dict(ions)
    for dose in doses(case.salts, "kettle"):
        for ion, more in ion_increase(dose.salt, dose.grams, volume, dose.assay).items():
            if ion in salted:
                salted[ion] = salted[ion] + more
    return salted


def doses(salts: tuple[SaltDose, ...], where: str) -> list[SaltDose]:
    """Return the salts that go to one place."""
    return [dose for dose in salts if dose.to == where]


def acid_doses(acids: tuple[AcidDose, ...], where: str) -> list[AcidDose]:
    """Return the acids that go to one place."""
    return [dose for dose in acids if dose.to == where]


def _put_chlorine(case: Case, book: Forecast, volume: Number, place: str) -> None:
    """Write what is left of chlorine and chloramine, where the liquor has any."""
    if nominal(case.chlorine + case.chloramine) <= 0:
        return
    sulfite = [d for d in doses(case.salts, place) if d.salt in SULFITES]
    left = chlorine_left(case, volume, place)
    book.put(
        f"{place}_liquor_chlorine",
        left if nominal(left) > 0 else 0.0,
        "salts.metabisulfite_dose" if sulfite else "",
        InputValue("free chlorine of the liquor", case.chlorine, "mg/L", 2),
        InputValue("chloramine of the liquor", case.chloramine, "mg/L", 2),
        *(InputValue(f"{d.name}, g", d.grams, "g", 2) for d in sulfite),
        InputValue(f"{place} liquor", volume, "L", 1),
        note=f"dechlorinated by {case.dechlorinated_by}" if case.dechlorinated_by else "",
    )


def forecast(case: Case, book: Forecast) -> Treated:
    """Write the figures of the mash liquor; return it."""
    volume = book.put("mash_liquor", case.mash_liquor, note="from the plan")
    treated = treat(case, volume, "mash")
    note = "what the liquor brings, plus what the salts and acids add"
    _put_ions(case, book, volume, treated, "mash", note)
    book.put(
        "mash_liquor_alkalinity",
        convert_hardness(treated.alkalinity, "meq", "caco3"),
        "water.convert_hardness",
        InputValue("alkalinity", treated.alkalinity, "mEq/L", 3),
        note="before the acid, which is counted in the mash pH",
    )
    _put_chlorine(case, book, volume, "mash")
    residual = residual_alkalinity(
        treated.alkalinity, treated.ions["calcium"], treated.ions["magnesium"]
    )
    book.put(
        "residual_alkalinity",
        convert_hardness(residual, "meq", "caco3"),
        "water.residual_alkalinity",
        InputValue("alkalinity", treated.alkalinity, "mEq/L", 3),
        InputValue("calcium", treated.ions["calcium"], "mg/L", 1),
        InputValue("magnesium", treated.ions["magnesium"], "mg/L", 1),
    )
    return treated


def _put_ions(
    case: Case, book: Forecast, volume: Number, treated: Treated, where: str, note: str = ""
) -> None:
    """Write what one of the two liquors holds of each ion."""
    grams = [InputValue(f"{d.name}, g", d.grams, "g", 1) for d in doses(case.salts, where)]
    for ion in IONS:
        book.put(
            f"{where}_liquor_{ion}",
            treated.ions[ion],
            "salts.ion_increase",
            InputValue(f"{ion} of the liquor", case.ions[ion], "mg/L", 1),
            InputValue(f"{where} liquor", volume, "L", 1),
            *grams,
            note=note,
        )


def forecast_sparge(case: Case, book: Forecast, volume: Number) -> Treated | None:
    """Write the figures of the sparge liquor; return it, or None when nothing is sparged."""
    if nominal(volume) <= 0:
        return None
    treated = treat(case, volume, "sparge")
    _put_ions(case, book, volume, treated, "sparge")
    book.put(
        "sparge_liquor_alkalinity",
        convert_hardness(treated.alkalinity, "meq", "caco3"),
        "water.convert_hardness",
        InputValue("alkalinity", treated.alkalinity, "mEq/L", 3),
        note="before any acid",
    )
    _put_chlorine(case, book, volume, "sparge")
    if treated.acid_millimoles:
        taken = sum(
            moles * ionised_equivalents(acid, SPARGE_END_PH)
            for acid, moles in treated.acid_millimoles.items()
        )
        book.put(
            "sparge_alkalinity_left",
            convert_hardness(treated.alkalinity - taken / volume, "meq", "caco3"),
            "acid.ionised_equivalents",
            InputValue("alkalinity", treated.alkalinity, "mEq/L", 3),
            InputValue("taken up by the acid", taken, "mEq", 1),
            InputValue("sparge liquor", volume, "L", 1),
            note=f"at pH {SPARGE_END_PH}; below 0 the liquor is sour",
        )
        acids = {acid: moles / volume for acid, moles in treated.acid_millimoles.items()}
        with book.step("run-off"):
            book.put(
                "sparge_ph",
                liquor_ph_after_acid(treated.alkalinity, case.liquor_ph, acids),
                "acid.liquor_ph_after_acid",
                InputValue("alkalinity", treated.alkalinity, "mEq/L", 3),
                InputValue("pH of the liquor", case.liquor_ph, "", 1),
                *(InputValue(f"{a} acid", n, "mmol/L", 2) for a, n in acids.items()),
                note="right after the acid is stirred in; it rises as carbon dioxide escapes",
            )
    return treated
