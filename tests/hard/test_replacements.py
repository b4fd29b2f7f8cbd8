"""Values of the demo records replaced at random: every figure, check and document goes on.

Some sixty replacements run with the suite; ``REPORTGEN_FUZZ=20000`` runs that many. A fault of the
tool in one check would be a finding of its own, so that is looked for as well.
"""

from __future__ import annotations

import os
import random
import re
import traceback
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import pytest

from reportgen.archive.checked import findings_in
from reportgen.archive.issued import with_issued_plan
from reportgen.archive.published import finding_line
from reportgen.archive.summary import as_json, summary_of
from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import names
from reportgen.history.difference import difference_of
from reportgen.loading import load_archive
from reportgen.record.failure import RULE
from reportgen.record.finding import Finding, render_text
from reportgen.record.listing import listing_of
from reportgen.report.documents import ALL, HTML
from reportgen.report.figure_rows import row_in_base_units

DEMO = Path(__file__).parents[2] / "batches"
HOUSE = ("brewery.yaml", "stock.yaml")
RECORDS = [p.relative_to(DEMO).as_posix() for p in sorted(DEMO.glob("20*/*.yaml"))]
TEXTS = {name: (DEMO / name).read_text("utf-8") for name in (*RECORDS, *HOUSE)}
RUNS = int(os.environ.get("REPORTGEN_FUZZ", "60"))
OF_HOUSE = 0.15
"""Share of the replacements that are made in the files of the house."""

UNITS = (
    "kg g lb oz L mL gal C F K min h d SG P Bx bar psi kPa % vol mg/L EBC IBU L/h kJ/K L/kg kW m"
)
NUMBERS = (
    "0 -1 1 0.5 2 7 13 47500 2700 90 1.010 1.050 1.2 0.95 1.13 100 300 1e3 0.001 99999 -20 1e-9 "
    "1e8 3.5 15 35 60"
)
FACTORS = (10, 100, 1000, 0.1, 0.01, -1, 2, 0.5)
WORDS = (
    "NOT RECORDED", "not done because rain", "NaN", "1e400", "0", "", "2026-01-17", "1999-12-31",
    "2026-01-18 10:00", "24:00", "00:01", "glass_thermometer", "hydrometer_fine", "keg_gauge",
    "dipstick", "pale", "house_ale_b", "phosphoric_10", "carrageenan", "true", "null",
    "{read: 47500 L}", "{read: 1.010 Bx}", "{read: 1.050, sample: 95 C}", "[]", "{}",
    "{read: 20 Bx, sample: 20 C}", "{read: 5.2, sample: 80 C}",
)  # fmt: skip

_VALUE = re.compile(r"(?<=: )[^,{}\[\]#\n|>]+")
_NUMBER = re.compile(r"(-?\d*\.?\d+) ?(\D.*)?$")

SLIPS = {
    "a gravity in Brix": ("{read: 1.0145, sample: 18 C}", "1.010 Bx"),
    "bar for psi": ("{read: 0.72 bar", "{read: 13 bar"),
    "hot malt": ("malt_temperature: 9 C", "malt_temperature: 90 C"),
    "hot malt, read": ("malt_temperature: 8.2 C", "malt_temperature: 90 C"),
    "a hundred times the liquor": ("mash_liquor: 29 L", "mash_liquor: 2700 L"),
    "so much liquor, read": ("mash_liquor: 29 L", "mash_liquor: 2700 L"),
    "another instrument": ("hydrometer: hydrometer_fine", "hydrometer: glass_thermometer"),
    "a kettle in mL": ("{read: 47 L, sample: 64 C}", "{read: 47500 L}"),
    "a sparge in ten thousand parts": ("sparge_batches: 2\n", "sparge_batches: 10000\n"),
    "a beer in Brix, in the log": ("gravity: 1.0145, ph", "gravity: 0.9 Bx, ph"),
}


def replaced(chance: random.Random, text: str) -> str:
    """Return a text with one to three of its values replaced."""
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        spots = list(_VALUE.finditer(text))
        spot = chance.choice(spots)
        new = _another(chance, spot[0].strip(), [s[0] for s in spots])
        text = text[: spot.start()] + new + text[spot.end() :]
    return text


