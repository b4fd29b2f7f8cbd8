"""``brew_day``: what was weighed, read and done on the day."""

from __future__ import annotations

from typing import Any

from reportgen.record.fields import Entry, may, model, need
from reportgen.record.units import Quantity
from reportgen.record.values import Clock, Day, Initials, Reading, Text, When


@model
class Weighed(Entry):
    """Weighed out"""

    item: Text = need("Item", "Its name in stock.yaml.", ["pale"], names="items")
    amount: Reading = need("Amount", "As weighed or measured.", ["7.20 kg"], kind="amount")
    lot: Text | None = may("Lot", "Lot on the package.", ["M-114"])
    at: Clock | None = may("At", "Time.", ["08:40"])
    by: Initials | None = may("By", "Initials.", ["RB"])
    checked_by: Initials | None = may("Checked by", "Initials of who watched the scale.", ["TM"])
    added_at: Clock | None = may(
        "Added at",
        "When it went into the kettle, where that was not at its planned time; its boil then "
        "counts from there.",
        ["12:35"],
    )


@model
class Added(Entry):
    """Addition that the plan does not have, or not there, or not then"""

    what: Text = need(
        "What",
        "Its name in stock.yaml, or a liquor of brewery.yaml.",
        ["reservoir"],
        names="addable",
    )
    amount: Reading = need("Amount", "As weighed or measured.", ["2.4 L"], kind="amount")
    to: Text = need(
        "To",
        "Where it went.",
        ["fermenter"],
        choices=("mash", "sparge", "kettle", "fermenter", "container"),
    )
    temperature: Quantity | None = may(
        "Temperature", "Of a liquor; 20 degC if not given.", ["98 C"], kind="temperature"
    )
    lot: Text | None = may("Lot", "Lot on the package.", ["M-114"])
    at: When | None = may(
        "At", "Time; with the day where that is not the brew day.", ["14:50", "2026-03-17 18:00"]
    )
    by: Initials | None = may("By", "Initials.", ["RB"])
    because: Text | None = may(
        "Because", "Why, or the table of the sheet that called for it.", ["T3"]
    )


@model
class Taken(Entry):
    """What was taken out: spilt, drawn off, kept for a starter"""

    amount: Reading = need("Amount", "Volume, at 20 degC.", ["1.5 L"], kind="volume")
    from_: Text = need(
        "From",
        "Where it came from.",
        ["kettle"],
        choices=("mash", "kettle", "fermenter", "container"),
    )
    what: Text | None = may("What", "What it was, in the brewer's words.", ["wort"])
    at: When | None = may(
        "At", "Time; with the day where that is not the brew day.", ["12:10", "2026-03-17 18:00"]
    )
    by: Initials | None = may("By", "Initials.", ["RB"])
    because: Text | None = may("Because", "Why.", ["starter"])


def _named(title: str, example: str) -> Any:
    return may(title, "Its name in brewery.yaml.", [example], names="instruments")


@model
class Instruments(Entry):
    """Instruments of the day; a reading may name another"""

    hydrometer: Text | None = _named("Hydrometer", "hydrometer_1")
    refractometer: Text | None = _named("Refractometer", "refractometer_1")
    thermometer: Text | None = _named("Thermometer", "thermometer_1")
    ph_meter: Text | None = _named("pH meter", "ph_meter_1")
    volume_gauge: Text | None = _named("Volume gauge", "dipstick")
    scale: Text | None = _named("Scale", "floor_scale")
    pressure_gauge: Text | None = _named("Pressure gauge", "gauge_1")


