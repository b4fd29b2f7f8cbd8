"""The brew-day sheet: printed before the day, filled in with a pen beside the kettle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from reportgen.assess import Assessment
from reportgen.forecast.actions import ActionTable
from reportgen.forecast.actions import tables as what_to_do
from reportgen.forecast.figures import FIGURES, Figure, Stage
from reportgen.forecast.readings import instrument_uncertainty
from reportgen.record.model.plan import HopItem
from reportgen.record.units import Quantity
from reportgen.report.cautions import Caution, above, general
from reportgen.report.numbers import BLANK, NARROW, Units
from reportgen.report.parts import (
    Addition,
    Blank,
    Fact,
    Identity,
    Lookup,
    Pause,
    Signature,
    Step,
    Todo,
    WeighGroup,
    WeighRow,
)
from reportgen.report.plan_text import (
    GALLONS,
    acid_name,
    dose_text,
    identity_of,
    instrument_of,
    mass_text,
    name_of,
    salt_text,
    sentence,
    sheet_units,
    volume_text,
)
from reportgen.report.rows import Counter, fine_range, finite, rows_of
from reportgen.report.tables import hydrometer_lookup, marks_of, todo_of, volume_lookup

TITLE = "Brew-day sheet"
SULFITES = ("potassium_metabisulfite", "sodium_metabisulfite")


@dataclass(frozen=True)
class InstrumentLine:
    """An instrument of the day: what it reads, which one, its ±U, when it was last checked."""

    reads: str
    name: str
    uncertainty: str
    checked: str


@dataclass(frozen=True)
class SheetView:
    """The brew-day sheet, ready to be set."""

    identity: Identity
    beer: str
    unit_note: str
    facts: tuple[Fact, ...]
    aims: tuple[Fact, ...]
    cautions: tuple[Caution, ...]
    allergens: str
    instruments: tuple[InstrumentLine, ...]
    groups: tuple[WeighGroup, ...]
    steps: tuple[Step, ...]
    pause: Pause
    signatures: tuple[Signature, ...]
    notes: str


def brew_day_sheet(
    assessment: Assessment,
    paper: str,
    copy: int = 1,
    tables: Sequence[ActionTable] | None = None,
) -> SheetView:
    """Return the brew-day sheet of a batch.

    ``tables`` are the what-to-do tables; those of the forecast when not given. Each stands with
    the stage of its figure.
    """
    if tables is None:
        tables = what_to_do(assessment.case, assessment.planned, _reference(assessment))
    # The hydrometer's own table is replaced by a lookup beside each stage's gravities.
    own = [t for t in tables if FIGURES[t.figure].stage in BREW_STAGES]
    own = [t for t in own if t.columns[0] != "Sample at"]
    marks = marks_of(own)
    counter = Counter()
    plan = assessment.record.plan
    groups = _groups(assessment, counter)
    steps = (
        _mash(assessment, counter, marks, own),
        _run_off(assessment, counter, marks, own),
        _boil(assessment, counter, marks, own),
        _pitch(assessment, counter, marks, own),
    )
    sulfited = any(
        assessment.stock.salts[s.salt].is_ in SULFITES for s in plan.liquor.salts
    )
    first = general()
    if sulfited:
        first = (*first, *above("weigh"))
    return SheetView(
        identity=identity_of(assessment, TITLE, paper, copy),
        beer=str(plan.beer or ""),
        unit_note=GALLONS.get(str(assessment.brewery.units or ""), ""),
        facts=_facts(assessment),
        aims=_aims(assessment),
        cautions=first,
        allergens=", ".join(allergens_of(assessment)),
        instruments=_instruments(assessment),
        groups=groups,
        steps=tuple(replace(step, number=str(n)) for n, step in enumerate(steps, 2)),
        pause=_before_heat(assessment),
        signatures=(
            Signature("Brewed, and written down as it happened"),
            Signature("Checked: every blank filled or struck out"),
        ),
        notes=str(plan.notes or ""),
    )


BREW_STAGES = (Stage.LIQUOR, Stage.MASH, Stage.RUN_OFF, Stage.BOIL, Stage.PITCH)


def _reference(assessment: Assessment) -> float:
    _, instrument = instrument_of(assessment, FIGURES["original_gravity"])
    if instrument is not None and instrument.reference_temperature is not None:
        return instrument.reference_temperature.value
    return 20.0


def _expected(assessment: Assessment, key: str) -> str:
    expected = assessment.planned.expected.get(key)
    if expected is None:
        return BLANK
    figure = FIGURES[key]
    decimals = 3 if figure.kind == "gravity" else figure.decimals
    if key == "alcohol":
        decimals = 3
    return sheet_units(assessment).text(expected.value, figure.kind, decimals)


def _facts(assessment: Assessment) -> tuple[Fact, ...]:
    plan = assessment.record.plan
    units = sheet_units(assessment)
    yeast = assessment.stock.yeasts[plan.pitch.yeast]
    return (
        Fact("Into the fermenter", units.text(plan.volume.value, "volume", 1)),
        Fact("Kit", str(plan.kit).replace("_", " ")),
        Fact("Yeast", str(yeast.name or plan.pitch.yeast.replace("_", " "))),
    )


def _aims(assessment: Assessment) -> tuple[Fact, ...]:
    return (
        Fact("Original gravity", _expected(assessment, "original_gravity")),
        Fact("Final gravity", _expected(assessment, "final_gravity")),
        Fact("Alcohol by volume", _expected(assessment, "alcohol")),
        Fact("Bitterness", _expected(assessment, "bitterness")),
        Fact("Colour", _expected(assessment, "colour")),
    )


def allergens_of(assessment: Assessment) -> tuple[str, ...]:
    """Return the allergens that the plan's ingredients bring, in the order they go in."""
    plan, stock = assessment.record.plan, assessment.stock
    lists = [stock.malts[g.malt].allergens for g in plan.grist]
    lists += [stock.sugars[s.sugar].allergens for s in plan.sugars]
    lists += [
        stock.finings[f.fining].allergens for f in (*plan.boil.finings, *plan.ferment.finings)
    ]
    named = [str(allergen) for allergens in lists for allergen in allergens]
    if any(stock.salts[s.salt].is_ in SULFITES for s in plan.liquor.salts):
        named.append("sulfite")
    return tuple(dict.fromkeys(named))


