"""``brewery.yaml``: the house, its kit, instruments, liquors and tolerances."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

from reportgen.record.fields import Entry, dated, may, model, need
from reportgen.record.units import Quantity
from reportgen.record.values import Day, Text


def stated_gallon(*stated: str | None) -> str | None:
    """Return the first that names a gallon, of ``gallon`` and ``units`` as typed; None for none."""
    return next((str(word) for word in stated if word in ("US", "imperial")), None)


@model
class MashTun(Entry):
    """Mash tun"""

    volume: Quantity = need(
        "Volume to the brim",
        "Total inside volume of the mash tun; the mash must fit below it.",
        ["35 L", "9 US gal"],
        kind="volume",
        positive=True,
        usual=("1 L", "3000 L"),
    )
    heat_capacity: Quantity | None = may(
        "Heat capacity",
        "Heat the empty tun takes up for one degree. Zero when the tun is warmed with the liquor "
        "in it; about 0.5 kJ/K for each kg of stainless steel.",
        ["6 kJ/K"],
        kind="heat_capacity",
        usual=("0 kJ/K", "500 kJ/K"),
    )
    dead_space: Quantity | None = may(
        "Dead space",
        "Wort that stays below the outlet when the tun has drained.",
        ["0.5 L"],
        kind="volume",
    )
    heat_loss: Quantity | None = may(
        "Heat loss",
        "Fall of the mash temperature in one hour, in kelvin (write 1.0 K) when nothing heats it.",
        ["1.0 K"],
        kind="temperature_difference",
        bounds=(0, 30),
        usual=("0 K", "20 K"),
    )


@model
class Kettle(Entry):
    """Kettle"""

    volume: Quantity = need(
        "Volume to the brim",
        "Total inside volume of the kettle; kettle full must leave room for foam.",
        ["60 L"],
        kind="volume",
        positive=True,
        usual=("1 L", "3000 L"),
    )
    evaporation: Quantity = need(
        "Evaporation",
        "Water boiled off in one hour at the usual boil, as volume at 20 degC.",
        ["4.5 L/h"],
        kind="evaporation",
        bounds=(0, 1000),
        usual=("0.1 L/h", "150 L/h"),
    )
    loss: Quantity | None = may(
        "Loss",
        "Wort left behind with hops and break at cast-out, as volume at 20 degC.",
        ["2 L"],
        kind="volume",
    )
    power: Quantity | None = may(
        "Heater power",
        "Power of the heater or burner that reaches the wort.",
        ["5.5 kW"],
        kind="power",
        bounds=(0, 500),
        usual=("0.2 kW", "500 kW"),
    )
    heated_by: Text | None = may(
        "Heated by",
        "What heats it: a flame of any fuel, an electric element or plate, or steam. The sheets "
        "caution about that; left out, about flame and electricity.",
        ["element"],
        choices=("element", "flame", "steam"),
    )


@model
class Fermenter(Entry):
    """Fermenter"""

    volume: Quantity = need(
        "Volume to the brim",
        "Total inside volume of the fermenter; wort must leave room for kräusen.",
        ["50 L"],
        kind="volume",
        positive=True,
        usual=("1 L", "3000 L"),
    )
    loss: Quantity | None = may(
        "Loss",
        "Beer left behind with the yeast when the beer is racked or packed.",
        ["1.5 L"],
        kind="volume",
    )
    pressure_rating: Quantity | None = may(
        "Pressure rating",
        "Highest gauge pressure the maker rates the fermenter for; it is asked of a fermenter that "
        "ferments under pressure. Not a permission: the plate on the vessel and local law come "
        "first.",
        ["1.0 bar"],
        kind="pressure",
        positive=True,
    )


@dated
@model
class Container(Entry):
    """Container: a size and make of keg, cask or bottle, rated by its maker"""

    is_: Text = need(
        "Is", "What kind it is.", ["keg"], choices=("keg", "bottle", "cask")
    )
    description: Text | None = may("Description", "What it is.", ["stainless, two posts"])
    volume: Quantity | None = may(
        "Volume", "Of one.", ["19 L", "0.5 L"], kind="volume", positive=True,
        usual=("0.1 L", "600 L"),
    )
    number: Quantity | None = may(
        "Number", "How many there are.", ["4"], kind="count", positive=True, whole=True
    )
    pressure_rating: Quantity | None = may(
        "Pressure limit",
        "Highest gauge pressure the maker rates it for. Leave it out if it is unknown: the sheet "
        "then has a blank for what the plate says. Not a permission: the plate on the vessel and "
        "local law come first.",
        ["4.0 bar", "60 psi"],
        kind="pressure",
        positive=True,
    )


@dated
@model
class Kit(Entry):
    """Kit: vessels with their volumes, losses, heat and evaporation"""

    description: Text | None = may(
        "Description", "What the kit is.", ["Three vessels, 40 L, electric"]
    )
    mash_tun: MashTun | None = may(
        "Mash tun",
        "The vessel that holds the mash; left out, grain is mashed or steeped in the kettle.",
        [],
    )
    kettle: Kettle = need("Kettle", "The vessel that boils.", [])
    fermenter: Fermenter = need("Fermenter", "The vessel that ferments.", [])
    conversion: Quantity | None = may(
        "Conversion",
        "Share of the malt's extract that the mash brings into solution.",
        ["95 %"],
        kind="fraction",
        bounds=(0.3, 1),
        usual=("70 %", "100 %"),
    )
    conversion_uncertainty: Quantity | None = may(
        "Uncertainty of the conversion",
        "Half-width (k = 2) within which the conversion of this kit usually lies.",
        ["3 %"],
        kind="fraction",
        bounds=(0, 0.3),
        usual=("0.1 %", "30 %"),
    )
    grain_absorption: Quantity | None = may(
        "Grain absorption",
        "Liquor in minus wort out, for each kg of grist after draining. Not the wort held up in "
        "the grain, which is about 0.5 L/kg more.",
        ["0.85 L/kg"],
        kind="specific_volume",
        bounds=(0.2, 3),
        usual=("0.2 L/kg", "2.5 L/kg"),
    )
    tanks_in_series: Quantity | None = may(
        "Tanks in series",
        "How evenly a continuous sparge displaces wort: 1 is fully mixed, 10 close to a plug. "
        "Fitted from logged runnings; 1 until then, since small beds channel.",
        ["1"],
        kind="count",
        positive=True,
        bounds=(0.5, 100),
        usual=("1", "50"),
    )
    cooling_time: Quantity | None = may(
        "Cooling time",
        "Usual time from the end of the boil, or of the steep, until the wort is below 60 degC.",
        ["15 min"],
        kind="time",
        bounds=(0, 4320),
        usual=("1 min", "24 h"),
    )

    @property
    def tun(self) -> MashTun:
        """The vessel that is mashed in: the kettle where there is no tun."""
        if self.mash_tun is not None:
            return self.mash_tun
        return cast(Any, MashTun)(volume=self.kettle.volume)  # type: ignore[no-any-return]


@model
class CheckPoint(Entry):
    """Point of a check: what was true, and what the instrument showed"""

    at: Quantity = need(
        "At", "The true value: of a reference, a buffer or a weight.",
        ["1.050", "80 C", "20 L"], kind="limit",
    )
    reads: Quantity = need(
        "Reads", "What the instrument showed there.", ["1.053", "81.2 C", "20.5 L"], kind="limit",
    )


@model
class InstrumentCheck(Entry):
    """Check of an instrument; it holds for the batches brewed from its day on, until the next"""

    on: Day = need("On", "Day of the check or adjustment.", ["2026-02-01"])
    reads_high_by: Quantity | None = may(
        "Reads high by",
        "What the instrument shows less what is true, in its unit; negative when it shows too "
        "little. It is taken off every reading of the batches that the check holds for, and the "
        "sheets print what the instrument shows. Left out, or 0 once it has been adjusted, "
        "readings are used as they are.",
        ["0.4 K", "-0.001"],
        kind="offset",
    )
    points: tuple[CheckPoint, ...] = may(
        "Points",
        "Two points or more, instead of `reads_high_by`, where the instrument errs by another "
        "amount at each value. Between them the error goes in a straight line; beyond the first "
        "and the last it stays as there.",
        [[{"at": "1.000", "reads": "1.002"}, {"at": "1.050", "reads": "1.053"}]],
        [],
    )
    found_high_by: Quantity | None = may(
        "Found high by",
        "What the instrument showed too much before this check adjusted it, where it was "
        "adjusted; else `reads_high_by` says it. Batches read since the last good check are in "
        "doubt when it is more than U.",
        ["1.3 K", "-0.002"],
        kind="offset",
    )
    uncertainty: Quantity | None = may(
        "Uncertainty",
        "±U (k = 2) by this check; that of the instrument if not given.",
        ["0.4 K"],
        kind="resolution",
        positive=True,
    )
    note: Text | None = may("Note", "How it was checked and what was found.", ["ice water 0.4 C"])


@dated
@model
class Instrument(Entry):
    """Instrument: what reads, its resolution, its uncertainty and its last check"""

    reads: Text = need(
        "What it reads",
        "The kind of instrument.",
        ["hydrometer", "thermometer"],
        choices=(
            "hydrometer",
            "refractometer",
            "thermometer",
            "ph_meter",
            "volume_gauge",
            "scale",
            "pressure_gauge",
        ),
    )
    description: Text | None = may("Description", "What it is.", ["glass, 1.000 to 1.060"])
    resolution: Quantity = need(
        "Resolution",
        "Smallest step that can be read, in the unit of the instrument.",
        ["0.001", "0.5 K", "0.02", "0.5 L", "10 g"],
        kind="resolution",
    )
    uncertainty: Quantity | None = may(
        "Uncertainty",
        "±U (k = 2) as last checked, in the unit of the instrument. Without it the resolution "
        "alone counts.",
        ["0.001", "0.5 K"],
        kind="resolution",
        positive=True,
    )
    reference_temperature: Quantity | None = may(
        "Reference temperature",
        "The temperature at which a hydrometer reads true; on its stem.",
        ["20 C", "60 F"],
        kind="temperature",
    )
    corrects_temperature: Text | None = may(
        "Corrects for temperature",
        "Whether a refractometer or pH meter corrects for the sample's temperature by itself.",
        ["yes"],
        choices=("yes", "no"),
    )
    wort_factor: Quantity | None = may(
        "Wort factor",
        "Brix reading of wort divided by its extract in degrees Plato, for a refractometer.",
        ["1.04"],
        kind="ratio",
        positive=True,
        bounds=(0.9, 1.2),
        usual=("0.9", "1.15"),
    )
    checked: Day | None = may(
        "Last checked",
        "Day of the last check or adjustment; where earlier batches are to keep theirs, write "
        "`checks` instead.",
        ["2026-02-01"],
    )
    checks: tuple[InstrumentCheck, ...] = may(
        "Checks",
        "Every check, each with its day. A batch goes by the latest one on or before its brew "
        "day, one not brewed yet by the latest of all.",
        [],
        [],
    )
    check_note: Text | None = may(
        "Check note", "How it was checked and what was found.", ["ice water 0.1 C"]
    )


def ion(
    declare: Callable[..., Any], title: str, about: str, example: str, most: str,
    highest: float | None = None,
) -> Any:
    """Declare an ion of a liquor, or one that is aimed at: usually up to ``most``, never above
    ``highest``, mg/L."""
    bounds = (0, highest) if highest is not None else None
    return declare(
        title, about, [example], kind="concentration", bounds=bounds, usual=("0 mg/L", most)
    )


@dated
@model
class Liquor(Entry):
    """Liquor: an analysis of brewing water"""

    description: Text | None = may("Description", "Where the water comes from.", ["town reservoir"])
    analysed: Day | None = may("Analysed", "Day of the analysis.", ["2026-01-20"])
    report: Text | None = may("Report", "Laboratory report this was taken from.", ["AWL-26-0113"])
    calcium: Quantity = ion(need, "Calcium", "Ca, mg/L.", "18 mg/L", "1000 mg/L", 3000)
    magnesium: Quantity = ion(need, "Magnesium", "Mg, mg/L.", "3 mg/L", "500 mg/L", 3000)
    sodium: Quantity = ion(need, "Sodium", "Na, mg/L.", "9 mg/L", "1000 mg/L", 12000)
    potassium: Quantity | None = ion(may, "Potassium", "K, mg/L.", "1 mg/L", "300 mg/L", 2000)
    chloride: Quantity = ion(need, "Chloride", "Cl, mg/L.", "14 mg/L", "1500 mg/L", 20000)
    sulfate: Quantity = ion(need, "Sulfate", "SO4, mg/L.", "16 mg/L", "2000 mg/L", 5000)
    nitrate: Quantity | None = ion(
        may, "Nitrate", "NO3 (not as N), mg/L.", "4 mg/L", "300 mg/L", 1000
    )
    bicarbonate: Quantity | None = ion(
        may, "Bicarbonate", "HCO3, mg/L. Give this or alkalinity.",
        "45 mg/L", "1200 mg/L", 5000,
    )
    alkalinity: Quantity | None = ion(
        may, "Alkalinity", "Total alkalinity in mg/L as CaCO3. Give this or bicarbonate.",
        "37 mg/L", "1000 mg/L", 5000,
    )
    ph: Quantity | None = may(
        "pH", "pH of the liquor at 20 to 25 degC.", ["7.6"], kind="ph",
        bounds=(2, 12),
        usual=("5", "11"),
    )
    chlorine: Quantity | None = ion(
        may, "Chlorine", "Free chlorine, as Cl2, mg/L.",
        "0.4 mg/L", "5 mg/L", 20,
    )
    chloramine: Quantity | None = ion(
        may, "Chloramine",
        "Chloramine (combined chlorine), as Cl2, mg/L; total less free chlorine.",
        "2 mg/L", "5 mg/L", 20,
    )


@model
class Methods(Entry):
    """Methods: which published model is used where brewers differ"""

    mash_ph: Text | None = may(
        "Mash pH",
        "Model of the mash pH. charge_balance: malts, liquor, salts and acids each give up or take "
        "up charge until it balances. wort_slope: a slope on residual alkalinity, measured on "
        "cast-out wort.",
        ["charge_balance"],
        choices=("charge_balance", "wort_slope"),
    )
    bitterness: Text | None = may(
        "Bitterness",
        "Model of the hop utilisation. time_and_gravity: fitted to brews, by the time of the boil "
        "and the gravity of the wort. isomerisation: the measured rates, integrated over boil, "
        "steep and cooling, times a share left in the beer.",
        ["time_and_gravity"],
        choices=("time_and_gravity", "isomerisation"),
    )
    hop_stand: Text | None = may(
        "Hop stand",
        "Model of the utilisation of hops that are only held below the boil. Left out, it is "
        "that of the boil, so that one set of losses applies to the whole beer. time_and_gravity: "
        "a boil that isomerises as much. isomerisation: the rates, integrated.",
        ["isomerisation"],
        choices=("time_and_gravity", "isomerisation"),
    )
    refractometer: Text | None = may(
        "Refractometer",
        "Model of the gravity that a refractometer reading of fermenting wort stands for. "
        "refraction: from the refraction of sugar and of alcohol, for all strengths. lager_line: a "
        "straight line measured in a lager brewery at 11.5 degP.",
        ["refraction"],
        choices=("refraction", "lager_line"),
    )
    alcohol: Text | None = may(
        "Alcohol",
        "Model of the alcohol made. fermentation_balance: extract gives alcohol, carbon dioxide "
        "and yeast in fixed shares. measured_brews: a fit to 532 analysed beers of 9 to 18 degP. "
        "densities: from the densities of sugar and of spirit, for strong beers too. duty_table: "
        "the table of the United Kingdom's duty office.",
        ["fermentation_balance"],
        choices=("fermentation_balance", "measured_brews", "densities", "duty_table"),
    )
    colour: Text | None = may(
        "Colour",
        "Model of the wort colour. additive: the sum of what the malts bring, as light absorption "
        "adds up. power_law: a curve that gives less for dark worts, for aims set by it.",
        ["additive"],
        choices=("additive", "power_law"),
    )
    bitterness_factor: Quantity | None = may(
        "Bitterness factor",
        "The brewery's own factor on computed bitterness, from measured beers.",
        ["0.92"],
        kind="ratio",
        bounds=(0.2, 3),
        usual=("0.3", "3"),
    )


@dated
@model
class HouseMethods(Methods):
    """Methods of the brewery: which published model is used where brewers differ"""


@model
class Brewery(Entry):
    """The brewery: house, kit, instruments, liquors, tolerances"""

    format: Text = need("Format", "Version of this file's format.", ["1"], choices=("1",))
    name: Text = need("Name", "Name of the brewery, printed on every document.", ["Millrace Yard"])
    place: Text | None = may("Place", "Where it is.", ["Aldermoss"])
    language: Text | None = may(
        "Language",
        "Language tag of the documents, for screen readers.",
        ["en"],
        pattern=r"^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$",
        shape="a language tag such as en or en-GB",
    )
    paper: Text | None = may(
        "Paper", "Paper the documents are set for.", ["A4"], choices=("A4", "Letter")
    )
    units: Text | None = may(
        "Units",
        "Units the documents are printed in; a record may be written in any.",
        ["metric"],
        choices=("metric", "US", "imperial"),
    )
    gallon: Text | None = may(
        "Gallon",
        "What a bare `gal`, `qt` or `pt` means in these files, if not the one of `units`.",
        ["US"],
        choices=("US", "imperial"),
    )
    currency: Text | None = may(
        "Currency", "What prices in stock.yaml are in.", ["EUR"],
        pattern=r"^[A-Z]{3}$", shape="three capitals, as in ISO 4217, e.g. EUR",
    )
    altitude: Quantity | None = may(
        "Altitude",
        "Height above the sea. It lowers the boiling point, and the gas that beer keeps at a gauge "
        "pressure.",
        ["85 m"], kind="length", usual=("-450 m", "4500 m"),
    )
    air_pressure: Quantity | None = may(
        "Air pressure",
        "Mean pressure of the air at the place itself, absolute; in place of that of the altitude. "
        "Not the pressure at sea level that weather services give.",
        ["972 hPa"], kind="pressure", positive=True, bounds=(0.45, 1.09),
    )
    people: dict[str, Text] = may(
        "People", "Initials and their names.", [{"RB": "R. Beck"}], {}
    )
    call: Text | None = may(
        "Call",
        "Whom a brewer who is alone can call, and how; it stands below the what-to-do tables of "
        "the sheets.",
        ["R. Beck, 555 0142"],
    )
    flavours: dict[str, Text] = may(
        "Flavours",
        "Words of your own that a tasting scores beside those of the published terminology, each "
        "with what it reminds of.",
        [{"mineral": "wet stone"}],
        {},
    )
    methods: HouseMethods | None = may(
        "Methods",
        "Models chosen by the brewery. The first of each list is the default; the manual's page of "
        "the topic says why.",
        [],
    )
    kits: dict[str, Kit] = need("Kits", "Each kit by its name.", [])
    instruments: dict[str, Instrument] = need("Instruments", "Each instrument by its name.", [])
    liquors: dict[str, Liquor] = need("Liquors", "Each liquor by its name.", [])
    containers: dict[str, Container] = may(
        "Containers",
        "Kegs, casks and bottles, each size and make by its name, with its own pressure limit.",
        [{"keg_19": {"is": "keg", "volume": "19 L", "number": "4", "pressure_rating": "4 bar"}}],
        {},
    )
    tolerances: dict[str, Quantity] = may(
        "Tolerances",
        "How far a figure may lie from its expected value, by the figure's key.",
        [{"mash_temperature": "1.0 K"}],
        {},
        kind="tolerance",
        dated=True,
    )

    @property
    def system(self) -> str:
        """The system of units that the house reads in: ``metric``, ``US`` or ``imperial``."""
        return str(self.units or "metric")

    @property
    def bare_gallon(self) -> str | None:
        """What a bare gallon is: as stated, else that of the units; None where it is refused."""
        return stated_gallon(self.gallon, self.units)
