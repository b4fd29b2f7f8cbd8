"""One's own history: what is set aside, what is unusual, what is proposed, two compared."""

from __future__ import annotations

import datetime
import json
import math
from pathlib import Path

import pytest
import yaml
from houses import EXAMPLE, house, inside, ledger_data, loaded, reportgen, summary
from hypothesis import given
from hypothesis import strategies as st

from reportgen.archive.summary import DeviationValue, Summary, TastingValue
from reportgen.assessment.assess import assess
from reportgen.history.measures import MEASURES, Measured, measured
from reportgen.history.pairs import compare_groups
from reportgen.history.row import FigureValue
from reportgen.history.series import (
    history_of,
    proposal_of,
    series_of,
    stated_in,
    unusual_in,
)
from reportgen.loading import load_archive
from reportgen.record.printed import Units
from reportgen.record.units import parse_quantity
from reportgen.report.history_words import (
    caveats,
    comparison_sentence,
    facts,
    pair_sentence,
    proposal_text,
)
from reportgen.report.ledger_batch import unusual_words

DEMO = Path(__file__).parents[2] / "batches"
EVAPORATION, CONVERSION = MEASURES["evaporation"], MEASURES["conversion"]

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: flow rates of ten batches, with
# centre 50.81 and limits 55.8041 and 45.8159 (three sigma, from a mean moving range of 1.8778).
FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def batches(values: tuple[float, ...], measure: str = "evaporation", u: float = 0.1,
            **fields: object) -> list[Summary]:  # fmt: skip
    return [
        summary(
            f"2026-{n:03d}", brewed=f"2026-{1 + n // 28:02d}-{1 + n % 28:02d}",
            measures=((measure, Measured(value, u, None)),), **fields,
        )
        for n, value in enumerate(values, 1)
    ]  # fmt: skip


def deviation(figure: str, cause: str = "known", is_open: bool = False) -> DeviationValue:
    return DeviationValue(figure, "minor", is_open, None, (), "what", "why", cause)


def test_the_chart_of_a_published_example() -> None:
    series = series_of(batches(FLOW), EVAPORATION, "main")
    assert series.chart is not None
    assert series.chart.centre == pytest.approx(50.81, abs=0.005)
    assert series.chart.action == pytest.approx((45.8159, 55.8041), abs=0.01)
    assert all(point.standing in ("usual", "warning") for point in series.points)


def test_the_order_is_that_of_the_brew_days() -> None:
    late, early = batches((5.0, 4.0))
    swapped = [
        summary("2026-001", brewed="2026-05-01", measures=late.measures),
        summary("2026-002", brewed="2026-04-01", measures=early.measures),
    ]
    series = series_of(swapped, EVAPORATION, "main")
    assert [p.batch for p in series.points] == ["2026-002", "2026-001"]


def test_a_known_cause_that_is_closed_sets_a_batch_aside() -> None:
    rows = batches((4.5, 4.6, 4.4, 4.5, 9.0))
    cases = (("known", False, 4), ("known", True, 5), ("probable", False, 5))
    for cause, is_open, counted in cases:
        odd = summary(
            "2026-005", brewed="2026-02-01", measures=rows[4].measures,
            deviations=(deviation("cast_out_volume", cause, is_open),),
        )  # fmt: skip
        series = series_of([*rows[:4], odd], EVAPORATION, "main")
        assert len(series.counted) == counted, (cause, is_open)
        assert len(series.points) == 5
    # A deviation of a figure that has nothing to do with evaporation does not.
    odd = summary("2026-005", brewed="2026-02-01", measures=rows[4].measures,
                  deviations=(deviation("final_gravity"),))
    assert len(series_of([*rows[:4], odd], EVAPORATION, "main").counted) == 5


def test_a_batch_beyond_an_action_limit_is_unusual_and_one_set_aside_is_not() -> None:
    rows = batches((4.5, 4.6, 4.4, 4.5, 4.6, 4.4, 4.5, 4.6, 6.5, 4.5, 4.6, 4.4, 4.5))
    history = history_of({s.id: s for s in rows}, None, None)
    assert [u.point.batch for u in unusual_in(history)] == ["2026-009"]
    rows[8] = summary("2026-009", brewed=rows[8].brewed, measures=rows[8].measures,
                      deviations=(deviation("kettle_volume"),))
    history = history_of({s.id: s for s in rows}, None, None)
    assert history[0].points[8].standing == "action"
    assert unusual_in(history) == ()


