"""What a plan aims at, as figures of the forecast."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from reportgen.forecast.book import Forecast
from reportgen.forecast.case import Case
from reportgen.forecast.figures import FIGURE_OF_AIM, FIGURES
from reportgen.forecast.pack import alcohol_of_planned_priming
from reportgen.forecast.resolve import number_of
from reportgen.record.finding import Position
from reportgen.record.kinds import KINDS, read_quantity
from reportgen.record.model.plan import Plan
from reportgen.record.suggest import did_you_mean
from reportgen.record.units import Quantity
from reportgen.science.alcohol import MODELS, real_extract
from reportgen.science.density import extract_from_gravity
from reportgen.science.method import REFUSED
from reportgen.science.number import Number, nominal

RATIO, BODY = "sulfate_to_chloride", "real_extract"
COMPUTED = {
    RATIO: ("Sulfate to chloride, mash liquor", "ratio", 2),
    BODY: ("Real extract", "fraction", 3),
}  # fmt: skip
"""What is aimed at and follows from figures: its title, kind and decimals. Body is what is left of
the extract when the alcohol is taken away, a share of the weight."""
NAME_OF = {figure: name for name, figure in FIGURE_OF_AIM.items()} | {key: key for key in COMPUTED}
ALIASES = {"body": BODY}
"""Other words for an aim on the command line."""


class Aim(Struct, frozen=True):
    """What is wanted of a figure, in its base unit. ``is_kept``: nobody aimed, it is to stay.

    ``step`` is one unit of the last decimal that the brewer wrote.
    """

    key: str
    wanted: float
    is_kept: bool = False
    step: float = 0.0

    @property
    def kind(self) -> str:
        """The kind of quantity it is."""
        return COMPUTED[self.key][1] if self.key in COMPUTED else FIGURES[self.key].kind

    @property
    def title(self) -> str:
        """What it is called."""
        return COMPUTED[self.key][0] if self.key in COMPUTED else FIGURES[self.key].title

    @property
    def decimals(self) -> int:
        """Decimals that it is printed with, in its base unit."""
        return COMPUTED[self.key][2] if self.key in COMPUTED else FIGURES[self.key].decimals

    @property
    def scale(self) -> float:
        """A difference that hardly matters: what the solver takes for one."""
        least = KINDS[self.kind].least
        usual = least if least is not None else abs(self.wanted) * 0.01 or 1.0
        if self.key.endswith("attenuation"):
            return 0.005
        return max(usual, abs(self.wanted) * 0.01) if self.kind in ("colour", "bitterness") else (
            usual
        )

    def value(self, book: Forecast) -> float | None:
        """Return what a walk gives for it; None where it did not come so far."""
        number = self.number(book)
        return None if number is None else nominal(number)

    def number(self, book: Forecast) -> Number | None:
        """Return the same with its uncertainty."""
        key = self.key
        if key == RATIO:
            sulfate, chloride = (_in(book, f"mash_liquor_{ion}") for ion in ("sulfate", "chloride"))
            if sulfate is None or chloride is None or nominal(chloride) <= 0:
                return None
            return sulfate / chloride
        if key == BODY:
            end = _in(book, "final_gravity")
            start = _in(book, "starting_gravity") or _in(book, "original_gravity")
            if start is None or end is None:
                return None
            try:
                extracts = (extract_from_gravity(gravity) for gravity in (start, end))
                return real_extract(*extracts) / 100
            except REFUSED:
                return None
        if key == "original_gravity" and "starting_gravity" in book.expected:
            # The strength that is aimed at is that of all the extract.
            key = "starting_gravity"
        return _in(book, key)


def _in(book: Forecast, key: str) -> Number | None:
    expected = book.expected.get(key)
    return None if expected is None else expected.number


class NoAim(ValueError):
    """An aim that cannot be read; the message says what one looks like."""


class Aimed(Struct, frozen=True):
    """An aim with its place in the file; None where it came from the command line."""

    aim: Aim
    position: Position | None = None

    @property
    def name(self) -> str:
        """Its key among the aims, else that of its figure."""
        return NAME_OF.get(self.aim.key, self.aim.key)


def _aim(key: str, given: Quantity) -> Aim:
    step = given.step if given.unit != "P" else given.step * 0.004
    return Aim(key, number_of(given), step=step)


def aims_of(plan: Plan) -> dict[str, Aimed]:
    """Return the aims of a plan by their keys."""
    aims: dict[str, Aimed] = {}
    if plan.aims is None:
        return aims
    for name, key in (*FIGURE_OF_AIM.items(), *((key, key) for key in COMPUTED)):
        given: Quantity | None = getattr(plan.aims, name)
        if given is not None:
            aims[name] = Aimed(_aim(key, given), given.position)
    return aims


def read_aim(text: str) -> Aimed:
    """Read ``bitterness=35`` or ``kettle_gravity=1.044``; :class:`NoAim` when it cannot be."""
    name, sign, value = (part.strip() for part in text.partition("="))
    name = ALIASES.get(name, name)
    key = FIGURE_OF_AIM.get(name, name)
    if not sign or (key not in FIGURES and key not in COMPUTED):
        hint = did_you_mean(name, [*FIGURE_OF_AIM, *COMPUTED, *ALIASES, *FIGURES])
        said = f"`{text}` is not an aim; write e.g. bitterness=35"
        raise NoAim(f"{said}; {hint}" if hint else said)
    kind = COMPUTED[key][1] if key in COMPUTED else FIGURES[key].kind
    units = {"bitterness": "IBU", "colour": "EBC", "concentration": "mg/L", "fraction": "%"}
    bare = value.removeprefix("-").replace(".", "", 1).isdigit()
    given = read_quantity(f"{value} {units[kind]}" if bare and kind in units else value, kind)
    if key == RATIO and given.value <= 0:
        raise NoAim(f"`{text}` is not an aim: a ratio is more than 0")
    return Aimed(_aim(key, given))


def contradiction(aims: Mapping[str, Aimed], case: Case) -> tuple[str, str] | None:
    """Return the aim that the other two of a beer's strength rule out, and why; else None."""
    og, fg, alcohol = (
        aims[name].aim if name in aims else None
        for name in ("original_gravity", "final_gravity", "alcohol")
    )
    if og is not None and fg is not None and fg.wanted >= og.wanted:
        return "final_gravity", (
            f"a final gravity of {fg.wanted:.3f} is not below the original gravity of "
            f"{og.wanted:.3f}"
        )
    if og is None or fg is None or alcohol is None:
        return None
    model = MODELS[case.alcohol_method]
    try:
        follows = float(model(og.wanted, fg.wanted)) / 100
        primed = float(nominal(alcohol_of_planned_priming(case)))
        follows += primed
        # Each is only as sure as it is written; a point of gravity is about 0.13 % of alcohol.
        points = sum(min(max(gravity.step, 0.0005), 0.001) for gravity in (og, fg))
        slack = min(alcohol.step, 0.002) + 1.4 * points
    except ValueError as error:
        return "alcohol", str(error)
    if abs(follows - alcohol.wanted) <= slack:
        return None
    return "alcohol", (
        f"wort of {og.wanted:.3f} that ends at {fg.wanted:.3f} has {100 * follows:.1f} % of alcohol"
        f"{' with that of the priming sugar' if primed else ''}, not {100 * alcohol.wanted:.1f} %"
    )