_KINDS = (
    ("hydrometer", "Hydrometer", FIGURES["original_gravity"]),
    ("thermometer", "Thermometer", FIGURES["mash_temperature"]),
    ("ph_meter", "pH meter", FIGURES["mash_ph"]),
    ("volume_gauge", "Volume gauge", FIGURES["kettle_volume"]),
)
_STEP_KINDS = {
    "temperature_difference": "temperature",
    "volume": "volume",
    "ratio": "gravity_step",
    "mass": "small_mass",
    "pressure": "pressure",
}


def _instruments(assessment: Assessment) -> tuple[InstrumentLine, ...]:
    lines = []
    for _, title, figure in _KINDS:
        name, instrument = instrument_of(assessment, figure)
        if instrument is None:
            lines.append(InstrumentLine(title, "", "", ""))
            continue
        lines.append(
            InstrumentLine(
                title,
                name.replace("_", " "),
                uncertainty_text(assessment, figure),
                str(instrument.checked or ""),
            )
        )
    return tuple(lines)


def uncertainty_text(assessment: Assessment, figure: Figure) -> str:
    """Return the ±U (k = 2) of the instrument at hand for a figure, with its unit."""
    _, instrument = instrument_of(assessment, figure)
    if instrument is None:
        return BLANK
    units = sheet_units(assessment)
    u = instrument_uncertainty(instrument, None)
    decimals = {"gravity": 4, "ph": 2, "temperature": 1, "volume": 1, "pressure": 2}
    text = units.plus_minus(u, figure.kind, decimals.get(figure.kind, figure.decimals))
    unit = units.label(figure.kind)
    return f"{text}{NARROW}{unit}" if unit else text


