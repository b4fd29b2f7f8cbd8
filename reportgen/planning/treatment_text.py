"""The salts and acid that a plan lacks, as YAML to paste with what they give and what stays off."""

from __future__ import annotations

import math
from collections.abc import Collection

from reportgen.assessment.assess import Assessment
from reportgen.assessment.steps import scale_unit
from reportgen.forecast.dechlorination import metabisulfite_for, to_remove
from reportgen.forecast.figures import IONS
from reportgen.forecast.mash import grist_acidity
from reportgen.record.failure import Misuse
from reportgen.record.written import amount_text
from reportgen.report.text_table import wrapped
from reportgen.science.number import nominal
from reportgen.science.salts import SULFITES
from reportgen.science.treatment import Miss, Treatment, treat

CAUSES = {
    "liquor_above": "the liquor already holds more, and no salt takes it away",
    "no_salt": "no salt in stock.yaml brings it",
    "solubility": "the salt that brings it is at the limit of what dissolves",
    "scale": "less is missing than the scale can weigh",
    "compromise": "what brings it brings something else too",
}


def advise(
    batch: Assessment, wish: dict[str, float], mash_ph: float | None, where: str
) -> Treatment:
    """Return the treatment of a batch's liquor with the salts and acids that the stock has."""
    case = batch.case
    if not case.is_mashed:
        raise Misuse("treat is for the liquor of a mash: this plan has no grist")
    # Metabisulfite is kept against chlorine: nobody doses sulfite to get at its sulfate.
    kinds = dict.fromkeys(str(salt.is_) for salt in batch.stock.salts.values())
    salts = [kind for kind in kinds if kind not in SULFITES]
    acid = next(iter(batch.stock.acids.values()), None)
    if mash_ph is not None and acid is None:
        raise Misuse("a mash pH needs an acid in stock.yaml")
    step = max(0.1, _step(batch))
    sparge = batch.planned.expected.get("sparge_liquor")
    try:
        return treat(
            {ion: nominal(n) for ion, n in (*case.ions.items(), ("alkalinity", case.alkalinity))},
            nominal(case.mash_liquor),
            sparge.value if sparge is not None else 0.0,
            wish,
            salts,
            where,
            scale=step,
            acid=str(acid.is_) if acid is not None else None,
            acid_fraction=acid.strength.value if acid is not None else 0.8,
            target_ph=mash_ph,
            malts=grist_acidity(case),
            liquor_ph=case.liquor_ph,
        )
    except ValueError as error:
        raise Misuse(str(error)) from error


def as_text(
    batch: Assessment, treatment: Treatment, treated: Collection[str] = ("mash", "sparge"),
    with_acid: bool = True,
) -> str:
    """Return a treatment as YAML for ``plan: liquor:``, with what it gives as comments.

    What the plan has for other places than those ``treated`` is kept in the lists, and its acids
    are left alone where no pH was asked for: what is pasted takes the place of both lists.
    """
    liquor = batch.record.plan.liquor
    names = {str(salt.is_): name for name, salt in batch.stock.salts.items()}
    acid = next(iter(batch.stock.acids), "")
    lines = ["# for plan: liquor:"]
    places = (("mash", treatment.mash_doses), ("sparge", treatment.sparge_doses))
    doses = [(names[salt], g, to) for to, given in places for salt, g in given.items() if g > 0]
    sulfites = against_chlorine(batch)
    written = [(name, _weight(batch, g), to) for name, g, to in (*doses, *sulfites)]
    written += [
        (str(own.salt), own.amount.text, str(own.to)) for own in liquor.salts
        if own.to not in treated
        and not (sulfites and str(batch.stock.salts[own.salt].is_) in SULFITES)
    ]
    lines.append("salts:" if written else "salts: []")
    lines += [f"  - {{salt: {name}, amount: {amount}, to: {to}}}" for name, amount, to in written]
    poured = treatment.mash_acid_millilitres
    if with_acid:
        kept = [own for own in liquor.acids if own.to != "mash"]
        lines.append("acids:" if poured or kept else "acids: []")
        if poured:
            lines.append(f"  - {{acid: {acid}, amount: {poured:.4g} mL, to: mash}}")
        lines += [
            f"  - {{acid: {own.acid}, amount: {own.amount.text}, to: {own.to}}}" for own in kept
        ]
    notes = ["gives in the mash liquor, mg/L: " + ", ".join(
        f"{ion} {nominal(treatment.ions.mash.get(ion, 0.0)):.0f}" for ion in IONS
    )]
    if treatment.mash_ph is not None:
        notes.append(f"predicted mash pH {treatment.mash_ph:.2f}: measure it all the same")
    notes += map(_miss, treatment.misses)
    if not with_acid and liquor.acids:
        notes.append("the plan's acids are left as they are; --mash-ph works them out anew")
    chlorine = nominal(to_remove(batch.case))
    if chlorine > 0:
        notes.append(f"chlorine of {chlorine:.2g} mg/L as Cl2: {_chlorine(batch)}")
    if poured:
        notes.append(
            "acid: always into the liquor, never the reverse; wear eye protection, as its safety "
            "data sheet says"
        )
    for note in notes:
        lines += wrapped(note, "#   ", "# ")
    return "\n".join(lines) + "\n"


def against_chlorine(batch: Assessment) -> list[tuple[str, float, str]]:
    """Return the metabisulfite for each liquor that has chlorine: name in stock, g, where to.

    None where the stock has none, or carbon takes the chlorine; rounded up to what a scale shows.
    """
    case = batch.case
    dose = _metabisulfite(batch)
    if dose is None or nominal(to_remove(case)) <= 0:
        return []
    name, salt, assay = dose
    doses = []
    for place in ("mash", "sparge"):
        expected = batch.planned.expected.get(f"{place}_liquor")
        if expected is None or expected.value <= 0:
            continue
        grams = nominal(metabisulfite_for(case, expected.value, salt, assay))
        step = max(_step(batch), 0.01)
        doses.append((name, math.ceil(grams / step - 1e-9) * step, place))
    return doses


def _metabisulfite(batch: Assessment) -> tuple[str, str, float] | None:
    for name, salt in batch.stock.salts.items():
        if str(salt.is_) in SULFITES:
            return str(name), str(salt.is_), salt.purity
    return None


def _chlorine(batch: Assessment) -> str:
    if _metabisulfite(batch) is None:
        return "no metabisulfite in stock.yaml; draw it through carbon (`dechlorinated_by: carbon`)"
    return "stir the metabisulfite in cold, some minutes before the salts"


def _weight(batch: Assessment, grams: float) -> str:
    """Return a weight as the house's scale shows it: in grams, or in ounces."""
    brewery, step = batch.brewery, _step(batch)
    unit = scale_unit(brewery, grams / 1000) if brewery.system != "metric" else ""
    if unit not in ("oz", "lb"):
        return f"{grams:.4g} g"
    return amount_text(grams / 1000, step / 1000, None, "oz", "mass")


def _step(batch: Assessment) -> float:
    """Return the step of the finest scale, g; 0.1 where none is listed."""
    scales = [i.resolution.value for i in batch.brewery.instruments.values() if i.reads == "scale"]
    return 1000 * min(scales) if scales else 0.1


def _miss(miss: Miss) -> str:
    what = miss.what.replace("_", " ")
    return (
        f"stays off: {what} {miss.reached:.4g} instead of {miss.wanted:.4g}: "
        f"{CAUSES.get(miss.cause, miss.cause)}"
    )
