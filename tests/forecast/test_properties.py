"""What must hold for any sensible plan: balances close, nothing is negative or not a number."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from reportgen.forecast.case import Case
from reportgen.forecast.resolve import resolve
from reportgen.forecast.walk import walk
from reportgen.loading import load_archive
from reportgen.science.extract import extract_mass
from reportgen.science.number import nominal

EXAMPLE = Path(__file__).parents[1] / "example"


@pytest.fixture(scope="module")
def case() -> Case:
    archive = load_archive(EXAMPLE)
    record = archive.batches["2026-01"].record
    assert record is not None and archive.brewery is not None and archive.stock is not None
    return resolve(record, archive.brewery, archive.stock)


plans = st.fixed_dictionaries(
    {
        "scale": st.floats(0.15, 12.0),
        "mash_liquor": st.floats(2.2, 5.0),
        "sparge": st.sampled_from(["continuous", "batches", "none", "bag"]),
        "batches": st.integers(1, 4),
        "boil_minutes": st.floats(30.0, 120.0),
        "grain_absorption": st.floats(0.3, 1.1),
        "conversion": st.floats(0.80, 1.0),
        "rest": st.floats(60.0, 72.0),
        "altitude": st.floats(0.0, 2500.0),
        "into": st.sampled_from(["keg", "bottle", "cask"]),
    }
)


def varied(case: Case, plan: dict[str, float | str | int]) -> Case:
    scale = float(plan["scale"])
    grist = 7.35 * scale
    return replace(
        case,
        volume=case.volume * scale,
        malts=tuple(replace(m, amount=m.amount * scale) for m in case.malts),
        hops=tuple(replace(h, grams=h.grams * scale) for h in case.hops),
        salts=tuple(replace(s, grams=s.grams * scale) for s in case.salts),
        acids=tuple(
            replace(a, millilitres=a.millilitres * scale) for a in case.acids
        ),
        mash_liquor=float(plan["mash_liquor"]) * grist,
        sparge=str(plan["sparge"]),
        batches=int(plan["batches"]),
        boil_minutes=float(plan["boil_minutes"]),
        grain_absorption=float(plan["grain_absorption"]),
        conversion=float(plan["conversion"]),
        rests=(replace(case.rests[0], temperature=float(plan["rest"])),),
        altitude=float(plan["altitude"]),
        packed_into=str(plan["into"]),
    )


@given(plans)
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_balances_close_for_any_plan(case: Case, plan: dict[str, float | str | int]) -> None:
    one = varied(case, plan)
    book, problems = walk(one)
    value = {key: nominal(e.number) for key, e in book.expected.items()}
    assert all(math.isfinite(v) for v in value.values())
    for key, v in value.items():
        if key != "residual_alkalinity" and key != "pressure":
            assert v >= 0, (key, v)
    if problems:
        # A grain bed that would hold more wort than there is, or the like: said, not computed.
        assert problems[0][1]
        return
    grist = nominal(one.grist)
    into = value["mash_liquor"] + value["sparge_liquor"] + value["top_up_liquor"]
    kept = nominal(one.grain_absorption) * grist + one.tun_dead_space
    assert into == pytest.approx(value["kettle_volume"] + kept, rel=1e-9)
    in_kettle = nominal(extract_mass(value["kettle_volume"], value["kettle_gravity"]))
    assert in_kettle <= grist * nominal(one.extract) * (1 + 1e-9)
    at_end = nominal(extract_mass(value["cast_out_volume"], value["cast_out_gravity"]))
    assert at_end == pytest.approx(in_kettle, rel=1e-6)
    assert 1.0 <= value["final_gravity"] <= value["original_gravity"]
    assert 0 <= value["alcohol"] < 0.2


@given(plans)
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_more_malt_makes_stronger_wort_but_not_in_proportion(
    case: Case, plan: dict[str, float | str | int]
) -> None:
    one = varied(case, {**plan, "sparge": "batches"})
    more = replace(
        one, malts=tuple(replace(m, amount=m.amount * 1.1) for m in one.malts)
    )
    a, problems_a = walk(one)
    b, problems_b = walk(more)
    if problems_a or problems_b:
        return
    before = nominal(a["original_gravity"]) - 1
    after = nominal(b["original_gravity"]) - 1
    assert before < after < 1.12 * before
    assert nominal(b["lauter_efficiency"]) < nominal(a["lauter_efficiency"]) + 1e-9
