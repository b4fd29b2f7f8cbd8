"""Every rest of a mash counts, and what heating it did is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive
from reportgen.science.number import expanded_uncertainty, nominal

EXAMPLE = Path(__file__).parents[1] / "example"
RECORD = "2026/2026-01.yaml"


def mashed(*rests: str, day: str = "") -> Assessment:
    text = (EXAMPLE / RECORD).read_text(encoding="utf-8")
    lines = "\n".join(f"      - {{{rest}}}" for rest in rests)
    text = text.replace("      - {temperature: 66 C, time: 60 min}", lines) + day
    archive = load_archive(EXAMPLE, given={RECORD: text.encode()})
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    return found


def share(*rests: str, day: str = "") -> float:
    return nominal(mashed(*rests, day=day).now["mash_attenuation_share"])


def rest(temperature: float, minutes: float, how: str = "") -> str:
    by = f", reached_by: {how}" if how else ""
    return f"temperature: {temperature} C, time: {minutes} min{by}"


def test_the_later_rests_count_as_the_first_does() -> None:
    a = share(rest(52, 15), rest(66, 60, "heat"))
    b = share(rest(62, 40), rest(72, 30, "heat"))
    c = share(rest(52, 15), rest(68, 30, "heat"), rest(72, 30, "heat"))
    assert len({round(x, 3) for x in (a, b, c)}) == 3
    assert b > a > c


def test_a_short_rest_before_mash_out_leaves_starch_and_says_what_heating_did() -> None:
    found = mashed(rest(62, 10), rest(77, 10, "heat"))
    left = found.planned["starch_left_at_heating"]
    did = found.planned["heating_effect"]
    assert 0.05 < nominal(left) < 0.4 and nominal(did) > 0
    assert expanded_uncertainty(left) > 0 and expanded_uncertainty(did) > 0
    long = mashed(rest(62, 90), rest(77, 10, "heat"))
    assert nominal(long.planned["heating_effect"]) < nominal(did)


@pytest.mark.parametrize(
    "rests",
    [(rest(45, 20), rest(66, 60, "infusion")), (rest(66, 60), rest(82, 20, "heat"))],
)
def test_a_rest_below_50_or_a_stand_above_80_stops_nothing(rests: tuple[str, ...]) -> None:
    found = mashed(*rests)
    assert "alcohol" in found.planned


def test_the_temperature_read_at_the_end_counts() -> None:
    day = "\nbrew_day:\n  date: 2026-03-14\n"
    day += "  mash: {mash_temperature: 69 C, mash_end_temperature: %s}\n"
    cooled = share(rest(66, 60), day=day % "60 C")
    kept = share(rest(66, 60), day=day % "69 C")
    assert cooled > kept + 0.01


def test_a_long_stand_ferments_further() -> None:
    day = "\nbrew_day:\n  date: 2026-03-14\n  mash: {started: 09:00}\n  run_off: {started: %s}\n"
    assert share(rest(66, 60), day=day % "13:00") > share(rest(66, 60), day=day % "10:00") + 0.01


def test_what_the_mash_and_its_reference_share_cancels() -> None:
    at_reference = mashed(rest(66, 60)).planned["mash_attenuation_share"]
    far = mashed(rest(75, 60)).planned["mash_attenuation_share"]
    assert expanded_uncertainty(at_reference) < 0.01 < expanded_uncertainty(far)


def test_the_uncertainty_grows_outside_the_trusted_range() -> None:
    widths = [
        expanded_uncertainty(mashed(rest(t, 60)).planned["apparent_attenuation"])
        for t in (66, 69, 72, 75)
    ]
    assert widths == sorted(widths)


def test_what_a_decoction_boils_converts_nothing_more() -> None:
    """Boiled amylases are dead: by the mixing of temperatures alone the same mash attenuates more.

    From 52 to 65 degC some 13/(100 - 52) of the mash's heat, 0.27, is drawn and boiled.
    """
    by_heat = mashed(rest(52, 20), rest(65, 45, "infusion")).planned
    boiled = mashed(rest(52, 20), rest(65, 45, "decoction")).planned
    lost = nominal(by_heat["mash_attenuation_share"] - boiled["mash_attenuation_share"])
    assert 0.005 < lost < 0.10
    puts = {p.name: p.value for p in boiled.expected["mash_attenuation_share"].puts}
    (drawn,) = [v for name, v in puts.items() if name.startswith("boiled after")]
    assert 0.2 < nominal(drawn) < 0.4
    # A mash-out by decoction has little left to lose.
    late = [
        nominal(mashed(rest(66, 60), rest(76, 10, how)).planned["mash_attenuation_share"])
        for how in ("infusion", "decoction")
    ]
    assert abs(late[0] - late[1]) < 0.01


def test_a_clock_that_runs_back_is_no_mash_of_a_night() -> None:
    """Mash-in and run-off swapped in typing: the length planned counts. A night's mash does."""
    def day(started: str, run_off: str) -> str:
        return (
            f"\nbrew_day:\n  date: 2026-03-14\n  mash: {{started: '{started}'}}\n"
            f"  run_off: {{started: '{run_off}'}}\n"
        )  # fmt: skip

    planned = share(rest(68, 60))
    assert share(rest(68, 60), day=day("10:30", "09:30")) == pytest.approx(planned, abs=1e-9)
    night = share(rest(68, 60), day=day("22:00", "06:00"))
    assert night > planned + 0.01


def test_a_mash_of_no_time_stops_what_hangs_on_it_once() -> None:
    text = (EXAMPLE / RECORD).read_text(encoding="utf-8")
    text = text.replace("time: 60 min}\n  run", "time: 0 min}\n  run")
    archive = load_archive(EXAMPLE, given={RECORD: text.encode()})
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    assert [str(error) for _, error in found.problems] == ["the mash takes no time"]
    assert "mash_ph" in found.planned and "mash_volume" in found.planned
