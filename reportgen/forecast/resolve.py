"""From the typed record, the kit and the stock to a case of plain numbers.

The uncertainties given to what nobody measured are common practice, no source, and stand in one
table of ``materials``; what the brewer states in ``brewery.yaml`` or ``stock.yaml`` replaces them.
"""

from __future__ import annotations

import datetime

from reportgen.forecast.case import (
    AcidDose,
    Case,
    ContainerShare,
    HopDose,
    MaltDose,
    RestStep,
    SaltDose,
    SugarDose,
)
from reportgen.forecast.materials import hop_of, malt_of, shared, sugar_of
from reportgen.forecast.vessels import container_of, fermenter_of
from reportgen.forecast.yeast_pitched import pitched
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery, Liquor, Methods
from reportgen.record.model.later import Harvest
from reportgen.record.model.plan import HopItem, PackagingPlan, Plan, SugarItem
from reportgen.record.model.stock import Stock, Yeast
from reportgen.record.units import Quantity
from reportgen.science.alcohol import DEFAULT as ALCOHOL
from reportgen.science.bitterness import DEFAULT as BITTERNESS
from reportgen.science.colour import DEFAULT as COLOUR
from reportgen.science.density import gravity_from_extract
from reportgen.science.mash_ph import DEFAULT as MASH_PH
from reportgen.science.number import Number, ufloat
from reportgen.science.water import convert_hardness

CONVERSION, CONVERSION_U = 0.95, 0.03
GRAIN_ABSORPTION, GRAIN_ABSORPTION_U = 0.9, 0.2
SQUEEZED_ABSORPTION = 0.6
"""L/kg that a bag keeps when it is squeezed: common practice, no source."""
TANKS_IN_SERIES = 1.0
MALT_TEMPERATURE = 18.0
SPARGE_TEMPERATURE = 76.0
CUT_OFF_GRAVITY = 1.008
COOLING_MINUTES = 20.0
LIQUOR_PH = 7.5
PACK_TEMPERATURE = 5.0
WARMEST_STORE = 30.0
"""degC: a room in a hot summer; common practice, no source."""
ATTENUATION_U = 0.04
PITCH_RATE = {"ale": 0.75, "lager": 1.5}
PITCH_RATE_U = 1 / 3
"""±U (k = 2) of a rate that the plan does not state, as a share: 0.5 to 1 million/(mL degP) are in
use for ale, 1 to 2 for lager (G.J. Fix and L.A. Fix 1997, An Analysis of Brewing Techniques)."""
ROOM = 20.0


def _value(quantity: Quantity | None, default: float) -> float:
    return default if quantity is None else quantity.value


def number_of(quantity: Quantity) -> float:
    """Return the number that is computed with: of a gravity SG 20/20, else in the base unit.

    OutOfRange for degrees Plato or Brix that no gravity has.
    """
    if quantity.unit in ("P", "Bx"):
        return float(gravity_from_extract(quantity.value))
    return quantity.value


def ions_of(liquor: Liquor) -> tuple[dict[str, float], float]:
    """Return the ions of a liquor in mg/L and its alkalinity in mEq/L."""
    names = ("calcium", "magnesium", "sodium", "potassium", "chloride", "sulfate", "nitrate")
    ions = {name: _value(getattr(liquor, name), 0.0) for name in names}
    if liquor.alkalinity is not None:
        return ions, float(convert_hardness(liquor.alkalinity.value, "caco3"))
    return ions, float(convert_hardness(_value(liquor.bicarbonate, 0.0), "bicarbonate"))


def _malts(plan: Plan, stock: Stock) -> tuple[MaltDose, ...]:
    return tuple(
        malt_of(
            item.malt,
            shared(item.amount.value, "weight", f"weight of {item.malt}"),
            item.lot,
            stock,
        )
        for item in plan.grist
    )