@pytest.mark.parametrize(("count", "provisional"), [(19, True), (20, False)])
def test_fewer_than_twenty_are_provisional(count: int, provisional: bool) -> None:
    values = tuple(4.5 + 0.1 * (-1) ** n for n in range(count))
    series = series_of(batches(values), EVAPORATION, "main")
    said = dict(facts(series, Units()))
    assert series.chart is not None and series.chart.provisional is provisional
    assert ("provisional" in said["Batches"]) is provisional


def test_two_batches_make_no_limits() -> None:
    series = series_of(batches((4.5, 4.6)), EVAPORATION, "main")
    assert series.chart is None and series.interval is None and proposal_of(series) is None
    assert {p.standing for p in series.points} == {""}


def test_each_kit_and_yeast_has_its_own_series() -> None:
    rows = batches((4.5, 4.6, 4.4)) + [
        summary("2026-009", kit="small", measures=(("evaporation", Measured(2.0, 0.1)),)),
        summary("2026-010", yeast="lager", measures=(("attenuation", Measured(0.8, 0.01)),)),
    ]
    history = history_of({s.id: s for s in rows}, None, None)
    assert {(s.measure.key, s.name, len(s.points)) for s in history} == {
        ("evaporation", "main", 3), ("evaporation", "small", 1), ("attenuation", "lager", 1),
    }  # fmt: skip


def test_a_value_is_proposed_only_when_the_stated_one_does_not_agree() -> None:
    values = (4.78, 4.82, 4.80, 4.79, 4.81)
    for stated, proposed in (("4.5 L/h", True), ("4.8 L/h", False)):
        series = series_of(
            batches(values), EVAPORATION, "main", parse_quantity(stated, "evaporation")
        )
        assert (proposal_of(series) is not None) is proposed, stated
    few = series_of(batches(values[:4]), EVAPORATION, "main",
                    parse_quantity("4.5 L/h", "evaporation"))
    assert proposal_of(few) is None
    assert "takes 5 batches" in dict(facts(few, Units()))["Stated"]


@pytest.mark.parametrize("system", ["metric", "US", "imperial"])
def test_a_proposal_can_be_pasted_and_means_the_same(tmp_path: Path, system: str) -> None:
    folder = house(tmp_path / "house", {"2026-01": "{}"}, brewery=f"units: {system}")
    archive = loaded(folder)
    truth = {"evaporation": (5.1, 0.01), "conversion": (0.905, 0.001),
             "grain_absorption": (0.97, 0.01), "heat_loss": (1.8, 0.06),
             "bitterness_factor": (0.874, 0.006)}
    text = (folder / "brewery.yaml").read_text(encoding="utf-8")
    whole = yaml.load(text, yaml.BaseLoader)
    for key, (value, _) in truth.items():
        measure = MEASURES[key]
        values = tuple(value + 0.001 * value * (-1) ** n for n in range(6))
        series = series_of(batches(values, key), measure, "main",
                           stated_in(archive.brewery, archive.stock, measure, "main"))
        proposal = proposal_of(series)
        assert proposal is not None
        pasted = proposal_text(proposal, Units(system))
        _merge(whole, yaml.load(pasted, yaml.BaseLoader))
    (folder / "brewery.yaml").write_text(yaml.safe_dump(whole, sort_keys=False), encoding="utf-8")
    again = load_archive(folder)
    assert again.findings == ()
    # No earlier batch is changed by what is pasted: it holds from the day after the last of them.
    earlier, _ = again.on(datetime.date(2025, 1, 1))
    assert earlier is not None and archive.brewery is not None
    assert earlier.kits == archive.brewery.kits
    for key, (value, within) in truth.items():
        stated = stated_in(again.brewery, again.stock, MEASURES[key], "main")
        assert stated is not None and stated.value == pytest.approx(value, abs=within), key


def _merge(base: dict[str, object], over: dict[str, object]) -> None:
    for key, value in over.items():
        below = base.get(key)
        if isinstance(value, dict) and isinstance(below, dict):
            _merge(below, value)
        elif isinstance(value, list) and isinstance(below, list):
            below += value
        else:
            base[key] = value


