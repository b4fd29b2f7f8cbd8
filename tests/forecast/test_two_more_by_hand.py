"""Two more whole batches worked by hand, different in kind, beside what the forecast says.

The records stand in ``by_hand/``. Every number below was worked from the published formulas with
a pocket calculator's precision, without this program; degrees Plato and gravity are turned into one
another by the cubic of the ASBC tables, P = -616.868 + 1111.14 S - 630.272 S^2 + 135.997 S^3, so
they may differ from the program's densities (ICUMSA) by half a unit of the fourth decimal.
1 US gal = 3.785412 L, 1 lb = 0.4535924 kg, 1 oz = 28.34952 g; a litre of water weighs 0.998203 kg.

In a bag, in gallons, with a refractometer (2026-01)
----------------------------------------------------
Grist      10 lb at 80 % and 0.75 lb at 74 %: 3.8805 kg of extract in 4.8761 kg, share 0.79581. The
           kit dissolves 92 %: 3.5700 kg.
Liquor     7.8 gal = 29.526 L = 29.473 kg; 6.0444 kg for each kg of grist. No salts.
Strike     152 F = 66.667 C, malt 68 F = 20 C, no tun to warm:
           66.667 + 4.8761 x 1.67 x 46.667 / (29.473 x 4.19) = 69.744 C (157.5 F).
Mash       29.526 + 0.67 x 4.8761 = 32.793 L. After an hour that costs 2.0 K:
           20 + 46.667 exp(-2.0 / 46.667) = 64.709 C.
First wort 100 x 0.73214 / (0.73214 + 6.0444 + 0.04) = 10.741 degP, 1.0431.
Bag        wort in the mash (3.5700 + 29.473 + 0.195) kg / 1.0412 kg/L = 31.922 L; in the grain
           4.8761 x (0.45 + 0.617 x 0.73214 + 0.04) = 4.592 L stay: 1 - 4.592 / 31.922 = 0.8562 of
           the extract comes out, 3.0565 kg.
Kettle     29.526 - 0.45 x 4.8761 = 27.332 L; 3.0565 kg in it are 10.740 degP, 1.0431.
Boil       0.9 gal = 3.407 L off: 23.925 L, 12.198 degP, 1.0492. Mean gravity of the boil 1.0462.
Hops       20 min at 80 C isomerise like 20 x exp(-11858/353.15 + 11858/373.15) = 3.307 min of boil;
           cooling from 80 to 60 C in four steps of 5 min at 77.5, 72.5, 67.5 and 62.5 C like
           1.434 min. At 100 m (1.0013 bar by ISO 2533) water boils at 99.64 C (IAPWS: 99.606 C at
           1 bar, 27.9 K/bar): 60 min isomerise like 58.20. Boiled hops 62.94 min: u = 0.2413;
           2.5515 g of alpha acids: 25.74 mg/L.
           Steeped hops 4.741 min: u = 0.04537; 3.4019 g: 6.45 mg/L. Together 32.19.
Colour     (10 lb x 6/1.97 + 0.75 lb x 120/1.97) / 6.3203 gal = 12.047; x 31/32.3 = 11.562 SRM =
           22.78 EBC (1.97 both ways).
Ca         60 x 29.526 x 0.8562 / 27.332 = 55.49 mg/L, boiled to 23.925 L 63.40.
Yeast      23.925 - 1.893 = 22.032 L; 0.75 x 22.032 x 12.198 = 201.6 billion cells.
End        attenuation as planned, 0.73953: 3.177 degP, 1.0124. RE = 4.808;
           A%w = 7.390 / 1.93641 = 3.8163; A%v = 4.887.
Bottles    22.032 - 0.946 = 21.086 L. Beer at 70 F holds 10 x 1.00129 x exp(-10.73797 + 2617.25 /
           294.261) = 1.5844 g/L = 0.8014 volumes; 1.977 x (2.4 - 0.8014) x 21.086 / 0.5143 =
           129.6 g of sucrose.
Readings   12.6 Brix / 1.04 = 12.115 degP, 1.0488 or 1.0489. With 6.4 Brix by the straight line:
           12.115 - (12.6 - 6.4) / (1/1.546 + 0.8192 x 0.035) = 2.937 degP, 1.0115.

Dark, from the borehole: batch sparge, acid, salts (2026-02)
------------------------------------------------------------
Grist      7.6 kg at 78.5 %, 0.6 kg at 72 %, 0.5 kg at 70 %: 6.748 kg in 8.7 kg, share 0.77563; 95 %
           dissolve: 6.4106 kg.
Liquor     22 L = 21.960 kg; 2.5242 kg for each kg.
Salts      3 g CaCl2.2H2O in 22 L: Ca 95 + 37.18 = 132.18, Cl 38 + 65.77 = 103.77; 2 g gypsum in the
           30 L of sparge: Ca 95 + 15.52 = 110.52, SO4 52 + 37.20 = 89.20.
RA         262 / 61.017 = 4.2939 mEq/L = 214.9 mg/L as CaCO3; less 132.18 / 70.137 and 11 / 85.068:
           2.2800 mEq/L = 114.1.
Mash pH    buffering 7.6 x 40 + 0.6 x 35 + 0.5 x 35 = 342.5 mEq; crystal malt of 76.20 SRM has
           pH 5.7 - (6 + 34.29) / 35 = 4.549, so the grist by itself 5.5681. 4 mL x 1.19 x 0.80 /
           90.08 = 42.27 mmol of lactic acid. At 20 C and an ionic strength of 0.005 carbonic acid
           has pK 6.348 and 10.279 and lactic acid 3.827; the carbonate has 0.9005 charges a mole
           at pH 7.3: 4.7684 mmol/L. At pH 5.551 the carbonate has 0.1377 and takes up
           22 x 4.7684 x 0.7628 = 80.0; the grist 342.5 x 0.0171 = 5.8 with it; hardness gives
           22 x (6.596 / 3.5 + 0.905 / 7) = 44.3 and the acid 41.5 off: 85.8 against 85.8. 5.551.
Strike     67 + (8.7 x 1.67 x 52 + 6 x 52) / (21.960 x 4.19) = 78.60 C.
First wort 100 x 0.73685 / (0.73685 + 2.5242 + 0.04) = 22.32 degP, 1.0934.
Held back  8.7 x (0.85 + 0.617 x 0.73685 + 0.04) + 0.5 = 12.198 L of 26.313 L of wort.
Run-off    1 - 12.198/26.313 x (12.198 / 27.198)^2 = 0.9068 of the extract: 5.8128 kg. 12.198 L of
           first wort and 15 L of liquor, twice: 4.82 degP, 1.0189.
Kettle     22 + 30 - 0.85 x 8.7 - 0.5 = 44.105 L; 12.566 degP, 1.0507.
Boil       75 min x 4.5 L/h = 5.625 L off: 38.48 L, 14.302 degP, 1.0581.
Hops       cooling from the boil (99.7 C) in 15 min counts 3.864 min and the boil of
           99.64 C 58.20; u(1.0544, 62.06) = 0.2235; 3.5 g of alpha acids: 20.33 mg/L.
Colour     MCU 75.06 (lb Lovibond / US gal), x 31/32.3 = 72.04 SRM, 141.9 EBC.
Ions       of 30 L of sparge 12.198 - 0.0932 x 26.313 = 9.745 stay: 20.255 L. Ca 132.18 x 22 x
           0.9068 + 110.52 x 20.255 = 4875 mg: 110.5 mg/L, boiled 126.7. SO4 52 x 22 x 0.9068 +
           89.20 x 20.255 = 2844 mg: 64.5, boiled 73.9.
End        attenuation as planned, 0.75318: 3.530 degP, 1.0138; RE 5.478; A%w 4.6106; A%v
           5.912.
Cells      0.75 x 36.48 x 14.302 = 391.3 billion.
Keg        2.2 volumes = 4.349 g/L at 8 C: 4.349 / (10 x 0.23958) - 1.00129 = 0.814 bar.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive

BY_HAND = Path(__file__).parent / "by_hand"
SG = 0.00006
"""Slack of a gravity: the two tables of densities, and the last figure worked."""

PRIMED = 129.6 * 0.5111 / 789.24 / 21.086
"""Alcohol of the priming, L in a litre: 51.11 g from 100 g of cane sugar (L. Pasteur 1860)."""

BAG = [
    ("mash_liquor", 29.526, 0.0005), ("strike_temperature", 69.744, 0.001),
    ("mash_volume", 32.793, 0.001), ("mash_end_temperature", 64.709, 0.001),
    ("first_wort_gravity", 1.0431, SG), ("lauter_efficiency", 0.8562, 0.0001),
    ("kettle_volume", 27.332, 0.001), ("kettle_gravity", 1.0431, SG),
    ("mash_efficiency", 0.7877, 0.0001), ("cast_out_volume", 23.925, 0.001),
    ("cast_out_gravity", 1.0492, SG), ("bitterness", 32.19, 0.03), ("colour", 22.78, 0.02),
    ("kettle_calcium_of_liquor", 55.49, 0.01), ("cast_out_calcium_of_liquor", 63.40, 0.01),
    ("fermenter_volume", 22.032, 0.001), ("viable_cells", 201.6, 0.1),
    ("final_gravity", 1.0124, SG),
    ("apparent_attenuation", 0.7395, 0.0001), ("alcohol", 0.04887 + PRIMED, 0.00004),
    ("packaged_volume", 21.086, 0.001), ("priming_sugar", 0.1296, 0.0001),
]  # fmt: skip

DARK = [
    ("mash_liquor_calcium", 132.18, 0.01), ("mash_liquor_chloride", 103.77, 0.01),
    ("sparge_liquor_calcium", 110.52, 0.01), ("sparge_liquor_sulfate", 89.20, 0.01),
    ("mash_liquor_alkalinity", 214.9, 0.05), ("residual_alkalinity", 114.1, 0.05),
    ("mash_ph", 5.551, 0.003), ("strike_temperature", 78.60, 0.005), ("mash_volume", 27.83, 0.005),
    ("mash_end_temperature", 66.01, 0.005), ("first_wort_gravity", 1.0934, 0.0001),
    ("lauter_efficiency", 0.9068, 0.0001), ("last_runnings_gravity", 1.0189, SG),
    ("kettle_volume", 44.105, 0.001), ("kettle_gravity", 1.0507, SG),
    ("cast_out_volume", 38.48, 0.001), ("cast_out_gravity", 1.0581, SG),
    ("bitterness", 20.33, 0.02), ("colour", 141.9, 0.1), ("kettle_calcium_of_liquor", 110.5, 0.05),
    ("cast_out_calcium_of_liquor", 126.7, 0.05), ("kettle_sulfate_of_liquor", 64.5, 0.05),
    ("cast_out_sulfate_of_liquor", 73.9, 0.05),
    ("fermenter_volume", 36.48, 0.001), ("viable_cells", 391.3, 0.1), ("final_gravity", 1.0138, SG),
    ("alcohol", 0.05912, 0.00003), ("packaged_volume", 34.98, 0.001), ("pressure", 0.814, 0.001),
]  # fmt: skip


def worked(batch: str) -> Assessment:
    archive = load_archive(BY_HAND)
    assert archive.findings == ()
    found = assess(archive, archive.batches[batch])
    assert found is not None and found.problems == ()
    return found


@pytest.fixture(scope="module")
def bag() -> Assessment:
    return worked("2026-01")


@pytest.fixture(scope="module")
def dark() -> Assessment:
    return worked("2026-02")


@pytest.mark.parametrize(("key", "value", "slack"), BAG)
def test_in_a_bag_in_gallons(bag: Assessment, key: str, value: float, slack: float) -> None:
    assert bag.planned.expected[key].value == pytest.approx(value, abs=slack)


@pytest.mark.parametrize(("key", "value", "slack"), DARK)
def test_dark_from_the_borehole(dark: Assessment, key: str, value: float, slack: float) -> None:
    assert dark.planned.expected[key].value == pytest.approx(value, abs=slack)


def test_the_readings_by_refractometer(bag: Assessment) -> None:
    original, final = bag.actuals["original_gravity"], bag.actuals["final_gravity"]
    assert original.value == pytest.approx(1.04885, abs=SG)
    assert final.value == pytest.approx(1.0115, abs=SG)
    assert final.method == "refractometer.present_gravity_lager_line"


def test_acid_in_the_sparge_does_not_reach_the_mash(dark: Assessment) -> None:
    """What goes into the sparge liquor is no part of the mash pH worked above."""
    assert [dose.to for dose in dark.case.acids] == ["mash", "sparge"]
