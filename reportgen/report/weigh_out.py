"""The weigh-out sheet: what the batch is to be, its hazards, and all that is weighed for it.

It is filled in where the scales stand, often the evening before, and ends with the hold point
before the kettle is heated. The brew-day sheet goes on from there.
"""

from __future__ import annotations

from functools import partial

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.assessment.ingredients import allergens_in, ingredients
from reportgen.forecast.figures import FIGURES, OUTCOMES
from reportgen.forecast.heating import liquor_to_heat
from reportgen.record.kinds import KINDS
from reportgen.record.model.plan import HopItem, SugarItem
from reportgen.record.printed import BLANK, NARROW, Units
from reportgen.record.quantity import Quantity
from reportgen.report.cautions import Caution
from reportgen.report.hazards import cautions_of
from reportgen.report.parts import HoldPoint, Identity, Labelled, Signature, WeighGroup, WeighRow
from reportgen.report.plan_text import (
    SMALL_WEIGHT,
    acid_name,
    gallon_note,
    identity_of,
    instrument_of,
    is_alone,
    mass_text,
    name_of,
    offset_by,
    on_scale,
    salt_units,
    sentence,
    sheet_units,
    shown,
    volume_text,
)
from reportgen.report.rows import LETTERS, Counter, uncertainty_text
from reportgen.science.salts import SULFITES

TITLE = "Weigh-out sheet"


class InstrumentLine(Struct, frozen=True):
    """An instrument of the day: what it reads, which one, its ±U, when it was last checked.

    ``offset`` is what it shows too much; empty when it shows what is true.
    """

    reads: str
    name: str
    uncertainty: str
    checked: str
    offset: str = ""


class LiquorLine(Struct, frozen=True):
    """Liquor to heat for one vessel: how much, how hot, how long it takes."""

    vessel: str
    amount: str
    to: str
    takes: str


class WeighOutView(Struct, frozen=True):
    """The weigh-out sheet, ready to be set."""

    identity: Identity
    beer: str
    unit_note: str
    facts: tuple[Labelled, ...]
    aims: tuple[Labelled, ...]
    cautions: tuple[Caution, ...]
    allergens: str
    instruments: tuple[InstrumentLine, ...]
    groups: tuple[WeighGroup, ...]
    liquor_in_all: str
    liquor: tuple[LiquorLine, ...]
    heat: tuple[Caution, ...]
    hold_point: HoldPoint | None
    signatures: tuple[Signature, ...]


def weigh_out_sheet(assessment: Assessment, paper: str, copy: int = 1) -> WeighOutView:
    """Return the weigh-out sheet of a batch."""
    in_all, liquor = _liquor(assessment)
    return WeighOutView(
        identity=identity_of(assessment, TITLE, paper, copy),
        beer=str(assessment.record.plan.beer or ""),
        unit_note=gallon_note(assessment),
        facts=_facts(assessment),
        aims=_aims(assessment),
        cautions=cautions_of(assessment, "weigh"),
        allergens=", ".join(allergens_of(assessment)),
        instruments=_instruments(assessment),
        groups=weigh_groups(assessment, Counter()),
        liquor_in_all=in_all,
        liquor=liquor,
        heat=cautions_of(assessment, "heat"),
        hold_point=_before_heat(assessment) if assessment.record.wort_from is None else None,
        signatures=(Signature("Weigher", "lots written down"),),
    )


def _has_sulfite(assessment: Assessment) -> bool:
    salts = assessment.stock.salts
    return any(
        item in salts and salts[item].is_ in SULFITES for item in ingredients(assessment.record)
    )


def _expected(assessment: Assessment, key: str) -> str:
    expected = assessment.planned.expected.get(key)
    if expected is None:
        return BLANK
    figure = FIGURES[key]
    decimals = KINDS[figure.kind].on_sheet(figure.headline_decimals)
    return sheet_units(assessment).text(expected.value, figure.kind, decimals)


def _facts(assessment: Assessment) -> tuple[Labelled, ...]:
    plan = assessment.record.plan
    units = sheet_units(assessment)
    yeast, wort = assessment.stock.yeasts[plan.pitch.yeast], assessment.record.wort_from
    return (
        Labelled("Into the fermenter", units.text(assessment.case.kept_volume, "volume", 1)),
        *((Labelled("Wort brewed and weighed out with", str(wort.batch)),) if wort else ()),
        *((Labelled("Planned for", str(plan.brew_on)),) if plan.brew_on is not None else ()),
        Labelled("Kit", str(plan.kit).replace("_", " ")),
        Labelled("Yeast", str(yeast.name or plan.pitch.yeast.replace("_", " "))),
    )


