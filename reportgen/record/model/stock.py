"""``stock.yaml``: malts, sugars, hops, yeasts, salts, acids, finings and their lots."""

from __future__ import annotations

from typing import Any

from reportgen.record.fields import Entry, dated, may, model, need
from reportgen.record.units import Quantity
from reportgen.record.values import Day, Initials, Text

_PACK = may(
    "Pack", "What one pack holds, as it is sold; `reportgen store` says how many to buy.",
    ["25 kg"], kind="amount", positive=True,
)  # fmt: skip
_LOTS = may("Lots", "Deliveries by lot number.", [], {})

FORMS = ("slurry", "dry", "liquid", "starter", "slope")
EXTRACT_BASES = ("coarse_as_is", "coarse_dry", "fine_as_is", "fine_dry")

SALTS = (
    "gypsum",
    "calcium_sulfate_anhydrous",
    "calcium_chloride_dihydrate",
    "calcium_chloride_anhydrous",
    "calcium_chloride_hexahydrate",
    "epsom_salt",
    "magnesium_chloride_hexahydrate",
    "table_salt",
    "potassium_chloride",
    "sodium_sulfate",
    "baking_soda",
    "chalk",
    "slaked_lime",
    "potassium_metabisulfite",
    "sodium_metabisulfite",
)


@model
class StockEntry(Entry):
    """Entry of the store: what became of a lot beside what went into beer"""

    on: Day = need("On", "Day.", ["2026-03-02"])
    lost: Quantity | None = may(
        "Lost", "Spilt, spoilt, sampled, given away.", ["0.4 kg"], kind="amount"
    )
    found: Quantity | None = may(
        "Found", "More than was thought to be there.", ["0.2 kg"], kind="amount"
    )
    counted: Quantity | None = may(
        "Counted",
        "What was there at the end of the day, weighed or counted; the difference from what should "
        "be there is a correction.",
        ["12.3 kg"],
        kind="amount",
    )
    because: Text = need("Because", "Why.", ["bag torn by mice"])
    by: Initials | None = may("By", "Initials.", ["RB"])


@model
class Lot(Entry):
    """Lot: one delivery"""

    received: Day | None = may("Received", "Day it came in.", ["2026-01-12"])
    amount: Quantity | None = may(
        "Amount received",
        "All of the lot. With it `reportgen store` counts what is left.",
        ["25 kg", "1 L"],
        kind="amount",
        positive=True,
    )
    price: Quantity | None = may(
        "Price", "Of all that was received, in the currency of brewery.yaml.", ["32.40"],
        kind="ratio",
    )
    entries: tuple[StockEntry, ...] = may(
        "Entries", "Losses, finds and counts of the lot, in any order.", [], []
    )
    best_before: Day | None = may("Best before", "As printed on the package.", ["2027-01-31"])
    supplier: Text | None = may("Supplier", "Who sold it, in your own words.", ["maltster, east"])
    extract: Quantity | None = may(
        "Extract", "Of this lot, on the basis that `extract_basis` says.", ["78.5 %"],
        kind="fraction",
    )
    extract_basis: Text | None = may(
        "Extract basis",
        "What the extract of this lot is stated on; as that of the malt if not given.",
        ["fine_dry"],
        choices=EXTRACT_BASES,
    )
    fine_coarse_difference: Quantity | None = may(
        "Fine-coarse difference", "Of this lot, on the same basis.", ["1.4 %"], kind="fraction",
        bounds=(0, 0.08),
    )
    moisture: Quantity | None = may(
        "Moisture", "Moisture of this lot.", ["4.1 %"], kind="fraction",
        bounds=(0, 0.2),
    )
    colour: Quantity | None = may(
        "Colour", "Colour of this lot.", ["5.5 EBC"], kind="colour",
        usual=("0.5 EBC", "2500 EBC"),
    )
    alpha: Quantity | None = may(
        "Alpha acids", "Alpha acids of this lot.", ["5.2 %"], kind="fraction"
    )
    analysed: Day | None = may("Analysed", "Day of the analysis.", ["2025-11-02"])
    stored_at: Quantity | None = may(
        "Stored at",
        "Temperature of the store. The alpha acids of a hop lot that has it count as what is left "
        "of them from the day of the analysis on; yeast ages by it, at 4 degC if not given.",
        ["4 C", "-18 C"],
        kind="temperature",
        bounds=(-40, 40),
        usual=("-30 C", "35 C"),
    )
    packing: Text | None = may(
        "Packing",
        "How a hop lot is packed: `open` to the air, also in a bag that air passes; `sealed` in a "
        "barrier with air in it; `without_oxygen`, by vacuum or inert gas. Open if not given.",
        ["without_oxygen"],
        choices=("open", "sealed", "without_oxygen"),
    )
    form: Text | None = may(
        "Form", "How a lot of yeast comes; as its yeast mostly does if not given.", ["liquid"],
        choices=FORMS,
    )
    made: Day | None = may(
        "Made", "Day a lot of yeast was made or packed; its age counts from it.", ["2026-02-20"]
    )
    cells: Quantity | None = may(
        "Cells", "Of a lot of yeast, as counted or as on its pack.", ["1.6 billion/mL"],
        kind="cell_density", positive=True,
    )
    viability: Quantity | None = may(
        "Viability", "Of a lot of yeast when it was made.", ["97 %"], kind="fraction",
        bounds=(0.01, 1), usual=("50 %", "100 %"),
    )
    opened: Day | None = may(
        "Opened", "Day from which a hop lot's packing was open to the air.", ["2026-02-01"]
    )
    note: Text | None = may("Note", "Anything else.", ["bag was torn"])


