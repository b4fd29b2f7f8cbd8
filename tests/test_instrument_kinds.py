"""An instrument reads what it is named for; one of another kind lends its U to nothing."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.verdicts import Verdict
from reportgen.checks.base import names, run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Finding

EXAMPLE = Path(__file__).parent / "example"
RULE = "instrument-of-another-kind"

Brewed = Callable[..., tuple[Assessment, list[Finding]]]


@pytest.fixture
def brewed(tmp_path: Path) -> Brewed:
    """Return the example with a day typed, and changes to the house; and what the checks say."""

    def make(text: str, **house: str) -> tuple[Assessment, list[Finding]]:
        root = tmp_path / "house"
        shutil.rmtree(root, ignore_errors=True)
        shutil.copytree(EXAMPLE, root)
        with (root / "2026" / "2026-01.yaml").open("a", encoding="utf-8") as file:
            file.write(text)
        brewery = root / "brewery.yaml"
        typed = brewery.read_text(encoding="utf-8")
        for name, line in house.items():
            old = next(x for x in typed.splitlines() if x.startswith(f"  {name}: {{reads"))
            typed = typed.replace(old, f"  {name}: {line}")
        brewery.write_text(typed, encoding="utf-8")
        archive = load_archive(root, names())
        assert archive.findings == ()
        found = assess(archive, archive.batches["2026-01"])
        assert found is not None
        return found, run_checks(found)

    return make


NAMED = {
    "hydrometer": "hydrometer", "refractometer": "refractometer", "thermometer": "thermometer",
    "ph_meter": "ph_meter", "volume_gauge": "dipstick", "scale": "scale",
    "pressure_gauge": "gauge",
}  # fmt: skip
READINGS = {
    "mash: {first_wort_gravity: {read: 1.086, instrument: %s}}": {"hydrometer"},
    "mash: {first_wort_gravity: {read: 20.5 P, instrument: %s}}": {"hydrometer"},
    "mash: {first_wort_gravity: {read: 21 Bx, instrument: %s}}": {"refractometer"},
    "mash: {mash_temperature: {read: 66.0 C, instrument: %s}}": {"thermometer"},
    "mash: {mash_ph: {read: 5.4, sample: 20 C, instrument: %s}}": {"ph_meter"},
    "run_off: {kettle_volume: {read: 46.5 L, instrument: %s}}": {"volume_gauge"},
    "pitch: {yeast_amount: {read: 0.4 L, instrument: %s}}": {"volume_gauge"},
    "pitch: {yeast_amount: {read: 22 g, instrument: %s}}": {"scale"},
    "weighed: [{item: pale, amount: {read: 7.0 kg, instrument: %s}}]": {"scale"},
}


@pytest.mark.parametrize("reading", READINGS)
def test_every_instrument_named_for_every_reading(brewed: Brewed, reading: str) -> None:
    taken = set()
    for kind, name in NAMED.items():
        _, said = brewed(f"\nbrew_day: {{date: 2026-03-14, {reading % name}}}\n")
        if RULE not in [f.rule for f in said]:
            taken.add(kind)
    assert taken == READINGS[reading]


@pytest.mark.parametrize("section", ["plan", "brew_day", "fermentation", "packaging"])
def test_every_instrument_in_every_place_of_the_lists(brewed: Brewed, section: str) -> None:
    listed = ", ".join(f"{kind}: thermometer" for kind in NAMED)
    texts = {
        "plan": f"  instruments: {{{listed}}}\n",
        "brew_day": f"brew_day: {{date: 2026-03-14, instruments: {{{listed}}}}}\n",
        "fermentation": f"fermentation: {{instruments: {{{listed}}}}}\n",
        "packaging": f"packaging: {{date: 2026-03-24, instruments: {{{listed}}}}}\n",
    }
    _, said = brewed(texts[section])
    assert len([f for f in said if f.rule == RULE]) == len(NAMED) - 1


def test_a_wrong_one_lends_its_uncertainty_to_nothing(brewed: Brewed) -> None:
    """As if none were known: the last decimal written, U = 2 * 0.1 / (2 * sqrt 3) (JCGM 100)."""
    day = "\nbrew_day: {date: 2026-03-14, instruments: {thermometer: hydrometer}, %s}\n"
    found, said = brewed(day % "mash: {mash_temperature: 66.0 C}")
    actual = found.actuals["mash_temperature"]
    assert actual.uncertainty == pytest.approx(0.1 / 3**0.5, rel=1e-6)
    assert not actual.instrument_is_known
    (one,) = [f for f in said if f.rule == RULE]
    assert one.line[one.position.column - 1 :].startswith("hydrometer}")
    assert one.expected == "one of thermometer"


def test_its_offset_is_not_taken_either(brewed: Brewed) -> None:
    day = "\nbrew_day: {date: 2026-03-14, mash: {mash_ph: {read: 5.40, instrument: hydrometer}}}\n"
    check = "{on: 2026-01-02, reads_high_by: 0.002}"
    line = f"{{reads: hydrometer, resolution: 0.001, checks: [{check}]}}"
    found, _ = brewed(day, hydrometer=line)
    assert found.actuals["mash_ph"].value == 5.40


def test_a_hydrometer_in_plato_is_as_good_in_sg(brewed: Brewed) -> None:
    """0.1 P is near 0.0004 SG at 12 P (ICUMSA SPS-4: 12.0 P 1.04837, 12.1 P 1.04879)."""
    line = "{reads: hydrometer, resolution: 0.1, uncertainty: 0.1}"
    pitch = "\nbrew_day: {date: 2026-03-14, pitch: {original_gravity: %s}}\n"
    u = {}
    for read in ("1.048", "12.0 P"):
        found, _ = brewed(pitch % read, hydrometer=line)
        u[read] = found.actuals["original_gravity"].uncertainty
        limits = found.result("original_gravity").sheet_range
        assert limits is not None and limits[1] - limits[0] == pytest.approx(0.006 - 2 * u[read])
    half = (0.1**2 + 0.1**2 / 3) ** 0.5 * 0.0042
    assert u["12.0 P"] == pytest.approx(half, rel=0.02)
    assert u["1.048"] == pytest.approx(half, rel=0.02)


def test_last_runnings_above_the_first_wort_are_not_on_plan(brewed: Brewed) -> None:
    day = "\nbrew_day: {date: 2026-03-14, mash: {first_wort_gravity: 1.084}, run_off: {%s}}\n"
    found, said = brewed(day % "last_runnings_gravity: 1.090")
    assert found.result("last_runnings_gravity").verdict is Verdict.OFF_PLAN
    # Told in its place, since 1.009 would fit.
    (slip,) = (f for f in said if f.rule == "mistyped")
    assert slip.severity.value == "major" and "runnings-rise" in slip.expected
    found, said = brewed(day % "last_runnings_gravity: 1.009")
    assert found.result("last_runnings_gravity").verdict is Verdict.ON_PLAN
    assert "runnings-rise" not in [f.rule for f in said]


def test_extract_that_grows_in_the_boil_is_found_and_sugar_is_not(brewed: Brewed) -> None:
    """46.5 L of 1.044 hold 5.3 kg of extract, 45.5 L of 1.053 hold 6.2 kg."""
    day = (
        "\nbrew_day: {date: 2026-03-14, run_off: {kettle_volume: 46.5 L, kettle_gravity: 1.044},"
        " boil: {cast_out_volume: %s, cast_out_gravity: %s}}\n"
    )
    rule = "boil-changes-extract"
    _, said = brewed(day % ("45.5 L", "1.053"))
    assert [f.severity.value for f in said if f.rule == rule] == ["major"]
    for sound in (("42 L", "1.049"), ("43.5 L", "1.047"), ("41.0 L", "1.050")):
        _, said = brewed(day % sound)
        assert rule not in [f.rule for f in said], sound
    _, said = brewed(day % ("36 L", "1.045"))
    assert rule in [f.rule for f in said]


WARM = "{reads: thermometer, resolution: 0.1 K, checks: [{on: 2026-01-02, reads_high_by: %s}]}"


def test_pitching_is_judged_by_the_true_temperature(brewed: Brewed) -> None:
    """The yeast's range ends at 22 C, so that 24 C is the most; 25.0 read 3 K high is 22.0."""
    day = "\nbrew_day: {date: 2026-03-14, pitch: {pitch_temperature: %s}}\n"
    _, said = brewed(day % "25.0 C", thermometer=WARM % "3 K")
    assert "pitching-warm" not in [f.rule for f in said]
    _, said = brewed(day % "22.0 C", thermometer=WARM % "-4 K")
    (one,) = [f for f in said if f.rule == "pitching-warm"]
    assert one.message == "pitched at 26.0 °C (22.0 C read)"


