"""``plan``: what is to be brewed, and how."""

from __future__ import annotations

from typing import Any, NamedTuple, cast

from reportgen.record.fields import Entry, may, model, need
from reportgen.record.finding import Position
from reportgen.record.model.brew_day import Instruments
from reportgen.record.model.brewery import Methods, ion
from reportgen.record.model.stock import FORMS
from reportgen.record.units import Quantity
from reportgen.record.values import Day, Initials, Text

_TREATED = "In the treated mash liquor, mg/L."


@model
class Aims(Entry):
    """Aims: what the brewer wants of the beer; the forecast is compared with them"""

    original_gravity: Quantity | None = may(
        "Original gravity",
        "SG 20/20.",
        ["1.042"],
        kind="gravity",
        usual=("1.010", "1.150"),
    )
    final_gravity: Quantity | None = may(
        "Final gravity",
        "SG 20/20.",
        ["1.010"],
        kind="gravity",
        usual=("0.985", "1.060"),
    )
    alcohol: Quantity | None = may(
        "Alcohol",
        "By volume.",
        ["4.2 %"],
        kind="fraction",
        usual=("0 %", "20 %"),
    )
    real_extract: Quantity | None = may(
        "Real extract",
        "Body: the extract that is left when the alcohol is taken away, by weight.",
        ["4.2 %"],
        kind="fraction",
        usual=("0.5 %", "15 %"),
    )
    bitterness: Quantity | None = may(
        "Bitterness",
        "mg/L.",
        ["32 mg/L", "32 IBU"],
        kind="bitterness",
        usual=("0 IBU", "200 IBU"),
    )
    colour: Quantity | None = may(
        "Colour",
        "EBC or SRM.",
        ["12 EBC"],
        kind="colour",
        usual=("1 EBC", "600 EBC"),
    )
    mash_ph: Quantity | None = may(
        "Mash pH",
        "Of a cooled sample.",
        ["5.4"],
        kind="ph",
        usual=("4.5", "6.5"),
    )
    calcium: Quantity | None = ion(may, "Calcium", _TREATED, "100 mg/L", "400 mg/L")
    magnesium: Quantity | None = ion(may, "Magnesium", _TREATED, "10 mg/L", "100 mg/L")
    sodium: Quantity | None = ion(may, "Sodium", _TREATED, "20 mg/L", "300 mg/L")
    chloride: Quantity | None = ion(may, "Chloride", _TREATED, "80 mg/L", "500 mg/L")
    sulfate: Quantity | None = ion(may, "Sulfate", _TREATED, "150 mg/L", "800 mg/L")
    sulfate_to_chloride: Quantity | None = may(
        "Sulfate to chloride",
        "mg/L of sulfate for one of chloride in the treated mash liquor.",
        ["2"], kind="ratio", positive=True,
        usual=("0.05", "20"),
    )


@model
class GristItem(Entry):
    """Malt or grain in the grist"""

    malt: Text = need("Malt", "Its name in stock.yaml.", ["pale"], names="malts")
    amount: Quantity = need(
        "Amount",
        "Weight as is.",
        ["7.2 kg", "16 lb"],
        kind="mass",
        positive=True,
        usual_per_litre=("0 kg", "1 kg"),
    )
    lot: Text | None = may("Lot", "Lot meant to be used; its analysis then counts.", ["M-114"])


@model
class SugarItem(Entry):
    """Sugar, syrup or malt extract that is added"""

    sugar: Text = need("Sugar", "Its name in stock.yaml.", ["white_sugar"], names="sugars")
    amount: Quantity = need(
        "Amount",
        "Weight.",
        ["500 g"],
        kind="mass",
        usual_per_litre=("0.1 g", "0.5 kg"),
    )
    to: Text = need("To", "Where it goes.", ["kettle"], choices=("kettle", "fermenter"))
    time: Quantity | None = may(
        "Time",
        "In the kettle: minutes before the end of the boil, 0 at flame-out. Left out, malt extract "
        "is stirred in before the kettle is read as full, and sugar as the boil begins; without a "
        "grist both before.",
        ["10 min"],
        kind="time",
    )
    lot: Text | None = may("Lot", "Lot meant to be used.", ["S-3"])


