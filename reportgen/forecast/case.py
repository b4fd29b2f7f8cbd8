"""The case: plan, kit and stock resolved to plain numbers for the stages to work on.

Numbers that are not known exactly carry their uncertainty (``uncertainties`` library), one
variable for each cause, so that two walks over one case share their errors and a difference
between them is not blurred by what they have in common. All in base units: L at 20 degC, kg,
degC, min, fractions, mg/L, EBC, SG.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property

from msgspec import Struct, field

from reportgen.forecast.vessels import Vessel
from reportgen.forecast.yeast_pitched import PitchedYeast
from reportgen.science.atmosphere import boiling_point_at
from reportgen.science.carbonation import REAL_OF_APPARENT, atmospheric_pressure
from reportgen.science.density import WATER_20
from reportgen.science.number import Number, flat, nominal, ufloat

SUGAR_VOLUME = 0.617
"""L that 1 kg of dissolved extract takes up in wort (ICUMSA densities)."""
WATER = WATER_20 / 1000

STEEPED = ("crystal", "roasted")
"""Classes of malt whose starch is gone before they are mashed."""


class MaltDose(Struct, frozen=True):
    """A malt of the grist: amount in kg, extract as is, moisture, colour in EBC."""

    name: str
    title: str
    amount: Number
    extract: Number
    moisture: float
    colour: Number
    malt_class: str
    distilled_water_mash_ph: float | None
    lot: str = ""
    is_weighed: bool = False
    is_added: bool = False
    distilled_water_mash_ph_u: float | None = None
    """±U (k = 2) of that pH, where it is stated."""


class SugarDose(Struct, frozen=True):
    """A sugar: amount in kg, extract share, fermentable share, colour in EBC, where it goes.

    ``fermentability`` None: malt extract, which ferments as the yeast attenuates wort. ``minutes``:
    how long before the end of the boil it goes into the kettle; None: at its start.
    """

    name: str
    title: str
    amount: Number
    extract: float
    fermentability: float | None
    colour: float
    to: str
    is_weighed: bool = False
    is_added: bool = False
    minutes: float | None = None
    filling: int | None = None
    """Number of the containers that it went into; None where it is in all of the beer."""
    order: float = 0.0

    @property
    def volume(self) -> Number:
        """What it takes up in wort, L at 20 degC: its extract dissolved, and its water."""
        return self.amount * (SUGAR_VOLUME * self.extract + (1 - self.extract) / WATER)


class HopDose(Struct, frozen=True):
    """A hop addition: grams, alpha fraction, minutes of boil; None for the steep.

    ``minutes_u`` is ±U (k = 2) of the minutes; ``is_timed``: when it went in was written down.
    """

    name: str
    title: str
    grams: Number
    alpha: Number
    minutes: float | None
    lot: str = ""
    is_weighed: bool = False
    is_added: bool = False
    minutes_u: float = 0.0
    is_timed: bool = False


class SaltDose(Struct, frozen=True):
    """Grams of a salt (its chemical key), purity, and where it goes."""

    name: str
    salt: str
    grams: Number
    assay: float
    to: str
    is_weighed: bool = False
    is_added: bool = False


class AcidDose(Struct, frozen=True):
    """Millilitres of an acid (its chemical key) of a strength, and where it goes."""

    name: str
    acid: str
    millilitres: Number
    strength: float
    to: str
    is_weighed: bool = False
    is_added: bool = False


class LiquorAdded(Struct, frozen=True):
    """Liquor that went in beyond the plan: L at 20 degC, degC, and where.

    ``to`` is mash, sparge, kettle_full (before its volume was read), kettle, cast_out (after the
    boil), fermenter or container. ``after_reading``: the reading of that vessel was taken before,
    so it does not show it.
    """

    name: str
    to: str
    litres: Number
    temperature: float
    after_reading: bool = True
    filling: int | None = None
    """Number of the containers that it went into; None where it is in all of the beer."""
    order: float = 0.0


class Withdrawal(Struct, frozen=True):
    """Wort or beer taken out, L at 20 degC: from mash, kettle_full, kettle, cast_out, fermenter.

    What leaked before the fermenter was topped up is not what was drawn off afterwards: ``order``
    is less for what happened earlier, here, of liquor added and of sugars.
    """

    from_: str
    litres: Number
    order: float = 1.0


class RestStep(Struct, frozen=True):
    """A rest: degC, minutes, how it is reached, liquor temperature of an infusion.

    ``is_thin``: a decoction that leads to it is of wort alone.
    """

    temperature: float
    minutes: float
    reached_by: str
    liquor_temperature: float | None
    is_thin: bool = False


class Brought(Struct, frozen=True):
    """What beer brings that is filled out of others: CO2, volumes; alcohol of sugar, as a share;
    and the share of it that is beer."""

    gas: Number
    alcohol: Number
    beer: Number


class ContainerShare(Struct, frozen=True):
    """The share of a batch that is in containers of one kind, where it went into several.

    ``number`` counts the kinds from 0, which is that under ``packaging`` itself. ``litres`` is the
    beer that their sugar is in, L at 20 degC; None: what is packed less ``apart``, what the others
    have. ``is_unknown``: it cannot be told, since an amount was not written. ``brought`` is there
    where they were filled out of others.
    """

    number: int = 0
    litres: Number | None = None
    apart: Number = 0.0
    is_unknown: bool = False
    brought: Brought | None = None


class Case(Struct, frozen=True, dict=True):
    """One batch as numbers. Field names say what and, where not a base unit, in what unit."""

    volume: float
    altitude: float
    malts: tuple[MaltDose, ...]
    sugars: tuple[SugarDose, ...]
    hops: tuple[HopDose, ...]
    hop_stand_temperature: float | None
    hop_stand_minutes: float
    boil_minutes: Number
    cooling_minutes: float
    ions: Mapping[str, Number]
    alkalinity: Number
    liquor_ph: float
    salts: tuple[SaltDose, ...]
    acids: tuple[AcidDose, ...]
    mash_liquor: Number
    sparge_liquor: Number | None
    top_up: Number
    malt_temperature: float
    tun_temperature: float
    rests: tuple[RestStep, ...]
    sparge: str
    batches: int
    sparge_temperature: float
    cut_off_gravity: float
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
    grain_absorption: Number
    tanks_in_series: float
    pitch_temperature: float
    yeast_kind: str
    yeast: PitchedYeast
    pitch_rate: Number
    attenuation: Number
    attenuation_is_planned: bool
    fermentation_temperature: float
    highest_temperature: float
    ferment_pressure: float
    fermenter: Vessel
    container: Vessel
    packed_into: str
    carbonation: float
    packaging_temperature: float
    packed_highest_temperature: float
    priming_sugar: str
    mash_ph_method: str
    bitterness_method: str
    hop_stand_method: str
    alcohol_method: str
    colour_method: str
    bitterness_factor: float
    rinses: bool = True
    """Whether a sparge is meant: not in a run-off without, nor in a bag that is only lifted."""
    air_read: float | None = None
    """Air pressure of the place as the brewery states it, bar absolute; None: by its altitude."""
    portion: Number | None = None
    """L of another batch's wort that this one ferments; None where it is brewed here."""
    wort_to_others: Number = 0.0
    dilution: Number = 0.0
    """L of liquor that the plan puts to the wort in the fermenter."""
    liquor_added: tuple[LiquorAdded, ...] = ()
    withdrawals: tuple[Withdrawal, ...] = ()

    is_sealed: bool = False
    """Whether the beer is packed: what it can still ferment, it ferments in the container."""
    gravity_sealed: Number | None = None
    """Gravity of the last sample before that, where no final gravity was read; None for none."""
    sealed_early: bool = False
    """Whether the final gravity was read after these containers were sealed."""
    share: ContainerShare | None = None
    """The share of these containers, where the beer went into several kinds; None for all of it."""

    is_plain: bool = False
    """Whether only the values count, as for a solver: then no cause has an uncertainty."""

    chlorine: Number = 0.0
    """Free chlorine of the liquor as drawn, mg/L as Cl2."""
    chloramine: Number = 0.0
    """Chloramine of the liquor as drawn, mg/L as Cl2."""
    dechlorinated_by: str = ""

    causes: dict[str, Number] = field(default_factory=dict)
    """The variables of what no amount brings: one a cause, the same in each walk of this case and
    of those made from it."""

    def cause(self, name: str, value: float, uncertainty: float) -> Number:
        """Return the variable of a cause with its ±U (k = 2), made at its first use."""
        if self.is_plain:
            return value
        if name not in self.causes:
            self.causes[name] = ufloat(value, uncertainty / 2, name)
        return self.causes[name]

    def added_to(self, place: str) -> Number:
        """Liquor added at a place beyond the plan, L."""
        return flat(sum(more.litres for more in self.liquor_added if more.to == place))

    def sugar_to(self, place: str) -> Number:
        """Extract of the sugars that go in at a place, kg."""
        return flat(sum(s.amount * s.extract for s in self.sugars if s.to == place))

    def sugar_volume(self, place: str) -> Number:
        """What the sugars that go in at a place take up with their water, L at 20 degC."""
        return flat(sum(s.volume for s in self.sugars if s.to == place))

    def taken_from(self, place: str) -> Number:
        """Wort or beer taken out at a place, L."""
        return flat(sum(out.litres for out in self.withdrawals if out.from_ == place))

    def brim_of(self, place: str) -> float:
        """The most that could be put in or taken out at a place, L; sparge liquor is heated twice.
        """
        return {
            "mash": self.tun_volume, "sparge": 2 * self.kettle_brim, "kettle": self.kettle_brim,
            "fermenter": self.fermenter_brim, "container": self.fermenter_brim,
        }[place]  # fmt: skip

    @property
    def kept_volume(self) -> float:
        """Wort planned into this batch's own fermenter, L."""
        return nominal(self.volume - self.wort_to_others if self.portion is None else self.portion)

    @property
    def is_mashed(self) -> bool:
        """Whether there is a mash; else the wort is made of malt extract and sugar in liquor."""
        return bool(self.malts)

    @property
    def is_steeped(self) -> bool:
        """Whether the grist only gives colour and taste: nothing in it converts, nothing has to."""
        return self.is_mashed and all(m.malt_class in STEEPED for m in self.malts)

    @property
    def container_sugar(self) -> Number:
        """Extract put into the containers beyond the priming sugar, as far as it ferments, kg.

        Malt extract ferments by the attenuation of the wort, the real one.
        """
        return self.sugar_in(lambda filling: True)

    def sugar_in(self, which: Callable[[int | None], bool]) -> Number:
        """Return the same of some containers alone, kg; ``which`` says of their numbers."""
        malt = REAL_OF_APPARENT * self.attenuation
        return flat(sum(
            s.amount * s.extract * (malt if s.fermentability is None else s.fermentability)
            for s in self.sugars if s.to == "container" and which(s.filling)
        ))  # fmt: skip

    def room_in(self, which: Callable[[int | None], bool]) -> Number:
        """Return what liquor and sugar beyond the plan take up in some containers, L at 20 degC."""
        liquor = (m.litres for m in self.liquor_added if m.to == "container" and which(m.filling))
        sugar = (s.volume for s in self.sugars if s.to == "container" and which(s.filling))
        return flat(sum((*liquor, *sugar)))

    @cached_property
    def air(self) -> float:
        """Air pressure of the place, bar absolute."""
        if self.air_read is not None:
            return self.air_read
        return nominal(atmospheric_pressure(self.altitude))

    @cached_property
    def boiling(self) -> float:
        """Boiling point of water at the place, degC."""
        return nominal(boiling_point_at(self.air))

    @cached_property
    def grist(self) -> Number:
        """Total grist, kg."""
        return flat(sum(malt.amount for malt in self.malts))

    @cached_property
    def malt_extract(self) -> Number:
        """Extract in the whole grist, kg."""
        return flat(sum(malt.amount * malt.extract for malt in self.malts))

    @cached_property
    def extract(self) -> Number:
        """Share of extract in the whole grist, as is."""
        return flat(self.malt_extract / self.grist)

    @cached_property
    def moisture(self) -> Number:
        """Share of moisture in the whole grist."""
        return flat(sum(malt.amount * malt.moisture for malt in self.malts) / self.grist)
