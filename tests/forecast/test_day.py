"""What was done moves every number that hangs on it: weights, lots, clocks, additions, spills."""

from __future__ import annotations

import datetime
import itertools
import json
import shutil
from decimal import Decimal
from pathlib import Path

import pytest
from checked import archive_with
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.day import not_written
from reportgen.assessment.day_fact import as_it_would_have_been
from reportgen.assessment.day_weighed import matched
from reportgen.assessment.log import pitched_at
from reportgen.assessment.replay import replay, rounded_steps
from reportgen.checks.base import run_checks
from reportgen.forecast.figures import OUTCOMES
from reportgen.loading import load_archive
from reportgen.report.documents import WORKING
from reportgen.report.figure_rows import steps
from reportgen.science.extract import extract_mass
from reportgen.science.number import expanded_uncertainty, nominal

EXAMPLE = Path(__file__).parents[1] / "example"
RECORD = "2026/2026-01.yaml"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the example archive, to be read with other bytes for its record."""
    copy = tmp_path_factory.mktemp("day") / "house"
    shutil.copytree(EXAMPLE, copy)
    return copy


def brewed(folder: Path, day: str, later: str = "", sound: bool = True) -> Assessment:
    """Return the example brewed with these lines of its brew day."""
    text = (folder / RECORD).read_text(encoding="utf-8")
    text += f"\nbrew_day:\n  date: 2026-03-14\n{day}\n{later}"
    archive = load_archive(folder, given={RECORD: text.encode()})
    if sound:
        assert archive.findings == (), archive.findings
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def value(found: Assessment, key: str) -> float:
    return nominal(found.now[key])


PLAIN = "  remarks: an ordinary day"


def test_the_malt_weighed_makes_the_gravity_and_the_efficiency(folder: Path) -> None:
    right = brewed(folder, "  weighed: [{item: pale, amount: 7.0 kg}]")
    short = brewed(folder, "  weighed: [{item: pale, amount: 6.0 kg}]")
    assert value(short, "original_gravity") < value(right, "original_gravity") - 0.004
    # The same kettle from less malt is a better mash, not a worse one.
    kettle = "\n  run_off: {kettle_volume: 46 L, kettle_gravity: 1.042}"
    a = brewed(folder, "  weighed: [{item: pale, amount: 7.0 kg}]" + kettle)
    b = brewed(folder, "  weighed: [{item: pale, amount: 6.0 kg}]" + kettle)
    ratio = value(b, "mash_efficiency") / value(a, "mash_efficiency")
    assert ratio == pytest.approx((7.0 * 0.78 + 0.35 * 0.72) / (6.0 * 0.78 + 0.35 * 0.72), rel=0.02)


def test_what_a_scale_shows_too_much_is_taken_off(folder: Path) -> None:
    """7.40 kg on a scale that shows 400 g too much is 7.00 kg; 60 g on it cannot have been read."""
    house = (folder / "brewery.yaml").read_text(encoding="utf-8")
    plain = "uncertainty: 20 g}"
    assert plain in house
    off = "uncertainty: 20 g, checks: [{on: 2026-01-02, reads_high_by: 400 g}]}"
    text = (folder / RECORD).read_text(encoding="utf-8")
    day = (
        "\nbrew_day:\n  date: 2026-03-14\n"
        "  weighed: [{item: pale, amount: 7.40 kg}, {item: goldings, amount: 60 g},"
        " {item: goldings, amount: 30 g}]\n"
    )
    given = {RECORD: (text + day).encode(), "brewery.yaml": house.replace(plain, off).encode()}
    archive = load_archive(folder, given=given)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    weights = {malt.name: nominal(malt.amount) for malt in found.brewed.malts}
    assert weights["pale"] == pytest.approx(7.0)
    assert [nominal(hop.grams) for hop in found.brewed.hops][:1] == pytest.approx([60.0])
    assert "weighed-differs" not in [f.rule for f in run_checks(found)]


@pytest.mark.parametrize("grams, share", [(60, 1.0), (120, 2.0), (30, 0.5), (0.6, 0.01)])
def test_hops_weighed_bring_bitterness_in_proportion(
    folder: Path, grams: float, share: float
) -> None:
    late = "{item: goldings, amount: not done because forgotten}"
    one = brewed(folder, f"  weighed: [{{item: goldings, amount: 60 g}}, {late}]")
    other = brewed(folder, f"  weighed: [{{item: goldings, amount: {grams} g}}, {late}]")
    assert value(other, "bitterness") / value(one, "bitterness") == pytest.approx(share, rel=1e-3)


def test_the_figures_of_the_lot_weighed_count_not_those_planned(folder: Path) -> None:
    stock = (folder / "stock.yaml").read_text(encoding="utf-8")
    for old, new in (
        ("H-1: {alpha: 5.2 %}", "H-1: {alpha: 5.2 %}, H-2: {alpha: 6.24 %}"),
        ("M-1: {received: 2026-01-05}",
         "M-1: {received: 2026-01-05}, M-2: {extract: 70.65 %, colour: 11 EBC}"),
    ):
        assert old in stock
        stock = stock.replace(old, new)

    def weighed(*entries: str) -> Assessment:
        text = (folder / RECORD).read_text(encoding="utf-8")
        text += f"\nbrew_day:\n  date: 2026-03-14\n  weighed: [{', '.join(entries)}]\n"
        given = {RECORD: text.encode(), "stock.yaml": stock.encode()}
        archive = load_archive(folder, given=given)
        assert archive.findings == ()
        found = assess(archive, archive.batches["2026-01"])
        assert found is not None
        return found

    late = "{item: goldings, amount: not done because forgotten}"
    one, two = (weighed(f"{{item: goldings, amount: 60 g, lot: H-{n}}}", late) for n in (1, 2))
    # 6.24 % of alpha acids for 5.2 %: a fifth more.
    assert value(two, "bitterness") / value(one, "bitterness") == pytest.approx(1.2, rel=1e-3)
    one, two = (weighed(f"{{item: pale, amount: 7.0 kg, lot: M-{n}}}") for n in (1, 2))
    # 70.65 % of extract for 78.5 %: a tenth less of what the pale malt brings.
    assert nominal(two.brewed.malts[0].extract) == pytest.approx(0.7065)
    assert value(two, "original_gravity") < value(one, "original_gravity")
    assert value(two, "colour") > value(one, "colour")


def test_a_bag_weighed_in_two_parts_counts_as_one(folder: Path) -> None:
    whole = brewed(folder, "  weighed: [{item: pale, amount: 7.0 kg}]")
    parts = brewed(
        folder, "  weighed: [{item: pale, amount: 4.5 kg}, {item: pale, amount: 2.5 kg}]"
    )
    assert value(parts, "original_gravity") == pytest.approx(value(whole, "original_gravity"))
    # Neither part moved anything by itself: what deviates does not follow from one of them.
    weighed = [fact for fact in parts.facts if fact.key.startswith("weighed")]
    assert [fact.amount.text for fact in weighed if fact.amount] == ["4.5 kg + 2.5 kg"]
    steps = replay(as_it_would_have_been(parts.case, parts.planned), parts.facts, {})
    assert all(abs(moved.size) < 1e-6 for _, moved in steps.of("original_gravity"))


@pytest.mark.parametrize(
    "amounts, slots, places",
    [
        ((60, 30), (60, 30), ((0,), (1,))),
        ((100.1,), (50.1,), ((0,),)),
        ((31,), (60, 30), ((1,),)),
        ((60, 31), (60, 30, 80), ((0,), (1,))),
        ((60, 81), (60, 30, 80), ((0,), (2,))),
        ((80.1,), (40, 40), ((0, 1),)),
        ((40.2,), (40, 40), ((0,),)),
        ((50, 79), (50, 40, 40), ((0,), (1, 2))),
        ((4.5, 2.5), (7.0,), ((0,), (0,))),
        ((30, 30, 31), (60, 30), ((0,), (0,), (1,))),
    ],
)
def test_weights_are_matched_with_the_additions_that_they_are(
    amounts: tuple[float, ...], slots: tuple[float, ...], places: tuple[tuple[int, ...], ...]
) -> None:
    assert matched(amounts, slots) == places


def test_dry_hops_weighed_with_the_rest_bring_no_bitterness(folder: Path) -> None:
    text = "{item: goldings, amount: 60 g}, {item: goldings, amount: 30 g}"
    plain = brewed(folder, f"  weighed: [{text}]")
    record = (folder / RECORD).read_text(encoding="utf-8")
    dry_hops = "dry_hops: [{hop: goldings, amount: 80 g, on_day: 3 d}]"
    dry = record.replace("time: 8 d}", f"time: 8 d, {dry_hops}}}")
    assert dry != record
    text += ", {item: goldings, amount: 82 g}"
    day = f"\nbrew_day:\n  date: 2026-03-14\n  weighed: [{text}]\n"
    archive = load_archive(folder, given={RECORD: (dry + day).encode()})
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    assert value(found, "bitterness") == pytest.approx(value(plain, "bitterness"))


def test_what_was_left_out_is_nought_and_what_was_not_written_is_less_sure(folder: Path) -> None:
    full = brewed(folder, "  weighed: [{item: pale, amount: 7.0 kg}]")
    without = brewed(
        folder,
        "  weighed: [{item: pale, amount: 7.0 kg}, {item: crystal, amount: not done because none}]",
    )
    assert value(without, "colour") < 0.7 * value(full, "colour")
    crystal = next(m for m in full.brewed.malts if m.name == "crystal")
    planned = next(m for m in full.case.malts if m.name == "crystal")
    assert crystal.amount.std_dev > 3 * planned.amount.std_dev


def test_the_clock_of_the_boil_gives_the_evaporation(folder: Path) -> None:
    day = "  run_off: {{kettle_volume: 46 L, kettle_gravity: 1.042}}\n"
    day += "  boil: {{started: {}, ended: {}, cast_out_volume: 41 L}}"
    hour = brewed(folder, day.format("12:00", "13:00"))
    two = brewed(folder, day.format("12:00", "14:00"))
    midnight = brewed(folder, day.format("23:30", "00:30"))
    assert value(hour, "evaporation") == pytest.approx(5.0, abs=0.02)
    assert nominal(two.now.expected["evaporation"].number) == pytest.approx(2.5, abs=0.01)
    assert nominal(midnight.now.expected["evaporation"].number) == pytest.approx(5.0, abs=0.02)


def test_what_went_into_and_out_of_the_kettle_has_not_boiled_off(folder: Path) -> None:
    """46 L and 3 L more, 1 L drawn off, 43 L cast out: 5 L in the hour."""
    day = "  run_off: {kettle_volume: 46 L, kettle_gravity: 1.042}\n"
    day += "  boil: {started: 12:00, ended: 13:00, cast_out_volume: 43 L}\n"
    day += "  added: [{what: reservoir, amount: 3 L, to: kettle, at: 12:40}]\n"
    day += "  taken: [{amount: 1 L, from: kettle, at: 12:50}]"
    assert value(brewed(folder, day), "evaporation") == pytest.approx(5.0, abs=0.05)


def test_a_hop_that_went_in_late_boils_as_long_as_it_did(folder: Path) -> None:
    boil = "\n  boil: {started: 12:00, ended: 13:00}"
    def weighed(at: str) -> str:
        return f"  weighed: [{{item: goldings, amount: 60 g, added_at: {at}}}]" + boil
    on_time, late = brewed(folder, weighed("12:00")), brewed(folder, weighed("12:50"))
    assert value(late, "bitterness") < 0.75 * value(on_time, "bitterness")
    minutes = [h.minutes for h in late.brewed.hops]
    assert minutes == [10, 10]


def test_a_short_boil_shortens_the_hops(folder: Path) -> None:
    short = brewed(folder, "  boil: {started: 12:00, ended: 12:30}")
    assert [h.minutes for h in short.brewed.hops] == [30, 10]


def test_a_hop_steeps_while_the_boil_pauses(folder: Path) -> None:
    """Power gone for 20 of 80 minutes: one of the start boiled an hour and steeped, a last one ten.

    Rates of Malowicki and Shellhammer 2005: wort that cools by 0.2 to 1 K a minute isomerises in
    20 minutes as much as in 16.9 to 9.4 at the boil (the integral of their equation, by scipy).
    """
    boil = "\n  boil: {started: 12:00, ended: 13:20, paused: 20 min}"
    for at, minutes, u in (("12:00", 73.2, 3.7), ("13:10", 10, 0), ("12:40", 34.7, 5.3)):
        day = f"  weighed: [{{item: goldings, amount: 60 g, added_at: {at}}}]" + boil
        hop = brewed(folder, day).brewed.hops[0]
        assert (hop.minutes, hop.minutes_u) == pytest.approx((minutes, u), abs=0.15), at
        day = f"  added: [{{what: goldings, amount: 60 g, to: kettle, at: {at}}}]" + boil
        added = brewed(folder, day).brewed.hops[-1]
        assert (added.minutes, added.minutes_u) == pytest.approx((minutes, u), abs=0.15), at
    by_the_sheet = brewed(folder, boil[1:]).brewed.hops[0]
    assert (by_the_sheet.minutes, by_the_sheet.minutes_u) == pytest.approx((73.2, 3.7), abs=0.15)
    # Ten hours, as many minutes as 55.4 to 11.2 at the boil.
    long = brewed(folder, boil[1:].replace("13:20", "23:00").replace("20 min", "10 h"))
    hop = long.brewed.hops[0]
    assert (hop.minutes, hop.minutes_u) == pytest.approx((93.3, 22.1), abs=1.5)


def test_liquor_into_the_mash_cools_thins_and_raises_the_ph(folder: Path) -> None:
    plain = brewed(folder, PLAIN)
    more = brewed(folder, "  added: [{what: reservoir, amount: 2 L, to: mash, temperature: 20 C}]")
    assert value(more, "mash_temperature_after_additions") == pytest.approx(62.65, abs=0.2)
    assert value(more, "first_wort_gravity") < value(plain, "first_wort_gravity") - 0.004
    assert value(more, "kettle_volume") == pytest.approx(value(plain, "kettle_volume") + 2)
    assert value(more, "mash_volume") == pytest.approx(value(plain, "mash_volume") + 2)
    assert value(more, "mash_ph") > value(plain, "mash_ph")


def test_water_added_to_the_kettle_leaves_the_extract_and_the_ions_balanced(folder: Path) -> None:
    plain = brewed(folder, PLAIN)
    late = brewed(
        folder,
        "  boil: {started: 12:00, ended: 13:00}\n"
        "  added: [{what: reservoir, amount: 3 L, to: kettle, at: 12:40}]",
    )
    assert value(late, "cast_out_volume") == pytest.approx(value(plain, "cast_out_volume") + 3)
    mass = [
        nominal(extract_mass(f.now["cast_out_volume"], f.now["cast_out_gravity"]))
        for f in (plain, late)
    ]
    assert mass[1] == pytest.approx(mass[0], rel=1e-9)
    assert value(late, "bitterness") < value(plain, "bitterness")


def test_wort_taken_from_the_kettle_takes_its_share_and_no_strength(folder: Path) -> None:
    plain = brewed(folder, PLAIN)
    drawn = brewed(
        folder,
        "  boil: {started: 12:00, ended: 13:00}\n"
        "  taken: [{what: wort, amount: 4 L, from: kettle, at: 12:59, because: starter}]",
    )
    assert value(drawn, "fermenter_volume") == pytest.approx(value(plain, "fermenter_volume") - 4)
    same = pytest.approx(value(plain, "original_gravity"), abs=1e-4)
    assert value(drawn, "original_gravity") == same
    assert value(drawn, "bitterness") == pytest.approx(value(plain, "bitterness"), rel=0.01)


def by_mass(wort: float, gravity: float, liquor: float) -> tuple[float, float]:
    """Volume and SG of wort and liquor put together, from their masses.

    Degrees Plato and density of sucrose solutions at 20 degC from the series of OIML R 22 / ICUMSA
    SPS-4 in this file's table; interpolated, so not our own functions.
    """
    water = 0.99820
    table = [(0, 0.998203), (5, 1.017854), (10, 1.038143), (12, 1.046462), (15, 1.059135)]

    def between(x: float, pairs: list[tuple[float, float]]) -> float:
        for (a, fa), (b, fb) in zip(pairs, pairs[1:], strict=False):
            if a <= x <= b:
                return fa + (fb - fa) * (x - a) / (b - a)
        raise AssertionError(x)

    flipped = [(density / 0.998203, plato) for plato, density in table]
    plato = between(gravity, flipped)
    mass = wort * gravity * 0.998203
    whole = mass + liquor * water
    thin = plato * mass / whole
    density = between(thin, table)
    return whole / density, density / 0.998203


@pytest.mark.parametrize("liquor", [1.0, 2.4, 5.0])
def test_liquor_into_the_fermenter_thins_all_that_the_wort_brought(
    folder: Path, liquor: float
) -> None:
    pitch = "  pitch: {fermenter_volume: 38 L, original_gravity: 1.050, at: 15:00}\n"
    plain = brewed(folder, pitch)
    more = brewed(
        folder,
        pitch + f"  added: [{{what: reservoir, amount: {liquor} L, to: fermenter, because: T7}}]",
    )
    volume, gravity = by_mass(38, 1.050, liquor)
    assert value(more, "starting_volume") == pytest.approx(volume, abs=0.02)
    assert value(more, "starting_gravity") == pytest.approx(gravity, abs=2e-4)
    share = pytest.approx(38 / volume, rel=1e-3)
    assert value(more, "bitterness") / value(plain, "bitterness") == share
    assert value(more, "colour") / value(plain, "colour") == share
    assert value(more, "alcohol") < value(plain, "alcohol")
    assert value(more, "packaged_volume") == pytest.approx(volume - 1.5, abs=0.05)


def test_liquor_that_is_in_the_reading_already_is_not_counted_twice(folder: Path) -> None:
    added = "  added: [{what: reservoir, amount: 2 L, to: fermenter, at: 14:30}]\n"
    before = "  pitch: {fermenter_volume: 38 L, original_gravity: {read: 1.050, at: 14:50}}\n"
    found = brewed(folder, before + added)
    assert "starting_gravity" not in found.now
    after = before.replace("14:50", "14:10")
    assert value(brewed(folder, after + added), "starting_gravity") < 1.049


def test_liquor_after_the_boil_thins_the_wort_on_its_way(folder: Path) -> None:
    boil = "  boil: {started: 12:00, ended: 13:00, cast_out_volume: 40 L, cast_out_gravity: 1.050}"
    plain = brewed(folder, boil)
    late = "\n  added: [{what: reservoir, amount: 3 L, to: kettle, at: 13:20}]"
    more = brewed(folder, boil + late)
    assert value(more, "fermenter_volume") == pytest.approx(value(plain, "fermenter_volume") + 3)
    _, gravity = by_mass(40, 1.050, 3)
    assert value(more, "original_gravity") == pytest.approx(gravity, abs=2e-4)
    thin = pytest.approx(40 / 43, rel=0.002)
    assert value(more, "bitterness") / value(plain, "bitterness") == thin


def test_sugar_into_the_fermenter_gives_gravity_and_volume(folder: Path) -> None:
    pitch = "  pitch: {fermenter_volume: 38 L, original_gravity: 1.050}\n"
    plain = brewed(folder, pitch)
    sugar = "{what: white_sugar, amount: 1.0 kg, to: fermenter, at: 2026-03-16 18:00}"
    later = f"fermentation:\n  added: [{sugar}]"
    more = brewed(folder, pitch, later)
    assert value(more, "starting_gravity") == pytest.approx(1.0594, abs=0.0006)
    assert value(more, "starting_volume") == pytest.approx(38.62, abs=0.02)
    assert value(more, "alcohol") > value(plain, "alcohol") + 0.010


def test_the_order_of_entries_in_the_file_does_not_matter(folder: Path) -> None:
    a = "{what: reservoir, amount: 2 L, to: kettle, at: 12:10}"
    b = "{what: goldings, amount: 10 g, to: kettle, at: 12:20}"
    boil = "  boil: {started: 12:00, ended: 13:00}\n"
    one = brewed(folder, boil + f"  added: [{a}, {b}]")
    other = brewed(folder, boil + f"  added: [{b}, {a}]")
    for key in OUTCOMES:
        assert value(one, key) == pytest.approx(value(other, key), rel=1e-12)


DAY = """
  weighed:
    - {item: pale, amount: 6.8 kg, at: 08:00}
    - {item: goldings, amount: 66 g, at: 11:00}
  mash: {started: 09:00, mash_temperature: {read: 67.1 C, at: 09:10}, first_wort_gravity: 1.079}
  run_off: {started: 10:20, kettle_volume: 45.2 L, kettle_gravity: {read: 1.0435, at: 11:40}}
  boil: {started: 12:00, ended: 13:10, cast_out_volume: 40.4 L}
  pitch: {fermenter_volume: 38.4 L, original_gravity: 1.0475}
  added:
    - {what: reservoir, amount: 1.5 L, to: kettle, at: 12:50, because: T3}
  taken:
    - {amount: 0.5 L, from: kettle, at: 12:30, because: spilt}
