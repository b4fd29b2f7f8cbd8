"""Malt and hops as they are sold: certificates, storage, syrups and their water."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from checked import archive_with, findings_with
from hypothesis import given
from hypothesis import strategies as st

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import house_findings
from reportgen.forecast.case import SugarDose
from reportgen.forecast.materials import extract_of, malt_of
from reportgen.science.extract import gravity_after_sugar
from reportgen.science.number import expanded_uncertainty, nominal


def batch_of(patch: str, folder: Path) -> Assessment:
    archive = archive_with(patch, folder)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    return found


MALT = "stock: {malts: {pale: {%s}}}\nplan: {grist: [{malt: pale, amount: 7 kg%s}]}\n"


@pytest.mark.parametrize(
    ("figures", "counted"),
    [
        # Noonan 1996, New Brewing Lager Beer, p. 13: 78 % coarse and dry, 3.5 % moisture, 75.2 %.
        ("extract: 78 %, extract_basis: coarse_dry, moisture: 3.5 %", 0.752),
        # A trade's example: 10 kg of 5 % moisture and 81 % on dry matter hold 7.695 kg.
        ("extract: 81 %, extract_basis: coarse_dry, moisture: 5 %", 0.7695),
        # MBAA malt seminar: two-row 82.0 % fine and dry is 78.1 % coarse as is.
        ("extract: 82 %, extract_basis: fine_dry, moisture: 3.8 %, "
         "fine_coarse_difference: 0.8 %", 0.781),
        ("extract: 78.5 %", 0.785),
        ("extract: 79 %, extract_basis: fine_as_is, fine_coarse_difference: 1.2 %", 0.778),
    ],
)  # fmt: skip
def test_a_certificate_is_typed_as_it_stands(figures: str, counted: float, tmp_path: Path) -> None:
    found = batch_of(MALT % (figures, ""), tmp_path / "a")
    assert nominal(found.case.extract) == pytest.approx(counted, abs=0.0017)


def test_a_lot_has_its_own_figures_on_the_basis_of_the_malt(tmp_path: Path) -> None:
    patch = MALT % (
        "extract: 82 %, extract_basis: fine_dry, moisture: 4 %, fine_coarse_difference: 1 %, "
        "lots: {M-9: {extract: 81 %}, M-8: {extract: 77 %, extract_basis: coarse_as_is}}",
        ", lot: M-9",
    )
    found = batch_of(patch, tmp_path / "a")
    malt = found.stock.malts["pale"]
    assert nominal(extract_of(malt)) == pytest.approx(0.81 * 0.96)
    assert nominal(found.case.extract) == pytest.approx(0.80 * 0.96)
    assert nominal(extract_of(malt, malt.lots["M-8"])) == pytest.approx(0.77)


def test_a_grind_of_unknown_difference_is_less_sure(tmp_path: Path) -> None:
    stock = batch_of(
        "stock: {malts: {a: {malt_class: pale, colour: 5 EBC, extract: 81 %, extract_basis: "
        "fine_dry}, b: {malt_class: pale, colour: 5 EBC, extract: 81 %, extract_basis: fine_dry, "
        "fine_coarse_difference: 1.5 %}}}\n",
        tmp_path / "a",
    ).stock
    a, b = (malt_of(name, 1.0, None, stock).extract for name in "ab")
    assert nominal(a) == pytest.approx(nominal(b))
    assert expanded_uncertainty(a) > expanded_uncertainty(b)


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ("extract: 81.8 %", True),
        ("extract: 81.8 %, extract_basis: coarse_as_is", True),
        ("extract: 81.8 %, extract_basis: fine_dry", False),
        ("extract: 80.3 %, extract_basis: coarse_dry", False),
        ("extract: 78.5 %", False),
        ("extract: 80.9 %, extract_basis: fine_dry, moisture: 12 %", False),
        ("extract: 40 %, extract_basis: fine_dry", True),
        ("malt_class: wheat, extract: 81.8 %", False),
    ],
)
def test_a_figure_on_dry_matter_typed_as_is_is_told(
    figures: str, said: bool, tmp_path: Path
) -> None:
    rules = {f.rule for f in house_findings(archive_with(MALT % (figures, ""), tmp_path / "a"))}
    assert ("malt-figures-odd" in rules) == said


HOPS = (
    "stock: {hops: {goldings: {form: %s%s, lots: {H-1: {alpha: 9.0 %%, %s}}}}}\n"
    "plan: {boil: {hops: [{hop: goldings, amount: 60 g, time: 60 min, lot: H-1}]}%s}\n"
    "brew_day: {date: 2026-03-14}\n"
)
OLD = "analysed: 2025-09-15"
"""180 days before the brew day."""


# Left of 9.0 %: half a year open at 20 degC is the loss that defines the variety (M. Garetz 1994,
# Brewing Techniques 2(1)); 15 K colder halves the rate, a barrier takes .75 of it, no oxygen .5.
@pytest.mark.parametrize(
    ("form", "lot", "alpha"),
    [
        ("leaf", f"{OLD}, stored_at: 20 C, packing: open", 0.063),
        ("leaf", f"{OLD}, stored_at: 20 C", 0.063),
        ("pellets", f"{OLD}, stored_at: 5 C, packing: open", 0.09 * 0.70**0.5),
        ("pellets", f"{OLD}, stored_at: 5 C, packing: sealed", 0.09 * 0.70**0.375),
        ("pellets", f"{OLD}, stored_at: -10 C, packing: without_oxygen", 0.09 * 0.70**0.125),
        ("pellets", f"{OLD}, stored_at: 20 C, packing: without_oxygen, opened: 2025-12-14",
         0.09 * 0.70**0.75),
        ("extract", f"{OLD}, stored_at: 20 C", 0.09),
        ("pellets", OLD, 0.09),
        ("pellets", "stored_at: 20 C", 0.09),
        ("pellets", "analysed: 2026-04-14, stored_at: 20 C", 0.09),
    ],
)  # fmt: skip
def test_alpha_is_what_storage_has_left(form: str, lot: str, alpha: float, tmp_path: Path) -> None:
    found = batch_of(HOPS % (form, ", storage_loss: 30 %", lot, ""), tmp_path / "a")
    assert nominal(found.brewed.hops[0].alpha) == pytest.approx(alpha, rel=1e-3)
    # The sheet's numbers hang on the plan alone, which names no day here.
    assert nominal(found.case.hops[0].alpha) == pytest.approx(0.09)


def test_a_plan_with_its_day_counts_the_hops_of_that_day(tmp_path: Path) -> None:
    lot = f"{OLD}, stored_at: 20 C, packing: open"
    patch = HOPS % ("leaf", ", storage_loss: 30 %", lot, ", brew_on: 2026-03-14")
    found = batch_of(patch, tmp_path / "a")
    assert nominal(found.case.hops[0].alpha) == pytest.approx(0.063, rel=1e-3)
    assert found.brewed.hops[0].alpha == found.case.hops[0].alpha
    on_the_day = found.planned["bitterness"]
    fresh = batch_of(patch.replace(", stored_at: 20 C", ""), tmp_path / "b").planned["bitterness"]
    assert nominal(on_the_day) == pytest.approx(0.7 * nominal(fresh), rel=1e-3)


def test_a_variety_of_unknown_loss_is_less_sure(tmp_path: Path) -> None:
    lot = f"{OLD}, stored_at: 20 C, packing: open"
    known = batch_of(HOPS % ("leaf", ", storage_loss: 35 %", lot, ""), tmp_path / "a").brewed
    guessed = batch_of(HOPS % ("leaf", "", lot, ""), tmp_path / "b").brewed
    a, b = known.hops[0].alpha, guessed.hops[0].alpha
    assert nominal(a) == pytest.approx(nominal(b))
    assert expanded_uncertainty(b) > 2 * expanded_uncertainty(a)


@pytest.mark.parametrize(
    ("form", "lot", "said"),
    [
        ("leaf", "analysed: 2025-09-15", False),
        ("leaf", "analysed: 2024-09-15", True),
        ("extract", "analysed: 2020-09-15", False),
        ("leaf", "analysed: 2024-09-15, stored_at: -18 C, packing: without_oxygen", False),
        ("leaf", "analysed: 2025-03-15, stored_at: 20 C", True),
        ("leaf", "analysed: 2025-03-15, stored_at: 4 C, packing: without_oxygen", False),
        ("leaf", "received: 2020-03-15", False),
        ("leaf", "analysed: 2027-03-15, stored_at: 20 C", False),
    ],
)
def test_old_hops_are_told_when_it_matters(
    form: str, lot: str, said: bool, tmp_path: Path
) -> None:
    rules = {f.rule for f in findings_with(HOPS % (form, "", lot, ""), tmp_path / "a")}
    assert ("hops-old" in rules) == said


@given(st.floats(0.05, 3.0), st.floats(0.5, 1.0))
def test_a_syrup_brings_its_water(kilograms: float, share: float) -> None:
    """Volumes follow from masses: as the balance of CRC densities has it."""
    wort, gravity = 40.0, 1.040
    volume, _ = gravity_after_sugar(wort, gravity, kilograms, share)
    syrup = SugarDose("s", "S", kilograms, share, 1.0, 0.0, "kettle")
    assert nominal(syrup.volume) == pytest.approx(nominal(volume) - wort, abs=0.012)


def test_syrup_in_the_kettle_needs_less_liquor_than_as_much_sugar(tmp_path: Path) -> None:
    text = (
        "stock: {sugars: {syrup: {extract: 50 %%, fermentability: 100 %%}}}\n"
        "plan: {sugars: [{sugar: %s, amount: %s, to: kettle}]}\n"
    )
    dry = batch_of(text % ("white_sugar", "2 kg"), tmp_path / "a").planned
    wet = batch_of(text % ("syrup", "4 kg"), tmp_path / "b").planned
    less = nominal(dry["kettle_volume"]) - nominal(wet["kettle_volume"])
    # 2 kg of water at 20 degC are 2.0036 L.
    assert less == pytest.approx(2.0036, abs=1e-3)
    for key in ("cast_out_volume", "original_gravity"):
        assert nominal(dry[key]) == pytest.approx(nominal(wet[key]), abs=5e-4)


def test_the_day_of_use_is_the_brew_day(tmp_path: Path) -> None:
    from reportgen.assessment.day_weighed import used_on

    found = batch_of("brew_day: {date: 2026-03-14}", tmp_path / "a")
    assert used_on(found.record) == datetime.date(2026, 3, 14)


@pytest.mark.parametrize(
    ("percent", "density"),
    [(5, 1.0178), (10, 1.0381), (20, 1.0810), (30, 1.1270), (40, 1.1765)],
)
def test_what_sugar_takes_up_by_the_tables(percent: float, density: float) -> None:
    """Densities of sucrose in water at 20 degC, CRC Handbook, Concentrative Properties."""
    taken_up = (100 / density - (100 - percent) / 0.9982) / percent
    dose = SugarDose("s", "S", 1.0, 1.0, 1.0, 0.0, "kettle")
    assert nominal(dose.volume) == pytest.approx(taken_up, abs=0.007)


@pytest.mark.parametrize("basis", ["fine_dry", "coarse_dry", "fine_as_is", "coarse_as_is"])
@pytest.mark.parametrize(("moisture", "difference"), [("0 %", "0 %"), ("20 %", "8 %")])
def test_what_a_certificate_may_state_can_be_counted_with(
    tmp_path: Path, basis: str, moisture: str, difference: str
) -> None:
    """At both ends of the bounds of the fields; beyond them the loader speaks."""
    malt = (
        f"{{extract: 82 %, extract_basis: {basis}, moisture: {moisture}, "
        f"fine_coarse_difference: {difference}}}"
    )
    archive = archive_with(f"stock: {{malts: {{pale: {malt}}}}}", tmp_path / "a")
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    # EBC Analytica 4.5: as is is less than dry by the moisture, coarse less than fine.
    dry, fine = basis.endswith("dry"), basis.startswith("fine")
    expected = (82 - (8 if fine and moisture == "20 %" else 0)) * (
        0.8 if dry and moisture == "20 %" else 1.0
    )
    assert 100 * nominal(found.case.malts[0].extract) == pytest.approx(expected, abs=1e-9)


def test_a_moisture_of_another_place_of_the_point_is_one_clear_error(tmp_path: Path) -> None:
    with pytest.raises(AssertionError, match="cannot be right here"):
        archive_with("stock: {malts: {pale: {moisture: 40 %}}}", tmp_path / "a")


@pytest.mark.parametrize("day", ["2006-01-01", "2016-03-01", "2025-01-01", "2027-01-01"])
def test_hops_of_any_day_of_analysis_are_counted(tmp_path: Path, day: str) -> None:
    """A year mistyped is hops of which nothing is left, or that are as analysed: never a stop."""
    lot = f"{{H-1: {{alpha: 5.2 %, analysed: {day}, stored_at: 30 C, packing: open}}}}"
    hop = "{hop: goldings, amount: 60 g, time: 60 min, lot: H-1}"
    archive = archive_with(
        f"stock: {{hops: {{goldings: {{lots: {lot}}}}}}}\n"
        f"plan: {{brew_on: 2026-03-14, boil: {{time: 60 min, hops: [{hop}]}}}}\n",
        tmp_path / "a",
    )
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    bitter = nominal(found.planned["bitterness"])
    assert 0 <= bitter < 18
    assert (bitter < 1) == (day < "2020") and (bitter > 12) == (day > "2026-03")