def is_dissolved_first(item: SugarItem, plan: Plan, stock: Stock) -> bool:
    """Whether a sugar is in the kettle when it is read as full, since it has no time of its own.

    All are without a mash; with one, malt extract is. Other sugar goes in as the boil begins.
    """
    if item.to != "kettle" or item.time is not None:
        return False
    return not plan.grist or stock.sugars[item.sugar].fermentability is None


def _sugars(plan: Plan, stock: Stock) -> tuple[SugarDose, ...]:
    return tuple(
        sugar_of(
            item.sugar,
            shared(item.amount.value, "weight", f"weight of {item.sugar}"),
            "kettle_full" if is_dissolved_first(item, plan, stock) else item.to,
            stock,
            item.time.value if item.time is not None and item.to == "kettle" else None,
        )
        for item in plan.sugars
    )


def _hop(
    item: HopItem,
    stock: Stock,
    boil_minutes: float,
    in_hop_stand: bool,
    on: datetime.date | None,
) -> HopDose:
    minutes = None if in_hop_stand else min(_value(item.time, 0.0), boil_minutes)
    grams = 1000 * shared(item.amount.value, "weight", f"weight of {item.hop}")
    return hop_of(item.hop, grams, minutes, item.lot, stock, on)


def _hops(plan: Plan, stock: Stock) -> tuple[HopDose, ...]:
    boil = plan.boil
    # The numbers of the sheet hang on the plan alone: its own day, not that of the brew day.
    on = plan.brew_on.date if plan.brew_on is not None else None
    hops = [_hop(item, stock, boil.time.value, False, on) for item in boil.hops]
    if boil.hop_stand is not None:
        hops += [_hop(item, stock, boil.time.value, True, on) for item in boil.hop_stand.hops]
    return tuple(hops)


def _blend(plan: Plan, brewery: Brewery) -> tuple[dict[str, Number], Number, float]:
    """Return ions, alkalinity and pH of the blend; shares are taken as of their sum.

    pH does not mix; the one printed is that of the liquor with the largest share.
    """
    total = sum(part.share.value for part in plan.liquor.blend)
    ions: dict[str, Number] = {}
    alkalinity: Number = 0.0
    largest, ph = -1.0, LIQUOR_PH
    for part in plan.liquor.blend:
        share = part.share.value / total
        liquor = brewery.liquors[part.liquor]
        own, own_alkalinity = ions_of(liquor)
        for ion, amount in own.items():
            analysed = shared(amount, "analysis", f"{ion} of {part.liquor}")
            ions[ion] = ions.get(ion, 0.0) + share * analysed
        analysed = shared(own_alkalinity, "analysis", f"alkalinity of {part.liquor}")
        alkalinity = alkalinity + share * analysed
        if share > largest:
            largest, ph = share, _value(liquor.ph, LIQUOR_PH)
    return ions, alkalinity, ph


def _chlorine(plan: Plan, brewery: Brewery, name: str) -> Number:
    """Return the chlorine or chloramine of the blend, mg/L as Cl2."""
    total = sum(part.share.value for part in plan.liquor.blend)
    chlorine: Number = 0.0
    for part in plan.liquor.blend:
        stated = _value(getattr(brewery.liquors[part.liquor], name), 0.0)
        analysed = shared(stated, "analysis", f"{name} of {part.liquor}")
        chlorine = chlorine + part.share.value / total * analysed
    return chlorine


def pitch_rate(plan: Plan, yeast: Yeast) -> Number:
    """Return the pitch rate of a plan, million cells/(mL degP); that of its kind, with U, without.
    """
    if plan.pitch.pitch_rate is not None:
        return plan.pitch.pitch_rate.value
    usual = PITCH_RATE[yeast.ferments]
    return ufloat(usual, usual * PITCH_RATE_U / 2, "pitch rate")


def method_chosen(plan: Plan, brewery: Brewery, name: str, default: str) -> str:
    """Return the model chosen for one thing: by the plan, else by the house, else the default."""
    for methods in (plan.methods, brewery.methods):
        chosen = getattr(methods, name) if methods is not None else None
        if chosen is not None:
            return str(chosen)
    return default