def _another(chance: random.Random, old: str, others: list[str]) -> str:
    number = _NUMBER.match(old)
    if number and chance.random() < 0.65:
        value, unit = number[1], number[2] or ""
        other, measure = chance.choice(NUMBERS.split()), chance.choice(UNITS.split())
        return chance.choice((
            f"{other} {unit}", f"{other} {measure}", f"{value} {measure}", value,
            f"{float(value) * chance.choice(FACTORS):.6g} {unit}",
        )).strip()  # fmt: skip
    return chance.choice(others) if chance.random() < 0.6 else chance.choice(WORDS)


def judged(name: str, given: dict[str, str]) -> tuple[Assessment | None, list[Finding]]:
    """Check one record with some files replaced, and go through its figures."""
    data = {file: text.encode() for file, text in given.items()}
    archive = load_archive(DEMO, names(), data, [name], LISTING)
    said = findings_in(archive)
    for finding in said:
        assert finding.rule != RULE, finding.message
        source = archive.sources.get(finding.position.file)
        if source is not None and source.lines:
            assert 1 <= finding.position.line <= len(source.lines), finding
        render_text(finding), finding_line(finding)
    batch = next((b for b in archive.batches.values() if b.file == name), None)
    found = None if batch is None else assess(archive, batch)
    if found is None:
        assert any(f.severity.value == "error" for f in archive.findings), "lost in silence"
        return None, said
    for result in found.results:
        row_in_base_units(found, result)
    return found, said


def documented(batch: Assessment, said: list[Finding]) -> None:
    """Set every document of a batch for a screen, and compare it with another."""
    for document in ALL:
        if document.applies(batch):
            document.make(batch, "A4", 1, HTML)
    as_json(summary_of(with_issued_plan(batch), tuple(said)))
    other = another()
    difference_of(batch, other), difference_of(other, batch)


LISTING = listing_of(DEMO)


@lru_cache(maxsize=1)
def another() -> Assessment:
    found, _ = judged(RECORDS[0], {})
    assert found is not None
    return found


def _go(seed: str, runs: int, then: Callable[[Assessment, list[Finding]], None]) -> int:
    """Go through so many replacements; every failure is told, not the first one alone."""
    chance = random.Random(seed)
    assessed, failures = 0, []
    for _ in range(runs):
        name = chance.choice(RECORDS)
        file = chance.choice(HOUSE) if chance.random() < OF_HOUSE else name
        given = {file: replaced(chance, TEXTS[file])}
        try:
            found, said = judged(name, given)
            if found is not None:
                then(found, said)
                assessed += 1
        except Exception:
            pairs = zip(TEXTS[file].split("\n"), given[file].split("\n"), strict=False)
            changed = [f"{old.strip()} -> {new.strip()}" for old, new in pairs if old != new]
            failures.append(f"{name}, {file}: {changed}\n{traceback.format_exc(limit=-4)}")
    assert not failures, "\n".join(failures[:20])
    return assessed


@pytest.mark.parametrize("part", range(2))
def test_check_and_figures_go_on(part: int) -> None:
    assert _go(f"figures {part}", RUNS // 2, lambda batch, said: None) > RUNS // 4


def test_sheets_and_record_go_on() -> None:
    assert _go("documents", max(6, RUNS // 20), documented) > 2


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_is_a_finding_where_it_was_made(slip: str) -> None:
    """A number that no formula takes is told at its place, and the rest of the batch is computed.

    The instrument of another kind stands where it is named, not where it was read with.
    """
    name = "2026/2026-01.yaml"
    old, new = SLIPS[slip]
    text = TEXTS[name].replace(old, new, 1)
    assert text != TEXTS[name]
    line = next(n for n, t in enumerate(text.split("\n"), 1) if new.split("\n")[0] in t)
    found, told = judged(name, {name: text})
    assert found is not None
    documented(found, told)
    said = [f for f in told if f.position.file == name]
    if slip != "another instrument":
        places = {f.position.line for f in said if f.rule != "plan-changed-since-issued"}
        assert line in places, [(f.position.line, f.message) for f in said]
    kept = {"alcohol", "apparent_attenuation"} if "Brix" not in slip else {"mash_efficiency"}
    for key in kept:
        actual = found.actuals.get(key)
        assert actual is not None and actual.value is not None, key
