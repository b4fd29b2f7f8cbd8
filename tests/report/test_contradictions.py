"""No page says two things: what a sheet says to expect lies in what the same sheet calls fine.

Over every batch of the demo, and over random plans: a few with the suite, ``REPORTGEN_PLANS=300``
for that many.
"""

from __future__ import annotations

import copy
import os
import random
import re
import shutil
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import run_checks
from reportgen.loading import load_archive
from reportgen.record.printed import BLANK
from reportgen.report.cellar import NEAR, CellarView, cellar_sheet
from reportgen.report.packaging import PackagingView, packaging_sheet
from reportgen.report.parts import ReadingRow
from reportgen.report.sheet import brew_day_sheet
from reportgen.report.weigh_out import weigh_out_sheet

DEMO = Path(__file__).parents[2] / "batches"
PLANS = int(os.environ.get("REPORTGEN_PLANS", "12"))
SEED = 20260314
SYSTEMS = ("metric", "US", "imperial")
IN_ALL = 16
"""Batches of the demo that the random plans start from, one after another."""

_NUMBER = re.compile(r"[−-]?\d+(?:\.\d+)?")


def numbers(text: str) -> list[float]:
    """Return the numbers of a printed text, in order."""
    return [float(n.replace("−", "-")) for n in _NUMBER.findall(text)]


def edges(ok: str) -> tuple[float, float]:
    """Return the edges of a printed range: ``5.37–5.56``, ``1.0086 or more``, ``0.4 or less``."""
    found = numbers(ok)
    if ok.endswith("or more"):
        return found[0], float("inf")
    if ok.endswith("or less"):
        return float("-inf"), found[0]
    low, high = found
    return low, high


def rows_of_all(batch: Assessment) -> Iterator[tuple[str, ReadingRow]]:
    for step in brew_day_sheet(batch, "A4").steps:
        for row in step.rows:
            yield "brew-day", row
    for row in cellar_sheet(batch, "A4").rows:
        yield "cellar", row
    packaging = packaging_sheet(batch, "A4")
    for row in (*packaging.gate_rows, *packaging.sides[0].rows):
        yield "packaging", row


def out_of_reach(batch: Assessment) -> set[str]:
    """Return the titles of figures whose critical limit the forecast itself does not keep.

    Such a plan is wrong, and a check says so before the day: the sheet shows it as it is.
    """
    found = run_checks(batch)
    return {f.message.partition(":")[0] for f in found if f.rule == "critical-limit-out-of-reach"}


def check_aims(batch: Assessment) -> int:
    """Each number to expect, or to stop at, lies in the OK range beside it."""
    said = None
    found = 0
    for sheet, row in rows_of_all(batch):
        if not row.ok or row.expect == BLANK:
            continue
        found += 1
        assert row.ok != "none", (batch.batch.id, sheet, row)
        low, high = edges(row.ok)
        aim = numbers(row.expect)[0]
        if not low <= aim <= high:
            said = out_of_reach(batch) if said is None else said
            title = next(r.figure.title for r in batch.results if r.figure.key == row.key)
            assert title in said, (batch.batch.id, sheet, row)
    return found


def check_one_end(batch: Assessment) -> None:
    """One final gravity on all sheets, and one range for it."""
    packaging: PackagingView = packaging_sheet(batch, "A4")
    cellar: CellarView = cellar_sheet(batch, "A4")
    row = next((r for r in cellar.rows if r.key == "final_gravity"), None)
    if row is None or row.expect == BLANK:
        return
    assert {r.expect for r in packaging.gate_rows} == {row.expect}
    aim = next(a.value for a in weigh_out_sheet(batch, "A4").aims if a.label == "Final gravity")
    # The aims of the weigh-out are true values: nothing is read on it.
    assert numbers(aim)[0] == pytest.approx(numbers(row.true or row.expect)[0], abs=0.00051)
    for fact in (*packaging.facts, *cellar.facts):
        assert not re.search(r"\b[01]\.\d{3}", fact.value), (batch.batch.id, fact)
    for day in cellar.days:
        if day.expect == BLANK:
            continue
        low, high = edges(day.band)
        assert low <= float(day.expect) <= high, (batch.batch.id, day)
        if row.ok and float(day.expect) <= float(row.expect) + NEAR - 0.0011:
            fine = edges(row.ok)
            assert low <= fine[0] and fine[1] <= high, (batch.batch.id, day, row.ok)