def _aims(assessment: Assessment) -> tuple[Labelled, ...]:
    return tuple(
        Labelled(FIGURES[key].title, _expected(assessment, key))
        for key in OUTCOMES if FIGURES[key].headline
    )


def allergens_of(assessment: Assessment) -> tuple[str, ...]:
    """Return the allergens of what went in or is planned to, in the order of brewing."""
    named = allergens_in(assessment.record, assessment.stock)
    return (*named, "sulfite") if _has_sulfite(assessment) else named


_KINDS = (
    ("hydrometer", "Hydrometer", FIGURES["original_gravity"]),
    ("thermometer", "Thermometer", FIGURES["mash_temperature"]),
    ("ph_meter", "pH meter", FIGURES["mash_ph"]),
    ("volume_gauge", "Volume gauge", FIGURES["kettle_volume"]),
)


def _instruments(assessment: Assessment) -> tuple[InstrumentLine, ...]:
    lines = []
    for _, title, figure in _KINDS:
        name, instrument = instrument_of(assessment, figure)
        if instrument is None and title == "pH meter":
            continue
        if instrument is None:
            lines.append(InstrumentLine(title, "", "", ""))
            continue
        lines.append(
            InstrumentLine(
                "Refractometer" if instrument.reads == "refractometer" else title,
                name.replace("_", " "),
                uncertainty_text(assessment, figure),
                str(instrument.checked or ""),
                offset_by(assessment, figure.key),
            )
        )
    return tuple(lines)


def _liquor(assessment: Assessment) -> tuple[str, tuple[LiquorLine, ...]]:
    """Return the liquor to heat in all, and for each vessel how hot and how long it takes."""
    if assessment.record.wort_from is not None:
        return "", ()
    units, power = sheet_units(assessment), assessment.kit.kettle.power
    wanted = liquor_to_heat(assessment.case, assessment.planned, power.value if power else None)
    lines = []
    for portion in wanted:
        to, takes = "", ""
        if portion.temperature is not None:
            reads = (
                shown(assessment, portion.read, portion.temperature)
                if portion.read
                else portion.temperature
            )
            to = units.text(reads, "temperature", 0)
        if portion.minutes is not None:
            # To five minutes: the heater's power is known to a tenth.
            takes = f"{max(5, 5 * round(portion.minutes / 5)):.0f}{NARROW}min"
        lines.append(LiquorLine(portion.vessel, units.text(portion.litres, "volume", 1), to, takes))
    return units.text(sum(portion.litres for portion in wanted), "volume", 1), tuple(lines)


_HEATER = {
    "": "Element covered, or burner in the open",
    "element": "Element covered; plug and lead dry",
    "flame": "Burner steady, alarm on, air moving",
    "steam": "Steam on by those qualified",
}


_DRAWN = {
    "": "drawn", "carbon": "drawn through carbon", "boiling": "drawn and boiled",
    "standing": "drawn a day before, left open",
}  # fmt: skip


def _before_heat(assessment: Assessment) -> HoldPoint:
    blend = ", ".join(
        f"{part.share.value * 100:.0f}{NARROW}% {str(part.liquor).replace('_', ' ')}"
        for part in assessment.record.plan.liquor.blend
    )
    meter = any(i.reads == "ph_meter" for i in assessment.brewery.instruments.values())
    return HoldPoint(
        "before heat",
        (
            "Valves shut, hoses tight, all clean",
            _HEATER[str(assessment.kit.kettle.heated_by or "")],
            f"Liquor {_DRAWN[str(assessment.record.plan.liquor.dechlorinated_by or '')]}: {blend}",
            "Salts and acids in the right liquor",
            "Lots and allergens written down",
            "pH meter adjusted; instruments ready" if meter else "Instruments ready",
        ),
    )


