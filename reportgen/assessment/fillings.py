"""A batch in containers of several kinds: what went into which, and how much of it.

Each kind has a pressure, a sugar and a rating of its own. So the batch is assessed once for each,
by the same stages, as if that were how it was packed: there is no second formula for the others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from reportgen.assessment.corrections import Actual
from reportgen.assessment.readings import actual_of_reading
from reportgen.forecast.case import Brought, ContainerShare
from reportgen.forecast.figures import FIGURES
from reportgen.forecast.resolve import first_share
from reportgen.forecast.vessels import container_of
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.later import AlsoPacked, Packaging
from reportgen.record.model.plan import AlsoPlanned, PackagingPlan
from reportgen.science.number import Number, expanded_uncertainty, nominal, ufloat

FULL_U = 0.03
"""±U (k = 2), as a share, of containers times their size: what a bottle of half a litre may lack
(OIML R 87:2016, table 1; from memory)."""

FERMENTER, BUCKET, CONTAINER = "fermenter", "bottling_bucket", "container"


class Filling(Struct, frozen=True):
    """Containers of one kind: ``number`` counts the kinds from 0, that under ``packaging`` itself.

    ``record`` is the batch as if it were all packed in these. ``planned`` is the beer that the plan
    has for them, L; None without one. ``stated`` is what was written of it and ``counted`` their
    number times their size, L at 20 degC, the most that it can be; None where nobody wrote it.
    ``entry`` is what the day has of them: of what the plan has and the day has not it is not known
    whether they were filled.
    """

    number: int
    record: Record
    source: str = FERMENTER
    planned: float | None = None
    stated: Number | None = None
    counted: Number | None = None
    entry: AlsoPacked | Packaging | None = None

    @property
    def kind(self) -> str:
        """keg, bottle or cask."""
        return str(self.record.plan.packaging.into)

    @property
    def amount(self) -> Number | None:
        """The beer in them as written, L; None where nobody wrote it."""
        return self.counted if self.stated is None else self.stated

    @property
    def is_full(self) -> bool:
        """Whether what is in them is known by what was written of it, or by their count."""
        return self.stated is not None or self.kind == "bottle"

    @property
    def is_counted_apart(self) -> bool:
        """Whether its beer is beside that of the others: not filled out of one of them."""
        return self.source != CONTAINER

    @property
    def is_none(self) -> bool:
        """Whether the record says that none of them were filled."""
        count = self.entry.containers if self.entry is not None else None
        return count is not None and not count.value


def fillings_of(record: Record, brewery: Brewery) -> tuple[Filling, ...]:
    """Return the kinds of containers of a batch, those under ``packaging`` first.

    None where there are no others. KeyError for a container that the brewery does not have.
    """
    plan, packed = record.plan.packaging, record.packaging
    if not plan.also and (packed is None or not packed.also):
        return ()
    fillings = [
        Filling(0, record, counted=_counted(record, brewery), entry=packed)
    ]
    for planned, entry in pairs(record):
        said = (entry.from_ if entry is not None else None) or (planned and planned.from_)
        source = str(said or FERMENTER)
        own = record.with_members(
            plan=record.plan.with_members(packaging=_plan_of(planned, entry, plan)),
            packaging=_packed_as(entry, packed, source),
        )
        volume = entry.volume if entry is not None else None
        fillings.append(
            Filling(
                len(fillings), own, source,
                planned.volume.value if planned is not None else None,
                None if volume is None else ufloat(volume.value, volume.step / 2, "beer filled"),
                _counted(own, brewery), entry,
            )
        )  # fmt: skip
    return tuple(fillings)


def filled_with(record: Record, brewery: Brewery) -> dict[int, int]:
    """Return by the id of each entry of what was added to containers the number of their kind.

    None where there is one kind alone.
    """
    return {
        id(added): filling.number
        for filling in fillings_of(record, brewery) if filling.entry is not None
        for added in filling.entry.added
    }


def pairs(record: Record) -> list[tuple[AlsoPlanned | None, AlsoPacked | None]]:
    """Return what is planned with what was filled of it, then what was filled beside the plan.

    The container that both name decides, then the kind.
    """
    left = list(record.packaging.also) if record.packaging is not None else []
    planned = record.plan.packaging.also
    met: dict[int, AlsoPacked] = {}
    for by_name in (True, False):
        for n, plan in enumerate(planned):
            for entry in left:
                named = entry.container is not None and entry.container == plan.container
                if n not in met and str(entry.into) == str(plan.into) and (named or not by_name):
                    met[n] = entry
                    left.remove(entry)
                    break
    return [*((plan, met.get(n)) for n, plan in enumerate(planned)), *((None, e) for e in left)]


def _plan_of(
    planned: AlsoPlanned | None, entry: AlsoPacked | None, first: PackagingPlan
) -> PackagingPlan:
    """Return the plan of packaging with these containers alone.

    How warm they may get is never taken from others: a keg may stay in a cold room.
    """
    plan = planned or entry
    assert plan is not None
    own = {
        name: getattr(planned, name, None)
        for name in ("carbonation", "beer_temperature", "priming_sugar")
    }
    given = {name: value or getattr(first, name) for name, value in own.items()}
    if planned is not None and not planned.is_apart:
        given["carbonation"] = first.carbonation
    return first.with_members(
        **given,
        also=(),
        into=plan.into,
        container=planned.container if planned is not None else None,
        highest_temperature=planned.highest_temperature if planned is not None else None,
        position=plan.position,
    )


def _packed_as(
    entry: AlsoPacked | None, packed: Packaging | None, source: str
) -> Packaging | None:
    """Return what was packed as if it were these containers alone; None where nothing was.

    Its day is that on which the beer left the fermenter.
    """
    if entry is None or packed is None or (entry.containers and not entry.containers.value):
        return None
    names = (
        "container", "containers", "container_size", "rejects", "added", "beer_temperature",
        "pressure", "priming_sugar", "sugar_each",
    )  # fmt: skip
    return packed.with_members(
        **{name: getattr(entry, name) for name in names},
        date=packed.date if source == CONTAINER else entry.date or packed.date,
        best_before=entry.best_before or packed.best_before,
        filled=(), also=(), remarks=None, position=entry.position,
    )  # fmt: skip


def _counted(record: Record, brewery: Brewery) -> Number | None:
    """Return the containers of a record times the size of one, L; None without one of the two."""
    packed = record.packaging
    if packed is None or packed.containers is None:
        return None
    size = container_of(record, brewery).volume
    if packed.container_size is not None:
        size = packed.container_size.value
    if size is None:
        return None
    litres = packed.containers.value * size
    return ufloat(litres, FULL_U * litres / 2, "fill of the containers")


def share_planned(own: Filling, brought: Brought | None) -> ContainerShare:
    """Return the share of some containers as planned; of those beside the plan as written."""
    if own.number == 0:
        return first_share(own.record.plan.packaging) or ContainerShare(0)
    litres = own.planned if own.planned is not None else own.amount
    return ContainerShare(own.number, litres, is_unknown=litres is None, brought=brought)


def share_filled(
    fillings: Sequence[Filling], own: Filling, total: Number | None, brought: Brought | None
) -> ContainerShare:
    """Return the share of some containers as they were filled; ``total`` is what was packed, L.

    Bottles are filled full. A keg or a cask need not be: there what the containers hold is the most
    that can be in them, and where the others clearly leave less of the total that counts, since
    sugar in less beer makes more gas.
    """
    number, holds, is_full = own.number, own.amount, own.is_full
    others = [f for f in fillings if f.number != number and f.is_counted_apart]
    if number == 0:
        # Sugar in the bucket is in what was filled out of it too.
        bucket = [f for f in others if f.source == BUCKET]
        others = [f for f in others if f.source != BUCKET]
        parts = [f.amount for f in (own, *bucket)]
        is_full = all(f.is_full for f in (own, *bucket))
        holds = None if None in parts else sum(part for part in parts if part is not None)
    elif brought is not None or own.stated is not None:
        return ContainerShare(number, holds, is_unknown=holds is None, brought=brought)
    amounts = [_taken(f, holds is not None) for f in others]
    apart = sum(litres for litres in amounts if litres is not None)
    is_known = None not in amounts
    left = None if total is None or not is_known else total - apart
    if left is not None and nominal(left) <= 0:
        left = None
        is_known = False
    if holds is not None and left is not None and not is_full:
        missing = holds - left
        holds = left if nominal(missing) > expanded_uncertainty(missing) else holds
    litres = left if holds is None else holds
    if litres is not None:
        return ContainerShare(number, litres, brought=brought)
    if number == 0 and is_known:
        return ContainerShare(0, apart=apart)
    return ContainerShare(number, is_unknown=True, brought=brought)


def _taken(other: Filling, is_held: bool) -> Number | None:
    """Return what other containers have of the beer, L; None where nobody knows.

    Of planned ones that the day does not have, it is what was planned, unless those asked about
    hold a number of their own.
    """
    if other.is_none:
        return 0.0
    if other.entry is None:
        return 0.0 if is_held else other.planned
    return other.amount


def sugared(
    actuals: Mapping[str, Actual], record: Record, brewery: Brewery
) -> dict[str, Actual]:
    """Return the actuals with the sugar that was put into each container by itself.

    It is the sugar of all of them, on top of what was weighed for all; None of it is known where
    the containers were not counted.
    """
    packed = record.packaging
    if packed is None or packed.sugar_each is None or packed.sugar_each.value is None:
        return dict(actuals)
    figure = FIGURES["priming_sugar"]
    each = actual_of_reading(record, figure, packed.sugar_each, brewery, None)
    weighed = actuals.get("priming_sugar")
    count = packed.containers
    if count is None or each.number is None:
        return {**actuals, "priming_sugar": Actual(
            "priming_sugar", packed.sugar_each, instrument=each.instrument,
            made_of="how many containers had it is not written",
        )}  # fmt: skip
    number = count.value * each.number
    made_of = f"{count.text} of {packed.sugar_each.value.text} each"
    if weighed is not None and weighed.number is not None:
        number = number + weighed.number
        made_of = f"{made_of}, on top of what was weighed for all"
    known = each.instrument_is_known
    return {**actuals, "priming_sugar": Actual(
        "priming_sugar", packed.sugar_each, number, instrument=each.instrument,
        instrument_is_known=known, made_of=made_of,
    )}  # fmt: skip
