"""Every number that a batch is expected to show, in the order of the work.

This table is what sheets, records, blanks and verdicts go by: a figure added here, with a stage
that computes it, appears in all of them.
"""

from __future__ import annotations

import enum

from msgspec import Struct

from reportgen.record.finding import Severity


class Stage(enum.Enum):
    """Stages of the work; the value is the title printed."""

    LIQUOR = "Liquor"
    MASH = "Mash"
    RUN_OFF = "Run-off"
    BOIL = "Boil"
    PITCH = "Cool and pitch"
    FERMENT = "Ferment"
    PACK = "Pack"


class ToleranceSide(enum.Enum):
    """On which sides of the expected value the tolerance holds."""

    BOTH = "both"
    NOT_BELOW = "not below"
    NOT_ABOVE = "not above"


class Figure(Struct, frozen=True):
    """One number of a batch.

    ``kind`` is the kind of quantity and ``decimals`` how it is printed in the base unit.
    ``path`` is where its reading stands in the record (section, keys); empty for a figure that is
    only computed. ``tolerance`` is the default half-width in the base unit: common practice, no
    source; a share of the expected value where ``relative``. None: no verdict is given.
    ``analysed``: the analysis of the packed beer has a place for it, by the same key.
    ``in_row`` is its name in a row of the sheet, where that has little room, ``in_chart`` that
    above a column of a chart; empty for the title. ``alone`` are its decimals where it stands
    alone, as on a label. ``derived_from`` are the figures whose readings give it, where neither
    an instrument nor an analysis does. ``worth``: the least change, in the base unit, for which a
    fact has a row of its own from plan to glass, of what can be tasted or poured; common practice,
    no source.

    Of what is read: ``hot`` is a volume that is read hot; ``has_alcohol``: so does the sample, so
    that a refractometer reads it askew and it may lie below that of water; ``made_ready``: it may
    be read before the work of its section begins; ``optional``: no day needs it, and it may be
    next to nothing; ``only_noted``: nothing is decided by it, and the sheets have no row for it;
    ``poured``: it is something done, so that none of it is nought, not what was planned;
    ``of_sparge``: it is of a sparge, ``into``: of these kinds of containers, of all if not said.
    ``of_each``: it differs from one kind of containers to another of the same beer.
    """

    key: str
    stage: Stage
    title: str
    kind: str
    decimals: int
    path: tuple[str, ...] = ()
    instrument: str = ""
    tolerance: float | None = None
    relative: bool = False
    side: ToleranceSide = ToleranceSide.BOTH
    severity: Severity = Severity.MINOR
    headline: bool = False
    analysed: bool = False
    in_row: str = ""
    hot: bool = False
    has_alcohol: bool = False
    made_ready: bool = False
    optional: bool = False
    only_noted: bool = False
    in_chart: str = ""
    alone: int | None = None
    derived_from: tuple[str, ...] = ()
    worth: float = 0.0
    poured: bool = False
    of_sparge: bool = False
    into: tuple[str, ...] = ()
    of_each: bool = False

    @property
    def headline_decimals(self) -> int:
        """The decimals of a figure where it stands alone: alcohol as on a label, 4.3 %."""
        return self.decimals if self.alone is None else self.alone

    @property
    def is_stop(self) -> bool:
        """Whether the work stops at it: it has a limit below which it must not fall."""
        return self.side is ToleranceSide.NOT_BELOW

    @property
    def in_sentence(self) -> str:
        """The title within a sentence: units and formulas in it keep their capitals."""
        return self.title[:1].lower() + self.title[1:]


IONS = ("calcium", "magnesium", "sodium", "chloride", "sulfate")
"""Ions followed from liquor to beer, mg/L."""


def _ions(where: str, stage: Stage, title: str, of: str = "") -> list[Figure]:
    key = "_of_liquor" if of else ""
    return [
        Figure(f"{where}_{ion}{key}", stage, f"{title} {ion}{of}", "concentration", 0)
        for ion in IONS
    ]


_MASH, _RUN, _BOIL = ("brew_day", "mash"), ("brew_day", "run_off"), ("brew_day", "boil")
_PITCH, _FERMENT, _PACK = ("brew_day", "pitch"), ("fermentation",), ("packaging",)