def _before_heat(assessment: Assessment) -> Pause:
    blend = ", ".join(
        f"{part.share.value * 100:.0f}{NARROW}% {str(part.liquor).replace('_', ' ')}"
        for part in assessment.record.plan.liquor.blend
    )
    return Pause(
        "before heat",
        (
            "Valves shut, hoses tight, all clean",
            "Element covered, or burner in the open",
            f"Liquor drawn: {blend}",
            "Salts and acids in the right liquor",
            "Lots and allergens written down",
            "pH meter adjusted; instruments ready",
        ),
    )


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


LETTERS = 20
"""Letters of a name that fit beside the blank at 14 points; beside the clock at 18 as well."""


def _groups(assessment: Assessment, counter: Counter) -> tuple[WeighGroup, ...]:
    plan, stock = assessment.record.plan, assessment.stock
    units = sheet_units(assessment)
    malts: dict[str, object] = dict(stock.malts)
    sugars: dict[str, object] = dict(stock.sugars)
    grist = [
        _row(counter, name_of(malts, g.malt), "", mass_text(g.amount, units), str(g.lot or ""))
        for g in plan.grist
    ]
    grist += [
        _row(
            counter, name_of(sugars, s.sugar), str(s.to), mass_text(s.amount, units),
            str(s.lot or ""),
        )
        for s in plan.sugars
    ]
    salts: dict[str, object] = {}
    treatment = [
        _row(
            counter, name_of(salts, s.salt), _liquor_use(s.to), salt_text(s.amount),
            "",
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
    groups = [WeighGroup("Grist and sugar" if plan.sugars else "Grist", tuple(grist))]
    if treatment:
        groups.append(WeighGroup("Liquor treatment", tuple(treatment), above("treat")))
    kettle = _hop_rows(assessment, counter, units)
    if kettle:
        groups.append(WeighGroup("Hops and finings", tuple(kettle)))
    return tuple(groups)


def _liquor_use(to: str) -> str:
    return f"{to} liquor" if to in ("mash", "sparge") else to


def _hop_rows(assessment: Assessment, counter: Counter, units: Units) -> list[WeighRow]:
    plan, stock = assessment.record.plan, assessment.stock
    hops: dict[str, object] = dict(stock.hops)
    finings: dict[str, object] = dict(stock.finings)
    steeped = plan.boil.steep.hops if plan.boil.steep else ()
    rows = [
        _row(
            counter, name_of(hops, h.hop), _hop_use(h, index >= len(plan.boil.hops)),
            mass_text(h.amount, units, True), str(h.lot or ""),
        )
        for index, h in enumerate((*plan.boil.hops, *steeped))
    ]
    rows += [
        _row(
            counter, name_of(finings, f.fining),
            f"{f.time.value:.0f} min" if f.time else "kettle",
            mass_text(f.amount, units, True), "",
        )
        for f in plan.boil.finings
    ]
    return rows


def _hop_use(hop: HopItem, steeped: bool) -> str:
    if steeped:
        return "steep"
    return f"{_minutes(hop.time)} min"


def _minutes(time: Quantity | None) -> str:
    return f"{time.value:.0f}" if time is not None else "0"


def _todos(
    tables: Sequence[ActionTable], marks: Mapping[str, str], units: Units, *stages: Stage
) -> tuple[Todo, ...]:
    return tuple(
        todo_of(table, marks[table.figure], units)
        for table in tables
        if FIGURES[table.figure].stage in stages
    )


def gravity_lookup(assessment: Assessment, key: str) -> tuple[Lookup, ...]:
    """Return the hydrometer lookup beside one gravity; none when the corrections are unknown."""
    expected = assessment.planned.expected.get(key)
    figure = FIGURES[key]
    _, instrument = instrument_of(assessment, figure)
    if expected is None or instrument is None or instrument.reads != "hydrometer":
        return ()
    reference = instrument.reference_temperature
    lookup = hydrometer_lookup(
        expected.value,
        reference.value if reference else 20.0,
        instrument_uncertainty(instrument, None),
        sheet_units(assessment),
    )
    return (replace(lookup, serves=key),)


def _hot_lookup(assessment: Assessment, key: str) -> tuple[Lookup, ...]:
    expected = assessment.planned.expected.get(key)
    fine = fine_range(assessment, FIGURES[key])
    if expected is None or fine is None or not finite(fine):
        return ()
    return (replace(volume_lookup(fine, sheet_units(assessment)), serves=key),)


def _mash(
    assessment: Assessment,
    counter: Counter,
    marks: Mapping[str, str],
    tables: Sequence[ActionTable],
) -> Step:
    plan, units = assessment.record.plan, sheet_units(assessment)
    lines = []
    for number, rest in enumerate(plan.mash.rests):
        reached = "" if number == 0 else f" by {rest.by or 'infusion'}"
        if rest.liquor_temperature is not None:
            reached += f" with liquor of {_degrees(rest.liquor_temperature, units)}"
        lines.append(
            f"{'Rest' if number == 0 else 'Then'} {_degrees(rest.temperature, units)}{reached}, "
            f"{rest.time.value:.0f} min."
        )
    lines.append("Stir out every lump; read in three places.")
    return Step(
        "",
        "Mash",
        (" ".join(lines),),
        cautions=above("mash"),
        rows=rows_of(assessment, [Stage.LIQUOR, Stage.MASH], counter, marks),
        lookups=gravity_lookup(assessment, "first_wort_gravity"),
        todos=_todos(tables, marks, units, Stage.LIQUOR, Stage.MASH),
        blanks=(
            Blank("Mash in", "time"),
            Blank(f"+ {plan.mash.rests[0].time.value:.0f} min", "time"),
            _samples(units),
        ),
    )


def _degrees(quantity: Quantity, units: Units) -> str:
    return units.text(quantity.value, "temperature", 1 if units.system != "US" else 0)


_SPARGES = {
    "continuous": "Sparge as fast as it runs off, the grain just covered.",
    "batches": "Drain, fill, stir, settle, drain again",
    "none": "Drain. There is no sparge.",
    "bag": "Lift the bag and let it drain.",
}


def _degree(units: Units) -> str:
    return units.label("temperature")


def _samples(units: Units) -> Blank:
    """Return the blank for the temperature that the samples of a stage were read at."""
    return Blank("Samples at", "sample", _degree(units))


def _run_off(
    assessment: Assessment,
    counter: Counter,
    marks: Mapping[str, str],
    tables: Sequence[ActionTable],
) -> Step:
    plan, units = assessment.record.plan, sheet_units(assessment)
    how = _SPARGES[plan.run_off.sparge]
    if plan.run_off.sparge == "batches":
        count = int(plan.run_off.batches.value) if plan.run_off.batches else 1
        how = f"{how}: {count} sparge{'s' if count > 1 else ''} of equal volume."
    doing = f"Return the cloudy first wort. {how}"
    if "last_runnings_gravity" in assessment.planned.expected:
        doing += " Stop at the gravity below, even if short."
    return Step(
        "",
        "Run-off",
        (doing,),
        cautions=above("run_off"),
        rows=rows_of(assessment, [Stage.RUN_OFF], counter, marks),
        lookups=_hot_lookup(assessment, "kettle_volume"),
        todos=_todos(tables, marks, units, Stage.RUN_OFF),
        blanks=(
            Blank("First wort", "time"),
            _samples(units),
            Blank("Kettle at", "sample", _degree(units)),
        ),
    )


def _boil(
    assessment: Assessment,
    counter: Counter,
    marks: Mapping[str, str],
    tables: Sequence[ActionTable],
) -> Step:
    plan, units = assessment.record.plan, sheet_units(assessment)
    minutes = plan.boil.time.value
    rate = units.text(assessment.kit.kettle.evaporation.value, "evaporation", 1)
    return Step(
        "",
        "Boil",
        (f"Expected to lose {rate}.",),
        pause=Pause(
            "before the boil",
            (
                "Somebody stays; room left for foam",
                "Kettle volume and gravity written down",
                f"{minutes:.0f} min boil; hops weighed, in order",
                "Lid off, steam has a way out",
                "Cooler clean, connected, water on",
            ),
        ),
        cautions=above("boil"),
        additions=_additions(assessment, units),
        rows=rows_of(assessment, [Stage.BOIL], counter, marks),
        lookups=(
            *gravity_lookup(assessment, "cast_out_gravity"),
            *_hot_lookup(assessment, "cast_out_volume"),
        ),
        todos=_todos(tables, marks, units, Stage.BOIL),
        blanks=(
            Blank("Boil from", "time"),
            Blank(f"+ {minutes:.0f} min", "time"),
            _samples(units),
            Blank("Kettle at", "sample", _degree(units)),
        ),
    )


def _additions(assessment: Assessment, units: Units) -> tuple[Addition, ...]:
    """Return everything that goes into the kettle, in the order of the clock."""
    plan, stock = assessment.record.plan, assessment.stock
    hops: dict[str, object] = dict(stock.hops)
    finings: dict[str, object] = dict(stock.finings)
    sugars: dict[str, object] = dict(stock.sugars)
    boil = plan.boil.time.value
    timed: list[tuple[float, str, str]] = []
    for hop in plan.boil.hops:
        before = min(hop.time.value if hop.time else 0.0, boil)
        timed.append((boil - before, name_of(hops, hop.hop), dose_text(hop.amount, units)))
    for fining in plan.boil.finings:
        before = min(fining.time.value if fining.time else 0.0, boil)
        timed.append(
            (boil - before, name_of(finings, fining.fining), dose_text(fining.amount, units))
        )
    for sugar in plan.sugars:
        if sugar.to == "kettle":
            timed.append(
                (0.0, name_of(sugars, sugar.sugar), dose_text(sugar.amount, units, False))
            )
    for salt in plan.liquor.salts:
        if salt.to == "kettle":
            number, unit, _ = salt_text(salt.amount)
            timed.append((0.0, name_of({}, salt.salt), f"{number}{NARROW}{unit}"))
    timed.sort(key=lambda item: item[0])
    found = [
        Addition(sentence(what), amount, "", f"+ {after:.0f} min", len(what) > LETTERS)
        for after, what, amount in timed
    ]
    steep = plan.boil.steep
    if steep is not None:
        at = _degrees(steep.temperature, units)
        for hop in steep.hops:
            name = name_of(hops, hop.hop)
            found.append(
                Addition(
                    sentence(name),
                    dose_text(hop.amount, units),
                    f"steep at {at}, {steep.time.value:.0f} min",
                    f"at {at}",
                    len(name) > LETTERS,
                )
            )
    return tuple(found)


def _pitch(
    assessment: Assessment,
    counter: Counter,
    marks: Mapping[str, str],
    tables: Sequence[ActionTable],
) -> Step:
    plan, units = assessment.record.plan, sheet_units(assessment)
    yeast = assessment.stock.yeasts[plan.pitch.yeast]
    name = str(yeast.name or plan.pitch.yeast.replace("_", " "))
    origin = ""
    if plan.pitch.harvested_from is not None:
        origin = f", harvested from {plan.pitch.harvested_from}"
    if plan.pitch.generation is not None:
        origin += f", generation {plan.pitch.generation.value:.0f}"
    if plan.pitch.lot is not None:
        origin += f", lot {plan.pitch.lot}"
    if plan.pitch.amount is not None:
        origin += f", planned {dose_text(plan.pitch.amount, units, False)}"
    return Step(
        "",
        "Cool and pitch",
        (
            f"All that touches wort from here on is sanitary. Yeast: {name}{origin}.",
        ),
        rows=rows_of(assessment, [Stage.PITCH], counter, marks),
        lookups=gravity_lookup(assessment, "original_gravity"),
        todos=_todos(tables, marks, units, Stage.PITCH),
        blanks=(Blank("Yeast in", "time"), _samples(units)),
        pause=Pause(
            "before the yeast",
            (
                f"Wort at {_degrees(plan.cool.temperature, units)}, written down",
                "Fermenter clean, drained, tap shut",
                "Gravity and volume read, no yeast yet",
                f"Yeast is {name}; smells clean",
                "Wort aerated as planned",
            ),
        ),
    )
