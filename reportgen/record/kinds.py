"""Kinds of quantity: what each is read in, the bounds it has, and what a width of it may be.

A width is a tolerance, an uncertainty, a resolution or an offset. It is of a kind of its own: a
gravity difference beside a gravity, kelvins beside a temperature. Whatever is typed is held
against its kind once, when it is read.
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reportgen.record.finding import Position
from reportgen.record.unit_names import EXACT
from reportgen.record.unit_table import BASE, EXAMPLES, NAMES
from reportgen.record.units import Quantity, UnitError, parse_quantity

Bounds = tuple[float, float]
_ANY: Bounds = (-math.inf, math.inf)
_SOME: Bounds = (0.0, math.inf)


class Width(Struct, frozen=True):
    """What a difference of a kind may be: a tolerance, ±U, a resolution, an offset.

    ``kind`` is what it is read as, ``name`` what it is called, ``example`` one of them. ``most``
    is the widest that says anything, in the base unit, ``wide`` the widest that is usual of a kind
    without a nought. ``share``: a tolerance may be a share of the expected value instead.
    """

    kind: str
    name: str
    example: str
    most: float
    share: bool = False
    wide: float | None = None


class Kind(Struct, frozen=True):
    """One kind of quantity.

    ``reads`` are the kinds of units it is read in; the first that fits is taken. ``nature`` are
    the bounds beyond which no number of a brewery lies, ``usual`` those beyond which a reading
    cannot be put into the forecast, both in the base unit. ``decimals`` is how finely it is
    printed in the base unit. ``width`` is None where nothing has a tolerance. ``printed`` is the
    kind whose unit it is printed in, where that is another; ``scale`` names in the head of a
    table what has no unit beside its number, ``beside`` stands at a blank where the unit is too
    long or there is none, ``tabled`` is the base unit where its sign says too little.
    ``sampled``: its reading needs the temperature of the sample. ``least`` is a difference that
    hardly matters, in the base unit; None for a share of the value. ``on_sheets`` is how finely it
    stands on a working sheet at most, where no instrument says more; None: as its figure does.
    """

    name: str
    reads: tuple[str, ...]
    nature: Bounds = _ANY
    usual: Bounds = _SOME
    decimals: int = 1
    width: Width | None = None
    printed: str = ""
    scale: str = ""
    beside: str = ""
    sampled: bool = False
    tabled: str = ""
    least: float | None = None
    on_sheets: int | None = None

    def on_sheet(self, decimals: int) -> int:
        """Return with how many decimals of a figure it stands on a working sheet."""
        return decimals if self.on_sheets is None else min(decimals, self.on_sheets)

    @property
    def base(self) -> str:
        """The base unit; that of the first kind it is read in."""
        return BASE[self.reads[0]]

    @property
    def step(self) -> float:
        """One unit of the last decimal printed, in the base unit."""
        return 10.0**-self.decimals

    @property
    def in_tables(self) -> str:
        """The base unit as tables for other programs name it."""
        return self.tabled or self.base

    @property
    def is_either(self) -> bool:
        """Whether it is of one kind or another, which only what is typed tells."""
        return len(self.reads) > 1

    def is_share_of(self, width: Quantity) -> bool:
        """Whether a width that was read for this kind is a share of the value."""
        return width.is_share and self.reads != ("fraction",)


def _plain(
    name: str, nature: Bounds, decimals: int, most: float = 0.0, usual: Bounds = _SOME,
    least: float | None = None, wide: float | None = None, beside: str = "",
) -> Kind:
    """Return a kind whose width is read as it is itself; ``most`` 0: it has no width."""
    example = EXAMPLES[name].split(",")[0].split(" or ")[0]
    width = Width(name, NAMES[name], example, most, share=True, wide=wide) if most else None
    return Kind(name, (name,), nature, usual, decimals, width, beside=beside, least=least)


_RATIO = "a plain number"
_KINDS = (
    Kind(
        "gravity", ("gravity",), (0.95, 1.36), (0.98, 1.2), 4,
        Width("ratio", "a gravity difference", "0.003", 0.02, wide=0.010),
        scale="SG", beside="SG", sampled=True, tabled="SG 20/20", least=0.0002, on_sheets=3,
    ),
    Kind(
        "temperature", ("temperature",), (-100.0, 400.0), (-5.0, 105.0), 1,
        Width("temperature_difference", "a temperature difference", "1.0 K", 20.0, wide=5.0),
        least=0.2,
    ),
    Kind(
        "ph", ("ph",), (0.0, 14.0), (2.0, 10.0), 2,
        Width("ratio", "a pH difference", "0.1", 1.0, wide=0.5),
        beside="pH", sampled=True, least=0.01,
    ),
    _plain("volume", (0.0, 1e6), 1, 500.0, least=0.1),
    _plain("mass", (0.0, 1e5), 2, 50.0),
    _plain("pressure", (0.0, 400.0), 2, 0.5, wide=0.3),
    Kind(
        "fraction", ("fraction",), (0.0, 1.0), _SOME, 3,
        Width("fraction", "a percentage", "2 %", 0.25), least=0.0005,
    ),
    Kind("attenuation", ("fraction",), (0.0, 1.3), _SOME, 3),
    _plain("concentration", (0.0, 5e5), 0, 500.0, least=2.0),
    _plain("bitterness", (0.0, 1e5), 0, 50.0, least=0.5),
    _plain("colour", (0.0, 4e4), 0, 200.0, least=0.5),
    _plain("carbonation", (0.0, 20.0), 2, 2.0, least=0.05),
    _plain("cells", (0.0, 1e9), 0, 1e6, beside="bn"),
    _plain("time", (0.0, 6e6), 0, 1e5),
    Kind("count", ("count",), (0.0, 1e9), _SOME, 1, Width("ratio", _RATIO, "2", 100.0)),
    Kind("ratio", ("ratio",), (0.0, 1e6), _SOME, 3, least=0.05),
    Kind(
        "temperature_difference", ("temperature_difference",), (-500.0, 500.0), _ANY, 1,
        Width("temperature_difference", "a temperature difference", "1.0 K", 20.0),
    ),
    _plain("length", (-500.0, 9000.0), 0, usual=_ANY),
    _plain("alpha", (0.0, 1.0), 3),
    _plain("power", (0.0, 1e5), 1),
    _plain("energy", (0.0, 1e9), 0),
    _plain("heat_capacity", (0.0, 1e5), 1),
    _plain("evaporation", (0.0, 1e5), 1),
    _plain("specific_volume", (0.0, 100.0), 2),
    _plain("cell_density", (0.0, 1e4), 1),
    # An amount is a weight or a volume; what is dosed says which.
    Kind(
        "amount", ("mass", "volume"), (0.0, 1e6), _SOME, 2,
        Width("amount", "a weight or a volume", "5 g", 500.0, share=True),
        printed="volume", tabled="L or kg",
    ),
    # A share less another: printed in points.
    Kind("share_difference", ("fraction",), (-1.0, 1.0), _ANY, 3, printed="fraction"),
    # What these are of is known only beside their key; they are read again as that kind.
    Kind("resolution", ("temperature_difference", "volume", "mass", "pressure", "ratio")),
    Kind("offset", ("temperature_difference", "volume", "mass", "pressure", "ratio")),
    Kind(
        "tolerance",
        (
            "temperature_difference", "volume", "mass", "pressure", "fraction", "concentration",
            "bitterness", "colour", "carbonation", "cells", "time", "ratio",
        ),
    ),
    Kind(
        "limit",
        (
            "gravity", "temperature", "volume", "mass", "pressure", "concentration", "bitterness",
            "colour", "carbonation", "cells", "time", "fraction", "ratio",
        ),
    ),
)  # fmt: skip

KINDS: dict[str, Kind] = {kind.name: kind for kind in _KINDS}
"""Every kind by its name. Bounds and widths are common practice, no source: set so wide that only
a slip lies beyond them."""

INSTRUMENTS: dict[str, str] = {
    "hydrometer": "gravity",
    "refractometer": "gravity",
    "thermometer": "temperature",
    "ph_meter": "ph",
    "volume_gauge": "volume",
    "scale": "mass",
    "pressure_gauge": "pressure",
}
"""The kind of quantity that each kind of instrument reads, whatever it is named for."""


PLATO_FROM = 0.02
"""A gravity step from this on is one of degrees Plato or Brix, below it one of specific gravity."""


def may_read(reads: str, kind: str, unit: str = "") -> bool:
    """Whether an instrument that ``reads`` one thing can have read a quantity of a kind.

    An amount of yeast is weighed or measured. A volume is not weighed: for that its density
    would have to be known. A gravity is read with a refractometer when its ``unit`` is ``Bx``,
    else with a hydrometer, which a density meter counts as; before it is read it may be either.
    """
    if kind == "gravity" and unit:
        return reads == ("refractometer" if unit == "Bx" else "hydrometer")
    read = INSTRUMENTS.get(reads, "")
    return read == kind or (kind == "amount" and read in ("mass", "volume"))


def is_share(kind: str) -> bool:
    """Whether a kind is a share: printed in per cent, its differences in percentage points."""
    return kind in KINDS and KINDS[kind].reads == ("fraction",)


def in_points(kind: str) -> bool:
    """Whether a kind is the difference of two shares, told with its sign in percentage points."""
    return is_share(kind) and KINDS[kind].nature[0] < 0


def width_of(kind: str) -> Width | None:
    """Return what a tolerance or ±U of a kind may be; None when it has none."""
    return KINDS[kind].width if kind in KINDS else None


def read_width(text: str, kind: str, gallon: str | None = None) -> Quantity | None:
    """Read a tolerance as the width of a kind, or as a share where it may be one; None for neither.

    It was first read without knowing whose it is: ``4 mg/L`` as a concentration, though it may be
    a bitterness.
    """
    width = width_of(kind)
    if width is None:
        return None
    for candidate in (width.kind, *(("fraction",) if width.share else ())):
        try:
            return read_quantity(text, candidate, None, gallon)
        except UnitError:
            continue
    return None


WORDS = {
    "limit": "a value in the unit of the figure, e.g. 1.5 bar, 60 C or 140 F, 1.012 or 4.4",
    "amount": "a weight or a volume, e.g. 7.2 kg, 16 lb or 0.4 L",
    "resolution": "a step in the unit of the instrument, e.g. 0.001, 0.5 K, 0.5 L or 10 g",
    "offset": "a difference in the unit of the instrument, e.g. 0.4 K, -0.001 or -0.5 L",
    "tolerance": "a half-width in the unit of the figure, e.g. 0.002, 1.0 K, 1 L or 5 %",
}
"""What is expected where a field may hold several kinds."""

_SIGNED = ("offset",)
_STEPS = ("resolution", "offset")


def without_degrees(text: str) -> str:
    """Return a step, or what an instrument is off by, without the degrees it is graduated in."""
    return re.sub(r"(?<=[0-9]) ?(?:°? ?(?:P|Bx)|Plato|Brix)$", "", text.strip())


def read_quantity(
    text: str, kind: str, position: Position | None = None, gallon: str | None = None
) -> Quantity:
    """Read a quantity of one kind, or of one of several.

    Raises :class:`~reportgen.record.units.UnitError` as ``parse_quantity`` does, and for a number
    beyond the bounds that nature sets the kind.
    """
    quantity = _read(text, kind, gallon)
    return quantity if position is None else replace(quantity, position=position)


def readable(
    texts: Iterable[str], kind: str, position: Position | None = None, gallon: str | None = None
) -> Iterator[Quantity]:
    """Yield the quantities that some texts are; what is none of that kind is passed over."""
    for text in texts:
        try:
            yield read_quantity(text, kind, position, gallon)
        except UnitError:
            continue


@functools.lru_cache(maxsize=4096)
def _read(text: str, kind: str, gallon: str | None) -> Quantity:
    """Read a quantity in no place. The same few texts stand in every record of an archive."""
    wanted = KINDS.get(kind)
    if wanted is None:
        raise ValueError(f"no kind of quantity: {kind}")
    negative = kind in _SIGNED and text.strip().startswith(("-", "\u2212"))
    body = text.strip()[1:] if negative else text
    if kind in _STEPS:
        body = without_degrees(body)
    quantity = _first_that_fits(body, text, wanted, gallon)
    if negative:
        quantity = replace(
            quantity, value=-quantity.value, number=-quantity.number, text=text.strip()
        )
    low, high = wanted.nature
    # Degrees Plato and Brix end where their table does, which is known where they are read.
    if quantity.unit not in ("P", "Bx") and not low <= quantity.value <= high:
        raise UnitError(
            f"`{text}` is beyond what {_named(wanted)} can be", _between(wanted), _meant(quantity)
        )
    return quantity


def _first_that_fits(body: str, text: str, kind: Kind, gallon: str | None) -> Quantity:
    first: UnitError | None = None
    unit = body.lstrip("+0123456789.eE").strip()
    # What is wrong with it as another kind is worked out in vain where its unit tells the kind.
    for candidate in sorted(kind.reads, key=lambda name: (name, unit) not in EXACT):
        try:
            return parse_quantity(body, candidate, gallon)
        except UnitError as error:
            first = first or error
    assert first is not None
    if len(kind.reads) == 1:
        raise first
    remedy = "" if body.strip().startswith("-") else first.remedy
    raise UnitError(f"`{text}` cannot be read", WORDS[kind.name], remedy)


def _named(kind: Kind) -> str:
    return NAMES.get(kind.name) or NAMES[kind.reads[0]]


def _between(kind: Kind) -> str:
    return _range(kind.reads[0], *kind.nature)


def _range(kind: str, low: float, high: float) -> str:
    """Return two bounds in the base unit of a kind of units, in words."""
    if kind in ("fraction", "alpha"):
        return f"{low * 100:g} % to {high * 100:g} %"
    unit = {"degC": "C", "SG": ""}.get(BASE[kind], BASE[kind])
    return f"{low:g} {unit}".rstrip() + f" to {high:g} {unit}".rstrip()


def _range_like(read: Quantity, low: float, high: float) -> str:
    """Return two bounds in the unit that was typed, where that is one times a factor."""
    is_plain = read.kind in ("temperature", "gravity", "fraction", "alpha", "cell_density")
    if is_plain or not read.unit or not read.value or read.unit == BASE[read.kind]:
        return _range(read.kind, low, high)
    by = read.number / read.value
    return f"{low * by:.2g} {read.unit} to {high * by:.2g} {read.unit}"


def out_of_bounds(read: Quantity, bounds: Sequence[float]) -> tuple[str, str, str] | None:
    """Say what is wrong with a quantity beyond the bounds of its field, what is expected, the fix.

    None when it lies within. ``bounds`` are in the base unit.
    """
    low, high = bounds
    # 95 % is 0.9500000000000001: what is written as the bound itself is within.
    hair = 1e-9 * max(abs(low), abs(high))
    if low - hair <= read.value <= high + hair:
        return None
    remedy = _meant(read)
    if read.kind == "temperature" and low <= (read.number - 32) / 1.8 <= high and read.unit != "F":
        remedy = f"write {read.number:g} F, if that is meant"
    return (
        f"`{read.text}` cannot be right here",
        _range_like(read, low, high),
        remedy or "look at the unit and the decimal point",
    )


def _meant(quantity: Quantity) -> str:
    """Return what may have been meant: a nought or a point that was lost, mbar for bar."""
    if quantity.kind == "gravity" and (
        lost := re.fullmatch(r"1\.([1-9][0-9]{0,3})", quantity.text)
    ):
        return f"write 1.0{lost[1]}"
    if quantity.unit == "bar" and quantity.number <= MOST_MBAR:
        return f"write {quantity.number:g} mbar, if that is meant"
    if quantity.kind != "fraction" or not quantity.number > 100:
        return ""
    shifted = [quantity.number / by for by in (10, 100) if quantity.number / by <= 100]
    return "write " + " or ".join(f"{number:g} %" for number in shifted) if shifted else ""


MOST_MBAR = 5000.0
"""The highest pressure of beer that is written in mbar (common practice, no source)."""
