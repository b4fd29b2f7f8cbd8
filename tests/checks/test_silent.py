"""Slips that a person makes and no check of another kind sees, with their sound neighbours."""

from __future__ import annotations

import json
import shutil
import typing
from pathlib import Path
from typing import Any

import pytest
import yaml
from checked import findings_with
from houses import laid_over

from reportgen.assessment.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.loading import load_archive
from reportgen.record.describe import FILES, hints
from reportgen.record.fields import Entry
from reportgen.record.finding import Finding, Severity
from reportgen.record.kinds import read_quantity
from reportgen.record.values import Initials, Reading

DEMO = Path(__file__).parents[2] / "batches"
CASES = yaml.load(
    (Path(__file__).parent / "silent.yaml").read_text(encoding="utf-8"), yaml.BaseLoader
)
LOOKED_AT = {rule for case in CASES["cases"] for rule in case["rules"]}
OTHERS = {
    "2026-02": {"name": "Earlier", "brew_day": {"date": "2026-02-01"}},
    "2026-03": {"name": "Later", "brew_day": {"date": "2026-04-20"}},
}


def said(patches: dict[str, dict[str, Any]], folder: Path) -> dict[str, list[Finding]]:
    """Return what is said of the example, brewed, with each of the patches as a batch of its own.

    All are in one archive, so that its files are read once.
    """
    batches = {
        batch: json.loads(
            json.dumps(laid_over({"brew_day": CASES["day"]}, patch)).replace("ITSELF", batch)
        )
        for batch, patch in patches.items()
    }
    found = findings_with(yaml.safe_dump({"others": {**OTHERS, **batches}}), folder)
    return {b: [f for f in found if f.position.file == f"2026/{b}.yaml"] for b in batches}


def test_a_slip_is_told_and_its_neighbour_is_not(tmp_path: Path) -> None:
    cases = {f"case-{number}": case for number, case in enumerate(CASES["cases"])}
    found = said({batch: case["patch"] for batch, case in cases.items()}, tmp_path / "a")
    wrong = []
    for batch, case in cases.items():
        rules = {f.rule for f in found[batch] if f.rule in LOOKED_AT}
        remedies = {f.remedy for f in found[batch]}
        if rules != {*case["rules"]} or not {case.get("remedy")} <= {None, *remedies}:
            wrong.append(f"{case['patch']}: {sorted(rules)}, {remedies}")
    assert not wrong, "\n".join(wrong)
    assert len(cases) > 60 and {*LOOKED_AT} <= {*names()}


def test_one_triangle_test_is_the_same_in_both_records(tmp_path: Path) -> None:
    """Where both have it; of another day, or in one record alone, there is nothing to hold."""
    def tasted(against: str, correct: int, day: str = "2026-04-10") -> dict[str, Any]:
        test = {"against": against, "assessors": 12, "correct_responses": correct}
        return {"tasting": [{"date": day, "triangle": test}]}

    found = said({
        "t-1": tasted("t-2", 8), "t-2": tasted("t-1", 7),
        "t-3": tasted("t-4", 8), "t-4": tasted("t-3", 7, "2026-04-17"),
        "t-5": tasted("t-6", 8), "t-6": {},
    }, tmp_path / "a")  # fmt: skip
    rules = {b: [f.message for f in found[b] if f.rule == "triangle-impossible"] for b in found}
    assert rules.pop("t-2") == ["7 right of 12, and 8 of 12 in the record of t-1"]
    assert not any(rules.values())


def test_the_other_batch_of_a_triangle_is_read_with_a_record(tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path / "a")
    path = tmp_path / "a" / "2025" / "2025-01.yaml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("against: 2025-02", "against: 2026-12"), "utf-8")
    archive = load_archive(tmp_path / "a", only=["2025/2025-01.yaml"])
    batch = assess(archive, archive.batches["2025-01"])
    assert batch is not None
    assert [f.rule for f in run_checks(batch)] == ["triangle-impossible"]


def test_a_deviation_on_hold_is_told_once(tmp_path: Path) -> None:
    """Not for its figures as well, though these are open while it is."""
    found = said({"held": {
        "brew_day": {"date": "2026-03-14", "pitch": {"original_gravity": "1.060"}},
        "review": {"disposition": "release", "deviations": [{
            "figures": ["original_gravity"], "what": "strong", "cause": "short",
            "correction": "none", "disposition": "hold",
        }]},
    }}, tmp_path / "a")["held"]  # fmt: skip
    assert [f.message for f in found if f.rule == "released-with-open-deviation"] == [
        "released, while the deviation `original_gravity` says hold"
    ]