def test_the_evidence_stands_above_what_is_proposed() -> None:
    rows = batches((4.8, 4.9, 4.8, 4.9, 4.8, 4.9))
    rows[5] = summary("2026-006", brewed=rows[5].brewed, measures=rows[5].measures,
                      deviations=(deviation("cast_out_volume"),))
    series = series_of(rows, EVAPORATION, "main", parse_quantity("4.5 L/h", "evaporation"))
    proposal = proposal_of(series)
    assert proposal is not None
    lines = proposal_text(proposal, Units()).splitlines()
    evidence = "\n".join(line for line in lines if line.startswith("#"))
    for word in ("mean of 5 batches, 2026-001 to 2026-005", "4.5 L/h", "Provisional", "2026-006"):
        assert word in evidence
    assert lines[-2] == "          evaporation: 4.84 L/h"


@given(st.lists(st.floats(3.0, 6.0), min_size=3, max_size=30))
def test_limits_hold_the_mean_and_nest(values: list[float]) -> None:
    series = series_of(batches(tuple(values)), EVAPORATION, "main")
    chart, interval = series.chart, series.interval
    assert chart is not None and interval is not None and series.mean_reach is not None
    assert chart.action[0] <= chart.warning[0] <= chart.centre <= chart.warning[1]
    assert chart.warning[1] <= chart.action[1]
    # The mean is known better than one batch can be foretold.
    assert 0 <= series.mean_reach <= (interval.high - interval.low) / 2 + 1e-12


def attenuated(values: dict[str, tuple[float, ...]]) -> dict[str, Summary]:
    found = {}
    for yeast, run in values.items():
        for n, value in enumerate(run):
            one = summary(f"{yeast}-{n}", yeast=yeast,
                          measures=(("attenuation", Measured(value, 0.01)),))
            found[one.id] = one
    return found


def test_a_difference_of_two_yeasts_is_only_told_when_chance_would_not_do() -> None:
    close = attenuated({"a": (0.77, 0.75, 0.79), "b": (0.76, 0.78, 0.74)})
    far = attenuated({"a": (0.77, 0.772, 0.768), "b": (0.73, 0.728, 0.732)})
    for rows, told in ((close, False), (far, True)):
        (line,) = (x for x in compare_groups(rows, "yeast", "a", "b").lines
                   if x.key == "attenuation")  # fmt: skip
        assert line.result is not None and line.result.can_be_told is told
        words = comparison_sentence(line, "A", "B", Units())
        assert ("No difference is shown" in words) is not told
        assert ("A difference is shown" in words) is told
        assert "points" in words


def test_one_batch_of_a_yeast_is_not_compared() -> None:
    (line,) = compare_groups(attenuated({"a": (0.77, 0.76), "b": (0.74,)}), "yeast", "a", "b").lines
    assert line.result is None and line.reason == "needs 2 batches of each, has 2 and 1"


def test_the_mash_ph_of_a_shared_wort_counts_once_for_its_liquor() -> None:
    """A batch given wort of another has the mash pH of that one, and no measure of the malt."""
    read = (("mash_ph", FigureValue(5.4, 5.46, 5.46, None, None, 0.05, "")),)
    own = (("malt_ph", Measured(5.8, 0.1)),)
    rows = {
        id: summary(id, liquor=liquor, figures=read, measures=measures)
        for id, liquor, measures in (
            ("x", "a", own), ("given", "a", ()), ("y", "b", own), ("z", "b", own)
        )
    }  # fmt: skip
    (line,) = (x for x in compare_groups(rows, "liquor", "a", "b").lines if x.key == "mash_ph")
    assert [batch for batch, _ in (*line.a, *line.b)] == ["x", "y", "z"]


def test_a_pair_is_found_and_a_triangle_test_counted_once() -> None:
    parts = (("boil", "1"), ("grist", "2"))
    test = {"triangle_tasters": 12, "triangle_correct": 8}
    rows = {
        "x": summary("x", yeast="a", plan_parts=(*parts, ("pitch", "3")),
                     tastings=(TastingValue("2026-03-01", 12, (), "y", **test),)),
        "y": summary("y", yeast="b", plan_parts=(*parts, ("pitch", "4")),
                     tastings=(TastingValue("2026-03-01", 12, (), "x", **test),)),
        "z": summary("z", yeast="b", plan_parts=(("boil", "9"), ("grist", "2"), ("pitch", "4"))),
    }  # fmt: skip
    found = compare_groups(rows, "yeast", "a", "b")
    assert [(p.a, p.b) for p in found.pairs] == [("x", "y")]
    (one,) = found.tests
    # By hand: 8 or more of 12 right by guessing one in three, sum of C(12,k) 2^(12-k) / 3^12.
    by_hand = sum(math.comb(12, k) * 2 ** (12 - k) for k in range(8, 13)) / 3**12
    assert one.p_value == pytest.approx(by_hand, rel=1e-9) and one.told_apart
    assert any("x and y" in words for words in caveats(found))