def _factor(plan: Plan, brewery: Brewery) -> float:
    for methods in (plan.methods, brewery.methods):
        if isinstance(methods, Methods) and methods.bitterness_factor is not None:
            return methods.bitterness_factor.value
    return 1.0


def rinses(plan: Plan) -> bool:
    """Whether the plan rinses the grain. A bag is, where liquor or its temperature is stated."""
    stated = plan.liquor.sparge_liquor is not None or plan.run_off.sparge_temperature is not None
    return plan.run_off.sparge != "none" and (plan.run_off.sparge != "bag" or stated)


def attenuation_of(yeast: Yeast, planned: Quantity | None = None) -> Number:
    """Return the apparent attenuation by a yeast, else the planned one, with its ±U."""
    stated = planned or yeast.apparent_attenuation
    spread = _value(yeast.attenuation_uncertainty, ATTENUATION_U)
    return ufloat(stated.value, spread / 2, "attenuation")


def first_share(packaging: PackagingPlan) -> ContainerShare | None:
    """Return the share of the first containers, as planned; None where they have all of the beer.

    What is filled out of them, or out of the bucket with their sugar, is of their share.
    """
    if not packaging.also:
        return None
    others = (other.volume.value for other in packaging.also if other.is_apart)
    return ContainerShare(0, apart=sum(others))