@model
class MashDay(Entry):
    """Mash, as it went"""

    started: Clock | None = may("Started", "Liquor and grist together.", ["09:10"])
    mash_liquor: Reading | None = may(
        "Mash liquor", "As measured, with its temperature.", ["20 L"], kind="volume"
    )
    malt_temperature: Reading | None = may(
        "Malt temperature",
        "Of the grist.",
        ["16.5 C"],
        kind="temperature",
        usual=("-20 C", "45 C"),
    )
    strike_temperature: Reading | None = may(
        "Strike temperature",
        "Of the liquor just before the grist goes in.",
        ["72.1 C"],
        kind="temperature",
        usual=("30 C", "100 C"),
    )
    mash_temperature: Reading | None = may(
        "Mash temperature",
        "Of the mixed mash, at the first rest.",
        ["65.8 C"],
        kind="temperature",
        usual=("30 C", "85 C"),
    )
    mash_ph: Reading | None = may(
        "Mash pH",
        "With the temperature of the sample.",
        ["5.42"],
        kind="ph",
        usual=("4.5", "6.8"),
    )
    mash_end_temperature: Reading | None = may(
        "Mash temperature at the end",
        "Of the first rest.",
        ["64.9 C"],
        kind="temperature",
        usual=("30 C", "85 C"),
    )
    first_wort_gravity: Reading | None = may(
        "First wort gravity",
        "Undiluted, well mixed, before the sparge.",
        ["1.074"],
        kind="gravity",
        usual=("1.005", "1.180"),
    )
    remarks: Text | None = may(
        "Remarks", "Anything else, in Markdown.", ["Dry lumps, stirred out."]
    )


@model
class Running(Entry):
    """Runnings: one sample of what is drawn"""

    volume: Reading | None = may(
        "Volume", "Collected in the kettle so far, at 20 degC.", ["18 L"], kind="volume"
    )
    gravity: Reading | None = may(
        "Gravity",
        "Of the sample.",
        ["1.032"],
        kind="gravity",
        usual=("0.998", "1.180"),
    )
    ph: Reading | None = may(
        "pH", "Of the cooled sample.", ["5.7"], kind="ph", usual=("4.5", "7.5")
    )
    at: Clock | None = may("At", "Time.", ["10:50"])


@model
class RunOffDay(Entry):
    """Run-off, as it went"""

    started: Clock | None = may("Started", "First wort drawn.", ["10:20"])
    sparge_liquor: Reading | None = may(
        "Sparge liquor", "What was used, at 20 degC.", ["26 L"], kind="volume"
    )
    sparge_temperature: Reading | None = may(
        "Sparge temperature",
        "Of the sparge liquor.",
        ["75.8 C"],
        kind="temperature",
        usual=("5 C", "100 C"),
    )
    sparge_ph: Reading | None = may(
        "Sparge pH",
        "Of a cooled sample of the sparge liquor, with its acid just stirred in.",
        ["5.6"],
        kind="ph",
        usual=("3.5", "8.5"),
    )
    runnings: tuple[Running, ...] = may("Runnings", "Samples in order.", [], [])
    last_runnings_gravity: Reading | None = may(
        "Last runnings gravity",
        "When the run-off was stopped.",
        ["1.009"],
        kind="gravity",
        usual=("0.998", "1.180"),
    )
    top_up_liquor: Reading | None = may(
        "Top-up liquor", "Liquor put straight into the kettle.", ["3 L"], kind="volume"
    )
    kettle_volume: Reading | None = may(
        "Kettle volume",
        "Before the boil; with its temperature if read hot.",
        ["46 L"],
        kind="volume",
    )
    kettle_gravity: Reading | None = may(
        "Kettle gravity",
        "Before the boil, well mixed.",
        ["1.038"],
        kind="gravity",
        usual=("1.000", "1.180"),
    )
    remarks: Text | None = may("Remarks", "Anything else, in Markdown.", ["Ran slow at 11:00."])


