"""Which figure of brewery.yaml or stock.yaml that a batch goes by is wrong, if one is."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.assessment.ingredients import stocked
from reportgen.checks import alpha_odd, kit_figures_odd, malt_figures_odd, unusual_value
from reportgen.record.each_value import fields_in, quantity_of
from reportgen.record.fields import Entry
from reportgen.record.units import Quantity


def wrong_figure(batch: Assessment) -> Quantity | None:
    """Return the first figure that the batch goes by and that the checks of the house name."""
    named = {
        said.position
        for check in (unusual_value, kit_figures_odd, malt_figures_odd, alpha_odd)
        for said in check.check_house(batch.archive)
    }
    if not named:
        return None
    for entry in _used(batch):
        for _, _, value in fields_in(entry, ("kits", "instruments", "liquors")):
            if (quantity := quantity_of(value)) is not None and quantity.position in named:
                return quantity
    return None


def _used(batch: Assessment) -> Iterator[Entry]:
    """Yield what the batch goes by: house, kit, liquors, malts, sugars, hops, yeast, acids."""
    yield batch.archive.brewery or batch.brewery
    yield batch.kit
    yield from (batch.brewery.liquors[part.liquor] for part in batch.record.plan.liquor.blend)
    yield from stocked(batch.record, batch.stock).values()
