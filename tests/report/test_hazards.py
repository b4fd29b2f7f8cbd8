"""Cautions over kits: each hazard that can occur is covered, once, and none that cannot."""

from __future__ import annotations

import dataclasses
import itertools
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from five_houses import HOUSES, House, write
from printed import assessed

from reportgen.assessment.assess import Assessment
from reportgen.record.each_value import member_names
from reportgen.report.cautions import CAUTIONS, DANGER, DEFERENCE, Caution
from reportgen.report.documents import SHEETS

BASE = HOUSES["three"]
KITS = [
    dataclasses.replace(
        BASE, litres=litres, heated_by=heated, sparge=sparge, into=into, acid=acid, sulfite=acid,
        spund=litres > 100,
    )
    for (litres, sparge), heated, (into, acid) in itertools.product(
        ((12, "bag"), (45, "continuous"), (500, "batch")),
        ("", "element", "flame", "steam"),
        (("keg", True), ("bottle", False), ("cask", True)),
    )
]


def expected(kit: House) -> set[str]:
    """By reading: what can go wrong in such a house, whatever the tool thinks."""
    can = {"allergens", "steam", "hot_liquor", "boil_over", "cooling", "cleaners", "alcohol"}
    can |= {"": {"burner", "electric"}, "element": {"electric"}, "flame": {"burner"},
            "steam": {"steam_heat"}}[kit.heated_by]  # fmt: skip
    can |= {"keg": {"pressure", "room_gas"}, "bottle": {"bottles", "glass"},
            "cask": {"casks"}}[kit.into]  # fmt: skip
    can.add("hot_bag" if kit.sparge == "bag" else "hot_transfer")
    can.add("grain_dust" if kit.litres > 100 else "malt_dust")
    # 12 L give off 0.4 kg of carbon dioxide, 45 L 1.7 kg; a cellar of 10 m3 is lethal from 0.74.
    if kit.litres > 20:
        can |= {"room_gas", "lifting"}
    if kit.litres > 100:
        can |= {"entry", "pressure"}
    if kit.acid:
        can |= {"chemicals", "sulfite"}
    return can


def cautions_in(part: Any) -> Iterator[Caution]:
    """Every caution in a view, in its order."""
    if isinstance(part, Caution):
        yield part
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from cautions_in(one)
    else:
        for name in member_names(part):
            yield from cautions_in(getattr(part, name))


def cautions_on(batch: Assessment) -> dict[str, list[Caution]]:
    """The cautions of each sheet."""
    return {s.name: list(cautions_in(s.view(batch, "A4", 1))) for s in SHEETS}


@pytest.mark.parametrize(
    "kit", KITS, ids=lambda k: f"{k.litres}-{k.heated_by or 'unknown'}-{k.into}"
)
def test_each_hazard_is_covered_once_where_it_can_occur(kit: House, tmp_path: Path) -> None:
    sheets = cautions_on(assessed("2026-01", write(tmp_path / "house", kit)))
    found = {c.key for cautions in sheets.values() for c in cautions}
    assert found == expected(kit)
    for name, cautions in sheets.items():
        assert max(Counter(c.key for c in cautions).values(), default=1) == 1, name
    times = Counter(c.key for cautions in sheets.values() for c in cautions)
    # Gas gathers while it ferments and again while it is packed, days apart.
    assert {key for key, n in times.items() if n > 1} <= {"room_gas", "pressure"}


def test_every_caution_can_be_met_and_the_foot_defers() -> None:
    assert set().union(*(expected(kit) for kit in KITS)) == set(CAUTIONS)
    assert "Local codes" in DEFERENCE
    assert all(c.consequence and c.avoidance for c in CAUTIONS.values())


def test_danger_says_that_it_kills() -> None:
    for caution in CAUTIONS.values():
        said = f"{caution.consequence} {caution.avoidance}"
        assert (caution.signal == DANGER) <= ("kill" in said or "die" in said), caution.key