_TO = need(
    "To", "Which liquor, or the kettle, it goes into.", ["mash"],
    choices=("mash", "sparge", "kettle"),
)  # fmt: skip


@model
class SaltItem(Entry):
    """Salt that is added"""

    salt: Text = need("Salt", "Its name in stock.yaml.", ["gypsum"], names="salts")
    amount: Quantity = need(
        "Amount", "Weight.", ["6.0 g"], kind="mass", usual_per_litre=("0 g", "3 g")
    )
    to: Text = _TO


@model
class AcidItem(Entry):
    """Acid that is added"""

    acid: Text = need("Acid", "Its name in stock.yaml.", ["lactic_80"], names="acids")
    amount: Quantity = need(
        "Amount",
        "Volume of the acid as delivered.",
        ["4.0 mL"],
        kind="volume",
        usual_per_litre=("0 mL", "30 mL"),
    )
    to: Text = _TO


@model
class Share(Entry):
    """Share of a blend of liquors"""

    liquor: Text = need("Liquor", "Its name in brewery.yaml.", ["reservoir"], names="liquors")
    share: Quantity = need(
        "Share",
        "Of the volume; the shares add up to 100 %.",
        ["60 %"],
        kind="fraction",
        positive=True,
    )


@model
class LiquorPlan(Entry):
    """Liquor: which water, how much, and how it is treated"""

    blend: tuple[Share, ...] = need("Blend", "The liquors it is made of.", [])
    mash_liquor: Quantity | None = may(
        "Mash liquor",
        "Liquor for the mash, measured at 20 degC. Needed where there is a grist.",
        ["20 L"],
        kind="volume",
        positive=True,
        usual_per_litre=("0.1 L", "5 L"),
    )
    sparge_liquor: Quantity | None = may(
        "Sparge liquor",
        "Liquor for the sparge, measured at 20 degC. Left out, the forecast says how much the "
        "kettle needs.",
        ["28 L"],
        kind="volume",
        usual_per_litre=("0 L", "5 L"),
    )
    top_up_liquor: Quantity | None = may(
        "Top-up liquor",
        "Liquor that goes straight into the kettle before the boil, measured at 20 degC. Left out "
        "in a plan without a grist, the forecast says how much the kettle needs.",
        ["4 L"],
        kind="volume",
        usual_per_litre=("0 L", "3 L"),
    )
    dilution_liquor: Quantity | None = may(
        "Dilution liquor",
        "Liquor that goes to the wort in the fermenter, measured at 20 degC: where less is boiled "
        "than is fermented. Boiled and cooled, or as clean as beer.",
        ["10 L"],
        kind="volume",
        usual_per_litre=("0.02 L", "0.95 L"),
    )
    dechlorinated_by: Text | None = may(
        "Dechlorinated by",
        "What takes chlorine out of all the liquor before it is used: a carbon filter, which takes "
        "chloramine too, or boiling it, or letting it stand open for a day. Metabisulfite is "
        "written under `salts`.",
        ["carbon"],
        choices=("carbon", "boiling", "standing"),
    )
    salts: tuple[SaltItem, ...] = may("Salts", "Salts, each with where it goes.", [], [])
    acids: tuple[AcidItem, ...] = may("Acids", "Acids, each with where it goes.", [], [])

    @property
    def mash_liquor_at(self) -> Position | None:
        """Where the mash liquor is written, else the liquor as a whole."""
        return self.position if self.mash_liquor is None else self.mash_liquor.position