def test_a_pair_says_whether_the_readings_can_tell() -> None:
    for difference, word in ((0.03, "more than"), (0.01, "no more than")):
        rows = {
            b: summary(b, yeast=b, plan_parts=(("grist", "1"),),
                       measures=(("attenuation", Measured(value, 0.014)),))
            for b, value in (("a", 0.75 + difference), ("b", 0.75))
        }  # fmt: skip
        (pair,) = compare_groups(rows, "yeast", "a", "b").pairs
        assert pair.difference == pytest.approx(difference)
        # Both readings together: sqrt(2) times 1.4 points, 2.0.
        words = pair_sentence(pair, "yeast")
        assert f"+{difference * 100:.1f} points, {word}" in words and "±2.0" in words


def test_on_plan_and_yet_unusual_is_said_so() -> None:
    values = (4.5, 4.6, 4.4, 4.5, 4.6, 4.4, 4.5, 4.6, 6.5, 4.5, 4.6, 4.4, 4.5)
    rows = {s.id: s for s in batches(values)}
    archive = loaded(EXAMPLE)
    for deviations, start in (((), "Permitted, but unusual for you."),
                              ((deviation("cast_out_volume", "unknown", True),), "Evaporation")):
        rows["2026-009"] = summary("2026-009", brewed=rows["2026-009"].brewed,
                                   measures=rows["2026-009"].measures, deviations=deviations)
        data = ledger_data(archive, rows)
        (words,) = unusual_words(data, rows["2026-009"])
        assert words.startswith(start) and "6.50\u202fL/h is unusual for main" in words
        assert unusual_words(data, rows["2026-001"]) == []


def test_the_verb_prints_and_refuses(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", {"2026-01": "brew_day: {date: 2026-01-10}"})
    done = reportgen("history", cwd=folder)
    assert (done.returncode, done.stdout) == (0, "No batch has readings yet.\n")
    assert json.loads(inside("history", "--format", "json", cwd=folder).stdout) == []
    for pair, said in ((("ale", "alle"), "did you mean `ale`"), (("ale", "ale"), "with itself"),
                       (("ale", "reservoir"), "one of `ale` and `reservoir`")):
        done = inside("history", "--compare", *pair, cwd=folder)
        assert done.returncode == 2 and said in done.stderr
    assert not (folder / "build").exists()


def test_the_mash_ph_read_gives_the_base_malt_its_own(tmp_path: Path) -> None:
    """What is read 0.10 above the forecast is 0.10 of the whole grist, more of the base malt."""
    day = "brew_day: {date: 2026-01-10, mash: {mash_ph: %s}}"
    archive = loaded(house(tmp_path / "a", {"2026-01": day % "5.40", "2026-02": day % "5.50"}))
    found = {}
    for id_ in ("2026-01", "2026-02"):
        batch = assess(archive, archive.batches[id_])
        assert batch is not None
        found[id_] = measured(batch)["malt_ph"]
    assert 0.10 <= found["2026-02"].value - found["2026-01"].value < 0.15
    assert found["2026-01"].uncertainty > 0.02


def test_a_wort_that_two_batches_share_is_one_mash() -> None:
    archive = load_archive(DEMO, only=["2026/2026-11.yaml", "2026/2026-12.yaml"])
    brewed, given = (measured(assess(archive, archive.batches[b])) for b in ("2026-11", "2026-12"))
    assert {"conversion", "evaporation", "malt_ph"} <= set(brewed)
    assert set(given) <= {"attenuation", "bitterness_factor"}


def test_a_mash_that_stood_long_is_no_merit_of_the_yeast(tmp_path: Path) -> None:
    """More of the wort ferments then; what is left for the yeast's own attenuation is less."""
    day = (
        "brew_day: {date: 2026-01-10, mash: {started: 09:00}, run_off: {started: %s},"
        " pitch: {original_gravity: 1.049}}\nfermentation: {final_gravity: 1.012}"
    )
    archive = loaded(house(tmp_path / "a", {"2026-01": day % "10:00", "2026-02": day % "11:30"}))
    found = {}
    for id_ in ("2026-01", "2026-02"):
        batch = assess(archive, archive.batches[id_])
        assert batch is not None
        found[id_] = measured(batch)["attenuation"].value
    assert found["2026-02"] < found["2026-01"] - 0.003