def resolve(
    record: Record, brewery: Brewery, stock: Stock, harvest: Harvest | None = None
) -> Case:
    """Return the case of a record. All names in it must be known (``references``).

    ``harvest`` is that of the batch that the plan has its yeast from, where it is known.
    """
    plan = record.plan
    kit = brewery.kits[plan.kit]
    yeast = stock.yeasts[plan.pitch.yeast]
    # The numbers of the sheet hang on the plan alone: its own day, not that of the brew day.
    on = plan.brew_on.date if plan.brew_on is not None else None
    ions, alkalinity, ph = _blend(plan, brewery)
    malt_temperature = _value(plan.mash.malt_temperature, MALT_TEMPERATURE)
    planned = plan.fermentation.apparent_attenuation
    sparge = plan.liquor.sparge_liquor
    top_up = _value(plan.liquor.top_up_liquor, 0.0)
    steep = plan.boil.hop_stand
    boiled = method_chosen(plan, brewery, "bitterness", BITTERNESS)
    return Case(
        volume=plan.fermenter_volume.value,
        altitude=_value(brewery.altitude, 0.0),
        air_read=brewery.air_pressure.value if brewery.air_pressure else None,
        malts=_malts(plan, stock),
        sugars=_sugars(plan, stock),
        hops=_hops(plan, stock),
        hop_stand_temperature=steep.temperature.value if steep else None,
        hop_stand_minutes=steep.time.value if steep else 0.0,
        boil_minutes=plan.boil.time.value,
        cooling_minutes=_value(kit.cooling_time, COOLING_MINUTES),
        ions=ions,
        alkalinity=alkalinity,
        liquor_ph=ph,
        salts=tuple(
            SaltDose(
                item.salt,
                stock.salts[item.salt].is_,
                1000 * item.amount.value,
                stock.salts[item.salt].purity,
                item.to,
            )
            for item in plan.liquor.salts
        ),
        acids=tuple(
            AcidDose(
                item.acid,
                stock.acids[item.acid].is_,
                1000 * item.amount.value,
                stock.acids[item.acid].strength.value,
                item.to,
            )
            for item in plan.liquor.acids
        ),
        chlorine=_chlorine(plan, brewery, "chlorine"),
        chloramine=_chlorine(plan, brewery, "chloramine"),
        dechlorinated_by=str(plan.liquor.dechlorinated_by or ""),
        mash_liquor=shared(_value(plan.liquor.mash_liquor, 0.0), "liquor", "mash liquor"),
        sparge_liquor=None
        if sparge is None or plan.run_off.sparge == "none"
        else shared(sparge.value, "liquor", "sparge"),
        top_up=shared(top_up, "liquor", "top-up liquor"),
        dilution=shared(_value(plan.liquor.dilution_liquor, 0.0), "liquor", "dilution liquor"),
        malt_temperature=malt_temperature,
        tun_temperature=_value(plan.mash.tun_temperature, malt_temperature),
        rests=tuple(
            RestStep(
                rest.temperature.value,
                rest.time.value,
                rest.reached_by or ("strike" if number == 0 else "infusion"),
                rest.liquor_temperature.value if rest.liquor_temperature else None,
                rest.decoction == "thin",
            )
            for number, rest in enumerate(plan.mash.rests)
        ),
        sparge=plan.run_off.sparge,
        rinses=rinses(plan),
        batches=int(_value(plan.run_off.sparge_batches, 1.0)),
        sparge_temperature=_value(plan.run_off.sparge_temperature, SPARGE_TEMPERATURE),
        cut_off_gravity=number_of(plan.run_off.cut_off_gravity)
        if plan.run_off.cut_off_gravity
        else CUT_OFF_GRAVITY,
        tun_volume=kit.tun.volume.value,
        tun_heat_capacity=_value(kit.tun.heat_capacity, 0.0),
        tun_dead_space=_value(kit.tun.dead_space, 0.0),
        tun_heat_loss=_value(kit.tun.heat_loss, 0.0),
        kettle_brim=kit.kettle.volume.value,
        kettle_loss=shared(_value(kit.kettle.loss, 0.0), "loss", "kettle loss"),
        evaporation=shared(kit.kettle.evaporation.value, "evaporation", "evaporation"),
        fermenter_brim=kit.fermenter.volume.value,
        fermenter_loss=shared(_value(kit.fermenter.loss, 0.0), "loss", "fermenter loss"),
        conversion=ufloat(
            _value(kit.conversion, CONVERSION),
            _value(kit.conversion_uncertainty, CONVERSION_U) / 2,
            "conversion",
        ),
        grain_absorption=ufloat(
            _value(
                kit.grain_absorption,
                SQUEEZED_ABSORPTION if plan.run_off.bag == "squeezed" else GRAIN_ABSORPTION,
            ),
            GRAIN_ABSORPTION_U / 2,
            "water shortfall",
        ),
        tanks_in_series=_value(kit.tanks_in_series, TANKS_IN_SERIES),
        pitch_temperature=plan.cool.pitch_temperature.value,
        yeast_kind=yeast.ferments,
        yeast=pitched(plan.pitch, yeast, harvest, on),
        pitch_rate=pitch_rate(plan, yeast),
        attenuation=attenuation_of(yeast, planned),
        attenuation_is_planned=planned is not None,
        fermentation_temperature=plan.fermentation.temperature.value,
        highest_temperature=_value(
            plan.fermentation.highest_temperature, plan.fermentation.temperature.value
        ),
        ferment_pressure=_value(plan.fermentation.pressure, 0.0),
        fermenter=fermenter_of(str(plan.kit), brewery),
        container=container_of(record, brewery),
        packed_into=plan.packaging.into,
        carbonation=plan.packaging.carbonation.value,
        packaging_temperature=_value(plan.packaging.beer_temperature, PACK_TEMPERATURE),
        packed_highest_temperature=_value(plan.packaging.highest_temperature, WARMEST_STORE),
        priming_sugar=plan.packaging.priming_sugar or "sucrose",
        share=first_share(plan.packaging),
        mash_ph_method=method_chosen(plan, brewery, "mash_ph", MASH_PH),
        bitterness_method=boiled,
        hop_stand_method=method_chosen(plan, brewery, "hop_stand", boiled),
        alcohol_method=method_chosen(plan, brewery, "alcohol", ALCOHOL),
        colour_method=method_chosen(plan, brewery, "colour", COLOUR),
        bitterness_factor=_factor(plan, brewery),
        portion=None
        if record.wort_from is None
        else shared(record.wort_from.volume.value, "liquor", "share of the wort"),
        wort_to_others=shared(
            sum(share.value for share in plan.wort_to_others.values()), "liquor", "wort to others"
        ),
    )