@model
class Rest(Entry):
    """Rest: a held temperature of the mash"""

    temperature: Quantity = need(
        "Temperature",
        "Of the mash.",
        ["66 C"],
        kind="temperature",
        usual=("30 C", "80 C"),
    )
    time: Quantity = need(
        "Time",
        "How long it is held.",
        ["60 min"],
        kind="time",
        usual=("1 min", "24 h"),
    )
    reached_by: Text | None = may(
        "Reached by",
        "How the temperature is reached from the rest before; the first is reached by strike.",
        ["infusion"],
        choices=("infusion", "heat", "decoction"),
    )
    liquor_temperature: Quantity | None = may(
        "Liquor temperature",
        "Of the liquor of an infusion; boiling if not given. Cold liquor cools the mash.",
        ["98 C"],
        kind="temperature",
        usual=("5 C", "101 C"),
    )
    decoction: Text | None = may(
        "Decoction",
        "What is drawn and boiled: `thick`, mostly grain, or `thin`, wort alone. Thick if not "
        "given.",
        ["thin"],
        choices=("thick", "thin"),
    )
    decoction_boil: Quantity | None = may(
        "Decoction boil",
        "How long what is drawn is boiled.",
        ["15 min"],
        kind="time",
        usual=("1 min", "90 min"),
    )


@model
class MashPlan(Entry):
    """Mash"""

    malt_temperature: Quantity | None = may(
        "Malt temperature",
        "Of the grist; 18 degC if not given.",
        ["16 C"],
        kind="temperature",
        usual=("-20 C", "45 C"),
    )
    tun_temperature: Quantity | None = may(
        "Tun temperature",
        "Of the empty tun; that of the malt if not given.",
        ["16 C"],
        kind="temperature",
        usual=("-20 C", "100 C"),
    )
    rests: tuple[Rest, ...] = need("Rests", "The rests, in order; a mash-out is the last one.", [])


@model
class RunOffPlan(Entry):
    """Run-off"""

    sparge: Text = need(
        "Sparge",
        "How the grain is rinsed.",
        ["continuous"],
        choices=("continuous", "batch", "none", "bag"),
    )
    bag: Text | None = may(
        "Bag",
        "Whether a bag is only left to drain or squeezed as well; drained if not given. What the "
        "grain keeps is that of the kit, where it is stated there.",
        ["squeezed"],
        choices=("drained", "squeezed"),
    )
    sparge_batches: Quantity | None = may(
        "Sparge batches",
        "Into how many equal parts the sparge is split; 1 if not given.",
        ["2"],
        kind="count",
        positive=True,
        whole=True,
        usual=("1", "10"),
    )
    sparge_temperature: Quantity | None = may(
        "Sparge temperature",
        "Of the sparge liquor.",
        ["76 C"],
        kind="temperature",
        usual=("5 C", "100 C"),
    )
    cut_off_gravity: Quantity | None = may(
        "Cut-off gravity",
        "Gravity of the runnings at which the run-off is stopped; 1.008 if not given.",
        ["1.008"],
        kind="gravity",
        usual=("1.000", "1.060"),
    )


@model
class HopItem(Entry):
    """Hop addition"""

    hop: Text = need("Hop", "Its name in stock.yaml.", ["fuggle"], names="hops")
    amount: Quantity = need(
        "Amount",
        "Weight.",
        ["45 g", "1.5 oz"],
        kind="mass",
        usual_per_litre=("0.01 g", "30 g"),
    )
    time: Quantity | None = may(
        "Time",
        "Minutes before the end of the boil; in the hop stand it is left out.",
        ["60 min"],
        kind="time",
    )
    lot: Text | None = may("Lot", "Lot meant to be used; its alpha acids then count.", ["H-31"])


@model
class FiningItem(Entry):
    """Fining"""

    fining: Text = need("Fining", "Its name in stock.yaml.", ["carrageenan"], names="finings")
    amount: Quantity = need(
        "Amount",
        "Weight.",
        ["4 g"],
        kind="mass",
        usual_per_litre=("0.0002 g", "10 g"),
    )
    time: Quantity | None = may("Time", "Before the end of the boil.", ["10 min"], kind="time")


@model
class HopStand(Entry):
    """Hop stand: hops held in hot wort below the boil"""

    temperature: Quantity = need(
        "Temperature",
        "Of the wort.",
        ["80 C"],
        kind="temperature",
        usual=("30 C", "100 C"),
    )
    time: Quantity = need(
        "Time",
        "How long it is held.",
        ["20 min"],
        kind="time",
        usual=("1 min", "24 h"),
    )
    hops: tuple[HopItem, ...] = need("Hops", "The hops.", [])


