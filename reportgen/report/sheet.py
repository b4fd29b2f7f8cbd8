"""The brew-day sheet: printed before the day, filled in with a pen beside the kettle.

It goes on where the weigh-out sheet ends: four sides, a stage of the work on each.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.assessment.readings import brix_scale, uncertainty_at
from reportgen.forecast.actions import BY_HAND, ActionTable
from reportgen.forecast.ferment import starting_gravity
from reportgen.forecast.figures import FIGURES, Figure, Stage
from reportgen.record.model.brewery import Instrument
from reportgen.record.model.plan import FiningItem, HopItem, SugarItem
from reportgen.record.printed import EMPTY, NARROW, Units, generation_words
from reportgen.record.units import Quantity
from reportgen.report.cautions import Caution
from reportgen.report.critical import limits_above
from reportgen.report.hazards import cautions_of
from reportgen.report.kettle_additions import KettleItem, dissolved_first, kettle_additions
from reportgen.report.parts import (
    Addition,
    Blank,
    HoldPoint,
    Identity,
    Lookup,
    ReadingRow,
    SheetStep,
    Signature,
    Todo,
)
from reportgen.report.plan_text import (
    dose_text,
    gallon_note,
    identity_of,
    instrument_of,
    mass_text,
    name_of,
    salt_units,
    sentence,
    sheet_units,
    shown,
    signed_by,
)
from reportgen.report.rows import LETTERS, STOP, Counter, applies, fine_range, finite, rows_of
from reportgen.report.shown import sample_offset, shown_todo, tables_of
from reportgen.report.tables import (
    hydrometer_lookup,
    marks_of,
    refractometer_lookup,
    volume_lookup,
)
from reportgen.report.weigh_out import weigh_groups
from reportgen.science.method import REFUSED
from reportgen.science.number import nominal

TITLE = "Brew-day sheet"

BEFORE = "Weigh-out done, cautions read, all ticked"
"""What must be so before this sheet is begun."""


class SheetView(Struct, frozen=True):
    """The brew-day sheet, ready to be set."""

    identity: Identity
    before: str
    steps: tuple[SheetStep, ...]
    signatures: tuple[Signature, ...]


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
    own = tables_of_day(assessment, tables)
    # Rows and stages are numbered in one run through the weigh-out and this sheet.
    counter = Counter()
    weigh_groups(assessment, counter)
    sheet = _Sheet(assessment, sheet_units(assessment), counter, marks_of(own), own)
    case, brewed_here = assessment.case, assessment.record.wort_from is None
    first = (_mash, _run_off) if case.is_mashed else (_dissolve,)
    steps = tuple(make(sheet) for make in ((*first, _boil, _pitch) if brewed_here else (_pitch,)))
    return SheetView(
        identity=identity_of(assessment, TITLE, paper, copy),
        before=BEFORE,
        steps=tuple(
            replace(step, number=str(n), call=str(assessment.brewery.call or ""))
            for n, step in enumerate(steps, 2)
        ),
        signatures=signed_by(
            assessment,
            Signature("Brewer", "entries made at the time"),
            Signature("Checker", "every blank filled or struck out"),
        ),
    )


def tables_of_day(
    assessment: Assessment, tables: Sequence[ActionTable] | None = None
) -> list[ActionTable]:
    """Return the what-to-do tables that stand on the sheet, in the order of their marks."""
    if tables is None:
        tables = tables_of(assessment, "brew_day")
    stages = BREW_STAGES if assessment.record.wort_from is None else (Stage.PITCH,)
    return [
        t for t in tables
        if FIGURES[t.figure].stage in stages and applies(FIGURES[t.figure], assessment)
    ]


BREW_STAGES = (Stage.LIQUOR, Stage.MASH, Stage.RUN_OFF, Stage.BOIL, Stage.PITCH)


class _Sheet(Struct, frozen=True):
    """What every stage of the sheet is made from; ``marks`` are those of the tables."""

    assessment: Assessment
    units: Units
    counter: Counter
    marks: Mapping[str, str]
    tables: Sequence[ActionTable]

    def rows(self, *stages: Stage) -> tuple[ReadingRow, ...]:
        """Return the rows of some stages, numbered on from those before."""
        return rows_of(self.assessment, stages, self.counter, self.marks)

    def todos(self, *stages: Stage) -> tuple[Todo, ...]:
        """Return what to do outside the range, of the readings of some stages."""
        return tuple(
            shown_todo(self.assessment, table, self.marks[table.figure], self.units, say=False)
            for table in self.tables
            if FIGURES[table.figure].stage in stages
        )

    def cautions(self, place: str, *stages: Stage) -> tuple[Caution, ...]:
        """Return what is to be minded at a place, and the critical limits of some stages."""
        limits = limits_above(self.assessment, self.units, "brew_day", *stages)
        return (*cautions_of(self.assessment, place), *limits)

    @property
    def samples(self) -> Blank:
        """The blank for the temperature that the samples of a stage were read at."""
        return Blank("Samples at", "sample", self.units.label("temperature"))

    @property
    def kettle_at(self) -> Blank:
        """The blank for the temperature of the kettle when its volume was read."""
        return Blank("Kettle at", "sample", self.units.label("temperature"))


def gravity_lookup(assessment: Assessment, key: str) -> tuple[Lookup, ...]:
    """Return the lookup of what reads one gravity; none when the corrections are unknown."""
    expected = assessment.planned.expected.get(key)
    figure = FIGURES[key]
    _, instrument = instrument_of(assessment, figure)
    if expected is None or instrument is None:
        return ()
    if instrument.reads == "refractometer":
        return _refractometer_lookup(assessment, figure, expected.value, instrument)
    reference = instrument.reference_temperature
    try:
        lookup = hydrometer_lookup(
            expected.value,
            reference.value if reference else 20.0,
            uncertainty_at(instrument, "gravity", expected.value),
            sheet_units(assessment),
            sample_offset(assessment),
        )
    except REFUSED:
        return ()
    return (replace(lookup, serves=key),)


def _refractometer_lookup(
    assessment: Assessment, figure: Figure, gravity: float, instrument: Instrument
) -> tuple[Lookup, ...]:
    """Return what a refractometer shows about a gravity; of beer, by the original one planned."""
    try:
        original = nominal(starting_gravity(assessment.planned)) if figure.has_alcohol else None
        gravity_at = brix_scale(instrument, original, assessment.record, assessment.brewery)
        lookup = refractometer_lookup(gravity, gravity_at)
    except REFUSED:
        return ()
    return (replace(lookup, serves=figure.key),)


def _hot_lookup(assessment: Assessment, key: str) -> tuple[Lookup, ...]:
    expected = assessment.planned.expected.get(key)
    fine = fine_range(assessment, FIGURES[key])
    if expected is None or fine is None or not finite(fine):
        return ()
    lookup = volume_lookup(
        fine, sheet_units(assessment), partial(shown, assessment, key), sample_offset(assessment)
    )
    if all(use == EMPTY for _, use in lookup.rows):
        # The gauge is too coarse for the limits: its row says so.
        return ()
    return (replace(lookup, serves=key),)


def _mash(sheet: _Sheet) -> SheetStep:
    assessment, plan, units = sheet.assessment, sheet.assessment.record.plan, sheet.units
    lines = []
    for number, rest in enumerate(plan.mash.rests):
        reached = "" if number == 0 else f" by {rest.reached_by or 'infusion'}"
        if rest.liquor_temperature is not None:
            reached += f" with liquor of {_degrees(assessment, rest.liquor_temperature, units)}"
        at = _degrees(assessment, rest.temperature, units)
        drawn = assessment.planned.decoctions.get(number)
        if drawn is not None:
            boiled = rest.decoction_boil
            reached += f" of {units.text(nominal(drawn), 'volume', 1)}"
            reached += f" {rest.decoction or 'thick'}"
            reached += f", boiled {boiled.value:.0f} min" if boiled is not None else ""
        lines.append(
            f"{'Rest' if number == 0 else 'Then'} {at}{reached}, "
            f"{rest.time.value:.0f} min."
        )
    lines.append("Stir well.")
    notes = (gallon_note(assessment), _acid_note(assessment))
    return SheetStep(
        "",
        "Mash",
        (" ".join(lines), *filter(None, notes)),
        cautions=sheet.cautions("mash", Stage.LIQUOR, Stage.MASH),
        rows=sheet.rows(Stage.LIQUOR, Stage.MASH),
        lookups=gravity_lookup(assessment, "first_wort_gravity"),
        todos=sheet.todos(Stage.LIQUOR, Stage.MASH),
        blanks=(
            Blank("Mash in", "time", place="brew_day.mash.started"),
            Blank(f"+ {plan.mash.rests[0].time.value:.0f} min", "time"),
            sheet.samples,
        ),
        remarks="brew_day.mash.remarks",
    )


def _acid_note(assessment: Assessment) -> str:
    """Say how well the mash pH is known before it is read, beside what the acid does to it."""
    planned = assessment.planned.expected
    ph, without = planned.get("mash_ph"), planned.get("mash_ph_without_acid")
    if ph is None or without is None or not applies(FIGURES["mash_ph"], assessment):
        return ""
    moved = without.value - ph.value
    return f"pH forecast ±{ph.uncertainty:.2f}; acid lowers it by {moved:.2f}."


def _degrees(
    assessment: Assessment, quantity: Quantity, units: Units, read: str = "mash_temperature"
) -> str:
    """Return a temperature of the plan as the thermometer at hand shows it."""
    value = shown(assessment, read, quantity.value)
    return units.text(value, "temperature", 1 if units.system != "US" else 0)


_SPARGES = {
    "continuous": "Sparge as fast as it runs off, the grain just covered.",
    "batch": "Drain, fill, stir, settle, drain again",
    "none": "Drain. There is no sparge.",
    "bag": "Hoist the bag over the kettle and let it drain.",
}


def _run_off(sheet: _Sheet) -> SheetStep:
    assessment, plan, units = sheet.assessment, sheet.assessment.record.plan, sheet.units
    how = _SPARGES[plan.run_off.sparge]
    if plan.run_off.sparge == "bag" and assessment.case.rinses:
        how = f"{how[:-1]}; rinse it{_rinsed(assessment, units)}, let it drain again."
    if plan.run_off.bag == "squeezed":
        how = f"{how[:-1]}, then squeeze it."
    if plan.run_off.sparge == "batch":
        count = int(plan.run_off.sparge_batches.value) if plan.run_off.sparge_batches else 1
        how = f"{how}: {count} sparge{'s' if count > 1 else ''}{_each(assessment, count, units)}."
    doing = how if plan.run_off.sparge == "bag" else f"Return the cloudy first wort. {how}"
    extract = " and ".join(
        f"{dose_text(item.amount, units, False)} {name_of(assessment.stock.sugars, item.sugar)}"
        for item in dissolved_first(plan, assessment.stock)
    )
    if extract:
        doing += f" Then, off the heat, stir in {extract}, before the kettle is read."
    rows = sheet.rows(Stage.RUN_OFF)
    stop = next((row.number for row in rows if row.expect_label == STOP), "")
    if stop:
        doing += f" Stop when the runnings reach the value in line {stop}, even if short."
    return SheetStep(
        "",
        "Run-off",
        (doing,),
        cautions=sheet.cautions("run_off", Stage.RUN_OFF),
        rows=rows,
        lookups=_hot_lookup(assessment, "kettle_volume"),
        todos=sheet.todos(Stage.RUN_OFF),
        blanks=(
            Blank("First wort", "time", place="brew_day.run_off.started"),
            sheet.samples,
            sheet.kettle_at,
        ),
        after=tuple(_drained(assessment, units)),
        remarks="brew_day.run_off.remarks",
    )


def _dissolve(sheet: _Sheet) -> SheetStep:
    """Return the step of a batch without a mash: liquor, and extract dissolved in it."""
    gallon = gallon_note(sheet.assessment)
    doing = "Heat the liquor. Off the heat, stir the extract in until none lies on the bottom."
    return SheetStep(
        "",
        "Liquor and extract",
        (doing, *([gallon] if gallon else [])),
        cautions=cautions_of(sheet.assessment, "mash"),
        rows=sheet.rows(Stage.LIQUOR, Stage.RUN_OFF),
        lookups=_hot_lookup(sheet.assessment, "kettle_volume"),
        todos=sheet.todos(Stage.LIQUOR, Stage.RUN_OFF),
        blanks=(sheet.samples, sheet.kettle_at),
        remarks="brew_day.run_off.remarks",
    )


def _rinsed(assessment: Assessment, units: Units) -> str:
    """Return with how much liquor a bag is rinsed."""
    sparge = assessment.planned.expected.get("sparge_liquor")
    if sparge is None:
        return ""
    return f" with {units.text(shown(assessment, 'sparge_liquor', sparge.value), 'volume', 1)}"


def _each(assessment: Assessment, count: int, units: Units) -> str:
    """Return how much liquor each of some sparges takes."""
    sparge = assessment.planned.expected.get("sparge_liquor")
    if sparge is None:
        return ""
    litres = shown(assessment, "sparge_liquor", sparge.value / count)
    kind = "jug_volume" if assessment.case.volume < BY_HAND else "volume"
    return f" of {units.text(litres, kind, 1)}" + (" each" if count > 1 else "")


def _drained(assessment: Assessment, units: Units) -> Iterator[Blank]:
    """Yield the blanks of each running of a mash that is drained but the last.

    What is in the kettle after it, and its gravity. That of the first is the first wort's, and
    after the last the kettle is full: these have rows.
    """
    runnings = assessment.planned.runnings
    total = 0.0
    for number, (litres, gravity) in enumerate(runnings[:-1], 1):
        total += nominal(litres)
        place = f"brew_day.run_off.runnings.{number}."
        unit = units.label("volume")
        decimals = 0 if units.converted(total, "volume") >= 100 else 1
        expected = units.number(total, "volume", decimals)
        words = f"Kettle after {number}" if number == 1 else f"{number}"
        yield Blank(f"{words}: {expected}{NARROW}{unit}", "sample", "", f"{place}volume")
        if number > 1:
            strength = units.text(nominal(gravity), "gravity", 3)
            named = f"SG {strength}" if strength[-1].isdigit() else strength
            yield Blank(named, "sample", "", f"{place}gravity")


def _boil(sheet: _Sheet) -> SheetStep:
    assessment, plan, units = sheet.assessment, sheet.assessment.record.plan, sheet.units
    minutes = plan.boil.time.value
    rate = units.text(assessment.kit.kettle.evaporation.value, "evaporation", 1)
    return SheetStep(
        "",
        "Boil",
        (f"Expected to lose {rate}.",),
        hold_point=HoldPoint(
            "before the boil",
            (
                "Somebody stays; room left for foam",
                "Kettle volume and gravity written down",
                f"{minutes:.0f} min boil; hops weighed, in order",
                "Lid off, steam has a way out",
                "Cooler clean, connected, water on",
            ),
        ),
        cautions=sheet.cautions("boil", Stage.BOIL),
        additions=_additions(assessment, units),
        rows=sheet.rows(Stage.BOIL),
        lookups=(
            *gravity_lookup(assessment, "cast_out_gravity"),
            *_hot_lookup(assessment, "cast_out_volume"),
        ),
        todos=sheet.todos(Stage.BOIL),
        blanks=(
            Blank("Boil from", "time", place="brew_day.boil.started"),
            sheet.samples,
            sheet.kettle_at,
        ),
        remarks="brew_day.boil.remarks",
    )


def _additions(assessment: Assessment, units: Units) -> tuple[Addition, ...]:
    """Return everything that goes into the kettle, in the order of the clock."""
    plan = assessment.record.plan
    boil = plan.boil.time.value
    additions = []
    for after, item in kettle_additions(plan, assessment.stock):
        name, amount = _named(assessment, item, units)
        at = f"+ {after:.0f} min"
        additions.append(Addition(sentence(name), amount, "", at, len(name) > LETTERS))
    additions.append(Addition(HEAT_OFF, "", "", f"+ {boil:.0f} min"))
    steep = plan.boil.hop_stand
    if steep is not None:
        at = _degrees(assessment, steep.temperature, units)
        minutes = f"{steep.time.value:.0f}{NARROW}min"
        for hop in steep.hops:
            name, amount = _named(assessment, hop, units)
            additions.append(
                Addition(
                    sentence(name), amount, f"stand {minutes}", f"at {at}", len(name) > LETTERS
                )
            )
        if steep.hops:
            additions[-1] = replace(additions[-1], until=f"cool + {minutes}")
        else:
            additions.append(Addition(HOP_STAND, "", "", f"at {at}", until=f"cool + {minutes}"))
    return tuple(additions)


def _named(assessment: Assessment, item: KettleItem, units: Units) -> tuple[str, str]:
    """Return name and amount of what goes into the kettle."""
    stock = assessment.stock
    if isinstance(item, HopItem):
        return name_of(stock.hops, item.hop), dose_text(item.amount, units)
    if isinstance(item, FiningItem):
        return name_of(stock.finings, item.fining), dose_text(item.amount, units)
    if isinstance(item, SugarItem):
        return name_of(stock.sugars, item.sugar), dose_text(item.amount, units, False)
    number, unit, _ = mass_text(item.amount, salt_units(item.amount, units), True)
    return name_of({}, item.salt), f"{number}{NARROW}{unit}"


HEAT_OFF, HOP_STAND = "Heat off", "Hop stand"


def _diluted(assessment: Assessment) -> tuple[str, ...]:
    """Return what is done where liquor goes to the wort in the fermenter."""
    if not nominal(assessment.case.dilution):
        return ()
    return ("Liquor to the wort: boiled and cooled. Rouse well, then read the gravity.",)


def _pitch(sheet: _Sheet) -> SheetStep:
    assessment, plan, units = sheet.assessment, sheet.assessment.record.plan, sheet.units
    yeast = assessment.stock.yeasts[plan.pitch.yeast]
    name = str(yeast.name or plan.pitch.yeast.replace("_", " "))
    origin = ""
    if plan.pitch.harvested_from is not None:
        origin = f" from batch {plan.pitch.harvested_from}"
    if plan.pitch.generation is not None:
        origin += f", {generation_words(plan.pitch.generation.value)}"
    if plan.pitch.lot is not None:
        origin += f", lot {plan.pitch.lot}"
    at = _degrees(assessment, plan.cool.pitch_temperature, units, "pitch_temperature")
    return SheetStep(
        "",
        "Cool and pitch",
        (f"Sanitise all. Yeast: {name}{origin}.", *_diluted(assessment)),
        cautions=sheet.cautions("cool", Stage.PITCH),
        rows=sheet.rows(Stage.PITCH),
        lookups=gravity_lookup(assessment, "original_gravity"),
        todos=sheet.todos(Stage.PITCH),
        blanks=(Blank("Yeast in", "time", place="brew_day.pitch.at"), sheet.samples),
        hold_point=HoldPoint(
            "before the yeast",
            (
                f"Wort at {at}, written down",
                "Fermenter clean, drained, tap shut",
                "Gravity and volume read, no yeast yet",
                f"Yeast is {name}; smells clean",
                "Wort aerated as planned",
            ),
        ),
        remarks="brew_day.pitch.remarks",
    )