def _weighed(
    assessment: Assessment,
    counter: Counter,
    name: str,
    use: str,
    amount: Quantity,
    lot: str,
    small: bool,
    units: Units,
) -> WeighRow:
    """Return the row of what is weighed: as the scale shows it, the true amount beside."""
    # One unit for both, by the true amount.
    small = small or amount.value < SMALL_WEIGHT
    reads, offset = on_scale(assessment, amount)
    row = _row(counter, name, use, mass_text(reads, units, small), lot)
    true = mass_text(amount, units, small)[0] if offset else ""
    return replace(row, offset=offset, true=true)


def _row(
    counter: Counter,
    name: str,
    use: str,
    text: tuple[str, str, int],
    lot: str,
) -> WeighRow:
    number, unit, decimals = text
    beside = 2 + len(use) + len(lot) if use and lot else len(use) + len(lot)
    # At 18 points a figure of our typeface is 3.2 mm wide, at 12 points 2.1 mm; a space and a
    # comma are narrower. 51 mm are free.
    crowded = 3.1 * len(f"{number} {unit}") + 2.0 * beside > 51
    return WeighRow(
        counter.next(), sentence(name), use, number, unit, lot, decimals or -1,
        crowded or len(name) > LETTERS,
    )


SUGAR = "Malt extract and sugar"


def weigh_groups(assessment: Assessment, counter: Counter) -> tuple[WeighGroup, ...]:
    """Return all that is weighed or measured out, by groups, with numbers from a counter.

    Of a wort that is brewed with another batch only what goes into the own fermenter.
    """
    plan, stock = assessment.record.plan, assessment.stock
    units = sheet_units(assessment)
    weigh = partial(_weighed, assessment, counter)
    is_own = assessment.record.wort_from is None
    grist = [
        weigh(name_of(stock.malts, g.malt), "", g.amount, str(g.lot or ""), False, units)
        for g in (plan.grist if is_own else ())
    ]
    grist += [
        weigh(
            name_of(stock.sugars, s.sugar), _sugar_use(s), s.amount, str(s.lot or ""), False, units
        )
        for s in plan.sugars
        if is_own or s.to == "fermenter"
    ]
    if not is_own:
        return (WeighGroup(SUGAR, tuple(grist)),) if grist else ()
    treatment = [
        weigh(
            name_of({}, s.salt), _liquor_use(s.to), s.amount, "", True, salt_units(s.amount, units)
        )
        for s in plan.liquor.salts
    ]
    treatment += [
        _row(
            counter, acid_name(assessment, str(a.acid)), _liquor_use(a.to),
            volume_text(a.amount, units, True), "",
        )
        for a in plan.liquor.acids
    ]
    title = "Grist and sugar" if plan.sugars else "Grist"
    groups = [WeighGroup(title if plan.grist else SUGAR, tuple(grist))]
    if treatment:
        cautions = cautions_of(assessment, "treat")
        twice = bool(cautions) and not is_alone(assessment)
        groups.append(WeighGroup("Liquor treatment", tuple(treatment), cautions, twice))
    kettle = _hop_rows(assessment, counter, units)
    if kettle:
        groups.append(WeighGroup("Hops and finings", tuple(kettle)))
    return tuple(groups)


def _liquor_use(to: str) -> str:
    return f"{to} liquor" if to in ("mash", "sparge") else to


def _hop_rows(assessment: Assessment, counter: Counter, units: Units) -> list[WeighRow]:
    plan, stock = assessment.record.plan, assessment.stock
    weigh = partial(_weighed, assessment, counter)
    rows = [
        weigh(
            name_of(stock.hops, h.hop), _hop_use(h, index >= len(plan.boil.hops)), h.amount,
            str(h.lot or ""), True, units,
        )
        for index, h in enumerate((*plan.boil.hops, *plan.steeped_hops))
    ]
    rows += [
        weigh(
            name_of(stock.finings, f.fining), f"{f.time.value:.0f} min" if f.time else "kettle",
            f.amount, "", True, units,
        )
        for f in plan.boil.finings
    ]
    return rows


def _sugar_use(sugar: SugarItem) -> str:
    if sugar.time is not None and sugar.to == "kettle":
        return f"{sugar.time.value:.0f} min"
    return str(sugar.to)


def _hop_use(hop: HopItem, steeped: bool) -> str:
    if steeped:
        return "stand"
    return f"{hop.time.value if hop.time is not None else 0.0:.0f} min"
