"""One rule between EBC and degrees Lovibond, wherever a colour is typed, counted or printed."""

from __future__ import annotations

import pytest

from reportgen.record import unit_table
from reportgen.record.units import parse_quantity
from reportgen.science import colour
from reportgen.science.mash_ph import malt_acidity


@pytest.mark.parametrize("unit", ["SRM", "L", "Lovibond"])
def test_a_malt_typed_in_either_scale_is_one_malt(unit: str) -> None:
    # Analytica-EBC 9.6 and ASBC Beer-10: 25 and 12.7 times one absorbance.
    lovibond = 145 * 12.7 / 25
    typed = parse_quantity(f"{lovibond:.6f} {unit}", "colour").value
    assert typed == pytest.approx(145, abs=1e-3)
    assert colour.ebc_to_srm(typed) == pytest.approx(lovibond)
    assert malt_acidity("crystal", typed)[0] == pytest.approx(malt_acidity("crystal", 145.0)[0])
    assert 2.2046226 * lovibond / 10 == pytest.approx(
        colour.malt_colour_units([(1.0, typed)], 10 * 3.785411784), rel=1e-4
    )


def test_there_is_one_number() -> None:
    assert colour.EBC_OF_SRM == unit_table.EBC_PER_SRM
