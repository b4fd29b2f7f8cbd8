"""A plan with other values in some places, without a change of any file."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.archive.replan import NoSuchPlace, assignments, place_of, place_text, with_values
from reportgen.loading import load_archive
from reportgen.record.units import parse_quantity
from reportgen.record.written import amount_text, block, decimals_for, differing, flow

PLAN = {
    "fermenter_volume": "40 L",
    "boil": {"time": "60 min", "hops": [{"hop": "a", "amount": "3 g"}]},
}


def test_a_value_an_entry_and_a_key_that_is_new() -> None:
    new = with_values(PLAN, assignments([
        "boil.hops[0].amount=5g", "boil.hops[1].hop=b", "boil.hops[1].amount=1 g",
        "packaging.into=keg", "plan.fermenter_volume=null",
    ]))  # fmt: skip
    assert new == {
        "boil": {"time": "60 min", "hops": [{"hop": "a", "amount": "5g"},
                                            {"hop": "b", "amount": "1 g"}]},
        "packaging": {"into": "keg"},
    }  # fmt: skip
    assert PLAN["fermenter_volume"] == "40 L", "the plan itself stays"
    assert with_values(PLAN, {("boil", "hops", 0): None})["boil"]["hops"] == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("fermenter_volume", "no ="), ("boil[0].time=1 h", "not a list"),
        ("boil.hops[4].amount=1 g", "[4]"),
        ("boil.hops.amount=1 g", "[0]"), ("fermenter_volume.of=1", "one value"),
        ("a b=1", "a place"),
        ("boil..time=1 h", "a place"), ("=1", "a place"),
    ],
)
def test_a_place_that_is_none_says_so(text: str, said: str) -> None:
    with pytest.raises(NoSuchPlace) as error:
        with_values(PLAN, assignments([text]))
    assert said in str(error.value)


def test_places_are_read_as_they_are_written() -> None:
    for text in ("mash.rests[0].temperature", "boil.hop_stand.hops[12].amount", "volume"):
        assert place_text(place_of(text)) == text


@pytest.mark.parametrize(
    ("value", "step", "like", "written"),
    [
        (7.26, 0.02, "7.2 kg", "7.26 kg"),
        (0.0512, 0.0001, "45 g", "51.2 g"),
        # 16 lb 3.5 oz on a scale that reads in half ounces: 259.5 oz x 28.349523 g.
        (259.5 * 0.028349523, 0.028349523 / 2, "16 lb", "16 lb 3.5 oz"),
        (259.5 * 0.028349523, 0.028349523 / 2, "5 lb 4 oz", "16 lb 3.5 oz"),
        (28.39, 0.5, "7 US gal", "7.5 US gal"),
        (68.333, 0.5, "152 F", "155.0 F"),
    ],
)
def test_amounts_in_the_brewers_own_units(
    value: float, step: float, like: str, written: str
) -> None:
    kind = "temperature" if like.endswith("F") else "volume" if "gal" in like else "mass"
    text = amount_text(value, step, parse_quantity(like, kind), "kg", kind)
    assert text == written
    assert parse_quantity(text, kind).value == pytest.approx(value, abs=step / 2 + 1e-6)


def test_what_differs_is_what_is_pasted() -> None:
    new = with_values(PLAN, assignments(["boil.time=90 min"]))
    assert differing(PLAN, new) == {"boil": {"time": "90 min"}}
    without = with_values(PLAN, {("fermenter_volume",): None})
    assert differing(PLAN, without) == {"fermenter_volume": "null"}
    assert list(block({"hops": [{"hop": "x: y", "amount": "3 g"}], "boil": {"time": "1 h"}})) == [
        "hops:", '  - {hop: "x: y", amount: 3 g}', "boil:", "  time: 1 h",
    ]  # fmt: skip
    assert flow(["a", "null"]) == '[a, "null"]'
    assert [decimals_for(step) for step in (20, 0.5, 0.02, 0.02 / 0.45359237)] == [0, 1, 2, 2]


def test_the_demo_can_be_read_again_from_plain_data() -> None:
    from reportgen.planning.proposing import plan_of

    archive = load_archive(Path(__file__).parents[2] / "batches")
    for batch in archive.batches.values():
        again = plan_of(archive, batch).batch.plan
        assert again == {k: v for k, v in batch.plan.items() if k != "like"}, batch.id