@dated
@model
class Malt(Entry):
    """Malt, or another grain that is mashed"""

    name: Text | None = may("Name", "Name as printed.", ["Pale ale malt"])
    malt_class: Text = need(
        "Malt class",
        "Class that its pH and buffering are taken from.",
        ["pale"],
        choices=(
            "pale",
            "pilsner",
            "wheat",
            "munich",
            "crystal",
            "roasted",
            "acidulated",
            "adjunct",
        ),
    )
    extract: Quantity = need(
        "Extract",
        "As the certificate states it, on the basis that `extract_basis` says.",
        ["78 %"],
        kind="fraction",
    )
    extract_basis: Text | None = may(
        "Extract basis",
        "What the extract is stated on: fine or coarse grind, dry or as is (moisture included). "
        "`coarse_as_is`, which is what goes into the mash tun, if not given.",
        ["fine_dry"],
        choices=EXTRACT_BASES,
    )
    fine_coarse_difference: Quantity | None = may(
        "Fine-coarse difference",
        "Extract of the fine grind less that of the coarse, on the same basis; 1.5 % if a fine "
        "grind is stated without it.",
        ["1.4 %"],
        kind="fraction",
        bounds=(0, 0.08),
    )
    moisture: Quantity | None = may(
        "Moisture",
        "As the certificate states it; an extract on dry matter is counted with it. 4 % if not "
        "given.",
        ["4 %"],
        kind="fraction",
        bounds=(0, 0.2),
    )
    colour: Quantity = need(
        "Colour", "Colour of the malt.", ["5.5 EBC", "2.5 L"], kind="colour",
        bounds=(0, 3000),
        usual=("0.5 EBC", "2500 EBC"),
    )
    distilled_water_mash_ph: Quantity | None = may(
        "Distilled-water mash pH",
        "pH of a mash of this malt alone in distilled water, cooled; replaces the class's value.",
        ["5.72"],
        kind="ph",
        bounds=(3, 8),
        usual=("3", "7.5"),
    )
    distilled_water_mash_ph_uncertainty: Quantity | None = may(
        "Uncertainty of the distilled-water mash pH",
        "Half-width (k = 2) within which it lies; 0.06 if not given.",
        ["0.05"],
        kind="ratio",
        bounds=(0, 1),
        usual=("0.01", "0.5"),
    )
    allergens: tuple[Text, ...] = may(
        "Allergens", "Allergens it brings.", [["barley (gluten)"]], []
    )
    pack: Quantity | None = _PACK
    lots: dict[str, Lot] = _LOTS


