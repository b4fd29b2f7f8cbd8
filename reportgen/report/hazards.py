"""Which hazards a house and a batch can have: what its sheets caution about, and nothing else.

A hazard is left out only where the plan or the kit shows that it cannot occur. Where the kit does
not say, it can.
"""

from __future__ import annotations

from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.report.cautions import CAUTIONS, Caution, above
from reportgen.report.plan_text import sheet_units
from reportgen.science.number import nominal
from reportgen.science.salts import SULFITES

MOST_LIFTED = 23.0
"""kg that one person may lift at best: the load constant of the revised NIOSH lifting equation
(Waters and others 1993, Ergonomics 36:749)."""

HELD_OUT = 11.0
"""kg that one person may lift out of a kettle: the same equation, held 40 cm away, raised by 50 cm
from waist height (multipliers 0.63, 0.87 and 0.91)."""

PUSHED = 150.0
"""kg above which a full vessel stands where it is; common practice, no source."""

HELD_UP = 0.5
"""L of wort in each kg of grain that has not drained yet, beyond what it keeps."""

ENTERED = 100.0
"""L of a vessel into which head and shoulders go; common practice, no source."""

EXPLOSIVE = 25.0
"""kg of malt whose dust may make an explosive cloud; common practice, no source."""

CHOKES = 0.74
"""kg of carbon dioxide: 4 % (immediately dangerous, NIOSH) of a closed room of 10 m3."""

CO2_OF_ETHANOL = 44.01 / 46.07
ETHANOL_DENSITY = 0.789


def hazards(assessment: Assessment) -> frozenset[str]:
    """Return the keys of the cautions that can apply to a batch on its kit."""
    case, plan = assessment.case, assessment.record.plan
    heated = str(assessment.kit.kettle.heated_by or "")
    grist = nominal(case.grist) if assessment.record.wort_from is None else 0.0
    vessels = (case.tun_volume, case.kettle_brim, case.fermenter_brim)
    salts = (assessment.stock.salts[s.salt] for s in plan.liquor.salts)
    bag = case.sparge == "bag"
    kegged = any(kind.case.packed_into == "keg" for kind in assessment.packed_as)
    can = {
        "burner": heated in ("", "flame"),
        "electric": heated in ("", "element"),
        "steam_heat": heated == "steam",
        "lifting": bool(lifted(assessment)),
        "grain_dust": grist >= EXPLOSIVE,
        "malt_dust": 0 < grist < EXPLOSIVE,
        "sulfite": any(salt.is_ in SULFITES for salt in salts),
        "chemicals": bool(plan.liquor.acids),
        "hot_transfer": not bag,
        "hot_bag": bag,
        "room_gas": gas(assessment) >= CHOKES or kegged,
        "pressure": kegged or case.ferment_pressure > 0,
        "entry": max(vessels) >= ENTERED,
    }
    if assessment.record.wort_from is not None:
        # Its wort is brewed with the other batch: nothing is weighed, heated or boiled here.
        brewed = {c.key for c in CAUTIONS.values() if set(c.steps) & set(WORT_STEPS)}
        can.update(dict.fromkeys(brewed, False))
    return frozenset(key for key in CAUTIONS if can.get(key, True))


WORT_STEPS = ("heat", "treat", "mash", "run_off", "boil")
"""Steps of a batch that brews its own wort."""


def gas(assessment: Assessment) -> float:
    """Return the carbon dioxide that the fermentation gives off, kg; none if not known."""
    alcohol = assessment.planned.expected.get("alcohol")
    if alcohol is None:
        return CHOKES
    ethanol = alcohol.value * assessment.case.kept_volume * ETHANOL_DENSITY
    return ethanol * CO2_OF_ETHANOL


def lifted(assessment: Assessment) -> list[tuple[str, float]]:
    """Return what is heavier than one person may lift: its name, and its mass in kg."""
    case = assessment.case
    # The malt of a shared wort is lifted where it is brewed.
    grist = nominal(case.grist) if assessment.record.wort_from is None else 0.0
    full = case.kept_volume * 1.05
    weights = []
    if grist >= MOST_LIFTED:
        weights.append(("malt in all", grist))
    wet = grist * (1 + nominal(case.grain_absorption) + HELD_UP)
    if case.sparge == "bag" and wet >= HELD_OUT:
        weights.append(("bag, wet and hot", wet))
    if MOST_LIFTED <= full <= PUSHED:
        weights.append(("full fermenter", full))
    for kind in assessment.packed_as:
        each = kind.case.container.volume
        if each is not None and MOST_LIFTED <= each <= PUSHED:
            weights.append((f"full {kind.case.packed_into}", each))
    return weights


def cautions_of(assessment: Assessment, step: str) -> tuple[Caution, ...]:
    """Return the cautions above a step, as far as they can apply to this batch, gravest first."""
    cautions = above(step, hazards(assessment))
    return tuple(_weighed(assessment, c) if c.key == "lifting" else c for c in cautions)


def _weighed(assessment: Assessment, caution: Caution) -> Caution:
    units = sheet_units(assessment)
    heavy = ", ".join(
        f"{name} {units.text(mass, 'mass', 0)}" for name, mass in lifted(assessment)
    )
    return replace(caution, hazard=f"{caution.hazard}: {heavy}")

