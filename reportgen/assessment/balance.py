"""Reconciliation: what went in, what came out, what is lost where it is known, what is not.

In = out + loss that is known + unexplained. The unexplained part is held against the combined U
of everything it is made of, so that a hole is only called one when the instruments can tell.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

from reportgen.assessment.assess import Assessment
from reportgen.forecast.book import Forecast
from reportgen.forecast.run_off import SUGAR_VOLUME
from reportgen.science.extract import extract_mass
from reportgen.science.method import REFUSED
from reportgen.science.number import Number, expanded_uncertainty, nominal


@dataclass(frozen=True)
class Closure:
    """The balance of one stage, L at 20 degC, with the ±U (k = 2) of what is unexplained.

    ``measured`` is False where a volume was not read, so that the stage cannot be closed.
    """

    title: str
    went_in: float
    came_out: float
    known_loss: float
    unexplained: float
    uncertainty: float
    loss_name: str
    measured: bool

    @property
    def is_explained(self) -> bool:
        """Whether the unexplained part is within what the readings and the kit leave open."""
        return abs(self.unexplained) <= self.uncertainty


@dataclass(frozen=True)
class ExtractStep:
    """Extract that reached a stage: as a share of that of the grist, and in kg."""

    title: str
    planned: float
    actual: float | None
    mass: float | None
    uncertainty: float = 0.0


def _close(
    title: str, parts: tuple[Number, Number, Number], loss_name: str, measured: bool
) -> Closure:
    went_in, came_out, loss = parts
    rest = went_in - came_out - loss
    return Closure(
        title,
        nominal(went_in),
        nominal(came_out),
        nominal(loss),
        nominal(rest),
        expanded_uncertainty(rest),
        loss_name,
        measured,
    )


def _read(assessment: Assessment, *keys: str) -> bool:
    return all(key in assessment.now.readings for key in keys)


def closures(assessment: Assessment) -> tuple[Closure, ...]:
    """Return the volume balance of each stage of the brew day and of packing.

    A reading that is missing is replaced by what was expected, and the stage is said to be open.
    """
    case, now = assessment.brewed, assessment.now
    found = []
    needed = ("mash_liquor", "kettle_volume", "top_up_liquor")
    if all(key in now for key in needed):
        poured = now["mash_liquor"] + now["top_up_liquor"]
        if "sparge_liquor" in now:
            poured = poured + now["sparge_liquor"]
        kept = case.grain_absorption * case.grist + case.tun_dead_space
        read = [k for k in ("mash_liquor", "sparge_liquor") if k in now]
        found.append(
            _close(
                "Liquor to kettle full",
                (poured, now["kettle_volume"], kept),
                "kept by grain and tun",
                _read(assessment, *read, "kettle_volume"),
            )
        )
    if "kettle_volume" in now and "cast_out_volume" in now:
        sugar = sum(s.amount * s.extract for s in case.sugars if s.to == "kettle")
        steam = case.evaporation * case.boil_minutes / 60
        found.append(
            _close(
                "Kettle full to cast-out",
                (now["kettle_volume"] + SUGAR_VOLUME * sugar, now["cast_out_volume"], steam),
                "evaporated, as the kit usually does",
                _read(assessment, "kettle_volume", "cast_out_volume"),
            )
        )
    for title, start, end, loss, name in (
        ("Cast-out to fermenter", "cast_out_volume", "fermenter_volume", case.kettle_loss,
         "left with hops and break"),
        ("Fermenter to packed", _fermented(now), "packaged_volume", case.fermenter_loss,
         "left with the yeast"),
    ):
        if start in now and end in now:
            measured = start if start in now.readings else "fermenter_volume"
            is_read = _read(assessment, measured, end)
            found.append(_close(title, (now[start], now[end], loss), name, is_read))
    return tuple(found)


def _fermented(now: Forecast) -> str:
    """Return the key of the volume that ferments: with sugar in the fermenter that is more."""
    return "starting_volume" if "starting_volume" in now else "fermenter_volume"


def extract_steps(assessment: Assessment) -> tuple[ExtractStep, ...]:
    """Return the extract at each stage, as a share of all that the grist and the kettle sugar hold.

    The actual is given only where volume and gravity were both read.
    """
    case = assessment.case
    sugar = sum(s.amount * s.extract for s in case.sugars if s.to == "kettle")
    potential = case.grist * case.extract
    total = potential + sugar
    if nominal(total) <= 0:
        return ()
    steps = [ExtractStep("Grist and sugar", 1.0, 1.0, nominal(total))]
    for title, volume, gravity, added in (
        ("Kettle full", "kettle_volume", "kettle_gravity", sugar),
        ("Cast-out", "cast_out_volume", "cast_out_gravity", 0.0),
        ("Fermenter", "fermenter_volume", "original_gravity", 0.0),
    ):
        planned, now = assessment.planned, assessment.now
        if volume not in planned or gravity not in planned:
            break
        expected = (extract_mass(planned[volume], planned[gravity]) + added) / total
        mass = None
        if _read(assessment, volume, gravity):
            # A reading that no wort can have is for the checks to say.
            with suppress(*REFUSED):
                mass = extract_mass(now[volume], now[gravity]) + added
        if mass is None:
            steps.append(ExtractStep(title, nominal(expected), None, None))
            continue
        share = mass / total
        steps.append(
            ExtractStep(
                title, nominal(expected), nominal(share), nominal(mass),
                expanded_uncertainty(share),
            )
        )
    return tuple(steps)


def extract_title(step: ExtractStep) -> str:
    """Return what the extract at a stage is called in the Working."""
    return f"Extract, {step.title[:1].lower()}{step.title[1:]}"


__all__ = ["Closure", "ExtractStep", "closures", "extract_steps", "extract_title"]