@dated
@model
class Sugar(Entry):
    """Sugar, syrup or malt extract: what needs no mashing"""

    name: Text | None = may("Name", "Name as printed.", ["White sugar"])
    extract: Quantity = need(
        "Extract", "Extract as a share of its weight; the rest counts as water.", ["100 %", "80 %"],
        kind="fraction", usual=("5 %", "100 %"),
    )
    fermentability: Quantity | None = may(
        "Fermentability",
        "Share of the extract that yeast ferments. Left out for malt extract, which the yeast "
        "attenuates as it does an all-malt wort mashed at 66 degC.",
        ["100 %"],
        kind="fraction",
        usual=("0 %", "100 %"),
    )
    colour: Quantity | None = may(
        "Colour", "Colour.", ["0 EBC"], kind="colour",
        usual=("0 EBC", "30000 EBC"),
    )
    allergens: tuple[Text, ...] = may("Allergens", "Allergens it brings.", [["milk"]], [])
    pack: Quantity | None = _PACK
    lots: dict[str, Lot] = _LOTS


@dated
@model
class Hop(Entry):
    """Hop"""

    name: Text | None = may("Name", "Variety as printed.", ["Fuggle"])
    form: Text | None = may(
        "Form", "How it is delivered.", ["pellets"], choices=("leaf", "pellets", "extract")
    )
    alpha: Quantity = need(
        "Alpha acids", "Alpha acids as delivered, share of the weight.", ["5.2 %"], kind="fraction"
    )
    storage_loss: Quantity | None = may(
        "Storage loss",
        "Share of its alpha acids that this variety loses in 180 days at 20 degC open to the air; "
        "35 % +- 20 % if not given.",
        ["40 %"],
        kind="fraction",
        bounds=(0, 0.95),
        usual=("5 %", "75 %"),
    )
    pack: Quantity | None = _PACK
    lots: dict[str, Lot] = _LOTS


_THICK = ("0.1 billion/mL", "5 billion/mL")


def _cells(title: str, description: str, example: str, least: str, most: str) -> Any:
    return may(
        title, description, [example], kind="cell_density", positive=True, usual=(least, most)
    )


@model
class YeastCells(Entry):
    """Cells of a yeast in each form that it comes in"""

    dry: Quantity | None = _cells(
        "Dry", "In a gram of dry yeast.", "10 billion/g", "2 billion/g", "50 billion/g"
    )
    liquid: Quantity | None = _cells(
        "Liquid", "In a mL of a liquid pack.", "1.5 billion/mL", *_THICK
    )
    slurry: Quantity | None = _cells(
        "Slurry", "In a mL, or a gram, of slurry of your own.", "1.2 billion/mL", *_THICK
    )
    starter: Quantity | None = _cells(
        "Starter", "In a mL of a starter.", "0.12 billion/mL", "0.01 billion/mL", "1 billion/mL"
    )
    slope: Quantity | None = _cells(
        "Slope", "In a mL of what is grown up from a slope.", "0.1 billion/mL",
        "0.005 billion/mL", "1 billion/mL",
    )  # fmt: skip