_ALL: list[Figure] = [
    Figure(
        "mash_liquor", Stage.LIQUOR, "Mash liquor", "volume", 1,
        (*_MASH, "mash_liquor"), "volume_gauge", 0.03, relative=True,
        made_ready=True,
    ),
    *_ions("mash_liquor", Stage.LIQUOR, "Mash liquor"),
    Figure(
        "mash_liquor_alkalinity", Stage.LIQUOR, "Mash liquor alkalinity, as CaCO3",
        "concentration", 0,
    ),
    Figure(
        "residual_alkalinity", Stage.LIQUOR, "Residual alkalinity of mash liquor, as CaCO3",
        "concentration", 0,
    ),
    Figure(
        "mash_liquor_chlorine", Stage.LIQUOR, "Mash liquor chlorine left, as Cl2",
        "concentration", 1,
    ),
    *_ions("sparge_liquor", Stage.LIQUOR, "Sparge liquor"),
    Figure(
        "sparge_liquor_alkalinity", Stage.LIQUOR, "Sparge liquor alkalinity, as CaCO3",
        "concentration", 0,
    ),
    Figure(
        "sparge_liquor_chlorine", Stage.LIQUOR, "Sparge liquor chlorine left, as Cl2",
        "concentration", 1,
    ),
    Figure(
        "sparge_alkalinity_left", Stage.LIQUOR,
        "Sparge alkalinity left after its acid, as CaCO3", "concentration", 0,
    ),
    Figure(
        "malt_temperature", Stage.MASH, "Malt temperature", "temperature", 1,
        (*_MASH, "malt_temperature"), "thermometer", 4.0, severity=Severity.NOTE,
        made_ready=True,
    ),
    Figure(
        "strike_temperature", Stage.MASH, "Strike temperature of the liquor", "temperature", 1,
        (*_MASH, "strike_temperature"), "thermometer", 1.0, severity=Severity.NOTE,
        in_row="Strike temperature", made_ready=True,
    ),
    Figure("infusion_liquor", Stage.MASH, "Infusion liquor", "volume", 1),
    Figure("decoction_volume", Stage.MASH, "Decoction volume, to draw from the mash", "volume", 1),
    Figure("mash_volume", Stage.MASH, "Mash volume", "volume", 1),
    Figure("tun_fill", Stage.MASH, "Tun fill", "fraction", 2),
    Figure(
        "mash_temperature", Stage.MASH, "Mash temperature", "temperature", 1,
        (*_MASH, "mash_temperature"), "thermometer", 1.0,
    ),
    Figure(
        "mash_temperature_after_additions", Stage.MASH, "Mash temperature after additions",
        "temperature", 1,
    ),
    Figure(
        "mash_ph", Stage.MASH, "Mash pH, cooled sample", "ph", 2,
        (*_MASH, "mash_ph"), "ph_meter", 0.15,
        in_row="Mash pH, cooled",
    ),
    Figure("mash_ph_without_acid", Stage.MASH, "Mash pH without acid of the plan", "ph", 2),
    Figure(
        "mash_end_temperature", Stage.MASH, "Mash end temperature, of the first rest",
        "temperature", 1, (*_MASH, "mash_end_temperature"), "thermometer", 1.5,
        severity=Severity.NOTE,
        in_row="Mash, end of rest",
    ),
    Figure(
        "mash_attenuation_share", Stage.MASH, "Mash attenuation share, of that by 1 h at 66 °C",
        "fraction", 3,
    ),
    Figure(
        "mash_conversion_share", Stage.MASH, "Mash conversion share, of that by 1 h at 66 °C",
        "fraction", 3,
    ),
    Figure(
        "starch_left_at_heating", Stage.MASH, "Starch left at heating of the mash",
        "fraction", 3,
    ),
    Figure(
        "heating_effect", Stage.MASH, "Heating effect on the attenuation", "fraction", 3,
    ),
    Figure(
        "first_wort_gravity", Stage.MASH, "First wort gravity", "gravity", 4,
        (*_MASH, "first_wort_gravity"), "hydrometer", 0.004,
    ),
    Figure(
        "conversion", Stage.MASH, "Conversion of the malt's extract", "fraction", 3,
        derived_from=("first_wort_gravity",),
    ),
    Figure(
        "sparge_liquor", Stage.RUN_OFF, "Sparge liquor", "volume", 1,
        (*_RUN, "sparge_liquor"), "volume_gauge", 0.05, relative=True, severity=Severity.NOTE,
        made_ready=True, poured=True, of_sparge=True,
    ),
    Figure(
        "sparge_temperature", Stage.RUN_OFF, "Sparge temperature", "temperature", 1,
        (*_RUN, "sparge_temperature"), "thermometer", 2.0, severity=Severity.NOTE,
        made_ready=True, of_sparge=True,
    ),
    Figure(
        "sparge_ph", Stage.RUN_OFF, "Sparge pH, with its acid, cooled sample", "ph", 2,
        (*_RUN, "sparge_ph"), "ph_meter", 0.5, severity=Severity.NOTE,
        in_row="Sparge pH, cooled", made_ready=True, of_sparge=True,
    ),
    Figure(
        "last_runnings_gravity", Stage.RUN_OFF, "Last runnings gravity", "gravity", 4,
        (*_RUN, "last_runnings_gravity"), "hydrometer", 0.0, side=ToleranceSide.NOT_BELOW,
        in_row="Last runnings", of_sparge=True,
    ),
    Figure(
        "sparge_at_stop", Stage.RUN_OFF, "Sparge at stop, liquor used at the cut-off gravity",
        "volume", 1,
    ),
    Figure(
        "top_up_liquor", Stage.RUN_OFF, "Top-up liquor", "volume", 1,
        (*_RUN, "top_up_liquor"), "volume_gauge", 1.0, severity=Severity.NOTE,
        made_ready=True, optional=True, poured=True,
    ),
    Figure(
        "kettle_volume", Stage.RUN_OFF, "Kettle volume, full, cold", "volume", 1,
        (*_RUN, "kettle_volume"), "volume_gauge", 0.04, relative=True,
        in_row="Kettle full", hot=True,
    ),
    Figure(
        "kettle_gravity", Stage.RUN_OFF, "Kettle gravity, full", "gravity", 4,
        (*_RUN, "kettle_gravity"), "hydrometer", 0.003,
        in_row="Kettle gravity",
    ),
    Figure(
        "lauter_efficiency", Stage.RUN_OFF, "Lauter efficiency", "fraction", 3,
        derived_from=("first_wort_gravity", "kettle_volume", "kettle_gravity"),
    ),
    Figure(
        "mash_efficiency", Stage.RUN_OFF, "Mash efficiency", "fraction", 3,
        derived_from=("kettle_volume", "kettle_gravity"),
    ),
    *_ions("kettle", Stage.RUN_OFF, "Kettle", " of liquor and salts"),
    Figure(
        "cast_out_volume_hot", Stage.BOIL, "Cast-out volume, hot", "volume", 1,
    ),
    Figure(
        "cast_out_volume", Stage.BOIL, "Cast-out volume, cold", "volume", 1,
        (*_BOIL, "cast_out_volume"), "volume_gauge", 0.04, relative=True,
        in_row="Cast-out", hot=True,
    ),
    Figure(
        "cast_out_gravity", Stage.BOIL, "Cast-out gravity", "gravity", 4,
        (*_BOIL, "cast_out_gravity"), "hydrometer", 0.003,
    ),
    Figure(
        "evaporation", Stage.BOIL, "Evaporation in one hour", "volume", 1,
        derived_from=("kettle_volume", "cast_out_volume"),
    ),
    Figure(
        "bitterness", Stage.BOIL, "Bitterness", "bitterness", 0,
        tolerance=0.20, relative=True, headline=True, analysed=True, worth=0.5,
    ),
    Figure(
        "colour", Stage.BOIL, "Colour", "colour", 0,
        tolerance=0.25, relative=True, severity=Severity.NOTE, headline=True, analysed=True,
        worth=2.0,
    ),
    *_ions("cast_out", Stage.BOIL, "Cast-out", " of liquor and salts"),
    Figure(
        "wort_calcium", Stage.BOIL, "Wort calcium, with malt's, less what settles",
        "concentration", 0,
    ),
    Figure("wort_magnesium", Stage.BOIL, "Wort magnesium, with malt's", "concentration", 0),
    Figure("wort_sodium", Stage.BOIL, "Wort sodium, with malt's", "concentration", 0),
    Figure(
        "dilution_liquor", Stage.PITCH, "Dilution liquor, into the fermenter", "volume", 1,
        (*_PITCH, "dilution_liquor"), "volume_gauge", 0.05, relative=True, severity=Severity.NOTE,
        in_row="Liquor to the wort", made_ready=True, optional=True, poured=True,
    ),
    Figure(
        "fermenter_volume", Stage.PITCH, "Fermenter volume, cold", "volume", 1,
        (*_PITCH, "fermenter_volume"), "volume_gauge", 0.05, relative=True,
        in_row="In the fermenter",
    ),
    Figure(
        "original_gravity", Stage.PITCH, "Original gravity", "gravity", 4,
        (*_PITCH, "original_gravity"), "hydrometer", 0.003, severity=Severity.MAJOR, headline=True,
        in_chart="Original", worth=0.0005,
    ),
    Figure(
        "pitch_temperature", Stage.PITCH, "Pitch temperature", "temperature", 1,
        (*_PITCH, "pitch_temperature"), "thermometer", 2.0,
        in_row="Pitching at",
    ),
    Figure(
        "wort_ph", Stage.PITCH, "Wort pH", "ph", 2, (*_PITCH, "wort_ph"), "ph_meter",
        in_row="Wort pH, cooled", only_noted=True,
    ),
    Figure(
        "viable_cells", Stage.PITCH, "Viable cells to pitch", "cells", 0,
        (*_PITCH, "viable_cells"), "", 0.30, relative=True,
        in_row="Viable cells", made_ready=True, optional=True,
    ),
    Figure(
        "yeast_amount", Stage.PITCH, "Yeast amount", "amount", 2, (*_PITCH, "yeast_amount"), "",
        in_row="Yeast pitched", made_ready=True, optional=True,
    ),
    Figure(
        "starting_gravity", Stage.FERMENT, "Starting gravity, with what went into the fermenter",
        "gravity", 4, derived_from=("fermenter_volume", "original_gravity"),
    ),
    Figure(
        "starting_volume", Stage.FERMENT, "Starting volume, with what went in, cold",
        "volume", 1, derived_from=("fermenter_volume", "original_gravity"),
    ),
    Figure(
        "final_gravity", Stage.FERMENT, "Final gravity", "gravity", 4,
        (*_FERMENT, "final_gravity"), "hydrometer", 0.003, severity=Severity.MAJOR, headline=True,
        has_alcohol=True, in_chart="Final", worth=0.0005,
    ),
    Figure(
        "apparent_attenuation", Stage.FERMENT, "Apparent attenuation", "fraction", 3,
        tolerance=0.05, severity=Severity.NOTE, derived_from=("original_gravity", "final_gravity"),
    ),
    Figure(
        "log_final_gravity", Stage.FERMENT, "Log final gravity, from the log so far", "gravity", 4,
    ),
    Figure(
        "log_end", Stage.FERMENT, "Log end, days from pitching, from the log so far",
        "count", 1,
    ),
    Figure(
        "temperature_rise", Stage.FERMENT, "Temperature rise if no heat is lost",
        "temperature_difference", 1,
    ),
    Figure(
        "real_attenuation", Stage.FERMENT, "Real attenuation", "fraction", 3,
        derived_from=("original_gravity", "final_gravity"),
    ),
    Figure(
        "alcohol", Stage.FERMENT, "Alcohol by volume", "fraction", 4,
        tolerance=0.005, severity=Severity.MAJOR, headline=True, analysed=True, alone=3,
        in_chart="Alcohol", derived_from=("original_gravity", "final_gravity"), worth=0.0005,
        of_each=True,
    ),
    Figure(
        "packaged_volume", Stage.PACK, "Packaged volume", "volume", 1,
        (*_PACK, "packaged_volume"), "volume_gauge", 0.08, relative=True, worth=0.2,
    ),
    Figure(
        "beer_temperature", Stage.PACK, "Beer temperature at packaging", "temperature", 1,
        (*_PACK, "beer_temperature"), "thermometer", 2.0,
        in_row="Beer temperature", into=("keg",), of_each=True,
    ),
    Figure(
        "pressure", Stage.PACK, "Pressure for the carbonation wanted, gauge", "pressure", 2,
        (*_PACK, "pressure"), "pressure_gauge", 0.15, severity=Severity.MAJOR,
        in_row="Gauge pressure", into=("keg",), of_each=True,
    ),
    Figure(
        "priming_sugar", Stage.PACK, "Priming sugar", "mass", 3,
        (*_PACK, "priming_sugar"), "scale", 0.05, relative=True, severity=Severity.MAJOR,
        poured=True, into=("bottle", "cask"), of_each=True,
    ),
    Figure(
        "carbonation", Stage.PACK, "Carbonation", "carbonation", 2, analysed=True, of_each=True,
        derived_from=("beer_temperature", "pressure"),
    ),
    Figure(
        "highest_pressure", Stage.PACK, "Highest pressure in the container, gauge",
        "pressure", 2, of_each=True,
    ),
]

FIGURES: dict[str, Figure] = {figure.key: figure for figure in _ALL}
"""Every figure by its key, in the order of the work."""

DERIVED = {figure.key: figure.derived_from for figure in _ALL if figure.derived_from}
"""Figures whose actual follows from the readings of others, unless it is analysed."""

READ = tuple(figure for figure in _ALL if figure.path)
"""The figures that have a reading."""

OUTCOMES = (
    "original_gravity", "final_gravity", "alcohol", "bitterness", "colour", "packaged_volume",
)  # fmt: skip
"""The figures of the finished beer that are replayed and listed, in the order they are told."""

ANALYSED = tuple(figure for figure in _ALL if figure.analysed)
"""The figures that an analysis of the packed beer can give."""

FIGURE_OF_AIM = {
    "original_gravity": "original_gravity", "final_gravity": "final_gravity",
    "alcohol": "alcohol", "bitterness": "bitterness", "colour": "colour", "mash_ph": "mash_ph",
    **{ion: f"mash_liquor_{ion}" for ion in IONS},
}  # fmt: skip
"""The figure that each aim of a plan is about; the ratio of two ions is none."""
