"""More beer was packed than was in the fermenter.

Yeast and trub stay behind. More beer than wort means a misread volume or a wrong count of
containers.

Fix: count the containers again
Source: conservation of mass
Passes:
    brew_day: {date: 2026-03-14, pitch: {fermenter_volume: 40 L}}
    packaging: {date: 2026-03-24, packaged_volume: 38 L}
Fails:
    brew_day: {date: 2026-03-14, pitch: {fermenter_volume: 40 L}}
    packaging: {date: 2026-03-24, packaged_volume: 44 L}
"""

from reportgen.assessment.balance import starting_volume_key
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume, volume_read
from reportgen.forecast.pack import in_containers
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.PACKAGING
SEVERITY = Severity.MINOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare the volumes of fermenter and packaging."""
    before, after = batch.actuals.get("fermenter_volume"), batch.actuals.get("packaged_volume")
    if before is None or before.value is None:
        return
    if after is None or after.value is None:
        yield from _counted(batch)
        return
    # With what else went into the fermenter and the containers, less what was taken out.
    most = batch.now[starting_volume_key(batch.now)] + batch.brewed.added_to("container")
    if after.value - after.uncertainty > nominal(most) + expanded_uncertainty(most):
        yield Remark(
            after.reading.position,
            f"{volume_read(after, batch)} packed from {volume(nominal(most), batch)}",
            f"at most {volume(nominal(most), batch)}",
        )


def _counted(batch: Assessment) -> Remarks:
    """Compare what all kinds of containers hold together, where the volume was not read."""
    known = [f for f in batch.kinds_filled if f.is_counted_apart and f.amount is not None]
    if not known:
        return
    total = sum((f.amount for f in known if f.amount is not None), 0.0)
    most = batch.now[starting_volume_key(batch.now)] + in_containers(batch.brewed)
    # A keg need not be full: with one the sum is no more than what could be in them.
    sure = [f for f in known if f.is_full]
    least = sum((f.amount for f in sure if f.amount is not None), 0.0)
    is_over = nominal(least - most) > expanded_uncertainty(least - most)
    if is_over and known[-1].entry is not None:
        yield Remark(
            known[-1].entry.position,
            f"{volume(nominal(total), batch)} in all containers, from"
            f" {volume(nominal(most), batch)}",
            f"at most {volume(nominal(most), batch)}",
        )
