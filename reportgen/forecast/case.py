"""The case: plan, kit and stock resolved to plain numbers for the stages to work on.

Numbers that are not known exactly carry their uncertainty (``uncertainties`` library), one
variable for each cause, so that two walks over one case share their errors and a difference
between them is not blurred by what they have in common. All in base units: L at 20 degC, kg,
degC, min, fractions, mg/L, EBC, SG.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from reportgen.forecast.vessels import Vessel
from reportgen.science.number import Number, flat


@dataclass(frozen=True)
class Malt:
    """A malt of the grist: amount in kg, extract as is, moisture, colour in EBC."""

    name: str
    title: str
    amount: Number
    extract: Number
    moisture: float
    colour: Number
    acidity: str
    distilled_ph: float | None


@dataclass(frozen=True)
class Sugar:
    """A sugar: amount in kg, extract share, fermentable share, colour in EBC, where it goes."""

    name: str
    title: str
    amount: Number
    extract: float
    fermentability: float
    colour: float
    to: str


@dataclass(frozen=True)
class Hop:
    """A hop addition: grams, alpha fraction, minutes of boil; None for the steep."""

    name: str
    title: str
    grams: Number
    alpha: Number
    minutes: float | None


@dataclass(frozen=True)
class SaltDose:
    """Grams of a salt (its chemical key), purity, and where it goes."""

    name: str
    salt: str
    grams: Number
    assay: float
    to: str


@dataclass(frozen=True)
class AcidDose:
    """Millilitres of an acid (its chemical key) of a strength, and where it goes."""

    name: str
    acid: str
    millilitres: Number
    strength: float
    to: str


@dataclass(frozen=True)
class Rest:
    """A rest: degC, minutes, how it is reached, liquor temperature of an infusion."""

    temperature: float
    minutes: float
    by: str
    liquor_temperature: float | None


@dataclass(frozen=True)
class Case:
    """One batch as numbers. Field names say what and, where not a base unit, in what unit."""

    volume: float
    altitude: float
    malts: tuple[Malt, ...]
    sugars: tuple[Sugar, ...]
    hops: tuple[Hop, ...]
    steep_temperature: float | None
    steep_minutes: float
    boil_minutes: float
    cooling_minutes: float
    ions: Mapping[str, float]
    alkalinity: float
    liquor_ph: float
    salts: tuple[SaltDose, ...]
    acids: tuple[AcidDose, ...]
    mash_liquor: Number
    sparge_liquor: Number | None
    top_up: Number
    malt_temperature: float
    tun_temperature: float
    rests: tuple[Rest, ...]
    sparge: str
    batches: int
    sparge_temperature: float
    stop_gravity: float
    tun_volume: float
    tun_heat_capacity: float
    tun_dead_space: float
    tun_heat_loss: float
    kettle_brim: float
    kettle_loss: Number
    evaporation: Number
    fermenter_brim: float
    fermenter_loss: Number
    conversion: Number
    water_shortfall: Number
    mixing_tanks: float
    pitch_temperature: float
    yeast_kind: str
    yeast_by: str
    pitch_rate: float
    cell_density: float | None
    attenuation: Number
    attenuation_is_planned: bool
    ferment_temperature: float
    highest_temperature: float
    ferment_pressure: float
    fermenter: Vessel
    container: Vessel
    packed_into: str
    carbonation: float
    pack_temperature: float
    packed_highest_temperature: float
    priming_sugar: str
    mash_ph_method: str
    bitterness_method: str
    steep_method: str
    alcohol_method: str
    colour_method: str
    bitterness_factor: float

    @cached_property
    def grist(self) -> Number:
        """Total grist, kg."""
        return flat(sum(malt.amount for malt in self.malts))

    @cached_property
    def extract(self) -> Number:
        """Share of extract in the whole grist, as is."""
        return flat(sum(malt.amount * malt.extract for malt in self.malts) / self.grist)

    @cached_property
    def moisture(self) -> Number:
        """Share of moisture in the whole grist."""
        return flat(sum(malt.amount * malt.moisture for malt in self.malts) / self.grist)
