"""The vessels that pressure is in: which one it is, and what its maker rates it for.

Each vessel has a rating of its own, from ``brewery.yaml``. Where there is none it is unknown: that
of another vessel is never taken in its place.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery, Container
from reportgen.record.units import Quantity


class Usual(Struct, frozen=True):
    """Ratings of a kind of vessel that are in use, bar gauge.

    ``weakest`` is what the weakest of them takes, ``strongest`` the strongest in common use, and
    above ``most`` there are none: such a rating was mistyped.
    """

    weakest: float
    strongest: float
    most: float


USUAL: Mapping[str, Usual] = {
    "keg": Usual(3.0, 7.0, 12.0),
    "cask": Usual(2.0, 4.0, 7.0),
    "bottle": Usual(4.0, 8.0, 20.0),
    "fermenter": Usual(0.0, 3.0, 12.0),
}
"""Kegs: DIN 6647-1:2006 (3 bar) and DIN 6647-2:2006 (7 bar); syrup kegs rated 9 bar are in use too.
Bottles: 3 volumes at 30 degC are 3.9 bar; new glass is tested to 12 and 16 bar. Casks,
fermenters and what is left of the bottles: common practice, no source. A plastic fermenter bears
no pressure at all."""

SAME_SIZE = 0.10
"""Sizes of a container that differ by less are one size, as a share: 5 US gal and 19 L."""


class Vessel(Struct, frozen=True):
    """A vessel under pressure: ``kind`` is fermenter, keg, cask or bottle.

    ``name`` is its name in ``brewery.yaml``, empty when it is not known which it is. ``rating`` is
    the maker's, bar gauge; None when it is unknown, and then ``why_unknown`` says why.
    """

    kind: str
    name: str = ""
    rating: float | None = None
    why_unknown: str = ""
    volume: float | None = None
    number: int | None = None
    weakest: float | None = None
    """Where it is one of several that are listed: the lowest rating among them, bar gauge."""
    least_of: str = ""
    """The weakest of several that are all rated, whose rating this is."""


def _rated(kind: str, limit: Quantity | None, where: str) -> tuple[float | None, str]:
    """Return a rating that can be, or why there is none."""
    if limit is None:
        return None, f"{where} has no `pressure_rating` in brewery.yaml"
    if limit.value > USUAL[kind].most:
        return None, f"the `pressure_rating` of {where} in brewery.yaml cannot be {limit.text}"
    return limit.value, ""


def fermenter_of(kit_name: str, brewery: Brewery) -> Vessel:
    """Return the fermenter of a kit. KeyError for an unknown kit."""
    own = brewery.kits[kit_name].fermenter
    rating, why = _rated("fermenter", own.pressure_rating, f"the fermenter of {kit_name}")
    return Vessel("fermenter", "", rating, why, own.volume.value)


def container_of(record: Record, brewery: Brewery) -> Vessel:
    """Return what the beer is packed in. KeyError for an unknown name.

    The one that the packaging names, else the plan; else the only one of its kind, or of its kind
    and the size written, that ``brewery.yaml`` lists.
    """
    kind, packed = str(record.plan.packaging.into), record.packaging
    named = (packed.container if packed is not None else None) or record.plan.packaging.container
    size = packed.container_size if packed is not None else None
    if named is not None:
        own = brewery.containers[named]
        if str(own.is_) != kind:
            return Vessel(kind, why_unknown=f"{named} is a {own.is_} in brewery.yaml")
        if not is_of_size(own, size):
            return Vessel(kind, why_unknown=f"{named} is of another size in brewery.yaml")
        return _vessel(str(named), own)
    listed = {name: own for name, own in brewery.containers.items() if str(own.is_) == kind}
    fitting = {name: own for name, own in listed.items() if is_of_size(own, size)}
    if len(fitting) == 1:
        return _vessel(*next(iter(fitting.items())))
    if len(fitting) > 1:
        vessels = [_vessel(name, own) for name, own in fitting.items()]
        ratings = [vessel.rating for vessel in vessels if vessel.rating is not None]
        if len(ratings) == len(vessels):
            # Whichever it is, it bears what the weakest of them does.
            weakest = min(vessels, key=lambda vessel: vessel.rating or 0.0)
            return Vessel(kind, rating=weakest.rating, least_of=weakest.name)
        return Vessel(
            kind,
            why_unknown=f"{', '.join(fitting)}: `container` does not say which",
            weakest=min(ratings, default=None),
        )
    what = f"no {kind} of this size" if listed else f"no {kind}"
    return Vessel(kind, why_unknown=f"{what} is listed under `containers` in brewery.yaml")


def is_of_size(own: Container, size: Quantity | None) -> bool:
    """Whether a container is of the size written; one of the two unknown says nothing against."""
    if size is None or own.volume is None:
        return True
    return abs(size.value - own.volume.value) <= SAME_SIZE * own.volume.value


def _vessel(name: str, own: Container) -> Vessel:
    rating, why = _rated(str(own.is_), own.pressure_rating, name)
    return Vessel(
        str(own.is_),
        name,
        rating,
        why,
        own.volume.value if own.volume is not None else None,
        int(own.number.value) if own.number is not None else None,
    )