"""
LATER = """
fermentation: {final_gravity: 1.0115}
packaging: {date: 2026-03-24, packaged_volume: 37 L}
"""


def test_the_steps_from_plan_to_glass_add_up(folder: Path) -> None:
    found = brewed(folder, DAY.strip("\n"), LATER)
    steps = replay(
        as_it_would_have_been(found.case, found.planned), found.facts, found.now.readings
    )
    for key in OUTCOMES:
        changes = steps.of(key)
        whole = nominal(found.now[key]) - nominal(found.planned[key])
        assert sum(c.size for _, c in changes) == pytest.approx(whole, abs=1e-12), key
        for before, after in zip(changes, changes[1:], strict=False):
            assert before[1].after == pytest.approx(after[1].before)
        printed = rounded_steps(steps.planned[key], [c.size for _, c in changes], 4)
        assert round(sum(printed), 4) == round(
            round(steps.brewed[key], 4) - round(steps.planned[key], 4), 4
        )
    names = {fact.key for fact, _ in steps.of("original_gravity")}
    assert {"added:0", "read:kettle_gravity", "read:original_gravity"} <= names


def test_a_reading_that_is_overruled_shows_as_a_step_and_a_step_back(folder: Path) -> None:
    found = brewed(
        folder,
        "  mash: {first_wort_gravity: 1.060}\n"
        "  run_off: {kettle_volume: 46.5 L, kettle_gravity: 1.0415}",
    )
    steps = replay(
        as_it_would_have_been(found.case, found.planned), found.facts, found.now.readings
    )
    changes = {fact.key: change for fact, change in steps.of("original_gravity")}
    assert changes["read:first_wort_gravity"].size < -0.005
    assert changes["read:kettle_gravity"].size > 0.004


@settings(max_examples=25, deadline=None)
@given(
    sizes=st.lists(st.floats(-0.02, 0.02), max_size=12),
    start=st.floats(1.0, 1.1),
    decimals=st.integers(1, 4),
)
def test_printed_steps_add_up_to_the_printed_whole(
    sizes: list[float], start: float, decimals: int
) -> None:
    printed = rounded_steps(start, sizes, decimals)
    exact = start
    for size in sizes:
        exact += size
    assert round(round(start, decimals) + sum(printed), decimals) == round(exact, decimals)


@pytest.mark.parametrize(
    "entry, rule",
    [
        ("{what: pale, amount: 500 g, to: fermenter}", "addition-misplaced"),
        ("{what: ale, amount: 11 g, to: kettle}", "addition-misplaced"),
        ("{what: goldings, amount: 2 L, to: kettle}", "addition-misplaced"),
        ("{what: reservoir, amount: 2 kg, to: kettle}", "addition-misplaced"),
        ("{what: gypsum, amount: 0 g, to: mash}", "addition-misplaced"),
        ("{what: reservoir, amount: 120 L, to: kettle}", "addition-over-vessel"),
        ("{what: reservoir, amount: 2 L, to: mash, at: 12:30}", "addition-out-of-time"),
        ("{what: reservoir, amount: 2 L, to: kettle, at: 16:30}", "addition-out-of-time"),
        ("{what: reservoir, amount: 2 L, to: fermenter, at: 2026-04-30 10:00}",
         "addition-out-of-time"),
        ("{what: reservoir, amount: 2 L, to: fermenter, at: 2026-03-13 10:00}",
         "addition-out-of-time"),
        ("{what: resevoir, amount: 2 L, to: kettle}", "unknown-name"),
    ],
)  # fmt: skip
def test_an_addition_that_cannot_be_is_found_at_its_line(
    folder: Path, entry: str, rule: str
) -> None:
    day = (
        "  boil: {started: 12:00, ended: 13:00}\n  pitch: {at: 15:00}\n"
        f"  added:\n    - {entry}"
    )
    found = brewed(folder, day, LATER, sound=False)
    rules = [(f.rule, f.line.strip()) for f in (*found.archive.findings, *run_checks(found))]
    assert (rule, f"- {entry}") in rules


@pytest.mark.parametrize(
    "entry",
    [
        "{what: reservoir, amount: 2 L, to: kettle, at: 12:30}",
        "{what: reservoir, amount: 2 L, to: mash, at: 10:30}",
        "{what: goldings, amount: 10 g, to: kettle, at: 13:05}",
        "{what: reservoir, amount: 2 L, to: fermenter, at: 14:50}",
        "{what: gypsum, amount: 2 g, to: kettle}",
        "{what: lactic_80, amount: 2 mL, to: mash, at: 09:50, by: JT, because: T2}",
        "{what: carrageenan, amount: 2 g, to: kettle, at: 12:45}",
    ],
)
def test_a_sound_addition_raises_no_alarm(folder: Path, entry: str) -> None:
    day = (
        "  boil: {started: 12:00, ended: 13:00}\n  pitch: {at: 15:00}\n"
        f"  added:\n    - {entry}"
    )
    found = brewed(folder, day, LATER, sound=False)
    assert [f.rule for f in run_checks(found) if f.rule.startswith("addition")] == []


TWO = "  weighed: [{item: goldings, amount: 60 g}, {item: goldings, amount: 30 g, added_at: %s}]\n"


def test_in_a_longer_boil_hops_of_the_sheet_boil_on(folder: Path) -> None:
    """Half an hour more than the 60 min: what went in at + 50 min boiled for 40."""
    usual = brewed(folder, "  boil: {started: 12:00, ended: 13:00}")
    longer = brewed(folder, "  boil: {started: 12:00, ended: 13:30}")
    assert [h.minutes for h in longer.brewed.hops] == [90, 40]
    u, more = (expanded_uncertainty(b.now["bitterness"]) for b in (usual, longer))
    assert more > 1.2 * u
    told = {put.name for put in longer.now.expected["bitterness"].puts}
    assert "goldings, 40 ±30 min, not written: utilisation" in told
    timed = brewed(folder, TWO % "13:20" + "  boil: {started: 12:00, ended: 13:30}")
    assert [(h.minutes, h.minutes_u) for h in timed.brewed.hops] == [(90, 30), (10, 0)]


def test_the_heat_goes_off_as_planned_where_only_the_start_is_written(folder: Path) -> None:
    late = brewed(folder, TWO % "12:30" + "  boil: {started: 12:00}")
    assert [h.minutes for h in late.brewed.hops] == [60, 30]


def test_a_hop_added_at_no_time_may_have_boiled_for_any(folder: Path) -> None:
    day = "  boil: {{started: 12:00, ended: 13:00}}\n"
    day += "  added: [{{what: goldings, amount: 40 g, to: kettle{}}}]"
    none, at = (brewed(folder, day.format(when)) for when in ("", ", at: 12:30"))
    assert [h.minutes for h in none.brewed.hops] == [h.minutes for h in at.brewed.hops]
    assert expanded_uncertainty(none.now["bitterness"]) > expanded_uncertainty(at.now["bitterness"])


def test_acid_on_the_scale_is_acid_in_the_cylinder(folder: Path) -> None:
    """80 % lactic acid weighs 1.185 g/mL (CRC Handbook, 102nd ed.)."""
    poured, weighed = (
        brewed(folder, f"  weighed: [{{item: lactic_80, amount: {amount}}}]")
        for amount in ("6.0 mL", f"{6 * 1.185:.2f} g")
    )
    assert value(weighed, "mash_ph") == pytest.approx(value(poured, "mash_ph"), abs=0.002)
    assert value(poured, "mash_ph") < value(brewed(folder, PLAIN), "mash_ph") - 0.02
    added = [
        brewed(folder, f"  added: [{{what: lactic_80, amount: {amount}, to: mash, at: 09:30}}]")
        for amount in ("3.0 mL", f"{3 * 1.185:.3f} g")
    ]
    assert value(added[1], "mash_ph") == pytest.approx(value(added[0], "mash_ph"), abs=0.002)


def test_one_addition_of_two_lots_has_the_mean_of_their_figures(folder: Path) -> None:
    stock = (folder / "stock.yaml").read_text(encoding="utf-8")
    given = stock.replace("lots: {M-1: {", "lots: {M-2: {colour: 9.5 EBC, extract: 74.5 %}, M-1: {")
    text = (folder / RECORD).read_text(encoding="utf-8") + (
        "\nbrew_day:\n  date: 2026-03-14\n  weighed: [{item: pale, amount: 5 kg, lot: M-1},"
        " {item: pale, amount: 2 kg, lot: M-2}]\n"
    )
    archive = load_archive(folder, given={RECORD: text.encode(), "stock.yaml": given.encode()})
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    pale = found.brewed.malts[0]
    assert nominal(pale.colour) == pytest.approx((5 * 5.5 + 2 * 9.5) / 7, rel=1e-3)
    assert nominal(pale.extract) == pytest.approx((5 * 0.785 + 2 * 0.745) / 7, rel=0.01)


SLIPS = [
    ("  boil: {started: 12:00, ended: 13:00, below_60_at: 12:40}", "clock-backwards"),
    ("  boil: {started: 12:00, ended: 13:00, hop_stand_ended: 12:40}", "clock-backwards"),
    ("  boil: {started: 12:00, ended: 11:00}", "clock-backwards"),
    ("  mash: {started: 09:00}\n  weighed: [{item: pale, amount: 7 kg, at: 09:40}]",
     "clock-backwards"),
    ("  boil: {started: 12:00, ended: 13:00, hop_stand_ended: 13:20}",
     "hop-stand-without-temperature"),
    ("  added: [{what: goldings, amount: 20 g, to: mash, at: 09:10}]", "addition-misplaced"),
]  # fmt: skip


@pytest.mark.parametrize("day, rule", SLIPS)
def test_a_slip_of_the_clock_is_told_and_moves_nothing_by_a_day(
    folder: Path, day: str, rule: str
) -> None:
    found = brewed(folder, day)
    assert rule in [f.rule for f in run_checks(found)]
    assert value(found, "bitterness") == pytest.approx(value(brewed(folder, PLAIN), "bitterness"))


def test_yeast_may_go_in_the_morning_after(folder: Path) -> None:
    day = "  boil: {{started: 18:00, ended: 19:00}}\n  pitch: {{original_gravity: 1.048, at: {}}}"
    log = "fermentation: {log: [{at: 2026-03-16 09:30, gravity: 1.040}]}"
    found = brewed(folder, day.format("2026-03-15 09:30"), log)
    assert found.log[0].hours == 24
    assert "clock-backwards" not in [f.rule for f in run_checks(found)]


def test_the_log_counts_by_its_times_not_by_the_order_it_stands_in(folder: Path) -> None:
    day = "  pitch: {original_gravity: 1.048, at: 14:00}"
    lines = [
        f"{{at: 2026-03-{n} 09:00, gravity: {g}}}" for n, g in
        ((15, 1.040), (16, 1.020), (18, 1.012), (20, 1.011), (22, 1.011))
    ]
    packed = "\npackaging: {date: 2026-03-24, packaged_volume: 38 L}\n"
    rules = []
    for order in (lines, lines[::-1], [lines[2], *lines[:2], *lines[3:]]):
        log = f"fermentation:\n  final_gravity: 1.011\n  log: [{', '.join(order)}]{packed}"
        found = brewed(folder, day, log)
        assert [p.gravity for p in found.log] == sorted(
            (p.gravity for p in found.log), reverse=True
        )
        rules.append({f.rule for f in run_checks(found)} - {"log-out-of-order"})
    assert rules[0] == rules[1] == rules[2]


@pytest.mark.parametrize("day", [
    "  added: [{what: white_sugar, amount: 300 g, to: kettle, lot: ZZ, at: 12:10}]",
    "  pitch: {at: 14:00, lot: ZZ}",
    "  added: [{what: goldings, amount: 20 g, to: kettle, lot: ZZ, at: 12:10}]",
])  # fmt: skip
def test_a_lot_that_the_stock_does_not_have_is_told_wherever_it_went_in(
    folder: Path, day: str
) -> None:
    assert "lot-unknown" in [f.rule for f in run_checks(brewed(folder, day))]


@pytest.mark.parametrize("name", ["2026-11", "2026-12", "2026-02"])
def test_steps_of_figures_add_up_to_the_last_digit_printed(name: str) -> None:
    """From plan to glass, as the JSON has them: each begins where the one before it ended."""
    archive = load_archive(Path(__file__).parents[2] / "batches")
    batch = assess(archive, archive.batches[name])
    assert batch is not None
    told = json.loads(json.dumps(steps(batch)), parse_float=Decimal)
    assert set(told) == set(OUTCOMES)
    for key, row in told.items():
        assert all(step["change"] for step in row)
        for step, after in itertools.pairwise(row):
            assert step["after"] == after["before"], key
        if row:
            whole = row[-1]["after"] - row[0]["before"]
            assert sum(step["change"] for step in row) == whole, key
            assert whole == sum(step["after"] - step["before"] for step in row), key


def test_what_was_not_written_is_as_planned_less_surely_and_the_working_says_so(
    folder: Path,
) -> None:
    begun = brewed(folder, PLAIN)
    assert not_written(begun.record, begun.brewed) == ()
    day = "  boil: {started: 12:00}\n  pitch: {fermenter_volume: 40 L}"
    none = brewed(folder, day)
    some = brewed(folder, "  weighed: [{item: pale, amount: 7.0 kg}]\n" + day)
    said = not_written(none.record, none.brewed)
    assert "Pale ale malt ±3 %" in said and "length of the boil ±5 min" in said
    assert "Pale ale malt ±3 %" not in not_written(some.record, some.brewed)
    u = [expanded_uncertainty(b.now["original_gravity"]) for b in (begun, some, none)]
    assert u[0] < u[2] and u[1] < u[2]
    page = WORKING.make(none, "A4", 1, "html").decode()
    assert "Not written down on the day" in page and "length of the boil ±5 min" in page
    whole = brewed(folder, PLAIN)
    assert "Not written down on the day" not in WORKING.make(whole, "A4", 1, "html").decode()


@pytest.mark.parametrize("reading, told", [
    ("47.2 L", True), ("{read: 47.2 L, sample: 66 C}", False),
    ("{read: 46 L, sample: 20 C}", False),
])  # fmt: skip
def test_a_full_kettle_is_asked_how_warm_it_was(folder: Path, reading: str, told: bool) -> None:
    found = brewed(folder, f"  run_off: {{kettle_volume: {reading}}}")
    assert ("hot-volume-without-temperature" in [f.rule for f in run_checks(found)]) is told


def test_wort_soured_in_the_kettle_is_boiled_on_a_later_day(tmp_path: Path) -> None:
    """The boil has its own day; a clock of the pitching after it is of that day, not the first."""
    day = """