@model
class BoilPlan(Entry):
    """Boil"""

    time: Quantity = need(
        "Time",
        "Length of the boil.",
        ["60 min"],
        kind="time",
        usual=("0 min", "5 h"),
    )
    hops: tuple[HopItem, ...] = may("Hops", "Additions to the boil.", [], [])
    finings: tuple[FiningItem, ...] = may("Finings", "Finings in the kettle.", [], [])
    hop_stand: HopStand | None = may("Hop stand", "Hops held in the hot wort after the boil.", [])


@model
class CoolPlan(Entry):
    """Cooling"""

    pitch_temperature: Quantity = need(
        "Pitch temperature",
        "Temperature at which the yeast is pitched.",
        ["18 C"],
        kind="temperature",
        usual=("2 C", "45 C"),
    )


@model
class PitchPlan(Entry):
    """Pitching"""

    yeast: Text = need("Yeast", "Its name in stock.yaml.", ["house_ale_a"], names="yeasts")
    yeast_amount: Quantity | None = may(
        "Yeast amount",
        "Of slurry (volume) or dry yeast (weight).",
        ["0.4 L", "23 g"],
        kind="amount",
    )
    form: Text | None = may(
        "Form",
        "How it is pitched. Left out: harvested yeast is slurry, a lot comes as it says, else as "
        "its yeast mostly does.",
        ["starter"],
        choices=FORMS,
    )
    cells: Quantity | None = may(
        "Cells",
        "Cells in a mL or a g of this very yeast, counted; else those of its harvest, lot or form.",
        ["1.1 billion/mL"],
        kind="cell_density",
        positive=True,
    )
    viability: Quantity | None = may(
        "Viability",
        "Of this very yeast, stained shortly before; else what age has left.",
        ["92 %"],
        kind="fraction",
        bounds=(0.01, 1),
        usual=("30 %", "100 %"),
    )
    pitch_rate: Quantity | None = may(
        "Pitch rate",
        "Million cells for each mL of wort and degree Plato; 0.75 for ale, 1.5 for lager if not "
        "given.",
        ["0.75"],
        kind="count",
        usual=("0.1", "5"),
    )
    harvested_from: Text | None = may(
        "Harvested from", "Batch the yeast was harvested from.", ["2026-03"], names="batches"
    )
    generation: Quantity | None = may(
        "Generation",
        "How often this yeast has been harvested and pitched again; new is 0.",
        ["2"],
        kind="count",
        whole=True,
    )
    lot: Text | None = may("Lot", "Lot, for yeast new from the supplier.", ["Y-9"])


@model
class DryHop(Entry):
    """Dry hops"""

    hop: Text = need("Hop", "Its name in stock.yaml.", ["goldings"], names="hops")
    amount: Quantity = need(
        "Amount",
        "Weight.",
        ["60 g"],
        kind="mass",
        usual_per_litre=("0.05 g", "40 g"),
    )
    on_day: Quantity = need("Day", "Days after pitching.", ["5 d"], kind="time")
    lot: Text | None = may("Lot", "Lot meant to be used.", ["H-31"])


@model
class FermentationPlan(Entry):
    """Fermentation"""

    temperature: Quantity = need(
        "Temperature",
        "Of the beer while it ferments.",
        ["19 C"],
        kind="temperature",
        usual=("-1 C", "45 C"),
    )
    highest_temperature: Quantity | None = may(
        "Highest temperature",
        "Warmest the beer is meant to get, at the end; it sets the gas still dissolved.",
        ["21 C"],
        kind="temperature",
        usual=("-1 C", "45 C"),
    )
    time: Quantity | None = may(
        "Time",
        "From pitching to packaging.",
        ["8 d"],
        kind="time",
        usual=("1 d", "400 d"),
    )
    pressure: Quantity | None = may(
        "Pressure",
        "Gauge pressure that a valve on the closed fermenter is set to (spunding); left out, the "
        "fermenter is open to the air by an airlock.",
        ["0.8 bar"],
        kind="pressure",
    )
    apparent_attenuation: Quantity | None = may(
        "Apparent attenuation",
        "Expected of this wort, when a forced test or earlier batches say so.",
        ["76 %"],
        kind="attenuation",
        usual=("10 %", "110 %"),
    )
    dry_hops: tuple[DryHop, ...] = may("Dry hops", "Hops in the fermenter.", [], [])
    finings: tuple[FiningItem, ...] = may("Finings", "Finings in the fermenter.", [], [])


