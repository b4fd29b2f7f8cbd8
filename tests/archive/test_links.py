"""Links between batches: yeast from batch to batch, lots and where they went, what is missing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from houses import house, inside, loaded, registered, reportgen
from hypothesis import given
from hypothesis import strategies as st

from reportgen.archive.links import Links, links_of
from reportgen.archive.ties import LotName, weighed_lots
from reportgen.archive.trace import BatchTrace, ItemTrace, LotTrace, Unknown, nearest, trace
from reportgen.report.ledger_links import step_words

DAY = "brew_day: {{date: {}}}"


def links(folder: Path, batches: dict[str, str], **more: str) -> Links:
    return links_of(registered(loaded(house(folder / "house", batches, **more))))


def line_of_three(folder: Path) -> Path:
    return house(
        folder / "house",
        {
            "2026-01": "{plan: {pitch: {yeast: ale, generation: 0, lot: Y-1}}, "
            "brew_day: {date: 2026-01-10}, "
            "fermentation: {harvest: {at: 2026-01-18 10:00, viability: 95 %, stored_at: 5 C}}}",
            "2026-02": "{plan: {pitch: {yeast: ale, harvested_from: 2026-01, generation: 1}}, "
            "brew_day: {date: 2026-01-24}, fermentation: {harvest: {at: 2026-02-01 09:00}}}",
            "2026-03": "{plan: {pitch: {yeast: ale, harvested_from: 2026-02, generation: 2}}}",
            "2026-04": "{plan: {pitch: {yeast: ale, harvested_from: 2026-01, generation: 1}}, "
            "brew_day: {date: 2026-02-17}}",
        },
        stock="yeasts: {ale: {lots: {Y-1: {received: 2026-01-05}}}}",
    )


def test_yeast_goes_from_batch_to_batch_with_age_and_generation(tmp_path: Path) -> None:
    found = links_of(registered(loaded(line_of_three(tmp_path))))
    assert found.ancestors("2026-03") == ("2026-02", "2026-01")
    assert found.descendants("2026-01") == ("2026-02", "2026-03", "2026-04")
    assert found.children["2026-01"] == ("2026-02", "2026-04")
    assert [found.yeast[b].counted for b in ("2026-01", "2026-02", "2026-03")] == [0, 1, 2]
    assert [found.yeast[b].age for b in ("2026-01", "2026-02", "2026-03", "2026-04")] == [
        5, 6, None, 30,
    ]  # fmt: skip
    assert found.problems() == ()
    said = [step_words(found.yeast[batch], "Bitter") for batch in ("2026-01", "2026-02")]
    assert said[0].count("new") == 1 and said[1].startswith("Bitter, generation 1, from 2026-01")


def test_the_range_of_living_cells_holds_what_was_published(tmp_path: Path) -> None:
    # McCaig and Bendiak 1985, MBAA Tech. Q. 22: 14 % of the cells of pitching yeast were dead
    # after 6 days at 5 degC. The harvest here was 95 % alive, kept at 5 degC, pitched 6 days on.
    living = links_of(registered(loaded(line_of_three(tmp_path)))).yeast["2026-02"].living
    assert living is not None
    assert living.low < 0.95 * 0.86 < living.high <= 0.95
    assert living.low < living.expected < living.high


def test_a_parent_that_is_not_there_is_told(tmp_path: Path) -> None:
    folder = house(
        tmp_path / "house",
        {"2026-02": "{plan: {pitch: {yeast: ale, harvested_from: 2026-09}}}"},
    )
    done = inside("trace", "2026-02", cwd=folder)
    assert done.returncode == 1
    assert "`2026-09` is not among the batches" in done.stdout


def test_a_parent_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    folder = line_of_three(tmp_path)
    path = folder / "2026/2026-01.yaml"
    path.write_text(path.read_text().replace("volume: 40 L", "volume: forty"), encoding="utf-8")
    done = inside("trace", "2026-02", cwd=folder)
    assert done.returncode == 1
    assert "2026-01, which cannot be read" in done.stdout


@pytest.mark.parametrize(
    ("pitch", "said"),
    [
        ("{yeast: ale, harvested_from: 2026-01, generation: 4}", "4 is written, 1 follows"),
        ("{yeast: ale, generation: 3}", "the batch it was harvested from is not written"),
        ("{yeast: other, harvested_from: 2026-01}", "2026-01 fermented with ale"),
    ],
)
def test_a_link_that_does_not_fit_is_told(tmp_path: Path, pitch: str, said: str) -> None:
    found = links(
        tmp_path,
        {
            "2026-01": DAY.format("2026-01-10")
            + "\nfermentation: {harvest: {at: 2026-01-18 10:00}}",
            "2026-02": f"plan: {{pitch: {pitch}}}\n" + DAY.format("2026-01-24"),
        },
        stock="yeasts: {other: {ferments: ale, apparent_attenuation: 75 %}}",
    )
    assert any(said in p for p in found.yeast["2026-02"].problems), found.problems()


def test_yeast_without_a_harvest_and_yeast_pitched_before_it_are_told(tmp_path: Path) -> None:
    found = links(
        tmp_path,
        {
            "2026-01": DAY.format("2026-01-10"),
            "2026-02": DAY.format("2026-01-11")
            + "\nfermentation: {harvest: {at: 2026-01-18 10:00}}",
            "2026-03": "plan: {pitch: {yeast: ale, harvested_from: 2026-01}}\n"
            + DAY.format("2026-01-24"),
            "2026-04": "plan: {pitch: {yeast: ale, harvested_from: 2026-02}}\n"
            + DAY.format("2026-01-15"),
        },
    )
    assert "no harvest written" in found.yeast["2026-03"].problems[0]
    assert "3 days before 2026-02 was harvested" in found.yeast["2026-04"].problems[0]
    assert found.yeast["2026-04"].living is None


@pytest.mark.parametrize("ring", [("2026-01",), ("2026-01", "2026-02"),
                                  ("2026-01", "2026-02", "2026-03")])  # fmt: skip
def test_a_circle_is_told_once_and_ends(tmp_path: Path, ring: tuple[str, ...]) -> None:
    batches = {
        batch: f"plan: {{pitch: {{yeast: ale, harvested_from: {ring[n - 1]}}}}}"
        for n, batch in enumerate(ring)
    }
    batches["2026-09"] = f"plan: {{pitch: {{yeast: ale, harvested_from: {ring[-1]}}}}}"
    folder = house(tmp_path / "house", batches)
    register = registered(loaded(folder))
    found = links_of(register)
    assert len(found.circles) == 1 and set(found.circles[0]) == set(ring)
    assert found.yeast["2026-09"].counted is None
    assert set(found.descendants(ring[0])) == {*ring, "2026-09"} - {ring[0]}
    done = inside("trace", "ale", cwd=folder)
    assert done.returncode == 1 and "round in a circle" in done.stdout


LOTS = """
malts: {pale: {lots: {M-1: {received: 2026-01-02}, M-2: {received: 2026-02-02}}}}
hops: {goldings: {lots: {M-1: {received: 2026-01-03}}}}
"""


def with_lots(folder: Path) -> Path:
    grist = "grist: [{{malt: pale, amount: 7 kg, lot: {}}}]"
    return house(
        folder / "house",
        {
            "2026-01": f"plan: {{{grist.format('M-1')}}}\n"
            "brew_day: {date: 2026-01-10, weighed: [{item: pale, amount: 6.9 kg, lot: M-1}]}",
            "2026-02": f"plan: {{{grist.format('M-1')}}}\n"
            "brew_day: {date: 2026-02-10, weighed: [{item: pale, amount: 7.1 kg, lot: M-2}]}",
            "2026-03": f"plan: {{{grist.format('M-2')}}}",
            "2026-04": "brew_day: {date: 2026-03-10, weighed: [{item: goldings, amount: 60 g, "
            "lot: M-1}, {item: pale, amount: 7 kg}]}",
            "2026-05": "brew_day: {date: 2026-03-11, weighed: [{item: pale, amount: "
            "not done because empty, lot: M-1}]}",
        },
        stock=LOTS,
    )


def test_a_lot_goes_to_the_batches_that_it_was_weighed_for(tmp_path: Path) -> None:
    found = links_of(registered(loaded(with_lots(tmp_path))))
    pale = found.lots[LotName("malts", "pale", "M-1")]
    used = {use.batch: (use.was_used, use.planned, use.weighed) for use in pale.uses}
    assert used == {
        "2026-01": (True, ("7 kg",), ("6.9 kg",)),
        "2026-02": (False, ("7 kg",), ()),
    }
    assert pale.uses[1].instead == ("M-2",)
    assert found.lots[LotName("malts", "pale", "M-2")].uses[1].was_used is False


def test_what_was_left_out_is_in_no_beer_and_what_is_not_known_is_said(tmp_path: Path) -> None:
    lines = [f"{{malt: pale, amount: 4 kg, lot: {lot}}}" for lot in ("M-1", "M-2")]
    grist = f"plan: {{grist: [{', '.join(lines)}]}}"
    day = "\nbrew_day: {date: 2026-02-10, weighed: ["
    out = "{item: pale, amount: not done because wet}"
    folder = house(
        tmp_path / "house",
        {
            "2026-01": f"{grist}{day}{out}, {out}]}}",
            # One of the two, and not which: better one call too many on a recall.
            "2026-02": f"{grist}{day}{out}]}}",
            "2026-03": f"{grist}{day}{{item: pale, amount: 4 kg, lot: M-2}}]}}",
            "2026-04": f"{grist}{day}{{item: pale, amount: 7 kg, lot: M-9}}, "
            "{item: pale, amount: 0 kg}]}",
            "2026-05": "brew_day: {date: 2026-01-10, weighed: [{item: pale, amount: 7 kg}]}",
            "2025-06": "brew_day: {date: 2025-12-10, weighed: [{item: pale, amount: 7 kg}]}",
        },
        stock=LOTS,
    )
    register = registered(loaded(folder))
    links = links_of(register)
    story = links.lots[LotName("malts", "pale", "M-1")]
    assert [use.batch for use in story.uses if use.was_used] == ["2026-02", "2026-03"]
    assert story.uses[0].why_not == "left out (wet, wet)"
    found = trace(register, links, "M-1")[0]
    assert [problem[:7] for problem in found.problems] == ["2026-04", "2026-05"]
    assert "pale of lot M-9, which is not in stock.yaml" in found.problems[0]


@pytest.mark.parametrize(
    ("lot", "file"),
    [
        ("../../M 1", "%2E.%2F..%2FM%201.pdf"), ("M/1", "M%2F1.pdf"), ("M-1", "M-1.pdf"),
        ("..", "%2E..pdf"), ("Säck.1", "Säck.1.pdf"), ("M%2F1", "M%252F1.pdf"),
    ],
)
def test_a_recall_list_stays_in_its_folder(tmp_path: Path, lot: str, file: str) -> None:
    day = f"{{date: 2026-02-10, weighed: [{{item: pale, amount: 7 kg, lot: '{lot}'}}]}}"
    folder = house(tmp_path / "house", {"2026-01": f"brew_day: {day}"}, stock=LOTS)
    inside("trace", lot, "--recall", cwd=folder)
    assert [path.name for path in (folder / "build/recall").iterdir()] == [file]
    assert not [path for path in tmp_path.rglob("*.pdf") if path.name != file]


def test_beer_in_containers_that_nobody_wrote_down_is_told(tmp_path: Path) -> None:
    day = "{date: 2026-02-10, weighed: [{item: pale, amount: 7 kg, lot: M-1}]}"
    packed = "{date: 2026-02-20, packaged_volume: 38 L, containers: 2, container_size: 19 L%s}"
    one = ", filled: [{number: K-1, volume: 19 L, went_on: 2026-03-08}]"
    for name, listed, lost in (("a", "", "38.00 L"), ("b", one, "19.00 L")):
        batch = {"2026-01": f"brew_day: {day}\npackaging: {packed % listed}"}
        folder = house(tmp_path / name, batch, stock=LOTS)
        said = inside("trace", "M-1", cwd=folder).stdout
        assert f"2026-01 ({lost}): in containers that nobody wrote down" in said


def test_one_number_of_two_items_is_traced_for_both(tmp_path: Path) -> None:
    register = registered(loaded(with_lots(tmp_path)))
    found = trace(register, links_of(register), "M-1")
    assert [type(one) for one in found] == [LotTrace, LotTrace]
    assert [one.story.name.item for one in found if isinstance(one, LotTrace)] == [
        "pale", "goldings",
    ]  # fmt: skip


def test_what_was_weighed_without_its_lot_is_told(tmp_path: Path) -> None:
    register = registered(loaded(with_lots(tmp_path)))
    (found,) = trace(register, links_of(register), "2026-04")
    assert isinstance(found, BatchTrace)
    assert found.problems == ("pale was weighed without its lot, so it ends here",)


def test_a_lot_the_stock_does_not_know_is_told(tmp_path: Path) -> None:
    folder = house(
        tmp_path / "house",
        {"2026-01": "plan: {grist: [{malt: pale, amount: 7 kg, lot: M-9}]}"},
    )
    done = inside("trace", "M-9", cwd=folder)
    assert done.returncode == 1
    assert "M-9 of pale is not in stock.yaml" in done.stdout


def test_others_that_share_a_lot_the_yeast_or_the_kit(tmp_path: Path) -> None:
    folder = line_of_three(tmp_path)
    register = registered(loaded(folder))
    (found,) = trace(register, links_of(register), "2026-03")
    assert isinstance(found, BatchTrace)
    shared = {s.what: s.batches for s in found.shared}
    assert shared == {
        "yeast line": ("2026-01", "2026-02", "2026-04"),
        "kit": ("2026-01", "2026-02", "2026-04"),
    }


@given(
    ids=st.sets(st.integers(0, 60), max_size=40),
    to=st.integers(-1, 61),
    most=st.integers(1, 12),
    data=st.data(),
)
def test_the_nearest_of_a_group(
    ids: set[int], to: int, most: int, data: st.DataObject
) -> None:
    without = data.draw(st.sets(st.sampled_from(sorted(ids)))) if ids else set()
    others = sorted(ids - without)
    found = [int(b) for b in nearest(
        [f"{n:03d}" for n in sorted(ids)], f"{to:03d}", most, {f"{n:03d}" for n in without}
    )]
    # As many as there are to have, without a gap between them.
    assert len(found) == min(most, len(others))
    start = others.index(found[0]) if found else 0
    assert found == others[start : start + len(found)]
    # Half before it, unless one side has too few.
    earlier = sum(n < to for n in found)
    too_few_after = earlier + sum(n >= to for n in others) == len(found)
    assert earlier == min(most // 2, sum(n < to for n in others)) or too_few_after


def test_two_cultures_of_one_lot_are_one_line(tmp_path: Path) -> None:
    found = house(
        tmp_path / "house",
        {
            b: f"plan: {{pitch: {{yeast: ale, lot: {lot}}}}}\n" + DAY.format("2026-01-10")
            for b, lot in (("2026-01", "Y-1"), ("2026-02", "Y-1"), ("2026-03", "Y-2"))
        },
        stock="yeasts: {ale: {lots: {Y-1: {}, Y-2: {}}}}",
    )
    register = registered(loaded(found))
    (one,) = trace(register, links_of(register), "2026-01")
    assert isinstance(one, BatchTrace)
    shared = {s.what: s.batches for s in one.shared}
    assert shared["yeast line"] == ("2026-02",)
    assert shared["yeast"] == ("2026-03",)


def test_a_lot_is_carried_on_with_harvested_yeast(tmp_path: Path) -> None:
    register = registered(loaded(line_of_three(tmp_path)))
    (one,) = trace(register, links_of(register), "Y-1")
    assert isinstance(one, LotTrace)
    assert [use.batch for use in one.story.uses] == ["2026-01"]
    assert one.carried_on == ("2026-02", "2026-03", "2026-04")


def test_a_yeast_is_traced_from_each_origin(tmp_path: Path) -> None:
    register = registered(loaded(line_of_three(tmp_path)))
    (one,) = trace(register, links_of(register), "ale")
    assert isinstance(one, ItemTrace)
    assert one.origins == ("2026-01",)
    assert one.batches == ("2026-01", "2026-02", "2026-03", "2026-04")


def test_an_unknown_name_is_misuse_with_a_suggestion(tmp_path: Path) -> None:
    folder = line_of_three(tmp_path)
    register = registered(loaded(folder))
    with pytest.raises(Unknown, match="did you mean `goldings`"):
        trace(register, links_of(register), "golding")
    done = reportgen("trace", "2026-0l", cwd=folder)
    assert done.returncode == 2 and "no batch, lot, item" in done.stderr


def test_the_json_of_a_trace_says_the_same(tmp_path: Path) -> None:
    folder = line_of_three(tmp_path)
    done = inside("trace", "2026-02", "--format", "json", cwd=folder)
    assert done.returncode == 0, done.stderr
    (found,) = json.loads(done.stdout)
    assert [y["batch"] for y in found["yeast_line"]] == ["2026-02", "2026-01"]
    assert found["yeast_line"][0]["age_days"] == 6
    assert found["yeast_to"] == ["2026-03"]
    assert found["problems"] == []


def test_the_text_of_a_trace_has_forward_and_back(tmp_path: Path) -> None:
    done = reportgen("trace", "2026-02", cwd=line_of_three(tmp_path))
    back, _, forward = done.stdout.partition("Forward")
    assert "harvested from 2026-01, 6 days before" in back
    assert "new (generation 0), lot Y-1, in the brewery for 5 days" in back
    assert "→ 2026-03" in forward and "harvested 2026-02-01 09:00" in forward


def test_a_lot_that_went_into_the_fermenter_or_a_container_is_traced(tmp_path: Path) -> None:
    """A recall must find it wherever it was added; what was not done went nowhere."""
    hop = "what: goldings, to: {}, amount: {}, lot: {}"
    late = "{" + hop.format("fermenter", "20 g", "H-1") + ", at: 2026-01-14 10:00}"
    never = "{" + hop.format("fermenter", "not done because forgotten", "H-3") + "}"
    keg = "{" + hop.format("container", "5 g", "H-2") + "}"
    folder = house(
        tmp_path / "house",
        {
            "2026-01": "{brew_day: {date: 2026-01-10}, "
            f"fermentation: {{added: [{late}, {never}]}}, "
            f"packaging: {{date: 2026-01-30, added: [{keg}]}}}}",
        },
    )
    record = loaded(folder).batches["2026-01"].record
    lots = {lot for _, lot, _ in weighed_lots(record)}
    assert lots == {"H-1", "H-2"}