def test_half_a_signature_is_a_note(tmp_path: Path) -> None:
    """By whom without when, or the other way round; neither is left to the paper."""
    cause = {"figure": "kettle_volume", "what": "short", "cause": "thick mash"}
    found = said({
        "by": {"review": {"deviations": [{**cause, "closed_by": "RB"}]}},
        "on": {"review": {"deviations": [{**cause, "closed_on": "2026-04-11"}]}},
        "decided": {"review": {"disposition": "release", "decided_on": "2026-04-11"}},
        "nothing": {"review": {"decided_by": "RB", "decided_on": "2026-04-11"}},
        "paper": {"review": {"disposition": "release", "deviations": [cause]}},
    }, tmp_path / "a")  # fmt: skip
    lacking = {b: [(f.severity.value, f.expected) for f in found[b]
                   if f.rule == "deviation-not-closed"] for b in found}
    assert lacking == {
        "by": [("note", "`closed_on`")], "on": [("note", "`closed_by`")],
        "decided": [("note", "`decided_by`")], "nothing": [("note", "`disposition`")], "paper": [],
    }  # fmt: skip


def test_much_cleaner_left_is_critical(tmp_path: Path) -> None:
    patches = {f"ph-{ph}": {"brew_day": {"rinse_ph": ph}} for ph in ("12", "2", "10", "4.5")}
    found = said(patches, tmp_path / "a")
    weights = {
        batch: f.severity.value for batch in found for f in found[batch]
        if f.rule == "rinse-not-neutral"
    }  # fmt: skip
    assert weights == {"ph-12": "critical", "ph-2": "critical", "ph-10": "major", "ph-4.5": "major"}


def test_finings_in_kilograms_weigh_more_than_too_few(tmp_path: Path) -> None:
    patches = {
        f"dose-{n}": {"plan": {"boil": {"finings": [{"fining": "carrageenan", "amount": amount}]}}}
        for n, amount in enumerate(("3 kg", "4 mg"))
    }
    found = said(patches, tmp_path / "a")
    weights = [f.severity for b in found for f in found[b] if f.rule == "unusual-value"]
    assert weights == [Severity.MAJOR, Severity.MINOR]


def test_yeast_pitched_in_the_morning_of_its_harvest(tmp_path: Path) -> None:
    """On one day the clock decides: the example is pitched at 13:50."""
    patches: dict[str, Any] = {}
    for hour in ("10", "16"):
        patches[f"parent-{hour}"] = {"brew_day": {"date": "2026-02-01"},
                                     "fermentation": {"harvest": {"at": f"2026-03-14 {hour}:00"}}}
        patches[f"child-{hour}"] = {"plan": {"pitch": {"harvested_from": f"parent-{hour}"}}}
    found = said(patches, tmp_path / "a")
    early = {batch for batch in found if "yeast-age" in [f.rule for f in found[batch]]}
    assert early == {"child-16"}


def entries() -> dict[type[Entry], str]:
    """Return every class of the model."""
    found: dict[type[Entry], str] = {}
    pending: list[Any] = list(FILES.values())
    while pending:
        one = pending.pop()
        pending += typing.get_args(one)
        if isinstance(one, type) and issubclass(one, Entry) and one not in found:
            found[one] = one.__name__
            pending += hints(one).values()
    return found


FIELDS = [
    (cls, name, field.about, hints(cls)[name])
    for cls in entries()
    for name, field in cls.fields.items()
]


NO_PERSON = ("people", "reads_high_by", "found_high_by", "reached_by", "heated_by",
             "dechlorinated_by")


def test_a_field_described_as_initials_is_of_that_type() -> None:
    wrong = [
        f"{cls.__name__}.{name}"
        for cls, name, said_of, hint in FIELDS
        if (said_of.description.startswith("Initials") or name.endswith("_by"))
        and Initials not in (hint, *typing.get_args(hint))
        and name not in NO_PERSON
    ]
    assert wrong == []
    assert {n for n, h in typing.get_type_hints(Reading).items() if Initials in typing.get_args(h)
            } == {"by", "amended_by"}


