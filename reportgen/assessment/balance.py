"""Reconciliation: what went in, what came out, what is lost where it is known, what is not.

In = out + loss that is known + unexplained. The unexplained part is held against the combined U
of everything it is made of, so that a hole is only called one when the instruments can tell.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

from reportgen.assessment.assess import Assessment
from reportgen.forecast.book import Forecast
from reportgen.forecast.case import Case
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


def kettle_sugar(case: Case) -> Number:
    """Return the extract of the sugar in the kettle, kg."""
    return sum(s.amount * s.extract for s in case.sugars if s.to == "kettle")


def kettle_gain(case: Case) -> Number:
    """Return what the boil gains beside the steam it loses, L: sugar and liquor, less what was
    taken out."""
    added = SUGAR_VOLUME * kettle_sugar(case) + case.added_to("kettle")
    return added - case.taken_from("kettle")


def liquor_before_reading(case: Case) -> Number:
    """Return the liquor added to the fermenter before its gravity there was read, L."""
    return sum(
        (m.litres for m in case.liquor_added if m.to == "fermenter" and not m.after_reading), 0.0
    )


def liquor_to_kettle_full(assessment: Assessment) -> Number:
    """Return the liquor added before the kettle was full beyond what was read as poured, L.

    The sparge liquor and the top-up that were read are all that was used.
    """
    case = assessment.brewed
    more = case.added_to("mash")
    for place, key in (("sparge", "sparge_liquor"), ("kettle_full", "top_up_liquor")):
        if key not in assessment.now.readings:
            more = more + case.added_to(place)
    return more


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
        poured = poured + liquor_to_kettle_full(assessment)
        kept = case.grain_absorption * case.grist + case.tun_dead_space
        kept = kept + case.taken_from("mash") + case.taken_from("kettle_full")
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
        steam = case.evaporation * case.boil_minutes / 60
        found.append(
            _close(
                "Kettle full to cast-out",
                (now["kettle_volume"] + kettle_gain(case), now["cast_out_volume"], steam),
                "evaporated, as the kit usually does",
                _read(assessment, "kettle_volume", "cast_out_volume"),
            )
        )
    if "cast_out_volume" in now and "fermenter_volume" in now and case.portion is None:
        late = case.added_to("cast_out") + liquor_before_reading(case)
        gone = case.kettle_loss + case.taken_from("cast_out") + case.wort_to_others
        found.append(
            _close(
                "Cast-out to fermenter",
                (now["cast_out_volume"] + late, now["fermenter_volume"], gone),
                "left with hops and break"
                + (", to other batches" if nominal(case.wort_to_others) else ""),
                _read(assessment, "cast_out_volume", "fermenter_volume"),
            )
        )
    start = _fermented(now)
    if start in now and "packaged_volume" in now:
        measured = start if start in now.readings else "fermenter_volume"
        found.append(
            _close(
                "Fermenter to packed",
                (now[start], now["packaged_volume"], case.fermenter_loss),
                "left with the yeast",
                _read(assessment, measured, "packaged_volume"),
            )
        )
    return tuple(found)


def _fermented(now: Forecast) -> str:
    """Return the key of the volume that ferments: with sugar in the fermenter that is more."""
    return "starting_volume" if "starting_volume" in now else "fermenter_volume"


def extract_steps(assessment: Assessment) -> tuple[ExtractStep, ...]:
    """Return the extract at each stage, as a share of all that the grist and the kettle sugar hold.

    The actual is given only where volume and gravity were both read.
    """
    planned, now = assessment.planned, assessment.now
    meant, brewed = assessment.case, assessment.brewed
    wanted = meant.grist * meant.extract + kettle_sugar(meant)
    total = brewed.grist * brewed.extract + kettle_sugar(brewed)
    if nominal(total) <= 0 or nominal(wanted) <= 0:
        return ()
    steps = [ExtractStep("Grist and sugar", 1.0, 1.0, nominal(total))]
    for title, volume, gravity in (
        ("Kettle full", "kettle_volume", "kettle_gravity"),
        ("Cast-out", "cast_out_volume", "cast_out_gravity"),
        ("Fermenter", "fermenter_volume", "original_gravity"),
    ):
        if volume not in planned or gravity not in planned:
            break
        fermenter = title == "Fermenter"
        if fermenter and meant.portion is not None:
            # Another record has the rest of this wort.
            break
        shared = meant.wort_to_others if fermenter else 0.0
        expected = extract_mass(planned[volume] + shared, planned[gravity])
        if title == "Kettle full":
            expected = expected + kettle_sugar(meant)
        mass = None
        if _read(assessment, volume, gravity):
            # A reading that no wort can have is for the checks to say.
            with suppress(*REFUSED):
                mass = extract_mass(now[volume], now[gravity])
                if fermenter and nominal(shared):
                    # The others have the wort of the kettle, before liquor in this fermenter.
                    mass = mass + extract_mass(shared, now["cast_out_gravity"])
                if title == "Kettle full":
                    mass = mass + kettle_sugar(brewed)
                mass = mass + _taken_before(assessment, title)
        share = nominal(expected / wanted)
        if mass is None:
            steps.append(ExtractStep(title, share, None, None))
            continue
        reached = mass / total
        steps.append(
            ExtractStep(
                title, share, nominal(reached), nominal(mass), expanded_uncertainty(reached)
            )
        )
    return tuple(steps)


def extract_title(step: ExtractStep) -> str:
    """Return what the extract at a stage is called in the Working."""
    return f"Extract, {step.title[:1].lower()}{step.title[1:]}"


def _taken_before(assessment: Assessment, stage: str) -> Number:
    """Return the extract, kg, of what was taken out before a stage, at the strength of its wort.

    What was taken out is not lost to the stages before it, so it is counted on.
    """
    case, now = assessment.brewed, assessment.now
    places: tuple[str, ...] = {
        "Kettle full": (), "Cast-out": ("kettle",), "Fermenter": ("kettle", "cast_out"),
    }[stage]  # fmt: skip
    found: Number = 0.0
    for place in ("mash", "kettle_full", *places):
        taken = case.taken_from(place)
        if nominal(taken):
            early = place in ("mash", "kettle_full")
            found = found + extract_mass(
                taken, now["kettle_gravity" if early else "cast_out_gravity"]
            )
    return found


__all__ = [
    "Closure", "ExtractStep", "closures", "extract_steps", "extract_title", "kettle_gain",
    "kettle_sugar", "liquor_before_reading", "liquor_to_kettle_full",
]  # fmt: skip