KINDS_PACKED = ("keg", "bottle", "cask")
PRIMED_WITH = ("sucrose", "glucose", "glucose_monohydrate")
FILLED_FROM = ("fermenter", "bottling_bucket", "container")
"""What containers can be filled from, the usual one first."""


@model
class AlsoPlanned(Entry):
    """Other containers for part of the beer"""

    into: Text = need("Into", "What this part goes into.", ["bottle"], choices=KINDS_PACKED)
    container: Text | None = may(
        "Container",
        "Its name in brewery.yaml, where several of a kind are listed there; its pressure limit "
        "counts.",
        ["bottle_05"],
        names="containers",
    )
    volume: Quantity = need(
        "Volume", "Beer that is to go into them; the first containers have the rest.", ["6 L"],
        kind="volume", positive=True,
    )
    from_: Text | None = may(
        "From",
        "What they are filled from: the `fermenter`, if not given; the `bottling_bucket`, in which "
        "the beer stands with the sugar of the first containers; or a full `container` of the "
        "first, so that the beer is not counted twice.",
        ["container"],
        choices=FILLED_FROM,
    )
    carbonation: Quantity | None = may(
        "Carbonation",
        "CO2 wanted in them, in volumes or g/L; that of the first containers if not given.",
        ["2.6 vol"],
        kind="carbonation",
        positive=True,
        usual=("0.5 vol", "6 vol"),
    )
    beer_temperature: Quantity | None = may(
        "Beer temperature", "As of the first containers, where these are kegs.", ["6 C"],
        kind="temperature", usual=("-3 C", "30 C"),
    )
    highest_temperature: Quantity | None = may(
        "Highest temperature",
        "Warmest that these may get; 30 degC if not given, whatever holds for the first.",
        ["30 C"],
        kind="temperature",
        usual=("0 C", "50 C"),
    )
    priming_sugar: Text | None = may(
        "Priming sugar", "What they are primed with; as the first if not given.", ["sucrose"],
        choices=PRIMED_WITH,
    )

    @property
    def is_apart(self) -> bool:
        """Whether they are filled from the fermenter, not out of the first containers."""
        return self.from_ is None or self.from_ == FILLED_FROM[0]


@model
class PackagingPlan(Entry):
    """Packaging"""

    into: Text = need("Into", "What it is packed in.", ["keg"], choices=KINDS_PACKED)
    container: Text | None = may(
        "Container",
        "Its name in brewery.yaml, where several of a kind are listed there; its pressure limit "
        "counts.",
        ["keg_19"],
        names="containers",
    )
    carbonation: Quantity = need(
        "Carbonation",
        "CO2 wanted, in volumes or g/L.",
        ["2.3 vol", "4.5 g/L"],
        kind="carbonation",
        positive=True,
        usual=("0.5 vol", "6 vol"),
    )
    beer_temperature: Quantity | None = may(
        "Beer temperature",
        "Of the beer in the keg when it is gassed; 5 degC if not given.",
        ["6 C"],
        kind="temperature",
        usual=("-3 C", "30 C"),
    )
    highest_temperature: Quantity | None = may(
        "Highest temperature",
        "Warmest the packed beer may get in store, on the way or where it is served; it sets the "
        "highest pressure in the closed container. 30 degC if not given.",
        ["25 C"],
        kind="temperature",
        usual=("0 C", "50 C"),
    )
    priming_sugar: Text | None = may(
        "Priming sugar",
        "What bottles or casks are primed with. It brings alcohol as well as gas.",
        ["sucrose"],
        choices=PRIMED_WITH,
    )
    also: tuple[AlsoPlanned, ...] = may(
        "Also",
        "Other containers that part of the beer goes into, each with its own gas and sugar.",
        [],
        [],
    )


