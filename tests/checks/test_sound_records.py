"""Sound records of unusual kinds: nothing is said of them but the notes that truly apply."""

from __future__ import annotations

import datetime
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
import yaml
from houses import laid_over

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import house_findings, names, run_checks
from reportgen.forecast.figures import READ
from reportgen.loading import load_archive
from reportgen.record.printed import Units
from reportgen.science.density import extract_from_gravity
from reportgen.science.number import nominal

EXAMPLE = Path(__file__).parents[1] / "example"
SOUND = yaml.load(
    (Path(__file__).parent / "sound_records.yaml").read_text(encoding="utf-8"), yaml.BaseLoader
)
LITRES = 40
CLOCKS = {"mash": "09:10", "run_off": "10:20", "boil": "11:50"}
COOLED = 60
"""Minutes from the end of the boil to the yeast."""
UNREAD = ("cells", "yeast_amount", "wort_ph")
DECIMALS = {"volume": 2, "temperature": 1, "pressure": 2, "mass": 4}
SPELT = {"°C": "C", "°F": "F"}


def scaled(value: Any, factor: float) -> Any:
    """Return a plan with its amounts multiplied."""
    if isinstance(value, dict):
        return {key: scaled(below, factor) for key, below in value.items()}
    if isinstance(value, list):
        return [scaled(below, factor) for below in value]
    amount = re.fullmatch(r"([\d.]+) (kg|g|mL|L)", value)
    return f"{float(amount[1]) * factor:.6g} {amount[2]}" if amount else value


def written(value: float, kind: str, system: str, unit: str) -> str:
    """Return a number as a brewer of the house writes it."""
    if kind == "gravity":
        return f"{1.04 * extract_from_gravity(value):.1f} Bx" if unit == "Bx" else f"{value:.4f}"
    shown = Units(system).label(kind)
    number = Units(system).number(value, kind, DECIMALS.get(kind, 2))
    return f"{number} {SPELT.get(shown, shown)}".strip()


def later(clock: str, minutes: float) -> str:
    """Return the clock some minutes later."""
    hour, minute = clock.split(":")
    then = round(60 * int(hour) + int(minute) + minutes)
    return f"{then // 60 % 24:02d}:{then % 60:02d}"


def as_it_went(planned: Assessment, case: dict[str, Any]) -> dict[str, Any]:
    """Return the sections of a record in which everything was read as the forecast expects it."""
    system = str(planned.brewery.units or "metric")
    day = datetime.date.fromisoformat(case.get("day", "2026-03-14"))
    clocks = {**CLOCKS, **case.get("times", {})}
    boiled = planned.record.plan.boil.time.value
    clocks.setdefault("ended", later(clocks["boil"], boiled))
    clocks.setdefault("pitch", later(clocks["ended"], COOLED))
    record: dict[str, Any] = {
        "brew_day": {
            "date": str(day), "brewers": ["AA", "BB"], "typed_by": "AA", "checked_by": "BB",
            "rinse_ph": "7.1",
            "mash": {"started": clocks["mash"]}, "run_off": {"started": clocks["run_off"]},
            "boil": {"started": clocks["boil"], "ended": clocks["ended"]},
            "pitch": {"at": clocks["pitch"]},
        },
    }  # fmt: skip
    for figure in READ:
        if figure.key in UNREAD or figure.key not in planned.planned:
            continue
        at = record
        for key in figure.path[:-1]:
            at = at.setdefault(key, {})
        unit = case.get("unit", "") if figure.path[0] == "brew_day" else ""
        value = nominal(planned.planned[figure.key])
        if value or figure.kind != "volume":
            text = written(value, figure.kind, system, unit)
            cold = figure.key in ("kettle_volume", "cast_out_volume")
            at[figure.path[-1]] = {"read": text, "sample": "20 C"} if cold else text
    if "wort_ph" in case.get("readings", {}):
        record["brew_day"]["pitch"]["wort_ph"] = {
            "read": case["readings"]["wort_ph"], "sample": "20 C",
        }  # fmt: skip
    mash_ph = record["brew_day"]["mash"].get("mash_ph")
    if mash_ph:
        record["brew_day"]["mash"]["mash_ph"] = {"read": mash_ph, "sample": "20 C"}
    time = planned.record.plan.fermentation.time
    assert time is not None
    days = round(time.value / 1440)
    packed = day + datetime.timedelta(days=days)
    record["fermentation"]["log"] = log(planned, case, day, days)
    record["packaging"].update(
        date=str(packed),
        packaged_by="AA",
        best_before=str(packed + datetime.timedelta(days=120)),
        label=f"Sound, {100 * nominal(planned.planned['alcohol']):.1f} % vol, {SOUND['label']}",
    )
    record["review"] = {
        "disposition": "release", "decided_by": "BB",
        "decided_on": str(packed + datetime.timedelta(days=20)),
    }  # fmt: skip
    return record


