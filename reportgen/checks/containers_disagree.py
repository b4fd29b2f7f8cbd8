"""Containers times their size is not the volume packed.

The count is what is sold or shared, the volume what was brewed. When they differ by more than a
tenth, one of the three numbers is wrong; one of the containers may be full in part. So it is where
more containers are listed under `filled`, or rejected, than were counted, or one has more in it
than it holds; the list may name fewer.
Where each of the list has its `volume`, these together are the volume packed. Where part of the beer
went into other containers, all of them together are.

Fix: count again, and correct the number that is wrong
Source: arithmetic
Passes:
    packaging: {date: 2026-03-24, packaged_volume: 38 L, containers: 2, container_size: 19 L}
    brew_day: {date: 2026-03-14}
Fails:
    packaging: {date: 2026-03-24, packaged_volume: 38 L, containers: 3, container_size: 19 L}
    brew_day: {date: 2026-03-14}
"""

from collections.abc import Iterable, Iterator

from reportgen.assessment.fillings import Filling
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume
from reportgen.record.model.later import AlsoPacked, Packaging
from reportgen.record.units import Quantity
from reportgen.science.number import nominal

GROUP = Group.PACKAGING
SEVERITY = Severity.NOTE
CONTRADICTS = True

APART = 0.1
"""Share by which they may differ: common practice, no source."""


def check(batch: Assessment) -> Remarks:
    """Compare containers and volume."""
    packed = batch.record.packaging
    actual = batch.actuals.get("packaged_volume")
    every: tuple[Packaging | AlsoPacked, ...] = (packed, *packed.also) if packed else ()
    sizes = [part.container_size.value for part in every if part.container_size is not None]
    listed = packed.filled if packed is not None and len(sizes) == len(every) else ()
    overfull = [
        (one, one.volume, most) for one in listed
        if one.volume is not None and one.volume.value > (1 + APART) * (
            most := max(sizes) * (one.of.value if one.of is not None else 1.0)
        )
    ]
    size = packed.container_size if packed is not None else None
    if len(overfull) > 1 and len(overfull) == len(listed) and len(every) == 1 and size is not None:
        # All of them hold more: it is the size that is wrong.
        held = ", ".join(content.text for _, content, _ in overfull)
        yield Remark(size.position, f"containers of {size.text} with {held} in them", "their size")
        return
    for one, content, most in overfull:
        yield Remark(
            content.position,
            f"{content.text} in container {one.number}, which holds {volume(most, batch)}",
            f"at most {volume(most, batch)}",
        )
    counts = [part.containers.value for part in every if part.containers is not None]
    # The list is of containers of all kinds.
    if packed is not None and every and len(counts) == len(every):
        most = round(sum(counts))
        over = packed.filled[most:]
        if over:
            counted = "`containers` is" if len(every) == 1 else "`containers` in all are"
            yield Remark(
                over[0].number.position,
                f"{len(packed.filled)} containers are listed, {counted} {most}",
                f"{most} of them",
            )
    for part in every:
        count, rejects = part.containers, part.rejects
        if count is not None and rejects is not None and rejects.value > count.value:
            yield Remark(
                rejects.position, f"{rejects.text} rejected of {count.text} filled",
                f"at most {count.text}",
            )  # fmt: skip
    if batch.others_filled:
        yield from _together(batch)
        return
    if packed is None or packed.containers is None or packed.container_size is None:
        return
    if actual is None or actual.value is None:
        return
    each = [container.volume.value for container in packed.filled if container.volume is not None]
    if each and len(each) == packed.containers.value:
        # What one cannot hold is in the sum as well.
        if not overfull and abs(sum(each) - actual.value) > APART * actual.value:
            yield Remark(
                actual.reading.position,
                f"{volume(actual.value, batch)} packed, and {volume(sum(each), batch)} listed as"
                " filled",
                f"about {volume(sum(each), batch)}",
            )
        return
    filled = packed.containers.value * packed.container_size.value
    if not _can_hold(filled, packed.containers, actual.value):
        yield Remark(
            packed.containers.position,
            f"{packed.containers.text} of {packed.container_size.text} are {volume(filled, batch)}",
            f"about {volume(actual.value, batch)}",
        )


def _can_hold(full: float, count: Quantity | None, litres: float) -> bool:
    """Whether containers that hold so much when full can have some litres in them: one in part.

    One with less than a tenth in it is no container that was filled.
    """
    in_part = (1 - APART) / count.value if count is not None and count.value else 1.0
    return full * (1 - max(APART, in_part)) <= litres <= full * (1 + APART)


def _together(batch: Assessment) -> Remarks:
    """Compare what each kind of container holds with what is in it, and all of them with the volume.
    """
    for filling in batch.kinds_filled:
        if filling.stated is None or filling.counted is None or filling.entry is None:
            continue
        stated, counted = nominal(filling.stated), nominal(filling.counted)
        count = filling.entry.containers
        if not _can_hold(counted, count, stated):
            yield Remark(
                count.position if count is not None else filling.entry.position,
                f"{volume(stated, batch)} in {filling.kind}s that hold {volume(counted, batch)}",
                f"about {volume(counted, batch)}",
            )
            return
    actual = batch.actuals.get("packaged_volume")
    written = [
        filling for filling in batch.kinds_filled
        if filling.is_counted_apart and not filling.is_none
    ]
    amounts = [nominal(filling.amount) for filling in written if filling.amount is not None]
    if actual is None or actual.value is None or not amounts:
        return
    total, is_all = sum(amounts), len(amounts) == len(written)
    if total > (1 + APART) * actual.value or (is_all and total < (1 - APART) * actual.value):
        yield Remark(
            actual.reading.position,
            f"{volume(actual.value, batch)} packed, and {' and '.join(_told(written, batch))}",
            f"about {volume(total, batch)}: `packaged_volume` is of all containers",
        )


def _told(written: Iterable[Filling], batch: Assessment) -> Iterator[str]:
    for filling in written:
        if filling.amount is not None:
            yield f"{volume(nominal(filling.amount), batch)} in the {filling.kind}s"