@dated
@model
class Yeast(Entry):
    """Yeast"""

    name: Text | None = may("Name", "Name as printed.", ["House ale A"])
    ferments: Text = need(
        "Ferments as", "Ale or lager; sets the pitching rate.", ["ale"], choices=("ale", "lager")
    )
    form: Text | None = may(
        "Form",
        "How it mostly comes. A lot may come in another form, and what is harvested is slurry.",
        ["slurry"],
        choices=FORMS,
    )
    apparent_attenuation: Quantity = need(
        "Apparent attenuation",
        "What it usually ferments of an all-malt wort mashed at 66 degC.",
        ["77 %"],
        kind="attenuation",
        bounds=(0.05, 1.2),
        usual=("10 %", "110 %"),
    )
    attenuation_uncertainty: Quantity | None = may(
        "Uncertainty of the attenuation",
        "Half-width (k = 2) within which it usually lies; 4 % if not given.",
        ["3 %"],
        kind="fraction",
        bounds=(0, 0.3),
        usual=("0.1 %", "30 %"),
    )
    lowest_temperature: Quantity | None = may(
        "Lowest temperature", "Coolest it works well.", ["16 C"], kind="temperature",
        bounds=(-2, 50),
        usual=("0 C", "40 C"),
    )
    highest_temperature: Quantity | None = may(
        "Highest temperature", "Warmest it works well.", ["22 C"], kind="temperature",
        bounds=(0, 50),
        usual=("5 C", "45 C"),
    )
    cells: YeastCells | None = may(
        "Cells", "How many it has, in each form that it comes in; usual ones if not given.", []
    )
    sours: Text | None = may(
        "Sours",
        "Whether it sours the beer, as a mixed or lactic culture does.",
        ["yes"],
        choices=("yes", "no"),
    )
    highest_alcohol: Quantity | None = may(
        "Highest alcohol",
        "Strongest beer by volume that it still ferments in; beyond 14 % only where this says so.",
        ["12 %"], kind="fraction", positive=True, usual=("5 %", "25 %"),
    )
    generations: Quantity | None = may(
        "Generations", "How often the brewery lets it be pitched again.", ["8"], kind="count",
        whole=True,
    )
    pack: Quantity | None = _PACK
    lots: dict[str, Lot] = _LOTS


@dated
@model
class Salt(Entry):
    """Brewing salt"""

    is_: Text = need("Is", "What it is, chemically.", ["gypsum"], choices=SALTS)
    assay: Quantity | None = may(
        "Assay", "Purity; 100 % if not given.", ["99 %"], kind="fraction",
        bounds=(0.05, 1),
        usual=("20 %", "100 %"),
    )
    pack: Quantity | None = _PACK
    lots: dict[str, Lot] = _LOTS

    @property
    def purity(self) -> float:
        """Share of the salt itself, 0 to 1."""
        return self.assay.value if self.assay is not None else 1.0


@dated
@model
class Acid(Entry):
    """Acid for liquor or mash"""

    is_: Text = need(
        "Is",
        "What it is, chemically.",
        ["lactic"],
        choices=("lactic", "phosphoric", "hydrochloric", "sulfuric", "citric"),
    )
    strength: Quantity = need(
        "Strength", "Acid as a share of the weight, from the label.", ["80 %"], kind="fraction",
        bounds=(0.01, 1),
    )
    pack: Quantity | None = _PACK
    lots: dict[str, Lot] = _LOTS


@dated
@model
class Fining(Entry):
    """Fining or other aid"""

    name: Text | None = may("Name", "Name as printed.", ["Carrageenan"])
    allergens: tuple[Text, ...] = may("Allergens", "Allergens it brings.", [["fish"]], [])
    pack: Quantity | None = _PACK
    lots: dict[str, Lot] = _LOTS


TABLES = {
    "malts": "malt", "sugars": "sugar", "hops": "hop", "yeasts": "yeast", "salts": "salt",
    "acids": "acid", "finings": "fining",
}  # fmt: skip
"""The tables of the stock, in the order they are shown, and what an entry of each is called."""


@model
class Stock(Entry):
    """The stock: what goes into the beer, and its lots"""

    format: Text = need("Format", "Version of this file's format.", ["1"], choices=("1",))
    malts: dict[str, Malt] = may("Malts", "Each malt by its name.", [], {})
    sugars: dict[str, Sugar] = may("Sugars", "Each sugar by its name.", [], {})
    hops: dict[str, Hop] = may("Hops", "Each hop by its name.", [], {})
    yeasts: dict[str, Yeast] = may("Yeasts", "Each yeast by its name.", [], {})
    salts: dict[str, Salt] = may("Salts", "Each salt by its name.", [], {})
    acids: dict[str, Acid] = may("Acids", "Each acid by its name.", [], {})
    finings: dict[str, Fining] = may("Finings", "Each fining by its name.", [], {})

    def table_of(self, item: str) -> str:
        """Return the table that an item stands in; empty for none."""
        return next((table for table in TABLES if item in getattr(self, table)), "")