def log(
    planned: Assessment, case: dict[str, Any], day: datetime.date, days: int
) -> list[dict[str, Any]]:
    """Return entries on several days, the last two steady."""
    start, end = (nominal(planned.planned[k]) for k in ("original_gravity", "final_gravity"))
    warm = planned.record.plan.fermentation.temperature.text
    share = {1: 0.6, 2: 0.25, 3: 0.05}
    entries = []
    for at in sorted({1, 2, 3, days - 2, days, *map(int, case.get("log", {}))}):
        later = [t for d, t in sorted(case.get("log", {}).items(), key=lambda i: int(i[0]))
                 if int(d) <= at]
        gravity = end + (start - end) * (0.0 if at >= days - 2 else share.get(at, 0.0))
        moment = day + datetime.timedelta(days=at)
        entry = {"at": f"{moment} 09:00", "temperature": later[-1] if later else warm,
                 "gravity": f"{gravity:.4f}", "by": "BB"}
        if at == days and "ph" in case:
            entry["ph"] = {"read": case["ph"], "sample": "20 C"}
        entries.append(entry)
    return entries


def put(folder: Path, name: str, content: Any) -> None:
    """Write one file."""
    text = yaml.safe_dump(content, allow_unicode=True, sort_keys=False)
    (folder / name).write_text(text, encoding="utf-8")


@pytest.mark.parametrize("title", SOUND["cases"])
def test_a_sound_record_is_left_alone(title: str, tmp_path: Path) -> None:
    case = SOUND["cases"][title] or {}
    folder = tmp_path / "archive"
    shutil.copytree(EXAMPLE, folder)
    base = yaml.load((folder / "2026/2026-01.yaml").read_text(), yaml.BaseLoader)
    for name, over in (
        ("brewery.yaml", laid_over(SOUND["brewery"], case.get("brewery", {}))),
        ("stock.yaml", SOUND["stock"]),
    ):
        whole = yaml.load((folder / name).read_text(), yaml.BaseLoader)
        put(folder, name, laid_over(whole, over))
    litres = float(case.get("litres", LITRES))
    plan = scaled(laid_over(base["plan"], SOUND["plan"]), litres / LITRES)
    plan = laid_over(plan, case.get("plan", {}))
    plan["instruments"] = {k: v for k, v in case.get("instruments", {}).items() if v}
    if not plan["instruments"]:
        del plan["instruments"]
    record = {**base, "batch": "2026-02", "plan": plan}
    put(folder, "2026/2026-02.yaml", record)
    archive = load_archive(folder, names())
    assert archive.findings == ()
    planned = assess(archive, archive.batches["2026-02"])
    assert planned is not None and not planned.problems
    went = laid_over({**record, **as_it_went(planned, case)}, case.get("record", {}))
    if plan.get("instruments"):
        went["brew_day"]["instruments"] = {**plan["instruments"]}
    put(folder, "2026/2026-02.yaml", went)
    archive = load_archive(folder, names())
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-02"])
    assert found is not None
    said = [*house_findings(archive), *run_checks(found)]
    notes = case.get("notes", {})
    told = [f"{f.severity.value}: {f.rule}: {f.message} [{f.line.strip()}]" for f in said
            if f.rule not in notes or f.severity.value != "note"]
    assert not told, "\n".join(told)
    assert {f.rule for f in said} == {*notes}
