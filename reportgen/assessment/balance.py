"""Reconciliation: what went in, what came out, what is lost where it is known, what is not.

In = out + loss that is known + unexplained. The unexplained part is held against the combined U
of everything it is made of, so that a hole is only called one when the instruments can tell.
"""

from __future__ import annotations

from contextlib import suppress

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.forecast.book import Forecast
from reportgen.forecast.case import Case
from reportgen.forecast.pack import in_containers
from reportgen.forecast.pitch import diluted_by
from reportgen.science.extract import extract_mass
from reportgen.science.method import REFUSED
from reportgen.science.number import Number, expanded_uncertainty, nominal


class Closure(Struct, frozen=True):
    """The balance of one stage, with the ±U (k = 2) of what is unexplained.

    In the base unit of ``kind``: L at 20 degC, or kg. ``measured`` is False where something was
    not read, so that the stage cannot be closed.
    """

    title: str
    went_in: float
    came_out: float
    known_loss: float
    unexplained: float
    uncertainty: float
    loss_name: str
    measured: bool
    kind: str = "volume"
    decimals: int = 1

    @property
    def is_explained(self) -> bool:
        """Whether the unexplained part is within what the readings and the kit leave open."""
        return abs(self.unexplained) <= self.uncertainty


class ExtractStep(Struct, frozen=True):
    """Extract that reached a stage: as a share of that of the grist, and in kg."""

    title: str
    planned: float
    actual: float | None
    mass: float | None
    uncertainty: float = 0.0


def close(
    title: str,
    parts: tuple[Number, Number, Number],
    loss_name: str,
    measured: bool,
    kind: str = "volume",
    decimals: int = 1,
) -> Closure:
    """Return the balance of what went in, came out and is known to be lost."""
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
        kind,
        decimals,
    )


def kettle_gain(case: Case) -> Number:
    """Return what the boil gains beside the steam it loses, L: sugar and liquor, less what was
    taken out."""
    added = case.sugar_volume("kettle") + case.added_to("kettle")
    return added - case.taken_from("kettle")


def added_after_boil(case: Case, now: Forecast) -> Number:
    """Return what the wort in the fermenter has more than that at cast-out, L.

    Liquor and sugar that went in between the two readings, by the plan and beyond it.
    """
    liquor = sum(
        (m.litres for m in case.liquor_added if m.to == "fermenter" and not m.after_reading), 0.0
    )
    return diluted_by(now) + liquor + case.added_to("cast_out") + case.sugar_volume("cast_out")


def liquor_to_kettle_full(assessment: Assessment) -> Number:
    """Return what was added before the kettle was full beyond what was read as poured, L.

    Liquor, and the room that sugar in the kettle takes up. The sparge liquor and the top-up that
    were read are all that was used.
    """
    case = assessment.brewed
    more = case.added_to("mash") + case.sugar_volume("kettle_full")
    for place, key in (("sparge", "sparge_liquor"), ("kettle_full", "top_up_liquor")):
        if key not in assessment.now.readings:
            more = more + case.added_to(place)
    return more


def all_read(assessment: Assessment, *keys: str) -> bool:
    """Whether each of some figures was read."""
    return all(key in assessment.now.readings for key in keys)


