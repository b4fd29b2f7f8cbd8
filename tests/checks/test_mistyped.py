"""A slip that contradicts other readings is one finding, with what is likely meant."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from reportgen.archive.checked import findings_in
from reportgen.checks.base import names
from reportgen.loading import load_archive
from reportgen.record.finding import Finding, Severity
from reportgen.record.listing import listing_of

DEMO = Path(__file__).parents[2] / "batches"
FILE = "2026/2026-01.yaml"
TEXT = (DEMO / FILE).read_text(encoding="utf-8")
LISTING = listing_of(DEMO)


@cache
def _found(*changes: tuple[str, str]) -> list[Finding]:
    text = TEXT
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    archive = load_archive(DEMO, names(), {FILE: text.encode()}, [FILE], LISTING)
    return [f for f in findings_in(archive, {FILE}) if f.severity is not Severity.NOTE]


@cache
def _told_of(*files: str) -> frozenset[str]:
    """What is told of some records of the demo as they are."""
    archive = load_archive(DEMO, names(), {}, files, LISTING)
    return frozenset(f.message for f in findings_in(archive))


SLIPS = [
    ("final_gravity: {read: 1.0145", "final_gravity: {read: 1.145", "1.0145"),
    ("final_gravity: {read: 1.0145", "final_gravity: {read: 1.0415", "1.0145"),
    ("final_gravity: {read: 1.0145", "final_gravity: {read: 1.1145", "1.0145"),
    ("original_gravity: {read: 1.0535", "original_gravity: {read: 1.0335", "1.0535"),
    ("original_gravity: {read: 1.0535", "original_gravity: {read: 1.0355", "1.0535"),
    ("kettle_gravity: {read: 1.046", "kettle_gravity: {read: 1.064", "1.046"),
    ("first_wort_gravity: {read: 1.069", "first_wort_gravity: {read: 1.0069", "1.069"),
    ("final_gravity: {read: 1.0145", "final_gravity: {read: 1.0485", "1.014"),
    ("final_gravity: {read: 1.0145", "final_gravity: {read: 0.999", "1.014"),
    ("sparge_liquor: 26 L", "sparge_liquor: 0 L", "26.1 L"),
    ("last_runnings_gravity: {read: 1.015", "last_runnings_gravity: {read: 1.105", "1.015"),
    ("sample: 25 C, instrument", "sample: 52 C, instrument", "25 C"),
    ("kettle_volume: {read: 47 L", "kettle_volume: {read: 4.7 L", "47 L"),
    ("cast_out_volume: {read: 42.5 L", "cast_out_volume: {read: 425 L", "42.5 L"),
    ("fermenter_volume: 39 L", "fermenter_volume: 93 L", "39 L"),
    ("packaged_volume: 37.5 L", "packaged_volume: 375 L", "37.5 L"),
    ("started: 09:25\n    mash_liquor: 29 L", "started: 09:25\n    mash_liquor: 2.9 L", "29 L"),
    ("item: pale, amount: 6.60 kg", "item: pale, amount: 0.660 kg", "6.60 kg"),
    ("temperature: 19.0 C, gravity: 1.014, by: JT", "temperature: 19.0 C, gravity: 1.14, by: JT",
     "1.014"),
    ("temperature: 19.0 C, gravity: 1.014, by: JT", "temperature: 19.0 C, gravity: 1.0014, by: JT",
     "1.014"),
    ("brew_day:\n  date: 2026-01-17", "brew_day:\n  date: 2025-01-17", "2026-01-17"),
    ("at: 2026-01-20 19:00", "at: 2025-01-20 19:00", "2026-01-20 19:00"),
    ("at: 2026-01-20 19:00", "at: 2026-01-30 19:00", "2026-01-20 19:00"),
    ("at: 2026-01-20 19:00", "at: 2026-01-10 19:00", "2026-01-20 19:00"),
    ("final_gravity: {read: 1.0145, sample: 18 C}", "final_gravity: 7.2 P", "7.2 Bx"),
    ("final_gravity: {read: 1.0145, sample: 18 C}", "final_gravity: 3.7 Bx", "3.7 P"),
    ("final_gravity: {read: 1.0145", "final_gravity: {read: 1.00145", "1.0145"),
    ("mash_temperature: {read: 67.3 C", "mash_temperature: {read: 153 C", "153 F"),
    ("boil:\n    started: 12:20", "boil:\n    started: 21:20", "12:20"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "meant"), SLIPS)
def test_one_slip_is_one_finding_with_the_text_to_type(old: str, new: str, meant: str) -> None:
    (slip,) = set(_found((old, new))) - set(_found())
    assert slip.rule == "mistyped" and f"did you mean {meant}?" in slip.remedy
    line = (TEXT[: TEXT.index(old)] + new).count("\n") + 1
    assert slip.position.line == line


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("    at: 14:30\n", "    at: 2026-01-24 14:30\n"),
        ("packaging:\n  date: 2026-01-28", "packaging:\n  date: 2026-01-18"),
    ],
)
def test_a_day_that_all_of_the_log_is_against_is_one_finding_there(old: str, new: str) -> None:
    (told,) = set(_found((old, new))) - set(_found())
    assert told.position.line == (TEXT[: TEXT.index(old)] + new.rstrip()).count("\n") + 1


def test_two_readings_in_each_others_place_are_one_finding() -> None:
    for one, other in (
        ("original_gravity: {read: 1.0535", "final_gravity: {read: 1.0145"),
        ("strike_temperature: {read: 77.1 C", "mash_temperature: {read: 67.3 C"),
    ):
        mine, its = one.rpartition(" ")[2], other.rpartition(" ")[2]
        if mine == "C":
            mine, its = "77.1 C", "67.3 C"
        changes = (one, one.replace(mine, its)), (other, other.replace(its, mine))
        (swapped,) = {f for f in _found(*changes) if f.rule == "mistyped"}
        assert {f"`{mine}`", f"`{its}`"} == {*swapped.message.split(" stand")[0].split(" and ")}
        assert {f.rule for f in _found(*changes)} - {f.rule for f in _found()} == {"mistyped"}


@pytest.mark.parametrize(
    "changes",
    [
        # A beer that stuck, as its log has it.
        [("final_gravity: {read: 1.0145", "final_gravity: {read: 1.0415"),
         ("{at: 2026-01-22 18:30, temperature: 19.5 C, gravity: 1.0145",
          "{at: 2026-01-22 18:30, temperature: 19.5 C, gravity: 1.0415"),
         ("gravity: 1.0155", "gravity: 1.0420"), ("gravity: 1.0245", "gravity: 1.0430"),
         ("19.0 C, gravity: 1.014,", "19.0 C, gravity: 1.0415,"),
         ("18.0 C\n      gravity: 1.014", "18.0 C\n      gravity: 1.0415")],
        # A little off, and a digit from what was expected.
        [("original_gravity: {read: 1.0535", "original_gravity: {read: 1.0553")],
        # A hot sample, read as it was.
        [("original_gravity: {read: 1.0535, sample: 19 C}",
          "original_gravity: {read: 1.040, sample: 65 C}")],
        # Wort that was pitched hot.
        [("pitch_temperature: 18.4 C", "pitch_temperature: 24.1 C")],
        # A pressure that can burst a vessel is told as such.
        [("pressure: {read: 0.72 bar", "pressure: {read: 7.2 bar")],
    ],
    ids=["stuck", "near", "hot sample", "hot", "pressure"],
)  # fmt: skip
def test_what_can_be_true_is_no_slip(changes: list[tuple[str, str]]) -> None:
    new = {f.rule for f in set(_found(*changes)) - set(_found())}
    assert new and "mistyped" not in new


def test_silenced_each_contradiction_speaks_for_itself() -> None:
    silence = "review:\n  silenced: [{check: mistyped, because: read twice}]\n  disposition"
    found = _found(
        ("final_gravity: {read: 1.0145", "final_gravity: {read: 1.145"),
        ("review:\n  disposition", silence),
    )
    rules = {f.rule for f in found}
    assert "final-above-original" in rules and "mistyped" not in rules


def test_a_gravity_five_points_off_that_the_cast_out_is_against_is_one_finding() -> None:
    wrong = ("original_gravity: {read: 1.0535", "original_gravity: {read: 1.0585")
    (found,) = set(_found(wrong)) - set(_found())
    assert found.rule == "mistyped"


def test_a_slip_that_another_one_hides_is_found_once_that_is_taken_back() -> None:
    found = _found(
        ("cast_out_gravity: {read: 1.0525", "cast_out_gravity: {read: 1.0255"),
        ("original_gravity: {read: 1.0535", "original_gravity: {read: 1.0355"),
    )
    remedies = {f.remedy.partition("?")[0] for f in set(found) - set(_found())}
    assert remedies == {"did you mean 1.0525", "did you mean 1.0535"}


def test_a_final_gravity_that_cannot_be_used_is_one_finding() -> None:
    (hot,) = set(_found(("final_gravity: {read: 1.0145, sample: 18 C}",
                         "final_gravity: {read: 0.994, sample: 70 C}"))) - set(_found())
    assert hot.rule == "no-final-gravity" and "sample temperature" in hot.message
    assert TEXT.splitlines()[hot.position.line - 1].startswith("  final_gravity")


def test_a_frozen_sample_is_not_to_be_cooled() -> None:
    (cold,) = set(_found(("cast_out_gravity: {read: 1.0525, sample: 23 C}",
                          "cast_out_gravity: {read: 1.0525, sample: -3 C}"))) - set(_found())
    assert cold.remedy == "check the number and its unit"


@pytest.mark.parametrize("typed", ["e9748f8b", "e9784f8a", "e974f8aa"])
def test_a_hash_that_is_nearly_the_plan_s_is_a_slip(typed: str) -> None:
    (slip,) = set(_found(("plan: e9748f8a", f"plan: {typed}"))) - set(_found())
    assert slip.remedy.startswith("did you mean `e9748f8a`?") and slip.expected == "e9748f8a"


@pytest.mark.parametrize(
    ("old", "new"),
    [("final_gravity: {read: 1.0145", "final_gravity: {read: 1.O145"),
     ("{read: 1.0525, sample: 23 C}", "{read: 1.0525, sample: 23}"),
     ("sample: 64 C", "sample: 6400 C"), ("sample: 20 C\n      at: 09:45", "sample: 2000 C")],
)  # fmt: skip
def test_what_cannot_be_read_is_not_missed_as_well(old: str, new: str) -> None:
    archive = load_archive(DEMO, names(), {FILE: TEXT.replace(old, new).encode()}, [FILE])
    new = {f.rule for f in findings_in(archive, {FILE})} - {f.rule for f in _found()}
    assert new == {"quantity"}


@pytest.mark.parametrize(
    ("old", "new", "meant"),
    [("{malt: pale, amount: 6.60 kg", "{malt: pale, amount: 66.0 kg", "6.60 kg"),
     ("hop: northern_brewer, amount: 50 g", "hop: northern_brewer, amount: 50 kg", "50 g"),
     # A nought or the point: of what may be meant, that counts which explains most.
     ("mash_liquor: 29 L\n    acids", "mash_liquor: 2.9 L\n    acids", "29 L")],
)  # fmt: skip
def test_an_amount_of_the_plan_that_no_batch_could_use_is_one_finding(
    old: str, new: str, meant: str
) -> None:
    more = [f for f in set(_found((old, new))) - set(_found()) if "plan-changed" not in f.rule]
    assert [(f.rule, f.remedy) for f in more] == [("unusual-value", f"did you mean {meant}?")]


@pytest.mark.parametrize(
    ("old", "new", "remedy"),
    [("resolution: 0.1 K\n    uncertainty: 0.4 K", "resolution: 0.1 K\n    uncertainty: 0.4 L",
      "write 0.4 K, if that is meant"),
     ("resolution: 0.0005\n    uncertainty: 0.0005", "resolution: 0.0005\n    uncertainty: 0.5 L",
      "write a gravity difference"),
     ("      loss: 2 L", "      loss: 2 kg", None), ("      loss: 2 L", "      losss: 2 L", None),
     ("bicarbonate: 37 mg/L", "bicarbonate: 37", None),
     ("    extract: 78.5 %\n", "    extract: 81.5 %\n    extract_basis: dry\n", None)],
)  # fmt: skip
def test_what_cannot_be_read_of_the_house_is_not_judged_by_what_is_left_of_it(
    old: str, new: str, remedy: str | None
) -> None:
    (given,) = (
        {name: text.replace(old, new).encode()} for name in ("brewery.yaml", "stock.yaml")
        if (text := (DEMO / name).read_text(encoding="utf-8")).count(old) == 1
    )
    some = (FILE, "2026/2026-05.yaml", "2026/2026-08.yaml")
    archive = load_archive(DEMO, names(), given, some, LISTING)
    (found,) = (f for f in findings_in(archive) if f.message not in _told_of(*some))
    assert found.severity is Severity.ERROR and remedy in (None, found.remedy)


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [("    calcium: 14 mg/L", "    calcium: 140 mg/L", "analysis-unbalanced"),
     ("    bicarbonate: 37 mg/L", "    bicarbonate: 370 mg/L", "analysis-unbalanced"),
     ("    ph: 7.6", "    ph: 4.6", "unusual-value"),
     ("    kettle:\n      volume: 64 L", "    kettle:\n      volume: 6.4 L", "kit-figures-odd"),
     ("        extract: 79.0 %", "        extract: 7.90 %", "malt-figures-odd"),
     ("        colour: 5.2 EBC", "        colour: 52 EBC", "malt-figures-odd"),
     ("    colour: 145 EBC", "    colour: 1450 EBC", "malt-figures-odd"),
     ("        alpha: 4.7 %", "        alpha: 47 %", "alpha-odd"),
     ("    apparent_attenuation: 77 %", "    apparent_attenuation: 7.7 %", "unusual-value"),
     ("slurry: 1.2 billion/mL", "slurry: 12 billion/mL", "yeast-cells-odd")],
)  # fmt: skip
def test_a_slip_in_a_figure_of_the_house_is_one_finding_for_all_batches(
    old: str, new: str, rule: str
) -> None:
    given = {
        name: text.replace(old, new, 1).encode() for name in ("brewery.yaml", "stock.yaml")
        if old in (text := (DEMO / name).read_text(encoding="utf-8"))
    }
    some = ("2025/2025-01.yaml", "2026/2026-03.yaml", "2026/2026-06.yaml")
    before = _told_of(*some)
    archive = load_archive(DEMO, names(), given, some, LISTING)
    (found,) = (f for f in findings_in(archive) if f.message not in before)
    assert found.rule == rule and [found.position.file] == list(given)
    # Whoever asks about one record is told as well.
    told = findings_in(archive, {some[0]})
    assert rule in {f.rule for f in told} or all(f.message in before for f in told)