def test_every_usual_range_can_be_read_and_has_its_own_examples_in_it() -> None:
    ranges = [(c, n, a) for c, n, a, _ in FIELDS if a.usual is not None]
    assert len(ranges) > 80
    for cls, name, said_of in ranges:
        assert said_of.usual is not None
        low, high = (read_quantity(text, said_of.kind).value for text in said_of.usual)
        assert low < high, name
        for example in said_of.examples:
            one = read_quantity(example, said_of.kind)
            if one.unit not in ("P", "Bx"):
                assert low <= one.value <= high, (cls.__name__, name, example)
        if said_of.bounds is not None:
            # What is asked about lies within what can be at all, and is not the same.
            least, most = said_of.bounds
            assert least <= low and high <= most, (cls.__name__, name)
            assert (least, most) != (low, high), (cls.__name__, name)


NOBODY: list[dict[str, Any]] = [
    {"plan": {"written_by": "ZZ"}},
    {"brew_day": {"typed_by": "ZZ"}},
    {"brew_day": {"weighed": [{"item": "pale", "amount": "7.0 kg", "checked_by": "ZZ"}]}},
    {"brew_day": {"mash": {"mash_temperature": {"read": "66 C", "by": "ZZ"}}}},
    {"fermentation": {"log": [{"at": "2026-03-16 18:00", "temperature": "19 C", "by": "ZZ"}]}},
    {"fermentation": {"final_gravity": {"read": "1.010", "was": "1.100", "amended_by": "ZZ"}}},
    {"packaging": {"date": "2026-03-24", "packaged_by": "ZZ"}},
    {"tasting": [{"date": "2026-04-10", "assessors": ["AA", "ZZ"]}]},
    {"review": {"decided_by": "ZZ"}},
    {"review": {"decided_by": "AA and ZZ"}},
]


def test_initials_of_nobody_are_told_in_every_field(tmp_path: Path) -> None:
    found = said({f"case-{n}": patch for n, patch in enumerate(NOBODY)}, tmp_path / "a")
    messages = {b: [f.message for f in found[b] if f.rule == "initials-unknown"] for b in found}
    assert messages == dict.fromkeys(found, ["`ZZ` is not listed under `people`"])


def test_initials_of_nobody_are_told_once_and_a_person_is_named_once(tmp_path: Path) -> None:
    day = {"brewers": ["ZZ", "AA"], "typed_by": "ZZ", "checked_by": "ZZ"}
    twice = {"brewers": ["AA", "BB", "AA"]}
    found = said({"a": {"brew_day": day}, "b": {"brew_day": twice}}, tmp_path / "a")
    (told,) = (f for f in found["a"] if f.rule == "initials-unknown")
    assert told.message.endswith("here and 2 times more")
    (named,) = (f for f in found["b"] if f.rule == "written-twice")
    assert named.message == "AA is named twice in one list"


def test_initials_of_nobody_in_the_store(tmp_path: Path) -> None:
    entry = {"on": "2026-02-01", "lost": "1 kg", "because": "mice", "by": "ZZ"}
    lot = {"amount": "25 kg", "entries": [entry]}
    patch = {"stock": {"malts": {"pale": {"lots": {"M-1": lot}}}}}
    found = findings_with(yaml.safe_dump(patch), tmp_path / "a")
    assert [(f.rule, f.position.file) for f in found if "`ZZ`" in f.message] == [
        ("initials-unknown", "stock.yaml")
    ]


def test_what_is_weighed_in_another_unit_is_major_and_what_is_meant_is_said_afterwards_too(
    tmp_path: Path,
) -> None:
    """The remedy of a check whose stage is over gives way to what was meant, as before."""
    patches: dict[str, Any] = {
        "weighed": {"brew_day": {"weighed": [{"item": "carrageenan", "amount": "3 kg"}]}},
        "brix": {"fermentation": {"final_gravity": "1.010 Bx"}},
        "mash": {"plan": {"mash": {"rests": [{"temperature": "40 C", "time": "60 min"}]}}},
    }
    found = said(patches, tmp_path / "a")
    (weighed,) = [f for f in found["weighed"] if f.rule == "weighed-differs"]
    assert weighed.severity == Severity.MAJOR
    (brix,) = [f for f in found["brix"] if f.rule == "not-corrected"]
    assert brix.remedy == "did you mean 1.010?"
    (mash,) = [f for f in found["mash"] if f.rule == "mash-temperature-unusual"]
    assert mash.remedy.startswith("next time"), "one temperature is one finding"