def closures(assessment: Assessment) -> tuple[Closure, ...]:
    """Return the volume balance of each stage of the brew day and of packaging.

    A reading that is missing is replaced by what was expected, and the stage is said to be open.
    """
    case, now = assessment.brewed, assessment.now
    balances = []
    if "kettle_volume" in now and "top_up_liquor" in now:
        poured = now["top_up_liquor"]
        if "mash_liquor" in now:
            poured = poured + now["mash_liquor"]
        if "sparge_liquor" in now:
            poured = poured + now["sparge_liquor"]
        poured = poured + liquor_to_kettle_full(assessment)
        kept = case.taken_from("mash") + case.taken_from("kettle_full")
        if case.is_mashed:
            kept = kept + case.grain_absorption * case.grist + case.tun_dead_space
        read = [k for k in ("mash_liquor", "sparge_liquor") if k in now]
        read += [] if case.is_mashed else ["top_up_liquor"]
        balances.append(
            close(
                "Liquor to kettle full" if case.is_mashed else "Liquor and extract to kettle full",
                (poured, now["kettle_volume"], kept),
                "kept by grain and tun" if case.is_mashed else "taken out",
                all_read(assessment, *read, "kettle_volume"),
            )
        )
    if "kettle_volume" in now and "cast_out_volume" in now:
        steam = case.evaporation * case.boil_minutes / 60
        balances.append(
            close(
                "Kettle full to cast-out",
                (now["kettle_volume"] + kettle_gain(case), now["cast_out_volume"], steam),
                "evaporated, as the kit usually does",
                all_read(assessment, "kettle_volume", "cast_out_volume"),
            )
        )
    if "cast_out_volume" in now and "fermenter_volume" in now and case.portion is None:
        late = added_after_boil(case, now)
        gone = case.kettle_loss + case.taken_from("cast_out") + case.wort_to_others
        balances.append(
            close(
                "Cast-out to fermenter",
                (now["cast_out_volume"] + late, now["fermenter_volume"], gone),
                "left with hops and break"
                + (", to other batches" if nominal(case.wort_to_others) else ""),
                all_read(assessment, "cast_out_volume", "fermenter_volume"),
            )
        )
    start = starting_volume_key(now)
    if start in now and "packaged_volume" in now:
        measured = start if start in now.readings else "fermenter_volume"
        balances.append(
            close(
                "Fermenter to packed",
                (now[start] + in_containers(case), now["packaged_volume"], case.fermenter_loss),
                "left with the yeast",
                all_read(assessment, measured, "packaged_volume"),
            )
        )
    return tuple(balances)


def starting_volume_key(now: Forecast) -> str:
    """Return the key of the volume that ferments: with sugar in the fermenter that is more."""
    return "starting_volume" if "starting_volume" in now else "fermenter_volume"


def extract_steps(assessment: Assessment) -> tuple[ExtractStep, ...]:
    """Return the extract at each stage, as a share of all that the grist and the kettle sugar hold.

    The actual is given only where volume and gravity were both read.
    """
    planned, now = assessment.planned, assessment.now
    meant, brewed = assessment.case, assessment.brewed
    wanted = meant.malt_extract + meant.sugar_to("kettle_full") + meant.sugar_to("kettle")
    total = brewed.malt_extract
    for place in ("kettle_full", "kettle", "cast_out"):
        total = total + brewed.sugar_to(place)
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
            expected = expected + meant.sugar_to("kettle")
        mass = None
        if all_read(assessment, volume, gravity):
            # A reading that no wort can have is for the checks to say.
            with suppress(*REFUSED):
                mass = extract_mass(now[volume], now[gravity])
                if fermenter and nominal(shared):
                    # The others have the wort of the kettle, before liquor in this fermenter.
                    mass = mass + extract_mass(shared, now["cast_out_gravity"])
                for place in _LATER[title]:
                    mass = mass + brewed.sugar_to(place)
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


_LATER = {"Kettle full": ("kettle", "cast_out"), "Cast-out": ("cast_out",), "Fermenter": ()}
"""Where sugar goes in after a stage: it is counted with the whole from the first."""


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
    extract: Number = 0.0
    for place in ("mash", "kettle_full", *places):
        taken = case.taken_from(place)
        if nominal(taken):
            early = place in ("mash", "kettle_full")
            extract = extract + extract_mass(
                taken, now["kettle_gravity" if early else "cast_out_gravity"]
            )
    return extract


__all__ = [
    "Closure", "ExtractStep", "added_after_boil", "all_read", "close", "closures", "extract_steps",
    "extract_title", "kettle_gain", "liquor_to_kettle_full", "starting_volume_key",
]  # fmt: skip
