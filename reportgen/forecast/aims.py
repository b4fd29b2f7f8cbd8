"""What a plan aims at, as figures of the forecast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.forecast.case import Case
from reportgen.forecast.figures import FIGURE_OF_AIM, FIGURES
from reportgen.forecast.propose import RATIO, Aim
from reportgen.forecast.resolve import gravity_of
from reportgen.record.finding import Position
from reportgen.record.kinds import read_quantity
from reportgen.record.model.plan import Plan
from reportgen.record.suggest import did_you_mean
from reportgen.record.units import Quantity
from reportgen.science.alcohol import MODELS

NAME_OF = {figure: name for name, figure in FIGURE_OF_AIM.items()} | {RATIO: RATIO}


class NoAim(ValueError):
    """An aim that cannot be read; the message says what one looks like."""


@dataclass(frozen=True)
class Aimed:
    """An aim with its place in the file; None where it came from the command line."""

    aim: Aim
    position: Position | None = None

    @property
    def name(self) -> str:
        """Its key among the aims, else that of its figure."""
        return NAME_OF.get(self.aim.key, self.aim.key)


def _aim(key: str, given: Quantity) -> Aim:
    value = gravity_of(given) if given.kind == "gravity" else given.value
    step = given.step if given.unit != "P" else given.step * 0.004
    return Aim(key, value, step=step)


def aims_of(plan: Plan) -> dict[str, Aimed]:
    """Return the aims of a plan by their keys."""
    found: dict[str, Aimed] = {}
    if plan.aims is None:
        return found
    for name, key in (*FIGURE_OF_AIM.items(), (RATIO, RATIO)):
        given: Quantity | None = getattr(plan.aims, name)
        if given is not None:
            found[name] = Aimed(_aim(key, given), given.position)
    return found


def read_aim(text: str) -> Aimed:
    """Read ``bitterness=35`` or ``kettle_gravity=1.044``; :class:`NoAim` when it cannot be."""
    name, sign, value = (part.strip() for part in text.partition("="))
    key = FIGURE_OF_AIM.get(name, name)
    if not sign or (key not in FIGURES and key != RATIO):
        hint = did_you_mean(name, [*FIGURE_OF_AIM, RATIO, *FIGURES])
        raise NoAim(f"`{text}` is not an aim; write e.g. bitterness=35 {hint}".strip())
    kind = "ratio" if key == RATIO else FIGURES[key].kind
    units = {"bitterness": "IBU", "colour": "EBC", "concentration": "mg/L", "fraction": "%"}
    bare = value.replace(".", "", 1).isdigit()
    return Aimed(_aim(key, read_quantity(
        f"{value} {units[kind]}" if bare and kind in units else value, kind
    )))  # fmt: skip


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
        # Each is only as sure as it is written; a point of gravity is about 0.13 % of alcohol.
        points = sum(min(max(gravity.step, 0.0005), 0.001) for gravity in (og, fg))
        slack = min(alcohol.step, 0.002) + 1.4 * points
    except ValueError as error:
        return "alcohol", str(error)
    if abs(follows - alcohol.wanted) <= slack:
        return None
    return "alcohol", (
        f"a wort of {og.wanted:.3f} that ends at {fg.wanted:.3f} gives {follows:.1%} of alcohol, "
        f"not {alcohol.wanted:.1%}"
    )
