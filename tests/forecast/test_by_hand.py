"""One whole batch worked by hand, stage by stage, beside what the forecast says.

The batch is the example archive's 2026-01. Every number below was worked with pencil-and-paper
formulas and a pocket calculator's precision from the inputs in the files, not taken from the code;
the few helper functions here are the textbook definitions written out again.

Grist      7.0 kg at 78.5 % and 0.35 kg at 72 % as is: 5.747 kg of extract in 7.35 kg, share 0.7819;
           moisture 4 %. Conversion of the kit 95 %: 5.4597 kg in solution.
Liquor     20 L at 20 degC weigh 20 x 0.9982 = 19.964 kg; 2.716 kg for each kg of grist.
Salts      5 g gypsum bring 5 x 232.79 / 20 = 58.20 mg/L Ca and 5 x 557.93 / 20 = 139.48 mg/L SO4;
           3 g CaCl2.2H2O 3 x 272.62 / 20 = 40.89 mg/L Ca and 3 x 482.29 / 20 = 72.34 mg/L Cl.
           Mash liquor: Ca 20 + 99.09 = 119.09, SO4 159.48, Cl 87.34.
RA         alkalinity 51 / 61.016 = 0.8358 mEq/L; less Ca 119.09 / 70.137 and Mg 3 / 85.068:
           -0.8974 mEq/L = -44.91 mg/L as CaCO3.
Strike     (7.35 x 1.67 x 48 + 6 x 48) / (19.964 x 4.19) = 10.486 K above 66: 76.49 degC.
Mash       20 + 0.67 x 7.35 = 24.92 L, 71.2 % of the 35 L tun.
First wort 100 x 0.7428 / (0.7428 + 2.7162 + 0.04) = 21.229 degP, 1.0884.
Kettle     40 to the fermenter + 2 left + 4.5 evaporated = 46.5 L.
Sparge     46.5 + 0.85 x 7.35 + 0.5 - 20 = 33.25 L.
Held back  7.35 x (0.85 + 0.617 x 0.7428 + 0.04) + 0.5 = 10.41 L of the 23.67 L of wort in the tun.
Run-off    one mixed tank: 1 - 10.41 / 23.67 x exp(-33.25 / 10.41) = 0.9820 of the extract.
           Last runnings: 0.2306 kg/L x exp(-3.194) = 0.00946 kg/L, 0.944 degP, 1.0037.
Kettle SG  5.4597 x 0.9820 = 5.3612 kg in 46.5 L: 11.06 degP, 1.0444; after the boil in 42 L:
           12.19 degP, 1.0491.
Ca         119.09 x 20 x 0.9820 and 20 x 23.26 L of sparge that gets through, over 46.5: 60.3 mg/L.
           Boiled to 42 L: 66.8 mg/L.
Hops       utilisation at 1.0468: 0.2375 for 60 min, 0.0861 for 10; 3 g and 1.5 g of alpha acids in
           42 L: 16.96 + 3.08 = 20.0 mg/L, and about 1 more while it cools.
Cells      0.75 x 40 L x 12.19 = 366 billion.
End        12.19 x (1 - 0.77) = 2.80 degP, 1.0109. RE = 0.1808 x 12.19 + 0.8192 x 2.80 = 4.50 degP;
           A%w = (12.19 - 4.50) / (2.0665 - 0.010665 x 12.19) = 3.97; A%v = 3.97 x 1.0109 / 0.7907
           = 5.08 %.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.assessment.assess import assess
from reportgen.forecast.figures import FIGURES
from reportgen.loading import load_archive

EXAMPLE = Path(__file__).parents[1] / "example"

WORKED = [
    # key, value worked above, half a unit of the last figure worked (or the working's rounding)
    ("mash_liquor_calcium", 119.09, 0.01),
    ("mash_liquor_sulfate", 159.48, 0.01),
    ("mash_liquor_chloride", 87.34, 0.01),
    ("residual_alkalinity", -44.91, 0.02),
    ("strike_temperature", 76.49, 0.01),
    ("mash_volume", 24.92, 0.01),
    ("tun_fill", 0.712, 0.0005),
    ("first_wort_gravity", 1.0884, 0.00005),
    ("sparge_liquor", 33.25, 0.005),
    ("kettle_volume", 46.5, 0.001),
    ("lauter_efficiency", 0.9820, 0.0001),
    ("last_runnings_gravity", 1.0037, 0.00005),
    ("kettle_gravity", 1.0444, 0.00005),
    ("cast_out_volume", 42.0, 0.001),
    ("cast_out_gravity", 1.0491, 0.00005),
    ("kettle_calcium_of_liquor", 60.3, 0.05),
    ("cast_out_calcium_of_liquor", 66.8, 0.05),
    ("bitterness", 21.0, 0.5),
    ("fermenter_volume", 40.0, 0.001),
    ("viable_cells", 366.0, 0.5),
    ("final_gravity", 1.0109, 0.00005),
    ("alcohol", 0.0508, 0.00006),
]


@pytest.fixture(scope="module")
def planned():
    record = "2026/2026-01.yaml"
    text = (EXAMPLE / record).read_text(encoding="utf-8")
    # What the mash makes of the attenuation is no work for a pocket calculator: it is planned here.
    text = text.replace("fermentation: {", "fermentation: {apparent_attenuation: 77 %, ")
    archive = load_archive(EXAMPLE, given={record: text.encode()})
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    return found.planned


@pytest.mark.parametrize(("key", "value", "slack"), WORKED)
def test_the_forecast_agrees_with_the_working(planned, key: str, value: float, slack: float):
    assert planned.expected[key].value == pytest.approx(value, abs=slack)


def test_every_figure_is_forecast_or_needs_another_container(planned) -> None:
    missing = set(FIGURES) - set(planned.expected)
    assert missing == {
        "wort_ph", "priming_sugar", "infusion_liquor", "decoction_volume", "dilution_liquor",
        "sparge_alkalinity_left", "sparge_ph", "mash_liquor_chlorine", "sparge_liquor_chlorine",
        "log_final_gravity", "log_end",
        "starting_gravity", "starting_volume",
        "starch_left_at_heating", "heating_effect", "mash_temperature_after_additions",
    }  # fmt: skip


def test_water_balances(planned) -> None:
    """Liquor in = kettle full + water shortfall + dead space, to rounding."""
    value = {k: e.value for k, e in planned.expected.items()}
    into = value["mash_liquor"] + value["sparge_liquor"] + value["top_up_liquor"]
    assert into == pytest.approx(value["kettle_volume"] + 0.85 * 7.35 + 0.5, abs=1e-9)


def test_extract_is_kept_through_the_boil(planned) -> None:
    from reportgen.science.extract import extract_mass

    value = {k: e.value for k, e in planned.expected.items()}
    before = extract_mass(value["kettle_volume"], value["kettle_gravity"])
    after = extract_mass(value["cast_out_volume"], value["cast_out_gravity"])
    assert after == pytest.approx(before, rel=1e-9)
    assert before == pytest.approx(5.747 * value["mash_efficiency"], rel=1e-3)


def test_every_number_states_its_working(planned) -> None:
    for key, expected in planned.expected.items():
        assert expected.method or expected.note, key
