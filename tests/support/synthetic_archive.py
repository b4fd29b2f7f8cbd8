"""An archive of any number of batches, made from a seed: for timing, and as a known truth.

    python tests/support/synthetic_archive.py FOLDER 2000 1

Each batch is brewed by a small model of its own, which shares no code with the package: the kit
and the yeasts have true values (:data:`TRUTH`), each batch scatters about them, and the readings
are rounded as the instruments show them. The files of the house state other values on purpose, so
that a history can be held against the truth. All names are invented.
"""

from __future__ import annotations

import datetime
import math
import random
import sys
from dataclasses import dataclass, field
from pathlib import Path

START = datetime.date(2020, 1, 4)
END = datetime.date(2199, 1, 1)
"""A record knows no year after 2199: an archive that would run on begins earlier."""

DAYS = 7
"""Days from one brew to the next."""

BLOCK = 5
"""Batches of one line of descent: new yeast, then harvested four times."""

LOT = 12
"""Batches that a delivery of malt or hops lasts."""


@dataclass(frozen=True)
class Truth:
    """What the kit and the yeasts truly do: mean and standard deviation from batch to batch."""

    conversion: tuple[float, float] = (0.930, 0.006)
    shortfall: tuple[float, float] = (0.95, 0.03)
    evaporation: tuple[float, float] = (4.80, 0.15)
    heat_loss: tuple[float, float] = (1.60, 0.12)
    attenuation: dict[str, tuple[float, float]] = field(
        default_factory=lambda: {"ale_north": (0.770, 0.006), "ale_south": (0.730, 0.006)}
    )


TRUTH = Truth()

BREWERY = """\
format: 1
name: Synthetic House
paper: A4
units: metric
people: {AA: First Brewer, BB: Second Brewer}
kits:
  main:
    mash_tun: {volume: 60 L, heat_capacity: 6 kJ/K, dead_space: 0.5 L, heat_loss: 1.0 K}
    kettle: {volume: 64 L, evaporation: 4.5 L/h, loss: 2 L, power: 5.5 kW}
    fermenter: {volume: 55 L, loss: 1.5 L, pressure_rating: 1.5 bar}
    conversion: 95 %
    conversion_uncertainty: 3 %
    grain_absorption: 0.85 L/kg
    tanks_in_series: 1
    cooling_time: 20 min
instruments:
  glass: {reads: hydrometer, resolution: 0.0005, uncertainty: 0.0005, reference_temperature: 20 C}
  probe: {reads: thermometer, resolution: 0.1 K, uncertainty: 0.2 K}
  pen: {reads: ph_meter, resolution: 0.01, uncertainty: 0.04, corrects_temperature: yes}
  stick: {reads: volume_gauge, resolution: 0.1 L, uncertainty: 0.2 L}
  balance: {reads: scale, resolution: 0.1 g, uncertainty: 0.2 g}
  dial: {reads: pressure_gauge, resolution: 0.01 bar, uncertainty: 0.03 bar}
liquors:
  soft: {analysed: 2020-01-01, calcium: 20 mg/L, magnesium: 3 mg/L, sodium: 9 mg/L,
         chloride: 15 mg/L, sulfate: 20 mg/L, bicarbonate: 51 mg/L, ph: 7.6}
  hard: {analysed: 2020-01-01, calcium: 90 mg/L, magnesium: 9 mg/L, sodium: 18 mg/L,
         chloride: 60 mg/L, sulfate: 105 mg/L, bicarbonate: 110 mg/L, ph: 7.4}
"""

RECIPES = (
    ("Pale", {"pale": 9.4, "crystal": 0.3}, "soft"),
    ("Bitter", {"pale": 9.0, "crystal": 0.6}, "soft"),
    ("Amber", {"pale": 9.8, "crystal": 0.6}, "soft"),
    ("Golden", {"pale": 9.6, "crystal": 0.2}, "hard"),
)
EXTRACT = {"pale": 0.785, "crystal": 0.735}
MOISTURE = 0.04


def gravity(plato: float) -> float:
    """SG 20/20 of an extract, by the usual short fit of the ASBC table; 0 to 20 degP."""
    return 1 + plato / (258.6 - 227.1 * plato / 258.2)