def test_what_is_past_is_not_told_what_to_do(brewed: Brewed) -> None:
    day = "\nbrew_day: {date: 2026-03-14, pitch: {pitch_temperature: 29 C}}\n"
    later = "fermentation: {log: [{at: 2026-03-15 18:00, gravity: 1.030}]}\n"
    drunk = "packaging: {date: 2026-03-24}\ntasting: [{date: 2026-04-10}]\n"

    def remedy(text: str) -> str:
        _, said = brewed(text)
        (one,) = [f for f in said if f.rule == "pitching-warm"]
        return one.remedy

    assert remedy(day).startswith("cool the fermenter")
    for past in (day + later, day + later + drunk):
        assert remedy(past).startswith("look for") and "next time" in remedy(past)


def test_a_reading_that_cannot_be_used_is_said(brewed: Brewed) -> None:
    pitch = "\nbrew_day: {date: 2026-03-14, pitch: {original_gravity: 1.249}}\n"
    _, said = brewed(pitch + "fermentation: {final_gravity: 0.970}\n")
    assert [f.rule for f in said].count("reading-not-usable") == 2


def test_limits_that_leave_nothing_are_told_as_an_interval(brewed: Brewed) -> None:
    """A critical limit inside the tolerance on its far side; never a negative half-width."""
    plan = "  critical_limits: {mash_temperature: {at_least: 67.5 C, because: starch}}\n"
    _, said = brewed(plan)
    (one,) = [f for f in said if f.rule == "instrument-too-coarse"]
    assert "at least 67.5 °C and at most 67.0 °C" in one.message and "±-" not in one.message