@model
class CriticalLimit(Entry):
    """Critical limit: beyond it harm is possible, so that what does not clearly keep it is held"""

    at_least: Quantity | None = may(
        "At least", "Lowest value allowed, in the unit of the figure.", ["60 C"], kind="limit"
    )
    at_most: Quantity | None = may(
        "At most", "Highest value allowed, in the unit of the figure.", ["1.5 bar"], kind="limit"
    )
    because: Text = need("Because", "The hazard it controls.", ["The kegs are rated for 2 bar."])


_NO_MASH = cast(Any, MashPlan)(rests=())
_NO_RUN_OFF = cast(Any, RunOffPlan)(sparge=Text("none"))


class Ingredient(NamedTuple):
    """What a plan has of one item at one place.

    ``table`` is that of stock.yaml; ``later``: it goes into the fermenter after the brew day.
    """

    table: str
    name: Text
    entry: GristItem | SugarItem | SaltItem | AcidItem | HopItem | DryHop | FiningItem
    later: bool = False

    @property
    def amount(self) -> Quantity:
        """How much is planned."""
        return self.entry.amount

    @property
    def lot(self) -> Text | None:
        """The lot that is meant to be used."""
        return getattr(self.entry, "lot", None)

    @property
    def of_fermenter(self) -> bool:
        """Whether it goes into the fermenter, so that each batch of one wort has its own."""
        return self.later or str(getattr(self.entry, "to", "")) == "fermenter"