def strength(extract: float, volume: float) -> float:
    """Return the degP of so many kg of extract in so many litres at 20 degC."""
    plato = 10.0
    for _ in range(40):
        plato = 100 * extract / (volume * 0.99820 * gravity(plato))
    return plato


def fermentability(temperature: float) -> float:
    """Share of the attenuation at 66 degC, near it: a parabola with its top at 62.5 degC."""
    return 1 - 0.00273 * ((temperature - 62.5) ** 2 - 12.25)


def ids(count: int) -> list[tuple[str, datetime.date]]:
    """Return the id and the brew day of each batch: numbered from 1 within its year."""
    found: list[tuple[str, datetime.date]] = []
    within: dict[int, int] = {}
    start = min(START, END - datetime.timedelta(days=DAYS * count))
    for number in range(count):
        day = start + datetime.timedelta(days=DAYS * number)
        within[day.year] = within.get(day.year, 0) + 1
        found.append((f"{day.year}-{within[day.year]:03d}", day))
    return found


def make_archive(folder: Path, count: int, seed: int = 1) -> list[str]:
    """Write an archive and return the ids of its batches; the same seed gives the same bytes."""
    chance = random.Random(seed)
    batches = ids(count)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "brewery.yaml").write_text(BREWERY, encoding="utf-8")
    (folder / "stock.yaml").write_text(_stock(batches), encoding="utf-8")
    for number, (batch, day) in enumerate(batches):
        path = folder / batch[:4] / f"{batch}.yaml"
        path.parent.mkdir(exist_ok=True)
        before = batches[number - 1][0] if number % BLOCK else ""
        path.write_text(_record(number, batch, day, before, chance), encoding="utf-8")
    return [batch for batch, _ in batches]


def _yeast(number: int) -> str:
    return "ale_north" if number // BLOCK % 2 == 0 else "ale_south"


def _stock(batches: list[tuple[str, datetime.date]]) -> str:
    deliveries = [day for n, (_, day) in enumerate(batches) if n % LOT == 0]

    def lots(letter: str, more: str = "") -> str:
        rows = []
        for number, day in enumerate(deliveries):
            came = day - datetime.timedelta(days=10)
            best = came + datetime.timedelta(days=700)
            rows.append(f"{letter}-{number}: {{received: {came}, best_before: {best}{more}}}")
        return "{" + ",\n      ".join(rows) + "}"

    def cultures(yeast: str) -> str:
        rows = []
        for number, (_, day) in enumerate(batches):
            if number % BLOCK == 0 and _yeast(number) == yeast:
                came = day - datetime.timedelta(days=3)
                rows.append(f"Y-{number // BLOCK}: {{received: {came}}}")
        return "{" + ",\n      ".join(rows) + "}"

    return f"""\
format: 1
malts:
  pale:
    malt_class: pale
    extract: 78.5 %
    moisture: 4 %
    colour: 5.5 EBC
    allergens: [barley]
    lots: {lots("P")}
  crystal:
    malt_class: crystal
    extract: 73.5 %
    moisture: 4 %
    colour: 140 EBC
    allergens: [barley]
    lots: {lots("C")}
hops:
  hedge:
    form: pellets
    alpha: 5.0 %
    lots: {lots("H")}
yeasts:
  ale_north: {{ferments: ale, form: slurry, apparent_attenuation: 75 %, lowest_temperature: 15 C,
    highest_temperature: 22 C, cells: {{slurry: 1.2 billion/mL}}, generations: 8,
    lots: {cultures("ale_north")}}}
  ale_south: {{ferments: ale, form: slurry, apparent_attenuation: 73 %, lowest_temperature: 15 C,
    highest_temperature: 22 C, cells: {{slurry: 1.2 billion/mL}}, generations: 8,
    lots: {cultures("ale_south")}}}
salts:
  gypsum: {{is: gypsum}}
acids:
  lactic_80: {{is: lactic, strength: 80 %}}
"""


def _step(value: float, step: float, decimals: int) -> str:
    return f"{round(value / step) * step:.{decimals}f}"