brew_day:
  date: 2026-03-14
  mash: {started: 09:10}
  run_off: {started: "10:20"}
  boil: {started: 2026-03-16 %s, ended: 2026-03-16 10:45}
  pitch: {at: "12:00"}
"""
    archive = archive_with(day % "10:30", tmp_path / "a")
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    assert nominal(found.brewed.boil_minutes) == pytest.approx(15)
    assert pitched_at(found.record) == datetime.datetime(2026, 3, 16, 12)
    rules = {f.rule for f in run_checks(found)}
    assert "clock-backwards" not in rules and "time-missed" in rules
    for wrong in ("11:30", None):
        text = day % wrong if wrong else (day % "10:30").replace("2026-03-16", "2026-03-10")
        archive = archive_with(text, tmp_path / f"b-{wrong}")
        other = assess(archive, archive.batches["2026-01"])
        assert other is not None
        assert "clock-backwards" in {f.rule for f in run_checks(other)}


def test_a_boil_that_paused_boiled_for_less(tmp_path: Path) -> None:
    """Power gone for 40 of 100 minutes: an hour of boil, and nothing to ask about."""
    day = "brew_day: {date: 2026-03-14, boil: {started: 11:50, ended: 13:30%s}}\n"
    for pause, minutes, is_told in (("", 100, False), (", paused: 40 min", 60, False),
                                    (", paused: 80 min", 20, True)):
        archive = archive_with(day % pause, tmp_path / f"a-{minutes}")
        found = assess(archive, archive.batches["2026-01"])
        assert found is not None
        assert nominal(found.brewed.boil_minutes) == pytest.approx(minutes)
        assert ("time-missed" in {f.rule for f in run_checks(found)}) == is_told
