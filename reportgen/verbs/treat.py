"""``treat``: the smallest set of salts and acid that brings a plan's liquor near what is wanted."""

from __future__ import annotations

import argparse
import sys

from reportgen.assessment.assess import Assessment, assess
from reportgen.forecast.mash import grist_acidity
from reportgen.record.finding import visible
from reportgen.science.number import nominal
from reportgen.science.salts import SULFITES
from reportgen.science.treatment import Miss, Treatment, treat
from reportgen.verbs.where import Misuse, loaded, unread, wanted

IONS = ("calcium", "magnesium", "sodium", "chloride", "sulfate")

CAUSES = {
    "liquor_above": "the liquor already holds more, and no salt takes it away",
    "no_salt": "no salt in stock.yaml brings it",
    "solubility": "the salt that brings it is at the limit of what dissolves",
    "scale": "less is missing than the scale can weigh",
    "compromise": "what brings it brings something else too",
}


def run(arguments: argparse.Namespace) -> int:
    """Print the salts and acid as YAML to paste, what they give, and what stays off."""
    archive, paths = loaded([arguments.path])
    batches = wanted(archive, paths)
    faulty = unread(archive, paths)
    if len(batches) + len(faulty) != 1:
        raise Misuse("treat takes the file of one batch")
    batch = assess(archive, batches[0]) if batches else None
    if batch is None:
        file = faulty[0] if faulty else batches[0].file
        print(f"{visible(file)}: cannot be read; run reportgen check", file=sys.stderr)
        return 1
    wish = {ion: getattr(arguments, ion) for ion in IONS if getattr(arguments, ion) is not None}
    if not wish and arguments.mash_ph is None:
        raise Misuse("say what is wanted, e.g. --calcium 100 --sulfate 150 --mash-ph 5.4")
    print(as_text(batch, advise(batch, wish, arguments.mash_ph, arguments.where)), end="")
    return 0


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
    scales = [i.resolution.value for i in batch.brewery.instruments.values() if i.reads == "scale"]
    step = max(0.1, 1000 * min(scales)) if scales else 0.1
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


def as_text(batch: Assessment, found: Treatment) -> str:
    """Return a treatment as YAML for ``plan: liquor:``, with what it gives as comments."""
    names = {str(salt.is_): name for name, salt in batch.stock.salts.items()}
    acid = next(iter(batch.stock.acids), "")
    lines = ["# for plan: liquor:"]
    places = (("mash", found.mash_doses), ("sparge", found.sparge_doses))
    doses = [(salt, g, to) for to, given in places for salt, g in given.items() if g > 0]
    lines.append("salts:" if doses else "salts: []")
    lines += [f"  - {{salt: {names[s]}, amount: {g:.4g} g, to: {to}}}" for s, g, to in doses]
    acids = (("mash", found.mash_acid_millilitres), ("sparge", found.sparge_acid_millilitres))
    poured = [(ml, to) for to, ml in acids if ml > 0]
    lines.append("acids:" if poured else "acids: []")
    lines += [f"  - {{acid: {acid}, amount: {ml:.4g} mL, to: {to}}}" for ml, to in poured]
    lines.append("# gives in the mash liquor, mg/L: " + ", ".join(
        f"{ion} {nominal(found.ions.mash.get(ion, 0.0)):.0f}" for ion in IONS
    ))
    if found.mash_ph is not None:
        lines.append(f"# predicted mash pH {found.mash_ph:.2f}: measure it all the same")
    lines += [f"# {line}" for line in map(_miss, found.misses)]
    if poured:
        lines.append("# acid: always into the liquor, never the reverse; wear eye protection,")
        lines.append("# as its safety data sheet says")
    return "\n".join(lines) + "\n"


def _miss(miss: Miss) -> str:
    what = miss.what.replace("_", " ")
    return (
        f"stays off: {what} {miss.reached:.4g} instead of {miss.wanted:.4g}: "
        f"{CAUSES.get(miss.cause, miss.cause)}"
    )