@dataclass(frozen=True)
class Brewed:
    """What truly happened in one batch: volumes in L, gravities in SG, temperatures in degC."""

    first_wort: float
    last_runnings: float
    kettle: float
    kettle_gravity: float
    cast_out: float
    original: float
    final: float
    mashed: float
    mash_end: float


def brew(
    number: int, malts: dict[str, float], liquor: float, sparge: float, chance: random.Random
) -> Brewed:
    """Brew one batch with the true kit and yeast."""
    grist = sum(malts.values())
    extract = sum(mass * EXTRACT[malt] for malt, mass in malts.items()) / grist
    converted = extract * chance.gauss(*TRUTH.conversion)
    ratio = liquor * 0.99820 / grist
    first = 100 * converted / (converted + ratio + MOISTURE)
    shortfall = chance.gauss(*TRUTH.shortfall)
    held = grist * (shortfall + 0.617 * converted + MOISTURE) + 0.5
    wort = grist * (converted + ratio + MOISTURE) / (0.99820 * gravity(first))
    washed = 1 - held / wort * math.exp(-sparge / held)
    kettle = liquor + sparge - shortfall * grist - 0.5
    cast_out = kettle - chance.gauss(*TRUTH.evaporation)
    mass = grist * converted * washed
    original = strength(mass, cast_out)
    mashed = 66 + chance.gauss(0, 0.2)
    rate = chance.gauss(*TRUTH.heat_loss) / (66 - 20)
    apparent = chance.gauss(*TRUTH.attenuation[_yeast(number)]) * fermentability(mashed)
    return Brewed(
        gravity(first),
        1 + (gravity(first) - 1) * math.exp(-sparge / held),
        kettle,
        gravity(strength(mass, kettle)),
        cast_out,
        gravity(original),
        gravity(original * (1 - apparent)),
        mashed,
        20 + (mashed - 20) * math.exp(-rate),
    )