def check_slow(batch: Assessment) -> int:
    """The table of a slow fermentation begins where the band of that day ends."""
    cellar = cellar_sheet(batch, "A4")
    bands = {day.title.removeprefix("Day "): day.band for day in cellar.days}
    slow = next(t for t in cellar.todos if t.title == "Fermentation slow or stuck")
    found = 0
    for row in slow.rows:
        day = str(int(numbers(row[0].text)[0]) // 24)
        if bands.get(day):
            found += 1
            slow_above, band_ends = numbers(row[1].text)[0], edges(bands[day])[1]
            assert slow_above == band_ends, (batch.batch.id, day)
    return found


@lru_cache(maxsize=1)
def demo() -> tuple[Assessment, ...]:
    archive = load_archive(DEMO)
    found = (assess(archive, batch) for batch in archive.batches.values())
    return tuple(one for one in found if one is not None)


def test_what_the_demo_expects_lies_in_what_it_calls_fine() -> None:
    assert sum(check_aims(batch) for batch in demo()) > 300
    for batch in demo():
        check_one_end(batch)
        assert check_slow(batch) >= 3


def test_where_to_stop_is_one_number(tmp_path: Path) -> None:
    """The instruction names the line, and the line has one number."""
    for batch in demo():
        for step in brew_day_sheet(batch, "A4").steps:
            for row in step.rows:
                if row.expect_label == "Stop at":
                    assert row.ok == f"{row.expect} or more"
                    assert f"the value in line {row.number}," in " ".join(step.doing)


def _scaled(amount: str, by: float) -> str:
    number, unit = amount.split(" ", 1)
    # Pounds and ounces stay as they are: only the last number can have decimals.
    return amount if " " in unit else f"{float(number) * by:.4g} {unit}"


TOLERANCES = {
    "mash_temperature": ("K", 0.1, 3.0), "strike_temperature": ("K", 0.1, 3.0),
    "mash_ph": ("", 0.02, 0.4), "kettle_volume": ("L", 0.1, 4.0),
    "original_gravity": ("", 0.0003, 0.006), "final_gravity": ("", 0.0003, 0.006),
    "pitch_temperature": ("K", 0.2, 4.0), "cast_out_gravity": ("", 0.0003, 0.006),
    "packaged_volume": ("L", 0.1, 4.0),
}  # fmt: skip


def random_plan(start: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """Return a record that is a plan only, like the one given and yet unlike it."""
    record = copy.deepcopy({k: start[k] for k in ("format", "batch", "name", "plan")})
    plan = record["plan"]
    by = chance.uniform(0.6, 1.1)
    for item in (*plan["grist"], *plan["boil"].get("hops", ())):
        item["amount"] = _scaled(item["amount"], by * chance.uniform(0.8, 1.2))
    plan["liquor"]["mash_liquor"] = _scaled(plan["liquor"]["mash_liquor"], by)
    plan["fermenter_volume"] = _scaled(plan["fermenter_volume"], by)
    plan["mash"]["rests"][0]["temperature"] = f"{chance.uniform(62, 71):.1f} C"
    plan["mash"]["malt_temperature"] = f"{chance.uniform(2, 32):.1f} C"
    run_off = plan["run_off"]
    if run_off["sparge"] == "continuous":
        run_off["cut_off_gravity"] = f"{chance.uniform(1.003, 1.013):.4f}"
    plan["cool"]["pitch_temperature"] = f"{chance.uniform(8, 24):.1f} C"
    plan["packaging"]["carbonation"] = f"{chance.uniform(1.2, 3.0):.2f} vol"
    plan["instruments"] = {
        "hydrometer": chance.choice(["hydrometer_fine", "hydrometer_wide"]),
        "thermometer": chance.choice(["probe", "glass_thermometer"]),
    }
    plan["tolerances"] = {}
    for key, (unit, low, high) in TOLERANCES.items():
        if chance.random() < 0.5:
            plan["tolerances"][key] = f"{chance.uniform(low, high):.4f} {unit}".strip()
    plan.pop("critical_limits", None)
    if chance.random() < 0.4:
        plan["critical_limits"] = {
            "final_gravity": {"at_most": f"{chance.uniform(1.006, 1.022):.4f}", "because": "glass"}
        }
    return record


OFF = {
    "hydrometer": ("", 0.003), "thermometer": (" K", 1.5), "ph_meter": ("", 0.1),
    "volume_gauge": (" L", 0.6), "pressure_gauge": (" bar", 0.1),
}  # fmt: skip


def random_house(units: str, chance: random.Random) -> str:
    """Return the brewery file of the demo in other units, its instruments reading high or low."""
    house = yaml.load((DEMO / "brewery.yaml").read_text(encoding="utf-8"), yaml.BaseLoader)
    house["units"] = units
    for instrument in house["instruments"].values():
        unit, most = OFF.get(instrument["reads"], ("", 0.0))
        if most:
            by = f"{chance.uniform(-most, most):.4f}{unit}"
            instrument.pop("checked", None)
            instrument["checks"] = [{"on": "2025-01-02", "reads_high_by": by}]
    return yaml.safe_dump(house, allow_unicode=True)


def test_what_random_plans_expect_lies_in_what_they_call_fine(tmp_path: Path) -> None:
    """House units by turns; instruments coarse and off, narrow tolerances, critical limits."""
    chance = random.Random(SEED)
    starts = [
        yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)
        for path in sorted(DEMO.glob("20*/*.yaml"))
    ]
    # One that takes its plan from another batch has no numbers of its own.
    starts = [s for s in starts if "like" not in s["plan"]][:IN_ALL]
    found = 0
    for house, system in enumerate(SYSTEMS):
        root = tmp_path / system
        (root / "2026").mkdir(parents=True)
        shutil.copy(DEMO / "stock.yaml", root)
        (root / "brewery.yaml").write_text(random_house(system, chance), encoding="utf-8")
        for number in range(house, PLANS, len(SYSTEMS)):
            record = random_plan(starts[number % len(starts)], chance)
            record["batch"] = f"2026-{number:03d}"
            record["plan"]["pitch"].pop("harvested_from", None)
            path = root / "2026" / f"{record['batch']}.yaml"
            path.write_text(yaml.safe_dump(record, allow_unicode=True), encoding="utf-8")
        archive = load_archive(root)
        for batch in archive.batches.values():
            one = assess(archive, batch)
            assert one is not None, [f.message for f in archive.findings][:3]
            found += check_aims(one)
            check_one_end(one)
            check_slow(one)
    assert found > 10 * PLANS
