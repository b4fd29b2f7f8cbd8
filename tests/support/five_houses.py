"""Five houses that print sheets: a bag of 12 L, three vessels, a US one, a big one, a hot one.

All invented: they differ in what a sheet depends on (units, paper, kit, instruments, season,
people), and nothing in them is a check value.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

STOCK: dict[str, Any] = {
    "format": "1",
    "malts": {
        "pale": {"name": "Pale malt", "malt_class": "pale", "extract": "78.5 %",
                 "colour": "5.5 EBC", "allergens": ["barley (gluten)"]},
        "amber": {"name": "Amber malt", "malt_class": "roasted", "extract": "72 %",
                  "colour": "60 EBC", "allergens": ["barley (gluten)"]},
        "crystal": {"name": "Crystal malt", "malt_class": "crystal", "extract": "73 %",
                    "colour": "145 EBC", "allergens": ["barley (gluten)"]},
    },
    "hops": {"fuggle": {"name": "Fuggle", "alpha": "5 %"},
             "cascade": {"name": "Cascade", "alpha": "6 %"}},
    "yeasts": {
        "dry": {"name": "Dry ale yeast", "ferments": "ale", "apparent_attenuation": "76 %",
                "cells": {"dry": "10 billion/g"}},
        "slurry": {"name": "House slurry", "ferments": "ale", "apparent_attenuation": "76 %",
                   "cells": {"slurry": "1.2 billion/mL"}},
    },
    "salts": {"gypsum": {"is": "gypsum"}, "calcium_chloride": {"is": "calcium_chloride_dihydrate"},
              "metabisulfite": {"is": "sodium_metabisulfite"}},
    "acids": {"lactic_80": {"is": "lactic", "strength": "80 %"}},
    "finings": {"carrageenan": {"name": "Carrageenan flakes"}},
}  # fmt: skip

PROBE = {"reads": "thermometer", "resolution": "0.1 K", "uncertainty": "0.4 K"}
DIAL = {"reads": "thermometer", "resolution": "1 K", "uncertainty": "1.5 K"}
HYDROMETER = {"reads": "hydrometer", "resolution": "0.001", "uncertainty": "0.001",
              "reference_temperature": "20 C"}  # fmt: skip
METER = {"reads": "ph_meter", "resolution": "0.01", "uncertainty": "0.05"}


@dataclass(frozen=True)
class House:
    """What one house is: units, paper, people, kit, and the batch it brews."""

    name: str
    litres: float
    units: str = "metric"
    paper: str = "A4"
    people: tuple[str, ...] = ("AB", "CD")
    thermometer: dict[str, str] = field(default_factory=lambda: PROBE)
    meter: bool = True
    heated_by: str = "element"
    power: str = ""
    sparge: str = "continuous"
    batches: int = 0
    into: str = "keg"
    malt_temperature: str = "18 C"
    yeast: str = "slurry"
    acid: bool = True
    sulfite: bool = False
    steep: bool = False
    call: str = ""
    spund: bool = False

    def amount(self, for_forty: float, unit: str, decimals: int = 2) -> str:
        """Return an amount for this volume, from that for 40 L."""
        return f"{for_forty * self.litres / 40:.{decimals}f} {unit}"


HOUSES = {
    "bag": House("Twelve Litre Bitter", 12, people=("AB",), thermometer=DIAL, meter=False,
                 power="2.2 kW", sparge="bag", into="bottle", yeast="dry", acid=False),
    "three": House("Three Vessel Pale", 45, power="5.5 kW", steep=True, call="CD, 555 0142"),
    "us": House("Gallon Amber", 42, "US", "Letter", thermometer=DIAL, heated_by="flame",
                power="12 kW", sparge="batch", batches=2, steep=True, sulfite=True),
    "big": House("Five Hundred", 500, paper="Letter", heated_by="steam", power="60 kW",
                 sparge="batch", batches=3, into="cask", spund=True),
    "hot": House("Dog Day Mild", 40, "US", "A4", people=("AB",), thermometer=DIAL,
                 heated_by="flame", malt_temperature="38 C", into="bottle", yeast="dry"),
}  # fmt: skip
"""Each by a short name."""


def brewery(house: House) -> dict[str, Any]:
    """Return ``brewery.yaml`` of a house."""
    litres = house.litres
    kettle = {"volume": f"{litres * 1.6:.0f} L", "evaporation": f"{litres * 0.1:.1f} L/h",
              "loss": f"{litres * 0.05:.1f} L"}  # fmt: skip
    if house.heated_by:
        kettle["heated_by"] = house.heated_by
    if house.power:
        kettle["power"] = house.power
    step = "0.5 L" if litres < 100 else "5 L"
    instruments = {
        "glass": HYDROMETER, "thermometer": house.thermometer,
        "stick": {"reads": "volume_gauge", "resolution": step, "uncertainty": step},
        "gauge": {"reads": "pressure_gauge", "resolution": "0.02 bar", "uncertainty": "0.03 bar"},
        "scale": {"reads": "scale", "resolution": "1 g"},
    }  # fmt: skip
    if house.meter:
        instruments["meter"] = METER
    return {
        "format": "1", "name": f"House of {house.name}", "language": "en", "paper": house.paper,
        "units": house.units, "people": {p: f"Brewer {p}" for p in house.people},
        **({"call": house.call} if house.call else {}),
        "kits": {"kit": {
            "mash_tun": {"volume": f"{litres * 1.7:.0f} L", "heat_capacity": "6 kJ/K",
                         "heat_loss": "1.0 K"},
            "kettle": kettle,
            "fermenter": {"volume": f"{litres * 1.35:.0f} L", "loss": f"{litres * 0.04:.1f} L",
                          "pressure_rating": "1.0 bar"},
            "conversion": "95 %", "grain_absorption": "0.85 L/kg", "tanks_in_series": "1",
        }},
        "instruments": instruments,
        "liquors": {"town": {
            "calcium": "40 mg/L", "magnesium": "5 mg/L", "sodium": "12 mg/L",
            "chloride": "20 mg/L", "sulfate": "30 mg/L", "bicarbonate": "90 mg/L", "ph": "7.4",
        }},
    }  # fmt: skip


def record(house: House) -> dict[str, Any]:
    """Return the record of a batch that is still to be brewed."""
    made = house.amount
    salts = [{"salt": "gypsum", "amount": made(5, "g", 1), "to": "mash"}]
    if house.sulfite:
        salts.append({"salt": "metabisulfite", "amount": made(0.4, "g", 1), "to": "mash"})
    liquor = {
        "blend": [{"liquor": "town", "share": "100 %"}], "salts": salts,
        "mash_liquor": made(56 if house.sparge == "bag" else 25, "L", 1),
    }  # fmt: skip
    if house.acid:
        liquor["acids"] = [{"acid": "lactic_80", "amount": made(4, "mL", 1), "to": "mash"}]
    run_off: dict[str, str] = {"sparge": house.sparge}
    if house.sparge != "bag":
        run_off["sparge_temperature"] = "76 C"
    if house.batches:
        run_off["sparge_batches"] = str(house.batches)
    boil: dict[str, Any] = {
        "time": "60 min",
        "hops": [{"hop": "fuggle", "amount": made(60, "g", 0), "time": "60 min"},
                 {"hop": "cascade", "amount": made(40, "g", 0), "time": "10 min"}],
        "finings": [{"fining": "carrageenan", "amount": made(4, "g", 1), "time": "10 min"}],
    }  # fmt: skip
    if house.steep:
        boil["hop_stand"] = {"temperature": "80 C", "time": "20 min",
                             "hops": [{"hop": "cascade", "amount": made(60, "g", 0)}]}  # fmt: skip
    fermentation = {"temperature": "19 C", "highest_temperature": "21 C", "time": "10 d"}
    if house.spund:
        fermentation["pressure"] = "0.5 bar"
    packaging = {
        "keg": {"into": "keg", "carbonation": "2.4 vol", "beer_temperature": "6 C"},
        "bottle": {"into": "bottle", "carbonation": "2.4 vol"},
        "cask": {"into": "cask", "carbonation": "1.4 vol"},
    }[house.into]
    return {
        "format": "1", "batch": "2026-01", "name": house.name,
        "plan": {
            "beer": "bitter", "kit": "kit", "fermenter_volume": made(40, "L", 1),
            "grist": [{"malt": "pale", "amount": made(7.3, "kg")},
                      {"malt": "amber", "amount": made(0.4, "kg")},
                      {"malt": "crystal", "amount": made(0.35, "kg")}],
            "liquor": liquor,
            "mash": {"malt_temperature": house.malt_temperature,
                     "rests": [{"temperature": "66 C", "time": "60 min"}]},
            "run_off": run_off, "boil": boil, "cool": {"pitch_temperature": "18 C"},
            "pitch": {"yeast": house.yeast, "form": house.yeast}, "fermentation": fermentation,
            "packaging": packaging,
        },
    }  # fmt: skip


def write(folder: Path, house: House) -> Path:
    """Write the archive of a house; return its folder."""
    (folder / "2026").mkdir(parents=True)
    files = {"brewery.yaml": brewery(house), "stock.yaml": STOCK,
             "2026/2026-01.yaml": record(house)}  # fmt: skip
    for name, content in files.items():
        text = yaml.safe_dump(content, allow_unicode=True, sort_keys=False, width=1000)
        # Every scalar is text: a number in quotes is a number to the loader.
        (folder / name).write_text(text, encoding="utf-8")
    return folder