@pytest.mark.parametrize(("typed", "is_told"), [("k 07", True), ("K-07", False), ("K-7", False)])
def test_a_container_written_in_another_way_is_offered(
    typed: str, is_told: bool, tmp_path: Path
) -> None:
    def packed(number: str) -> dict[str, Any]:
        return {"brew_day": {"date": "2026-03-14"},
                "packaging": {"date": "2026-03-24", "filled": [{"number": number}]}}  # fmt: skip

    patch = {**packed("K-07"), "others": {"2026-02": packed("K-07"), "2026-03": packed(typed)}}
    found = findings_with(yaml.safe_dump(patch), tmp_path / "a")
    offered = [f.position.file for f in found if f.remedy == "did you mean `K-07`?"]
    assert offered == ["2026/2026-03.yaml"] * is_told


def test_an_example_in_a_mend_is_in_units_of_the_house(tmp_path: Path) -> None:
    patch = {"brew_day": {"date": "2026-03-14", "boil": {"cast_out_volume": "11 US gal"}}}
    found = findings_with(yaml.safe_dump(patch), tmp_path / "a", "US")
    (said,) = [f for f in found if f.rule == "hot-volume-without-temperature"]
    assert "{read: 11.54 US gal, sample: 208 F}" in said.remedy


def test_malt_extract_put_into_kegs_is_sugar_too(tmp_path: Path) -> None:
    """It has no fermentability of its own: it ferments as wort does."""
    added = [{"what": "dry_malt", "amount": "2 kg", "to": "container"}]
    patch = {"stock": {"sugars": {"dry_malt": {"extract": "95 %"}}},
             "brew_day": {"date": "2026-03-14"},
             "packaging": {"date": "2026-03-24", "added": added}}
    found = findings_with(yaml.safe_dump(patch), tmp_path / "a")
    (said,) = [f for f in found if f.rule == "too-much-priming-sugar"]
    assert " bar in the keg" in said.message


def test_all_days_of_a_record_a_year_early_are_told_by_its_number(tmp_path: Path) -> None:
    """As in January, when the last year's number is in the fingers; a brew in its December is not.
    """
    patches = {f"2026-{n:02d}": {"brew_day": {"date": day}} for n, day in enumerate(
        ("2025-01-17", "2025-12-20", "2027-01-20", "2027-05-01", "2024-05-01"), 11
    )}  # fmt: skip
    found = said(patches, tmp_path / "a")
    told = [b for b in found if "dates-out-of-order" in [f.rule for f in found[b]]]
    assert told == ["2026-11", "2026-14"]


def test_a_log_of_a_sour_beer_is_one_finding_or_none(tmp_path: Path) -> None:
    log = [{"at": f"2026-{month}-16 18:00", "ph": "3.4"} for month in ("04", "05", "06")]
    sour = {"fermentation": {"log": log}}
    found = said({"clean": sour}, tmp_path / "a")
    messages = [f.message for f in found["clean"] if f.rule == "beer-ph-odd"]
    assert len(messages) == 1 and "2 more entries" in messages[0]
    patch = {**sour, "stock": {"yeasts": {"ale": {"sours": "yes"}}},
             "brew_day": {"date": "2026-03-14"}}
    soured = findings_with(yaml.safe_dump(patch), tmp_path / "b")
    assert "beer-ph-odd" not in {f.rule for f in soured}


def test_two_people_and_a_name_written_out_are_somebody(tmp_path: Path) -> None:
    written = ("AA, BB", "AA and BB", "AA/BB", "First Brewer", "F. Stranger")
    patches = {f"case-{n}": {"review": {"decided_by": by}} for n, by in enumerate(written)}
    found = said(patches, tmp_path / "a")
    messages = [f.message for b in found for f in found[b] if f.rule == "initials-unknown"]
    assert messages == ["`F. Stranger` is not listed under `people`"]