@model
class Plan(Entry):
    """Plan: what is to be brewed, and how"""

    revision: Quantity | None = may(
        "Revision", "Counted version of the plan; 1 if not given.", ["2"], kind="count",
        positive=True, whole=True,
    )
    like: Text | None = may(
        "Like",
        "Batch whose plan this one starts from; then only what differs is written here. Mappings "
        "are merged, lists are replaced. A key that the other has and this one is to do without "
        "is dropped by null after it, as in `boil: {hop_stand: null}`.",
        ["2026-03"],
        names="batches",
    )
    beer: Text | None = may(
        "Beer", "What kind of beer it is, in the brewer's words.", ["dark mild"]
    )
    written_by: Initials | None = may("Written by", "Initials.", ["RB"])
    brew_on: Day | None = may(
        "Brew on",
        "Day it is meant to be brewed. The store counts planned batches in this order. A plan that "
        "starts from another does not take its day.",
        ["2026-12-05"],
    )
    kit: Text = need("Kit", "Its name in brewery.yaml.", ["dyeworks"], names="kits")
    fermenter_volume: Quantity = need(
        "Fermenter volume",
        "Wort into the fermenter, at 20 degC; with `wort_to_others` all of it.",
        ["40 L", "10 US gal"],
        kind="volume",
        positive=True,
        usual=("1 L", "2000 L"),
    )
    wort_to_others: dict[str, Quantity] = may(
        "Wort to others",
        "Of this wort, what goes to the fermenters of other batches, by their ids; each names this "
        "one under `wort_from`.",
        [{"2026-08": "20 L"}],
        {},
        kind="volume",
    )
    aims: Aims | None = may("Aims", "What the brewer wants of the beer.", [])
    grist: tuple[GristItem, ...] = may(
        "Grist",
        "Malts and grains that are mashed. Without it the wort is made of malt extract and sugar "
        "in the kettle, and there is no mash and no run-off.",
        [],
        [],
        filled=True,
    )
    sugars: tuple[SugarItem, ...] = may("Sugars", "Sugars and extracts.", [], [])
    liquor: LiquorPlan = need("Liquor", "Brewing water and its treatment.", [])
    mash: MashPlan = may(
        "Mash", "The mash. Needed where there is a grist.", [], _NO_MASH
    )
    run_off: RunOffPlan = may(
        "Run-off", "The run-off. Needed where there is a grist.", [], _NO_RUN_OFF
    )
    boil: BoilPlan = need("Boil", "The boil.", [])
    cool: CoolPlan = need("Cool", "The cooling.", [])
    pitch: PitchPlan = need("Pitch", "The yeast.", [])
    fermentation: FermentationPlan = need("Fermentation", "The fermentation.", [])
    packaging: PackagingPlan = need("Packaging", "The packaging.", [])
    instruments: Instruments | None = may(
        "Instruments",
        "What the readings are meant to be made with; the ranges on the sheet follow from it. "
        "Left out, the first of each kind in brewery.yaml.",
        [],
    )
    methods: Methods | None = may("Methods", "Models chosen for this batch.", [])
    tolerances: dict[str, Quantity] = may(
        "Tolerances",
        "How far a figure may lie from its expected value in this batch, by the figure's key.",
        [{"original_gravity": "0.002"}],
        {},
        kind="tolerance",
    )
    critical_limits: dict[str, CriticalLimit] = may(
        "Critical limits",
        "Limits beyond which harm is possible, by the figure's key. They count beside the "
        "tolerance, and the stricter of the two counts. A reading that is off, too close to call "
        "or missing does not keep one: the batch is on hold until the deviation is closed.",
        [{"pressure": {"at_most": "1.5 bar", "because": "The kegs are rated for 2 bar."}}],
        {},
    )
    notes: Text | None = may(
        "Notes", "Anything else, in Markdown.", ["Less colour than last time."]
    )

    @property
    def ingredients(self) -> tuple[Ingredient, ...]:
        """Everything but the liquor and the yeast, in the order of the weigh-out sheet."""
        finings, later = self.boil.finings, self.fermentation.finings
        return (
            *(Ingredient("malts", item.malt, item) for item in self.grist),
            *(Ingredient("sugars", item.sugar, item) for item in self.sugars),
            *(Ingredient("salts", item.salt, item) for item in self.liquor.salts),
            *(Ingredient("acids", item.acid, item) for item in self.liquor.acids),
            *(Ingredient("hops", hop.hop, hop, isinstance(hop, DryHop)) for hop in self.all_hops),
            *(Ingredient("finings", item.fining, item) for item in finings),
            *(Ingredient("finings", item.fining, item, later=True) for item in later),
        )

    @property
    def all_hops(self) -> tuple[HopItem | DryHop, ...]:
        """Every hop of the plan: boil, hop stand, fermenter."""
        return (*self.boil.hops, *self.steeped_hops, *self.fermentation.dry_hops)

    @property
    def steeped_hops(self) -> tuple[HopItem, ...]:
        """The hops of the hop stand."""
        return self.boil.hop_stand.hops if self.boil.hop_stand is not None else ()


@model
class WortFrom(Entry):
    """Wort of another batch's brew day, fermented apart"""

    batch: Text = need(
        "Batch",
        "The batch whose wort it is. Its brew day counts for this one, up to the pitching; the "
        "plan here starts `like` it.",
        ["2026-07"],
        names="batches",
    )
    volume: Quantity = need(
        "Volume",
        "Wort into this batch's fermenter, at 20 degC.",
        ["20 L"],
        kind="volume",
        positive=True,
    )


@model
class Issued(Entry):
    """Issued: the sheet that was printed for the day"""

    plan: Text = need(
        "Plan hash",
        "The eight characters at the head of the printed sheet.",
        ["3f9a12bc"],
        pattern=r"^[0-9a-f]{8}$",
        shape="eight characters 0-9 and a-f",
    )
    numbers: Text | None = may(
        "Numbers hash",
        "The eight characters of the numbers printed on the sheet, at its foot: of the expected "
        "values and their limits. The record says when they cannot be had again, and why.",
        ["8c01de77"],
        pattern=r"^[0-9a-f]{8}$",
        shape="eight characters 0-9 and a-f",
    )
    copy: Quantity | None = may(
        "Copy", "Number of the printed copy.", ["1"], kind="count", positive=True, whole=True
    )
    on: Day | None = may("On", "Day it was printed.", ["2026-03-13"])
