"""Too little or too much yeast for the wort.

Too little yeast grows too much before it ferments: a slow start, more fusel alcohols and esters,
and a greater risk of infection. Far too much gives a thin beer that tastes of yeast. A factor of
ten is mostly a unit or a decimal point. The need is computed from the cells of the form that is
pitched and their viability at its age. Yeast that was added later counts with it. Amounts from half to three times the need are accepted:
usual rates differ that much, and cells are seldom counted. If no cells are stated for the form
and unit, usual counts are used and only a factor of about ten is reported.

Fix: measure out what the wort needs, grow the yeast up in a starter, or write the unit and cells meant
Afterwards: write the unit and cells meant; next time measure out what the wort needs
Source: rates of 0.5 to 1.5 million/(mL degP), G.J. Fix and L.A. Fix 1997, An Analysis of Brewing
    Techniques; cells in dry yeast, S. Van Den Berg and A. Van Landschoot 2003, Cerevisia 28(3):25;
    the limits themselves: common practice, no source
Passes:
    brew_day: {date: 2026-03-14, pitch: {yeast_amount: 0.3 L}}
Fails:
    brew_day: {date: 2026-03-14, pitch: {yeast_amount: 0.30 mL}}
"""

import math

from reportgen.assessment.assess import harvest_of
from reportgen.assessment.day_weighed import used_on
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.when import is_over
from reportgen.forecast.yeast_pitched import USUAL_CELLS, PitchedYeast, pitched
from reportgen.record.model.brew_day import Added
from reportgen.record.units import Quantity
from reportgen.science.number import nominal

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "more than 8 times too little or too much"}
UNTIL = Stage.PITCH
FIGURE = "yeast_amount"

LEAST, MOST = 0.5, 3.0
FAR = 8.0
"""A slip of a decimal point, from an amount that was not quite what is needed."""


def check(batch: Assessment) -> Remarks:
    """Compare the yeast pitched, else planned, with what the wort needs."""
    day, planned = batch.record.brew_day, batch.record.plan.pitch.yeast_amount
    read = day.pitch.yeast_amount if day is not None and day.pitch is not None else None
    amount, is_past = planned, False
    if read is not None and read.value is not None:
        amount, is_past = read.value, True
    cells = batch.now.expected.get("viable_cells")
    if amount is None or cells is None or cells.value <= 0:
        return
    yeast = _yeast(batch)
    # Cells that were counted have a verdict of their own, and say more than an assumed density.
    counted = batch.actuals.get("viable_cells")
    known = yeast.is_counted and (counted is None or counted.value is None)
    living, of = nominal(yeast.living), ""
    needed = cells.value / (nominal(yeast.cells) * living) / 1000
    if yeast.by != amount.kind:
        # What is weighed may be dry yeast, or slurry: a litre of it is about a kilogram.
        known, living = False, 1.0
        forms = ("dry", "slurry") if amount.is_mass else ("slurry",)
        needs = {form: cells.value / USUAL_CELLS[form] / 1000 for form in forms}
        form = min(needs, key=lambda name: abs(math.log(needs[name] / amount.value)))
        needed, of = needs[form], f" of {form.replace('dry', 'dry yeast')}"
    more = [_share_added(batch, e, amount, needed, cells.value) for e in batch.record.all_added]
    more = [share for share in more if share] if is_past else []
    share = amount.value / needed + math.fsum(more)
    if (LEAST if known else 1 / FAR) <= share <= (MOST if known else FAR):
        return
    is_little = share < 1
    far = share < 1 / FAR or share > FAR
    word = "too little" if is_little else "too much"
    aged = f", viability {living:.0%} at {yeast.age} days" if yeast.age and known else ""
    yield Remark(
        amount.position,
        f"`{amount.text}` of yeast{', with what was added,' if more else ''} is {word} for this wort",
        f"about {_text(needed, amount)}{of}{aged}",
        _late(is_little, is_over(batch.record, Stage.FERMENT)) if is_past else "",
        severity=Severity.MAJOR if far else None,
    )


def _share_added(
    batch: Assessment, entry: Added, amount: Quantity, needed: float, cells: float
) -> float:
    """Return what yeast that was added later brings, as a share of what the wort needs.

    More of the yeast pitched counts as that does. ``needed`` is how much of it, kg or L, has the
    ``cells``, billion, that the wort needs.
    """
    pitch, added = batch.record.plan.pitch, entry.amount.value
    if added is None or str(entry.what) not in batch.stock.yeasts or entry.to == "container":
        return 0.0
    if str(entry.what) == str(pitch.yeast) and added.kind == amount.kind:
        return added.value / needed
    own = pitch.with_members(
        yeast=entry.what, lot=entry.lot, yeast_amount=added,
        cells=None, viability=None, harvested_from=None, form=None,
    )
    other = pitched(own, batch.stock.yeasts[entry.what], None, used_on(batch.record))
    return 1000 * added.value * nominal(other.cells) * nominal(other.living) / cells


def _yeast(batch: Assessment) -> PitchedYeast:
    pitch = batch.record.plan.pitch
    return pitched(
        pitch, batch.stock.yeasts[pitch.yeast], harvest_of(batch.archive, batch.record),
        used_on(batch.record),
    )  # fmt: skip


def _late(is_little: bool, is_drunk: bool) -> str:
    start = "check the unit and the decimal point against the sheet"
    if is_drunk:
        return f"{start}; if it is true, look for its marks in the log and the tasting"
    if is_little:
        return f"{start}; if it is true, pitch more while the beer has not started"
    return f"{start}; if it is true, taste for yeast and rack early"


def _text(value: float, like: Quantity) -> str:
    """Return an amount in the unit of the one typed where that is no metric one."""
    small = 1000 * value
    if like.unit not in ("kg", "g", "mg", "L", "mL"):
        return f"{value * like.number / like.value:.3g} {like.unit}" if like.value else ""
    if like.kind == "mass":
        return f"{small:.3g} g" if value < 1 else f"{value:.3g} kg"
    return f"{small:.3g} mL" if value < 1 else f"{value:.3g} L"