def _record(
    number: int, batch: str, day: datetime.date, before: str, chance: random.Random
) -> str:
    name, malts, water = RECIPES[chance.randrange(len(RECIPES))]
    grist = sum(malts.values())
    liquor = round(2.8 * grist, 1)
    # The plan trusts what brewery.yaml states: 46.5 L at kettle full, 0.85 L/kg kept by the grain.
    sparge = round(46.5 + 0.85 * grist + 0.5 - liquor, 1)
    done = brew(number, malts, liquor, sparge, chance)
    delivery = number // LOT
    yeast = _yeast(number)
    generation = number % BLOCK
    origin = (
        f"harvested_from: {before}\n    generation: {generation}"
        if before
        else f"lot: Y-{number // BLOCK}\n    generation: 0"
    )
    later = [day + datetime.timedelta(days=n) for n in range(8)]
    letters = {"pale": "P", "crystal": "C"}
    hops = round(60 + chance.uniform(-8, 8))
    planned = "\n".join(
        f"    - {{malt: {malt}, amount: {mass:.2f} kg, lot: {letters[malt]}-{delivery}}}"
        for malt, mass in malts.items()
    )
    weighed = "\n".join(
        f"    - {{item: {malt}, amount: {mass:.2f} kg, lot: {letters[malt]}-{delivery}, by: AA}}"
        for malt, mass in malts.items()
    )
    acid = "11.0" if water == "hard" else "3.5"
    ph = (5.55 if water == "hard" else 5.42) + chance.gauss(0, 0.02)
    half = (done.original + done.final) / 2
    score = chance.gauss(4.0 if yeast == "ale_south" else 3.0, 0.4)
    return f"""\
format: 1
batch: {batch}
name: {name} number {number + 1}
plan:
  revision: 1
  beer: {name.lower()}
  kit: main
  fermenter_volume: 40 L
  grist:
{planned}
  liquor:
    blend:
      - {{liquor: {water}, share: 100 %}}
    mash_liquor: {liquor} L
    sparge_liquor: {sparge} L
    salts:
      - {{salt: gypsum, amount: 5.0 g, to: mash}}
    acids:
      - {{acid: lactic_80, amount: {acid} mL, to: mash}}
  mash:
    malt_temperature: 18 C
    rests:
      - {{temperature: 66 C, time: 60 min}}
  run_off: {{sparge: continuous, sparge_temperature: 76 C, cut_off_gravity: 1.005}}
  boil:
    time: 60 min
    hops:
      - {{hop: hedge, amount: {hops} g, time: 60 min, lot: H-{delivery}}}
  cool: {{pitch_temperature: 18 C}}
  pitch:
    yeast: {yeast}
    {origin}
  fermentation: {{temperature: 19 C, highest_temperature: 20 C, time: 6 d}}
  packaging: {{into: keg, carbonation: 2.3 vol, beer_temperature: 7 C}}
brew_day:
  date: {day}
  brewers: [AA, BB]
  typed_by: AA
  checked_by: BB
  weighed:
{weighed}
    - {{item: hedge, amount: {hops} g, lot: H-{delivery}, by: AA}}
  mash:
    started: 09:00
    mash_liquor: {liquor} L
    malt_temperature: {_step(18 + chance.gauss(0, 0.5), 0.1, 1)} C
    mash_temperature: {_step(done.mashed, 0.1, 1)} C
    mash_ph: {{read: {_step(ph, 0.01, 2)}, sample: 20 C}}
    mash_end_temperature: {_step(done.mash_end, 0.1, 1)} C
    first_wort_gravity: {{read: {_step(done.first_wort, 0.0005, 4)}, sample: 20 C}}
  run_off:
    started: 10:00
    sparge_liquor: {sparge} L
    sparge_temperature: {_step(76 + chance.gauss(0, 0.4), 0.1, 1)} C
    last_runnings_gravity: {{read: {_step(done.last_runnings, 0.0005, 4)}, sample: 20 C}}
    kettle_volume: {{read: {_step(done.kettle, 0.1, 1)} L, sample: 20 C}}
    kettle_gravity: {{read: {_step(done.kettle_gravity, 0.0005, 4)}, sample: 20 C}}
  boil:
    started: 11:40
    ended: 12:40
    cast_out_volume: {{read: {_step(done.cast_out, 0.1, 1)} L, sample: 20 C}}
    cast_out_gravity: {{read: {_step(done.original, 0.0005, 4)}, sample: 20 C}}
  pitch:
    fermenter_volume: {_step(done.cast_out - 2, 0.1, 1)} L
    original_gravity: {{read: {_step(done.original, 0.0005, 4)}, sample: 20 C}}
    pitch_temperature: {_step(18 + chance.gauss(0, 0.4), 0.1, 1)} C
    yeast_amount: 0.3 L
    viable_cells: NOT RECORDED
    at: 13:30
fermentation:
  log:
    - {{at: {later[1]} 14:00, temperature: 18.8 C, gravity: {_step(half, 0.0005, 4)}}}
    - {{at: {later[4]} 14:00, temperature: 19.0 C, gravity: {_step(done.final, 0.0005, 4)}}}
    - {{at: {later[6]} 9:00, temperature: 18.9 C, gravity: {_step(done.final, 0.0005, 4)}}}
  final_gravity: {{read: {_step(done.final, 0.0005, 4)}, sample: 20 C}}
  finished: {later[6]}
  harvest: {{at: {later[6]} 10:00, amount: 1.0 L, viability: 95 %, stored_at: 4 C}}
packaging:
  date: {later[6]}
  packaged_volume: {_step(done.cast_out - 3.5, 0.1, 1)} L
  containers: 2
  container_size: 19 L
  beer_temperature: 7.0 C
  pressure: 0.83 bar
  best_before: {day + datetime.timedelta(days=120)}
  label: {name}, contains barley
  packaged_by: BB
tasting:
  - date: {day + datetime.timedelta(days=30)}
    assessors: [AA, BB]
    scores: {{fruity: {min(max(score, 0), 8):.1f}, bitter: 3.5}}
review:
  disposition: release
  decided_by: AA
  decided_on: {day + datetime.timedelta(days=31)}
"""


if __name__ == "__main__":
    made = make_archive(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
    print(f"{len(made)} batches in {sys.argv[1]}")