def test_a_malt_weighed_for_another_is_on_the_label_too(tmp_path: Path) -> None:
    weighed = [{"item": "wheat", "amount": "7.0 kg"}]
    wheat = {"malt_class": "wheat", "extract": "80 %", "colour": "4 EBC", "allergens": ["wheat"]}
    patch = {"stock": {"malts": {"wheat": wheat}}, "brew_day": {"date": "2026-03-14",
             "weighed": weighed}, "packaging": {"date": "2026-03-24", "label": "Ale with barley"}}
    found = findings_with(yaml.safe_dump(patch), tmp_path / "a")
    assert "the label does not name wheat" in [f.message for f in found]


@pytest.mark.parametrize(
    ("patch", "place"),
    [
        ({"stock": {"malts": {"crystal": {"extract": "7.2 %"}}}}, "stock.yaml"),
        ({"stock": {"malts": {"pale": {"lots": {"M-1": {"extract": "92 %"}}}}}}, "stock.yaml"),
        ({"stock": {"hops": {"spare": {"alpha": "52 %"}}}}, "stock.yaml"),
        ({"stock": {"hops": {"goldings": {"lots": {"H-1": {"alpha": ".52 %"}}}}}}, "stock.yaml"),
        ({"stock": {"hops": {"goldings": {"alpha": ".5 %", "lots": {"H-2": {"alpha": "4.8 %"}}}}}},
         "stock.yaml"),
        ({"stock": {"yeasts": {"ale": {"highest_temperature": "48 C"}}}}, "stock.yaml"),
        ({"stock": {"malts": {"pale": {"colour": "550 EBC"}}}}, "stock.yaml"),
        ({"stock": {"malts": {"pale": {"lots": {"M-1": {"colour": "155 EBC"}}}}}}, "stock.yaml"),
        ({"stock": {"yeasts": {"ale": {"cells": {"slurry": "12 billion/mL"}}}}}, "stock.yaml"),
        ({"brewery": {"containers": {"keg": {"is": "keg", "volume": "19 mL"}}}}, "brewery.yaml"),
        ({"brewery": {"altitude": "9000 m"}}, "brewery.yaml"),
        ({"brewery": {"kits": {"main": {"conversion": "42 %"}}}}, "brewery.yaml"),
        ({"brewery": {"liquors": {"reservoir": {"ph": "2"}}}}, "brewery.yaml"),
    ],
    ids=lambda value: json.dumps(value)[:60],
)
def test_a_wrong_figure_of_the_house_is_named_once_where_it_is_written(
    patch: dict[str, Any], place: str, tmp_path: Path
) -> None:
    twice = {"others": {"2026-02": {"name": "Second"}}, **patch}
    found = [f for f in findings_with(yaml.safe_dump(twice), tmp_path / "a")
             if f.rule in ("unusual-value", "malt-figures-odd", "alpha-odd", "kit-figures-odd",
                           "yeast-cells-odd")]
    assert [f.position.file for f in found] == [place]


@pytest.mark.parametrize(
    ("alpha", "meant"), [(".52 %", "5.2 %"), ("52 %", "5.2 %"), ("1.5 %", None), ("12 %", None)]
)
def test_a_point_in_the_wrong_place_of_a_lots_alpha(
    alpha: str, meant: str | None, tmp_path: Path
) -> None:
    """A lot of another crop may hold twice or a third; ten times or a tenth is a slip."""
    patch = {"stock": {"hops": {"goldings": {"lots": {"H-1": {"alpha": alpha}}}}}}
    found = findings_with(yaml.safe_dump(patch), tmp_path / "a")
    remedies = [f.remedy for f in found if f.rule == "alpha-odd"]
    assert remedies == ([f"did you mean {meant}?"] if meant else [])


def test_a_wrong_figure_of_the_house_that_stops_every_forecast_is_told_alone(
    tmp_path: Path,
) -> None:
    patch = {"others": {f"2026-0{n}": {"name": "Another"} for n in range(2, 6)},
             "stock": {"hops": {"goldings": {"alpha": "72 %", "lots": ""}}}}
    found = {f for f in findings_with(yaml.safe_dump(patch), tmp_path / "a")
             if f.severity >= Severity.MINOR}
    assert [(f.rule, f.severity, f.position.file) for f in found] == [
        ("alpha-odd", Severity.MAJOR, "stock.yaml")
    ]