@model
class BoilDay(Entry):
    """Boil, as it went"""

    started: When | None = may(
        "Started", "Rolling boil; with the day where that is not the brew day, as of wort soured "
        "in the kettle.", ["11:50", "2026-03-16 09:30"]
    )
    ended: When | None = may(
        "Ended", "Heat off; likewise.", ["12:50", "2026-03-16 10:30"]
    )
    paused: Quantity | None = may(
        "Paused",
        "How long it did not boil between the two: power gone, gas out, foam. It counts as no "
        "boil, but hops that lay in the hot wort went on giving.",
        ["20 min"], kind="time", usual=("1 min", "3 d"),
    )
    hop_stand_temperature: Reading | None = may(
        "Hop stand temperature",
        "Of the wort while the hops stood.",
        ["80 C"],
        kind="temperature",
    )
    hop_stand_ended: When | None = may(
        "Hop stand ended", "When cooling began after the hop stand.", ["13:10"]
    )
    below_60_at: When | None = may(
        "Below 60 degC at", "When the wort had cooled below 60 degC.", ["13:25"]
    )
    cast_out_volume: Reading | None = may(
        "Cast-out volume",
        "In the kettle at the end of the boil; with its temperature, as it is read hot.",
        ["42 L"],
        kind="volume",
    )
    cast_out_gravity: Reading | None = may(
        "Cast-out gravity",
        "Of a cooled sample.",
        ["1.043"],
        kind="gravity",
        usual=("1.000", "1.200"),
    )
    remarks: Text | None = may("Remarks", "Anything else, in Markdown.", ["Boil-over at 11:55."])


@model
class PitchDay(Entry):
    """Cooling and pitching, as it went"""

    dilution_liquor: Reading | None = may(
        "Dilution liquor", "Liquor put into the fermenter, to the wort.", ["10 L"], kind="volume"
    )
    fermenter_volume: Reading | None = may(
        "Fermenter volume", "Before the yeast, with all liquor in it.", ["40 L"], kind="volume"
    )
    original_gravity: Reading | None = may(
        "Original gravity",
        "In the fermenter, well mixed, before the yeast and before any sugar that goes in there.",
        ["1.043"],
        kind="gravity",
        usual=("1.005", "1.180"),
    )
    pitch_temperature: Reading | None = may(
        "Pitch temperature",
        "Of the wort as the yeast goes in.",
        ["18.5 C"],
        kind="temperature",
        usual=("2 C", "45 C"),
    )
    wort_ph: Reading | None = may(
        "Wort pH",
        "Of the cooled wort.",
        ["5.15"],
        kind="ph",
        usual=("3.0", "6.3"),
    )
    yeast_amount: Reading | None = may(
        "Yeast amount", "Slurry (volume) or dry yeast (weight).", ["0.4 L"], kind="amount"
    )
    viable_cells: Reading | None = may(
        "Viable cells",
        "Viable cells pitched, if counted, in billion.",
        ["330 billion"],
        kind="cells",
    )
    at: When | None = may(
        "At", "Time; with the day where that is not the brew day.", ["13:50", "2026-03-15 09:30"]
    )
    lot: Text | None = may("Lot", "Lot of the yeast, when new.", ["Y-9"])
    remarks: Text | None = may("Remarks", "Anything else, in Markdown.", ["Aerated 10 min."])


@model
class BrewDay(Entry):
    """Brew day"""

    date: Day = need("Date", "Day of brewing.", ["2026-03-14"])
    brewers: tuple[Initials, ...] = may("Brewers", "Initials.", [["RB", "TM"]], [])
    typed_by: Initials | None = may("Typed by", "Who typed this from the sheet.", ["RB"])
    checked_by: Initials | None = may("Checked by", "Who compared it with the sheet.", ["TM"])
    instruments: Instruments | None = may(
        "Instruments", "Instruments used, unless stated otherwise.", []
    )
    weighed: tuple[Weighed, ...] = may("Weighed", "What was weighed out.", [], [])
    added: tuple[Added, ...] = may(
        "Added", "What went in that the plan does not have, or not there, or not then.", [], []
    )
    taken: tuple[Taken, ...] = may("Taken", "What was taken out.", [], [])
    mash: MashDay | None = may("Mash", "The mash.", [])
    run_off: RunOffDay | None = may("Run-off", "The run-off.", [])
    boil: BoilDay | None = may("Boil", "The boil.", [])
    pitch: PitchDay | None = may("Pitch", "Cooling and pitching.", [])
    liquor_note: Text | None = may(
        "Liquor note", "What was done to the liquor beyond the plan.", ["Borehole was cloudy."]
    )
    remarks: Text | None = may("Remarks", "Anything else, in Markdown.", ["Hot day, 31 C outside."])
    rinse_ph: Quantity | None = may(
        "Rinse pH", "pH of the last rinse of the cleaned fermenter.", ["7.0"], kind="ph"
    )
